"""A hole drawn in the art, as a path or in a picture."""

from __future__ import annotations

import pytest

from prepcheck.art.model import Content, PathItem
from prepcheck.findings import Severity
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from prepcheck.sheets.exam import Exam
from tests.checks.exams import (
    BLACK,
    CYAN,
    WHITE,
    Cover,
    box_cover,
    circle_path,
    disc_cover,
    examine,
    findings,
    make_exam,
    ring_cover,
    scene,
)  # fmt: skip

GROUND = (disc_cover(53), 0.6)


def exam(*shapes: tuple[Cover, float], paths: tuple[PathItem, ...] = ()) -> Exam:
    return make_exam(content=Content(paths=paths), view=scene(*shapes))


@pytest.mark.parametrize("radius", [3.0, 3.62, 4.5])
def test_blanked_out_by_a_white_circle(radius: float) -> None:
    part = exam(GROUND, (disc_cover(radius), 0.0), paths=(circle_path(radius, fill=WHITE),))
    (found,) = findings("hole.drawn", part)
    assert (found.severity, found.measured) == (Severity.QUERY, pytest.approx(2 * radius, abs=0.02))
    assert "blanked out" in found.message


@pytest.mark.parametrize("radius", [3.0, 3.62, 4.5])
def test_blanked_out_in_a_picture(radius: float) -> None:
    (found,) = findings("hole.drawn", exam(GROUND, (disc_cover(radius), 0.0)))
    assert found.measured == pytest.approx(2 * radius, abs=0.1)


def test_outlined_and_filled_in() -> None:
    ring = circle_path(3.7, stroke=BLACK, stroke_mm=0.3)
    (found,) = findings("hole.drawn", exam(GROUND, (ring_cover(3.7, 0.3), 1.0), paths=(ring,)))
    assert "outlined" in found.message
    spot = circle_path(3.62, fill=BLACK)
    (found,) = findings("hole.drawn", exam(GROUND, (disc_cover(3.62), 1.0), paths=(spot,)))
    assert "filled in" in found.message


def test_no_hole_drawn() -> None:
    wide = exam(GROUND, (disc_cover(8), 0.0), paths=(circle_path(8, fill=WHITE),))
    beside = exam(
        GROUND, (disc_cover(3.6, (2, 0)), 0.0), paths=(circle_path(3.6, at=(2, 0), fill=WHITE),)
    )
    covered = exam(GROUND, paths=(circle_path(3.62, fill=WHITE), circle_path(53, fill=CYAN)))
    square = exam(GROUND, (box_cover(Box.centred(7.2, 7.2)), 0.0))
    paper = exam()
    for part in (wide, beside, covered, square, paper):
        assert [type(said) for said in examine("hole.drawn", part)] == [Clear]


def test_one_of_many_rings_is_no_drawn_hole() -> None:
    radii = (2.2, 3.5, 4.6, 5.9, 7.3, 8.4, 9.8)
    paths = tuple(circle_path(r, stroke=BLACK, stroke_mm=0.3) for r in radii)
    grooves = exam(GROUND, *((ring_cover(r, 0.3), 1.0) for r in radii), paths=paths)
    assert [type(said) for said in examine("hole.drawn", grooves)] == [Clear]


def test_no_hole_is_not_applicable() -> None:
    assert [type(s) for s in examine("hole.drawn", make_exam("sleeve-pinned"))] == [NotApplicable]
