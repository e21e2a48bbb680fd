"""Inks in red light, against figures worked out from the characterisation tables themselves.

FOGRA39L (coated) and FOGRA29L (uncoated), Debian package icc-profiles-free: linear red of sRGB by
Bradford from the tables' X, Y, Z, paper less ink, in percent; the grades are the steps of symbol
contrast of ISO/IEC 15416. Published guides agree: black, blue and green bars read, magenta, red,
orange and yellow ones do not.
"""

import numpy as np
import pytest

from prepcheck.art.model import PROCESS_INKS
from prepcheck.art.pdf.content.spots import SpotLook
from prepcheck.measure.barcode import grade_contrast
from prepcheck.press.show.condition import load_condition
from prepcheck.press.show.scanner import red_light, red_of_srgb, red_reflectance

COATED, UNCOATED = "coated-board", "uncoated-label"
BARS = {
    "K": ((0, 0, 0, 1), 84.4, 81.1, "A"),
    "CM": ((1, 1, 0, 0), 83.0, 81.3, "A"),
    "C": ((1, 0, 0, 0), 86.5, 89.0, "A"),
    "CY": ((1, 0, 1, 0), 86.5, 88.5, "A"),
    "K50": ((0, 0, 0, 0.5), 56.6, 58.7, "B"),
    "K40": ((0, 0, 0, 0.4), 47.2, 50.4, "C"),
    "M": ((0, 1, 0, 0), 17.5, 18.2, "F"),
    "MY": ((0, 1, 1, 0), 18.9, 21.6, "F"),
    "Y": ((0, 0, 1, 0), -6.9, -7.0, "F"),
}
GROUNDS = {"Y": ((0, 0, 1, 0), "A"), "MY": ((0, 1, 1, 0), "B"), "CY": ((1, 0, 1, 0), "F")}
"""Grounds under black bars: warm ones count as paper, cold ones as ink."""


def reflectance(tints: tuple[float, ...], name: str) -> float:
    return float(red_reflectance(PROCESS_INKS, np.array(tints, float), load_condition(name)))


def graded(bars: float, ground: float) -> str:
    return grade_contrast(np.array([ground, bars, ground])).grade


@pytest.mark.parametrize("name", [COATED, UNCOATED])
@pytest.mark.parametrize("ink", BARS)
def test_bars_on_paper_are_graded_as_the_tables_say(ink: str, name: str) -> None:
    tints, coated, uncoated, grade = BARS[ink]
    paper, bars = reflectance((0, 0, 0, 0), name), reflectance(tints, name)
    # Solids are in the table, so they agree to rounding; tints come from the model.
    tolerance = 0.06 if set(tints) <= {0, 1} else 0.8
    expected = coated if name == COATED else uncoated
    assert 100 * (paper - bars) == pytest.approx(expected, abs=tolerance)
    # Red bars on uncoated paper reach 21.6 %, past the step of D, and fail all the same, because
    # they give back more than half of what the paper does.
    assert graded(bars, paper) == grade


@pytest.mark.parametrize("name", [COATED, UNCOATED])
@pytest.mark.parametrize("ground", GROUNDS)
def test_black_on_coloured_grounds(ground: str, name: str) -> None:
    tints, grade = GROUNDS[ground]
    bars = reflectance((0, 0, 0, 1), name)
    assert graded(bars, reflectance(tints, name)) == grade


def test_lightness_would_have_passed_magenta_and_failed_nobody() -> None:
    """Y of the paper less Y of magenta is 70.8 % on coated paper: grade A by the eye."""
    condition = load_condition(COATED)
    magenta = condition.xyz(np.array((0.0, 1.0, 0.0, 0.0)))
    assert condition.paper[1] - magenta[1] == pytest.approx(70.8, abs=0.05)


def test_white_and_black_are_one_and_nought() -> None:
    assert red_light(np.array((96.42, 100.0, 82.49))) == pytest.approx(1.0, abs=2e-3)
    assert red_light(np.zeros(3)) == 0.0


@pytest.mark.parametrize(("srgb", "linear"), [(1.0, 1.0), (0.5, 0.21404), (0.02, 0.001548)])
def test_srgb_is_made_linear_as_iec_61966_has_it(srgb: float, linear: float) -> None:
    assert red_of_srgb(np.array((srgb, 0.3, 0.9))) == pytest.approx(linear, rel=1e-3)


def test_paint_without_ink_amounts_counts_by_its_red() -> None:
    condition = load_condition(COATED)
    none = np.zeros((2, 4))
    seen = np.array(((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    red, blue = red_reflectance(PROCESS_INKS, none, condition, seen)
    assert red == pytest.approx(float(red_light(condition.paper)))
    assert blue == 0.0


def test_spots_count_by_their_stand_in_and_unknown_ones_as_black() -> None:
    condition = load_condition(COATED)
    inks = (*PROCESS_INKS, "LFR Rust")
    amounts = np.array((0.0, 0.0, 0.0, 0.0, 1.0))
    look = SpotLook(True, ((0.0, 0.0, 0.0, 0.0), (0.0, 1.0, 0.0, 0.0)))
    known = red_reflectance(inks, amounts, condition, looks={"LFR Rust": look})
    assert float(known) == pytest.approx(reflectance((0, 1, 0, 0), COATED))
    assert float(red_reflectance(inks, amounts, condition)) == 0.0
