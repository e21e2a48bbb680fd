"""Numbers with their units, as a reader in print expects them."""

from datetime import date

import pytest

from prepcheck.proof import figures
from prepcheck.spec.load import load_spec
from tests.proof import made_up


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (2.4, "mm", "2.4\u202fmm"),
        (3.0, "mm", "3\u202fmm"),
        (0.183, "mm", "0.18\u202fmm"),
        (-1.24, "mm", "−1.2\u202fmm"),
        (-0.001, "mm", "0\u202fmm"),
        (212.4, "ppi", "212\u202fppi"),
        (0.4, "ppi", "0\u202fppi"),
        (300.0, "%", "300\u202f%"),
        (6.5, "pt", "6.5\u202fpt"),
        (3.0, "", "3"),
        (1.0, "pages", "1\u202fpage"),
        (2.0, "pages", "2\u202fpages"),
        ("RGB", "", "RGB"),
        (None, "mm", ""),
    ],
)
def test_quantities(value: float | str | None, unit: str, shown: str) -> None:
    assert figures.quantity(value, unit) == shown


def test_sizes_scales_dates_and_digests() -> None:
    assert figures.millimetres(633, 315.25) == "633 × 315.2\u202fmm"
    assert figures.scale_words(1.0) == "scale 1:1, true size"
    assert figures.scale_words(1.25) == "scale 1:1.25"
    assert figures.size_words(4_812_345) == "4.8\u202fMB"
    assert figures.size_words(812) == "812\u202fbytes"
    assert figures.day(date(2031, 3, 4)) == "4 March 2031"
    assert figures.grouped("0123456789abcdef") == "01234567 89abcdef"


def test_tallies() -> None:
    assert figures.tally(made_up.LABEL_FINDINGS) == "2 stops, 3 queries, 1 note"
    assert figures.tally(()) == "no findings"
    assert figures.counted(1, "part") == "1 part"


def test_a_part_is_not_called_after_its_page_twice() -> None:
    gatefold, label = load_spec("gatefold-12in"), load_spec("label-12in")
    assert figures.titled("Gatefold", gatefold, 1) == "Gatefold, inside"
    assert figures.titled("Gatefold, Outside", gatefold, 0) == "Gatefold, Outside"
    assert figures.titled("Side A", label, 0) == "Side A"
    assert figures.titled("Side A", None, 0) == "Side A"


@pytest.mark.parametrize(
    ("value", "unit", "message", "shown"),
    [
        (0.77, "mm", "Ink reaches 0.8 mm past the trim.", "0.8 mm"),
        (2.0, "mm", "Type lies 1.1 mm from the trim; 2.0 mm is the least.", "2.0 mm"),
        (0.2641, "mm", "a module of 0.264 mm (80 %)", "0.264 mm"),
        (0.2641, "mm", "Bars are too narrow.", "0.26 mm"),
        (-0.04, "mm", "Type stands 0.0 mm off the middle.", "0.0 mm"),
        (-1.24, "mm", "It lies 1.2 mm too far left.", "−1.2 mm"),
        (212.4, "ppi", "212 ppi as placed, 2124 ppi elsewhere", "212 ppi"),
        (12.0, "mm", "a strip of 120 mm", "12 mm"),
        ("RGB", "", "painted in RGB", "RGB"),
        (None, "mm", "3 mm", ""),
    ],
)
def test_a_number_is_rounded_as_its_sentence_rounds_it(
    value: float | str | None, unit: str, message: str, shown: str
) -> None:
    assert figures.as_worded(value, unit, message).replace("\u202f", " ") == shown
