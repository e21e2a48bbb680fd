"""Digits to modules and back, against published vectors and other people's encoders; grades.

Sources: GS1 worked examples of check digits (gs1.se, gs1india.org), an EAN-13 in modules from
standard tables, python-barcode, reportlab and zxing-cpp as encoders.
"""

from itertools import groupby

import barcode
import numpy as np
import pytest
import zxingcpp
from reportlab.graphics.barcode.eanbc import Ean5BarcodeWidget, Ean13BarcodeWidget
from reportlab.graphics.shapes import Rect

from prepcheck.measure.barcode import Kind, bar_tolerance_mm, encode, grade_contrast, gtin13
from prepcheck.measure.barcode.symbology import (
    check_fits,
    decode,
    decode_add_on,
    edges_of,
)
from prepcheck.measure.barcode.upright import crossings
from tests.checks.barcodes import add_on

VECTOR = (
    "10100010110100111011001100100110111101001110101010"
    "110011011011001000010101110010011101000100101"
)
"""5901234123457 by the standard tables."""
NUMBERS = [f"952{lead}{'0123456789'[lead:] + '9876543210'}"[:12] for lead in range(10)]


def widths(modules: str) -> np.ndarray:
    return np.array([len(list(run)) for _, run in groupby(modules)], float)


def zxing_modules(digits: str, kind: zxingcpp.BarcodeFormat) -> str:
    made = zxingcpp.create_barcode(digits, kind).to_image(scale=1, add_quiet_zones=False)
    row = np.array(made)[0]
    return "".join("1" if value < 128 else "0" for value in row)


def test_an_ean_13_is_encoded_as_the_tables_have_it() -> None:
    assert encode(Kind.EAN_13, "5901234123457") == VECTOR


@pytest.mark.parametrize("number", NUMBERS)
def test_ean_13_agrees_with_other_encoders(number: str) -> None:
    made = barcode.get_barcode_class("ean13")(number)
    assert encode(Kind.EAN_13, made.ean) == made.build()[0]
    drawn = Ean13BarcodeWidget(number)
    bars: list[str] = []
    drawn._encode_left(made.ean, bars.append)
    assert encode(Kind.EAN_13, made.ean)[3:45] == "".join(bars)


def test_ean_8_and_upc_a_agree_with_other_encoders() -> None:
    made = barcode.get_barcode_class("ean8")("9521234")
    assert encode(Kind.EAN_8, made.ean) == made.build()[0]
    upc = barcode.get_barcode_class("upca")("03600024145")
    assert encode(Kind.UPC_A, "036000241457") == upc.build()[0]


@pytest.mark.parametrize("last", range(10))
def test_upc_e_agrees_with_another_encoder_and_expands(last: int) -> None:
    """zxing-cpp works out the check digit of the long form, which the pattern carries."""
    body = f"012345{last}"
    short = next(
        f"{body}{check}" for check in range(10) if check_fits(gtin13(Kind.UPC_E, f"{body}{check}"))
    )
    assert encode(Kind.UPC_E, short) == zxing_modules(short, zxingcpp.BarcodeFormat.UPCE)
    reading = decode(widths(encode(Kind.UPC_E, short)))
    assert reading is not None
    assert (reading.kind, reading.digits) == (Kind.UPC_E, short)


@pytest.mark.parametrize(
    ("short", "long"),
    [("04252614", "0042100005264"), ("01234565", "0012345000065")],
)
def test_upc_e_is_written_out(short: str, long: str) -> None:
    """Worked examples of zero suppression as commonly published (from memory)."""
    assert gtin13(Kind.UPC_E, short) == long
    assert check_fits(long)


@pytest.mark.parametrize(
    "number", ["7300011000017", "8904000210037", "5012345678900", "0036000241457", "6291041500213"]
)
def test_published_numbers_carry_a_check_digit_that_fits(number: str) -> None:
    assert check_fits(number)
    for wrong in range(1, 10):
        assert not check_fits(f"{number[:-1]}{(int(number[-1]) + wrong) % 10}")


@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize("gain", [-0.25, 0.0, 0.25])
@pytest.mark.parametrize("number", NUMBERS)
def test_widths_are_read_whatever_the_ink_gain_and_direction(
    number: str, gain: float, backwards: bool
) -> None:
    digits = barcode.get_barcode_class("ean13")(number).ean
    bars = widths(barcode.get_barcode_class("ean13")(number).build()[0]) * 0.33
    bars[::2] += gain * 0.33
    bars[1::2] -= gain * 0.33
    reading = decode(bars[::-1] if backwards else bars)
    assert reading is not None
    assert (reading.digits, reading.backwards) == (digits, backwards)


