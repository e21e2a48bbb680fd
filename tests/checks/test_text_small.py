import numpy as np
import pytest

from prepcheck.art.model import Content, Paint
from prepcheck.geometry import Affine, Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import (
    BLACK,
    CMYK,
    WHITE,
    box_quad,
    examine,
    findings,
    ink_view,
    label_spec,
    make_exam,
    text,
)

CHECK = "text.small"
GLYPHS = [Box(x, 20, x + 0.9, 21.5) for x in (0, 1, 2, 3)]
BROWN = Paint(CMYK, (0, 0.5, 0.5, 0.5), (("Magenta", 0.5), ("Yellow", 0.5), ("Black", 0.5)),
              (0.4, 0.2, 0.1))  # fmt: skip
PALE = Paint(CMYK, (0, 0, 0, 0.3), (("Black", 0.3),), (0.7, 0.7, 0.7))


def ground(amount):
    return lambda outline: ink_view(
        outline, lambda x, y: np.full(np.broadcast(x, y).shape, amount), pitch=0.2
    )


def said_of(*runs, view=None, spec=None):
    exam = make_exam(spec or "label-pinned", content=Content(texts=runs), view=view)
    return [(f.severity, f.measured, f.required) for f in findings(CHECK, exam)]


@pytest.mark.parametrize(
    ("size", "found"), [(4.94, [("stop", 4.94, 5)]), (4.96, []), (5.0, []), (5.1, [])]
)
def test_dark_type(size, found) -> None:
    """Limit 5 pt, inclusive, with a tolerance of 1 %."""
    assert said_of(text(GLYPHS, size_pt=size)) == found


@pytest.mark.parametrize(
    ("size", "found"),
    [(4.9, [("stop", 4.9, 7)]), (6.92, [("stop", 6.92, 7)]), (6.94, []), (7.0, [])],
)
@pytest.mark.parametrize(
    ("paint", "amount"), [(WHITE, 1.0), (WHITE, 0.5), (PALE, 0.9), (BROWN, 0.0)]
)
def test_light_on_dark_and_several_inks(size, found, paint, amount) -> None:
    assert said_of(text(GLYPHS, size_pt=size, fill=paint), view=ground(amount)) == found


def test_a_ground_hardly_darker_is_left_to_a_person() -> None:
    assert said_of(text(GLYPHS, size_pt=6, fill=WHITE), view=ground(0.2)) == [("query", 6, 7)]
    assert said_of(text(GLYPHS, size_pt=6, fill=PALE), view=ground(0.2)) == []


def test_white_on_white_marks_nothing() -> None:
    assert said_of(text(GLYPHS, size_pt=2, fill=WHITE)) == []


def test_the_ground_of_turned_type_is_looked_at_where_it_stands() -> None:
    """Dark only in a band that the turned line of type stands in."""
    turned = [box_quad(glyph, 30) for glyph in GLYPHS]
    back = Affine.turn(-30)

    def amount(x, y):
        across, up = back.a * x + back.c * y, back.b * x + back.d * y
        return ((across > -1) & (across < 5) & (up > 19) & (up < 22.5)).astype(float)

    view = lambda outline: ink_view(outline, amount, pitch=0.1)  # noqa: E731
    assert said_of(text(turned, size_pt=6, fill=WHITE), view=view) == [("stop", 6, 7)]


def test_wanted_sizes_are_a_query() -> None:
    limits = {"least_pt": 5, "least_reversed_pt": 7, "wanted_pt": 6, "wanted_reversed_pt": 9}
    spec = label_spec(text=limits)
    assert said_of(text(GLYPHS, size_pt=5.5), spec=spec) == [("query", 5.5, 6)]
    reversed_ = text(GLYPHS, size_pt=8, fill=WHITE)
    assert said_of(reversed_, spec=spec, view=ground(1.0)) == [("query", 8, 9)]
    assert said_of(text(GLYPHS, size_pt=8), spec=spec) == []


def test_places_and_grouping() -> None:
    far = [Box(x, -30, x + 1, -29) for x in (0, 1)]
    runs = (text(GLYPHS, size_pt=4), text(far, size_pt=3), text(far, size_pt=4, mode=3))
    (finding,) = findings(CHECK, make_exam(content=Content(texts=runs)))
    assert [(mark.value, mark.box) for mark in finding.where] == [
        (3, Box(0, -30, 2, -29)),
        (4, Box(0, 20, 3.9, 21.5)),
    ]


def test_clear_and_not_applicable() -> None:
    (said,) = examine(CHECK, make_exam(content=Content(texts=(text(GLYPHS, size_pt=8),))))
    assert isinstance(said, Clear)
    assert said.measured == 8
    off = text([Box(60, 60, 61, 61)], size_pt=2, fill=BLACK)
    assert isinstance(examine(CHECK, make_exam(content=Content(texts=(off,))))[0], NotApplicable)
