"""Type and live edges beside the hole."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from reportlab.lib.colors import CMYKColor
from reportlab.pdfgen.canvas import Canvas

from prepcheck.art.model import Content
from prepcheck.findings import Severity
from prepcheck.geometry import Box
from prepcheck.said import Measured, NotApplicable
from prepcheck.sheets.exam import Exam
from tests.checks.exams import (
    BLACK,
    CYAN,
    Cover,
    box_cover,
    box_path,
    box_quad,
    circle_path,
    disc_cover,
    examine,
    findings,
    label_spec,
    make_exam,
    ring_cover,
    scene,
    text,
)  # fmt: skip
from tests.checks.pictures import picture as placed
from tests.checks.test_trim_clearance import picture
from tests.truth._page import drawn as drawn_page
from tests.truth._page import exam_of

STOP, QUERY = Severity.STOP, Severity.QUERY
GROUND = (disc_cover(53), 0.3)
HOLE = 3.62


def exam(*shapes: tuple[Cover, float], **content: Any) -> Exam:
    return make_exam(content=Content(**content), view=scene(*shapes))


def measured(part: Exam) -> object:
    return next(s.value for s in examine("hole.clearance", part) if isinstance(s, Measured))


def type_at(clearance: float, turn: float = 0.0) -> Exam:
    """Return a glyph whose long side faces the hole: nearest in its middle, not at a corner."""
    box = Box(HOLE + clearance, -1.0, HOLE + clearance + 1.5, 1.0)
    return exam(GROUND, (box_cover(box, turn), 1.0), texts=(text([box_quad(box, turn)]),))


@pytest.mark.parametrize(
    ("clearance", "severity"),
    [
        (-0.5, STOP), (0.0, STOP), (2.88, STOP), (2.92, QUERY), (4.28, QUERY), (4.32, None),
        (5.0, None),
    ],
)  # fmt: skip
def test_type_against_both_steps(clearance: float, severity: Severity | None) -> None:
    part = type_at(clearance)
    found = findings("hole.clearance", part)
    assert [f.severity for f in found] == ([] if severity is None else [severity])
    assert measured(part) == pytest.approx(clearance, abs=0.006)


@pytest.mark.parametrize("turn", [31.0, 180.0, 299.9])
def test_distance_does_not_change_under_rotation(turn: float) -> None:
    assert measured(type_at(2.2, turn)) == pytest.approx(2.2, abs=0.006)


def test_type_that_holds_the_hole_or_lies_in_it() -> None:
    around, inside = Box(-6, -6, 6, 6), Box(-1, -1, 1, 1)
    for box, clearance in ((around, -HOLE), (inside, -HOLE)):
        (found,) = findings(
            "hole.clearance", exam(GROUND, (box_cover(box), 1.0), texts=(text([box]),))
        )
        assert (found.severity, found.measured) == (STOP, pytest.approx(clearance))


def test_large_hole() -> None:
    spec = label_spec(hole={"diameter_mm": 38.2})
    box = Box(21.1, -0.5, 22, 0.5)
    part = make_exam(spec, content=Content(texts=(text([box]),)), view=scene((box_cover(box), 1.0)))
    assert measured(part) == pytest.approx(2.0, abs=0.01)


def test_no_hole_is_not_applicable() -> None:
    said = examine("hole.clearance", make_exam("sleeve-pinned"))
    assert [type(item) for item in said] == [NotApplicable, Measured]


def test_a_ground_across_the_hole_is_no_intrusion() -> None:
    band = Box(-60, -2, 60, 2)
    part = exam(
        GROUND, (box_cover(band), 1.0),
        paths=(circle_path(53, fill=CYAN), box_path(band, fill=BLACK)),
    )  # fmt: skip
    assert findings("hole.clearance", part) == []


def test_two_halves_that_meet_at_the_hole_are_no_intrusion() -> None:
    half = Box(0, -53, 53, 53)
    part = exam(GROUND, (box_cover(half), 1.0), paths=(box_path(half, fill=BLACK),))
    assert findings("hole.clearance", part) == []


@pytest.mark.parametrize(("clearance", "asks"), [(2.0, True), (4.25, True), (4.35, False)])
def test_an_edge_that_ends_in_the_ring(clearance: float, asks: bool) -> None:
    box = Box(HOLE + clearance, -2, 20, 2)
    part = exam(GROUND, (box_cover(box), 1.0), paths=(box_path(box, fill=BLACK),))
    found = findings("hole.clearance", part)
    assert [f.severity for f in found] == ([QUERY] if asks else [])
    if asks:
        assert found[0].measured == pytest.approx(clearance, abs=0.02)


def test_a_ring_round_the_hole() -> None:
    part = exam(
        GROUND, (ring_cover(6.5, 0.6), 1.0), paths=(circle_path(6.5, stroke=BLACK, stroke_mm=0.6),)
    )
    (found,) = findings("hole.clearance", part)
    assert found.measured == pytest.approx(6.5 - 0.3 - HOLE, abs=0.02)


def test_a_drawn_hole_is_left_to_its_own_check() -> None:
    part = exam(GROUND, (disc_cover(HOLE), 0.0), paths=(circle_path(HOLE, fill=BLACK),))
    assert findings("hole.clearance", part) == []


@pytest.mark.parametrize("turn", [0.0, 60.0])
def test_an_object_in_a_picture(turn: float) -> None:
    box = Box(HOLE + 2.5, -1.0, HOLE + 4.0, 1.0)
    (found,) = findings("hole.clearance", picture(GROUND, (box_cover(box, turn), 1.0)))
    assert (found.severity, found.measured) == (QUERY, pytest.approx(2.5, abs=0.1))


def test_a_band_across_the_hole_in_a_picture_is_no_intrusion() -> None:
    band = Box(-60, -2, 60, 2)
    assert findings("hole.clearance", picture(GROUND, (box_cover(band, 20.0), 1.0))) == []


def test_places_lie_at_the_fault() -> None:
    (found,) = findings("hole.clearance", type_at(1.0, 90.0))
    x, y = found.where[0].box.centre
    assert (x, y) == pytest.approx((0, HOLE + 1.75))
    assert np.isclose(found.where[0].value or 0, 1.0, atol=0.01)


def test_a_mark_that_is_drilled_away_whole_is_a_note_at_most() -> None:
    mark = (ring_cover(1.5, 0.3), 1.0)
    drawn = exam(GROUND, mark, paths=(circle_path(1.5, stroke=BLACK, stroke_mm=0.3),))
    (found,) = findings("hole.clearance", drawn)
    assert (found.severity, found.code) == (Severity.NOTE, "drilled")
    assert {f.severity for f in findings("hole.clearance", picture(GROUND, mark))} <= {
        Severity.NOTE
    }


def test_a_seam_of_two_pictures_beside_the_hole_is_named() -> None:
    seam = HOLE + 2
    halves = (placed(300, Box(-53, -53, seam, 53)), placed(300, Box(seam, -53, 53, 53)))
    (found,) = findings(
        "hole.clearance", exam(GROUND, (box_cover(Box(seam, -53, 53, 53)), 0.8), images=halves)
    )
    assert found.message.startswith("A seam in a picture ends 2.0 mm from the hole")


def test_dots_that_are_drilled_away_with_others_all_round_are_a_texture() -> None:
    def draw(canvas: Canvas) -> None:
        canvas.setFillColor(CMYKColor(0, 0.8, 0.6, 0))
        for row in range(-30, 31):
            for column in range(-30, 31):
                canvas.circle(2 * column, 2 * row, 0.5, stroke=0, fill=1)

    assert findings("hole.clearance", exam_of(drawn_page(draw))) == []
