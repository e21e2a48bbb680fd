"""Large black areas."""

import pytest

from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import (
    box_cover,
    examine,
    findings,
    label_spec,
    make_exam,
    plate_scene,
)
from tests.checks.inked import ink_spec, ordered

CHECK = "ink.black-solid"


def said_of(area: float, part=None, **inks: float):
    side = area**0.5
    cover = box_cover(Box.centred(side, side), 0.0, 0.1)
    exam = make_exam(ink_spec(), plates=plate_scene((cover, inks), pitch=0.1), part=part)
    return [(f.severity.value, f.measured, f.unit) for f in findings(CHECK, exam)]


@pytest.mark.parametrize(
    ("area", "found"), [(950, False), (985, False), (1015, True), (2000, True)]
)
def test_black_alone(area: float, found: bool) -> None:
    expected = [("note", pytest.approx(area, rel=0.01), "mm²")] if found else []
    assert said_of(area, Black=100) == expected


@pytest.mark.parametrize(
    ("inks", "alone"),
    [({"Black": 96}, True), ({"Black": 90}, False), ({"Black": 100, "Cyan": 40}, False),
     ({"Black": 100, "Yellow": 8}, True)],
)  # fmt: skip
def test_what_is_black_alone(inks, alone) -> None:
    assert bool(said_of(2000, **inks)) is alone


def test_where_black_is_all_there_is() -> None:
    assert said_of(2000, ordered("Black"), Black=100) == []
    assert len(said_of(2000, ordered("Black", "Cyan"), Black=100)) == 1
    assert len(said_of(2000, ordered("CMYK"), Black=100)) == 1


@pytest.mark.parametrize(("under", "found"), [(40, False), (60, False), (64, False), (66, False),
                                              (120, False), (123, True), (149, True)])  # fmt: skip
def test_rich_black(under: float, found: bool) -> None:
    """Limit 220 %; above 250 % it is a stop of ink.total and not said here."""
    inks = {"Cyan": under / 2, "Magenta": under / 2, "Black": 100}
    expected = [("note", pytest.approx(100 + under, abs=1), "%")] if found else []
    assert said_of(100, **inks) == expected


def test_richer_than_can_be_printed_is_left_to_the_stop() -> None:
    inks = {"Cyan": 80, "Magenta": 80, "Yellow": 20, "Black": 100}
    assert said_of(100, **inks) == []


def test_clear_and_not_applicable() -> None:
    scene = plate_scene((box_cover(Box(0, 0, 9, 9)), {"Black": 50}))
    assert isinstance(examine(CHECK, make_exam(ink_spec(), plates=scene))[0], Clear)
    assert isinstance(examine(CHECK, make_exam(ink_spec()))[0], NotApplicable)
    assert isinstance(examine(CHECK, make_exam(label_spec(), plates=scene))[0], NotApplicable)
