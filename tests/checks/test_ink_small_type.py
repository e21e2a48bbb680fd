"""Fine type and lines in several inks."""

from pathlib import Path

import pytest

from prepcheck.art.model import Content, Paint
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import (
    BLACK,
    CMYK,
    CYAN,
    WHITE,
    everywhere,
    examine,
    findings,
    ink_view,
    label_spec,
    make_exam,
    path,
    plate_scene,
    text,
)
from tests.checks.inked import flood, ink_spec, label, words

CHECK = "ink.small-type"
GLYPHS = [Box(x, 20, x + 0.9, 22.0) for x in (0, 1, 2, 3)]


def paint(**inks: float) -> Paint:
    amounts = tuple(inks.get(ink, 0.0) for ink in ("Cyan", "Magenta", "Yellow", "Black"))
    named = tuple((ink, amount) for ink, amount in inks.items())
    return Paint(CMYK, amounts, named, (0.3, 0.3, 0.6))


TWO = paint(Cyan=0.8, Magenta=0.6)
FOUR_BLACK = Paint(CMYK, (0.5, 0.4, 0.4, 1), (("Cyan", 0.5), ("Magenta", 0.4), ("Yellow", 0.4),
                                              ("Black", 1.0)), (0, 0, 0))  # fmt: skip


def said_of(*, ground=None, dark=0.0, spec=None, **content):
    def view(outline):
        return ink_view(outline, lambda x, y: everywhere(x, y) * dark, pitch=0.2)

    exam = make_exam(
        spec or ink_spec(), content=Content(**content), view=view,
        plates=plate_scene((everywhere, ground or {})),
    )  # fmt: skip
    return [(f.severity.value, f.measured, f.required, f.unit) for f in findings(CHECK, exam)]


@pytest.mark.parametrize(
    ("size", "found"),
    [
        (6.9, []),  # under 7 pt text.small stops it
        (6.95, [("query", 6.95, 9, "pt")]),
        (8.9, [("query", 8.9, 9, "pt")]),
        (8.92, []),
        (9.0, []),
    ],
)
def test_type_in_two_inks(size, found) -> None:
    assert said_of(texts=(text(GLYPHS, size_pt=size, fill=TWO),)) == found


def test_the_same_type_is_not_said_twice() -> None:
    exam = make_exam(ink_spec(), content=Content(texts=(text(GLYPHS, size_pt=6, fill=TWO),)))
    assert findings(CHECK, exam) == []
    assert [f.severity for f in findings("text.small", exam)] == ["stop"]
    four = make_exam(ink_spec(), content=Content(texts=(text(GLYPHS, size_pt=8, fill=FOUR_BLACK),)))
    assert findings(CHECK, four) == []
    assert [f.severity for f in findings("ink.black-type", four)] == ["query"]


@pytest.mark.parametrize("fill", [BLACK, CYAN, paint(Cyan=0.9, Magenta=0.03)])
def test_type_in_one_ink_is_fine(fill) -> None:
    assert said_of(texts=(text(GLYPHS, size_pt=7, fill=fill),)) == []


@pytest.mark.parametrize(
    ("fill", "ground", "found"),
    [
        (WHITE, {"Cyan": 80, "Magenta": 60, "Yellow": 40}, True),
        (WHITE, {"Cyan": 80, "Magenta": 8}, False),
        (WHITE, {"Black": 100}, False),
        (paint(Cyan=0.8)._replace(rgb=(0.9, 1, 1)), {"Cyan": 80, "Magenta": 60}, False),
        (WHITE._replace(overprint=True), {"Cyan": 80, "Magenta": 60}, False),
    ],
)
def test_light_type_left_out_of_several_inks(fill, ground, found) -> None:
    run = text(GLYPHS, size_pt=8, fill=fill)
    expected = [("query", 8, 9, "pt")] if found else []
    assert said_of(texts=(run,), ground=ground, dark=0.8) == expected
    assert said_of(texts=(text(GLYPHS, size_pt=9, fill=fill),), ground=ground, dark=0.8) == []


@pytest.mark.parametrize(
    ("width", "found"),
    [
        (0.12, []),  # line.thin stops it
        (0.15, [("stop", 0.15, 0.18, "mm")]),
        (0.17, [("stop", 0.17, 0.18, "mm")]),
        (0.18, [("query", 0.18, 0.25, "mm")]),
        (0.24, [("query", 0.24, 0.25, "mm")]),
        (0.25, []),
    ],
)
def test_lines(width, found) -> None:
    line = path([(0, 20), (20, 20)], stroke=TWO, stroke_mm=width, closed=False)
    assert said_of(paths=(line,)) == found
    black = path([(0, 20), (20, 20)], stroke=BLACK, stroke_mm=width, closed=False)
    assert said_of(paths=(black,)) == []


def test_the_number_of_inks_is_the_spec_s() -> None:
    limits = {"most_total_percent": 250, "window_mm2": 15, "most_fine_inks": 2}
    run = text(GLYPHS, size_pt=8, fill=TWO)
    assert said_of(texts=(run,), spec=ink_spec(ink=limits)) == []
    three = text(GLYPHS, size_pt=8, fill=paint(Cyan=0.5, Magenta=0.5, Yellow=0.5))
    assert len(said_of(texts=(three,), spec=ink_spec(ink=limits))) == 1


def test_clear_and_not_applicable() -> None:
    runs = (text(GLYPHS, size_pt=8, fill=BLACK),)
    (said,) = examine(CHECK, make_exam(ink_spec(), content=Content(texts=runs)))
    assert isinstance(said, Clear)
    (said,) = examine(CHECK, make_exam(ink_spec()))
    assert isinstance(said, NotApplicable)
    (said,) = examine(CHECK, make_exam(label_spec()))
    assert isinstance(said, NotApplicable)


def test_end_to_end(tmp_path: Path) -> None:
    white = words("0 0 0 0 k", -20, 20, 8)
    assert len(findings(CHECK, label(tmp_path, f"{flood('0.9 0.7 0.3 0.2 k')} {white}"))) == 1
    assert findings(CHECK, label(tmp_path, f"{flood('0 0 0 1 k')} {white}")) == []
