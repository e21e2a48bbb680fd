import numpy as np
import pytest

from prepcheck.art.facts import DocumentFacts, Layer
from prepcheck.art.model import Content
from prepcheck.geometry import Affine, Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import (
    BLACK,
    CYAN,
    WHITE,
    box_path,
    box_quad,
    circle_path,
    examine,
    findings,
    ink_view,
    label_spec,
    make_exam,
    path,
)

CHECK = "line.thin"


def line(width, paint=BLACK, **options):
    return path([(0, 20), (10, 20)], stroke=paint, stroke_mm=width, closed=False, **options)


def dark(outline):
    return ink_view(outline, lambda x, y: np.ones(np.broadcast(x, y).shape), pitch=0.2)


def said_of(*paths, view=None, spec=None, document=None):
    exam = make_exam(
        spec or "label-pinned", content=Content(paths=paths), view=view, document=document
    )
    return [(f.severity, f.measured, f.required) for f in findings(CHECK, exam)]


@pytest.mark.parametrize(
    ("width", "found"),
    [
        (0.0, [("stop", 0, 0.15)]),
        (0.148, [("stop", 0.148, 0.15)]),
        (0.149, []),
        (0.15, []),
        (0.2, []),
    ],
)
def test_dark_lines(width, found) -> None:
    """Limit 0.15 mm, inclusive, with a tolerance of 1 %; a device hairline is always too thin."""
    assert said_of(line(width)) == found


@pytest.mark.parametrize(
    ("width", "found"), [(0.247, [("stop", 0.247, 0.25)]), (0.248, []), (0.25, [])]
)
def test_light_lines_on_dark(width, found) -> None:
    assert said_of(line(width, WHITE), view=dark) == found


def test_light_lines_on_paper_mark_nothing() -> None:
    assert said_of(line(0.05, WHITE)) == []


def test_wanted_widths_are_a_query() -> None:
    limits = {"least_mm": 0.15, "least_reversed_mm": 0.25, "wanted_mm": 0.2}
    spec = label_spec(line={**limits, "wanted_reversed_mm": 0.35})
    assert said_of(line(0.18), spec=spec) == [("query", 0.18, 0.2)]
    assert said_of(line(0.3, WHITE), spec=spec, view=dark) == [("query", 0.3, 0.35)]
    assert said_of(line(0.3), spec=spec) == []


@pytest.mark.parametrize(
    ("box", "width"),
    [
        (Box(0, 0, 10, 0.1), 0.1),
        (Box(0, 0, 0.1, 10), 0.1),
        (Box(0, 0, 0.5, 0.1), None),
        (Box(0, 0, 1.2, 0.14), None),
        (Box(0, 0, 10, 0.15), None),
    ],
)
@pytest.mark.parametrize("turn", [0.0, 33.0])
def test_filled_boxes_count_when_they_are_lines(box, width, turn) -> None:
    """Thin and long; stems of letters, under 1 mm or not ten times as long as wide, are not."""
    quad = box_quad(box, turn)
    found = said_of(path(quad, fill=BLACK))
    assert [(s, pytest.approx(m, abs=1e-6)) for s, m, _ in found] == (
        [] if width is None else [("stop", width)]
    )


def test_a_stroke_in_the_colour_of_its_fill_is_no_line() -> None:
    box = Box(0, 0, 10, 10)
    assert said_of(box_path(box, fill=BLACK, stroke=BLACK, stroke_mm=0.05)) == []
    assert len(said_of(box_path(box, fill=CYAN, stroke=BLACK, stroke_mm=0.05))) == 1


def test_processing_steps_and_what_lies_off_the_art_do_not_count() -> None:
    cut = Layer("Cut", visible=True, prints=False, step=("Structural", "Cutting"))
    document = DocumentFacts(layers=(cut,))
    ring = circle_path(50, stroke=BLACK, stroke_mm=0.05, layer="Cut")
    assert said_of(ring, document=document) == []
    assert said_of(path([(60, 60), (70, 60)], stroke=BLACK, stroke_mm=0.05, closed=False)) == []


def test_places_and_grouping() -> None:
    moved = Affine.move(0, -40)
    other = path([moved.at(0, 20), moved.at(10, 20)], stroke=BLACK, stroke_mm=0.05, closed=False)
    (finding,) = findings(CHECK, make_exam(content=Content(paths=(line(0.1), other))))
    assert [(mark.value, mark.label) for mark in finding.where] == [
        (0.05, "0.05 mm"),
        (0.1, "0.10 mm"),
    ]
    assert finding.where[0].box == other.box


def test_clear_tells_the_thinnest_line() -> None:
    content = Content(paths=(line(0.4), line(0.3), line(0.5)))
    (said,) = examine(CHECK, make_exam(content=content))
    assert isinstance(said, Clear)
    assert said.measured == 0.3
    assert isinstance(examine(CHECK, make_exam())[0], NotApplicable)


def test_light_lines_and_gaps_are_told_the_width_that_light_ones_need() -> None:
    """Made as thick as a dark line must be, they would be too thin still."""
    assert said_of(line(0.1, WHITE), view=dark) == [("stop", 0.1, 0.25)]
    bars = [box_path(Box(x, 0, x + 4, 20), fill=BLACK) for x in (0, 4.08, 8.16)]
    (found,) = findings(CHECK, make_exam(content=Content(paths=tuple(bars)), view=dark))
    assert found.message.startswith("2 gaps between dark bars, down to 0.08 mm; 0.25 mm is")
    assert found.fix == "Please make these gaps 0.25 mm or wider."
    others = (line(0.2, WHITE), path([(0, 9), (9, 9)], stroke=WHITE, stroke_mm=0.2, closed=False))
    (found,) = findings(CHECK, make_exam(content=Content(paths=others), view=dark))
    assert found.message.startswith("2 light lines on dark, down to 0.20 mm")