def test_a_wrong_check_digit_is_read_as_it_stands() -> None:
    """9521234567890 stands in a public test suite; its check digit should be 9."""
    reading = decode(widths(encode(Kind.EAN_13, "9521234567890")))
    assert reading is not None
    assert reading.digits == "9521234567890"
    assert not check_fits(reading.digits)


def test_thirteen_digits_from_zero_are_a_upc_a() -> None:
    reading = decode(widths(encode(Kind.EAN_13, "0036000291452")))
    assert reading is not None
    assert (reading.kind, reading.digits) == (Kind.UPC_A, "036000291452")


def test_random_bars_are_no_symbol() -> None:
    rng = np.random.default_rng(5)
    read = [decode(rng.integers(1, 5, 59).astype(float)) for _ in range(300)]
    assert [reading for reading in read if reading is not None] == []


def test_edges_lie_where_runs_change() -> None:
    edges = edges_of("1011001")
    assert edges.tolist() == [0, 1, 2, 4, 6, 7]


def test_crossings_are_found_between_samples_and_ripples_are_none() -> None:
    profile = np.array([0, 0, 0.25, 1, 1, 0.45, 0.55, 0.45, 0, 0, 1])
    places, begins = crossings(profile)
    assert begins
    # 0.25 to 1 crosses a half a third of the way; the ripple round a half counts once.
    assert places[0] == pytest.approx(2 + 1 / 3)
    assert len(places) == 3


@pytest.mark.parametrize(
    ("light", "dark", "grade"),
    [
        (75, 5, "A"), (74.9, 5, "B"), (60, 5, "B"), (59.9, 5, "C"), (45, 5, "C"),
        (44.9, 5, "D"), (25, 5, "D"), (24.9, 5, "F"), (80, 40.1, "F"), (5, 80, "F"),
    ],
)  # fmt: skip
def test_grades_step_at_70_55_40_and_20(light: float, dark: float, grade: str) -> None:
    graded = grade_contrast(np.array([light, dark, light, dark, light]) / 100)
    assert graded.grade == grade
    assert graded.symbol == pytest.approx(light - dark)


def test_one_faint_bar_fails_the_symbol() -> None:
    graded = grade_contrast(np.array([0.9, 0.02, 0.9, 0.8, 0.9]))
    assert graded.symbol == pytest.approx(88)
    assert graded.edge == pytest.approx(10)
    assert graded.grade == "F"


@pytest.mark.parametrize(
    ("percent", "micrometres"), [(80, 35), (90, 68), (100, 101), (110, 116), (200, 255)]
)
def test_tolerance_of_bars_by_size(percent: int, micrometres: int) -> None:
    """The table of the EAN manuals, from memory."""
    assert bar_tolerance_mm(0.0033 * percent) == pytest.approx(micrometres / 1000, abs=0.001)


@pytest.mark.parametrize("digits", ["00", "01", "42", "99", "00000", "12345", "51299", "98765"])
def test_add_ons_read_as_they_are_drawn(digits: str) -> None:
    widths = np.diff(edges_of(add_on(digits)))
    assert decode_add_on(widths * 0.33) == digits
    assert int(widths.sum()) == {2: 20, 5: 47}[len(digits)]


def test_an_add_on_whose_number_sets_do_not_fit_is_none() -> None:
    """The sets of 12 (A, A) on the digits 13 (A, B)."""
    modules = "1011" + "0011001" + "01" + "0111101"
    assert decode_add_on(np.diff(edges_of(modules))) is None


def test_an_add_on_drawn_by_reportlab() -> None:
    """Its widget draws a ground, then one box a bar."""
    drawn = Ean5BarcodeWidget("54495", barWidth=1.0, quiet=0).draw()
    places = sorted((bar.x, bar.width) for bar in drawn.contents[1:] if isinstance(bar, Rect))
    first = places[0][0]
    modules = ["0"] * 47
    for x, width in places:
        for module in range(round(x - first), round(x - first + width)):
            modules[module] = "1"
    assert "".join(modules) == add_on("54495")
