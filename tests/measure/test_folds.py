"""Folds: distances by hand, creases, changes of colour at known places, the way type reads."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from prepcheck.art.model import Content, PathItem
from prepcheck.geometry import Affine, Box, Point
from prepcheck.measure import foldends
from prepcheck.measure.edges import LiveEdge
from prepcheck.measure.foldcolour import colour_change
from prepcheck.measure.foldends import ends_near
from prepcheck.measure.folds import Fold, creases, folds_of, type_clearances
from prepcheck.measure.type_direction import WAYS, shares_by_way, type_tops
from prepcheck.outline import Panel
from prepcheck.press.view import View
from prepcheck.spec.load import load_spec
from tests.checks.exams import (
    BLACK,
    box_cover,
    box_path,
    box_quad,
    circle_path,
    path,
    scene,
    sleeve_spec,
)

NOTHING = np.empty((0, 2))


def fold(axis: int = 0, at: float = 0.0) -> Fold:
    box = Box(-60, -30, 60, 30)
    return Fold("a/b", axis, at, -30.0, 30.0, Panel("a", "face", box), Panel("b", "face", box))


def found_near(item: PathItem, view: View) -> list[LiveEdge]:
    return list(ends_near(Content(paths=(item,)), fold(), 1.0, view).edges())


def corners(*boxes: Box, turn: float = 0.0) -> np.ndarray:
    return np.array([box_quad(box, turn) for box in boxes], np.float64)


@pytest.mark.parametrize(
    ("box", "clearance"),
    [
        (Box(2, 0, 5, 3), 2.0),
        (Box(-5, 0, -2, 3), 2.0),
        (Box(-1, 0, 4, 3), -1.0),
        (Box(-3, 0, 0.5, 3), -0.5),
        (Box(0, 0, 3, 3), 0.0),
        (Box(2, 31, 5, 33), np.inf),
    ],
)
def test_distance_of_a_glyph(box: Box, clearance: float) -> None:
    assert type_clearances(corners(box), fold())[0] == clearance
    swapped = Box(box.y0, box.x0, box.y1, box.x1)
    assert type_clearances(corners(swapped), fold(axis=1))[0] == clearance


def test_a_turned_glyph_is_measured_to_its_corner() -> None:
    # A square of 2 mm about (3, 0), on its corner: half a diagonal is the root of 2.
    quad = box_quad(Box(2, -1, 4, 1), 45.0, about=(3.0, 0.0))
    assert type_clearances(np.array([quad]), fold())[0] == pytest.approx(3 - 2**0.5)


def test_folds_know_the_panels_on_both_sides() -> None:
    found = {f.name: f for f in folds_of(load_spec("gatefold-12in-flat").outline_of())}
    top = found["fold between left inside and front"]
    assert (top.axis, top.before.name, top.after.name) == (1, "front", "left inside")
    assert top.length == pytest.approx(313.0)
    assert found["fold between back and spine"].axis == 0
    assert found["fold between left inside and glue flap, left"].after.kind == "flap"
    assert len(found) == 9


@pytest.mark.parametrize("at_once", [60, 400, 10**6])
def test_very_many_ends_are_looked_at_in_portions(
    at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twelve shapes end beside the fold, every third of them not painted."""
    monkeypatch.setattr(foldends, "_PLACES_AT_ONCE", at_once)
    shapes = [Box(-8, y, 0.1 * (1 + y % 5) - 0.9, y + 2) for y in range(-28, 20, 4)]
    painted = [box for number, box in enumerate(shapes) if number % 3]
    view = scene(*((box_cover(box), 0.5) for box in painted))(sleeve_spec().outline_of())
    content = Content(paths=tuple(box_path(box, fill=BLACK) for box in shapes))
    ends = ends_near(content, fold(), 1.0, view)
    assert ends.off_mm.tolist() == pytest.approx([box.x1 for box in painted])


def test_only_what_ends_near_the_fold_is_an_edge() -> None:
    shapes = {
        "ends before": Box(-20, -5, -0.6, 5),
        "ends beyond": Box(-20, 10, 0.4, 15),
        "across": Box(-20, 16, 20, 20),
        "far": Box(-20, -20, -1.2, -10),
    }
    view = scene(*((box_cover(box), 0.5) for box in shapes.values()))(sleeve_spec().outline_of())
    found = {
        name: [
            pytest.approx(edge.clearance_mm) for edge in found_near(box_path(box, fill=BLACK), view)
        ]
        for name, box in shapes.items()
    }
    assert found == {"ends before": [0.6], "ends beyond": [0.4], "across": [], "far": []}


def test_a_ground_along_the_fold_is_no_edge_of_an_object() -> None:
    ground = Box(-20, -40, 0.2, 40)
    view = scene((box_cover(ground), 0.5))(sleeve_spec().outline_of())
    assert found_near(box_path(ground, fill=BLACK), view) == []


def test_what_lies_beyond_the_end_of_the_fold_belongs_to_another() -> None:
    view = scene((box_cover(Box(-20, -34, 0, -29.5)), 0.5))(sleeve_spec().outline_of())
    for y0, count in ((-34.0, 0), (-31.0, 1)):
        block = box_path(Box(-20, y0, 0, -29.5 if count == 0 else -28.0), fill=BLACK)
        assert len(found_near(block, view)) == count


def test_a_round_object_ends_where_it_is_nearest() -> None:
    view = scene((box_cover(Box(0.5, -5, 10.5, 5)), 1.0))(sleeve_spec().outline_of())
    (edge,) = found_near(circle_path(5.0, at=(5.5, 0.0), fill=BLACK), view)
    assert edge.clearance_mm == pytest.approx(0.5, abs=0.01)
    assert edge.place == pytest.approx(Point(0.5, 0.0), abs=0.1)


def test_strokes_end_half_their_width_further_out() -> None:
    view = scene((box_cover(Box(0.5, -0.5, 10, 0.5)), 1.0))(sleeve_spec().outline_of())
    rule = path([Point(1.0, 0), Point(10, 0)], stroke=BLACK, stroke_mm=1.0, closed=False)
    assert [e.clearance_mm for e in found_near(rule, view)] == [0.5]


def test_creases_are_long_straight_lines() -> None:
    lines = [
        path([Point(2.5, -30), Point(2.5, 30)], stroke=BLACK, closed=False),
        path([Point(-2.5, -30), Point(-2.4, 30)], stroke=BLACK, closed=False),
        path([Point(7, -30), Point(9, 30)], stroke=BLACK, closed=False),
        path([Point(5, -3), Point(5, 3)], stroke=BLACK, closed=False),
    ]
    assert [c.at for c in creases(lines, 0, 30.0)] == [pytest.approx(-2.45), 2.5]
    assert creases(lines, 1, 30.0) == ()


@pytest.mark.parametrize("off", [-1.0, -0.33, 0.0, 0.21, 1.5])
@pytest.mark.parametrize("axis", [0, 1])
def test_where_colour_changes(off: float, axis: int) -> None:
    beyond = Box(off, -60, 80, 60) if axis == 0 else Box(-80, off, 80, 60)
    view = scene((box_cover(Box(-80, -60, 80, 60)), 0.3), (box_cover(beyond), 0.8))(
        sleeve_spec().outline_of()
    )
    found = colour_change(view, fold(axis), 3.0, 3.0, NOTHING)
    assert found is not None
    assert found.off_mm == pytest.approx(off, abs=0.02)
    assert found.share == 1.0
    assert not found.bare_before
    assert not found.bare_after


def test_a_picture_that_ends_on_the_fold() -> None:
    outline = sleeve_spec().outline_of()
    view = scene((box_cover(Box(-80, -60, 80, 60)), 0.1), (box_cover(Box(0.7, -60, 80, 60)), 0.7))(
        outline
    )
    grain = np.random.default_rng(3).integers(-12, 13, view.rgb.shape[:2])[..., None]
    rgb = np.clip(view.rgb.astype(int) + grain * (view.rgb < 150), 0, 255).astype(np.uint8)
    found = colour_change(replace(view, rgb=rgb), fold(), 3.0, 3.0, NOTHING)
    assert found is not None
    assert found.off_mm == pytest.approx(0.7, abs=0.05)


def test_the_bare_side_is_told() -> None:
    view = scene((box_cover(Box(0, -60, 80, 60)), 0.8))(sleeve_spec().outline_of())
    found = colour_change(view, fold(), 3.0, 3.0, NOTHING)
    assert found is not None
    assert (found.bare_before, found.bare_after) == (True, False)


@pytest.mark.parametrize(
    "shapes",
    [
        [(Box(0, -10, 80, 10), 1.0)],  # a third of the fold
        [(Box(4.5, -60, 80, 60), 1.0)],  # too far off
        [(Box(0, -60, 0.3, 60), 1.0)],  # a rule: the same colour on both sides
        [(Box(0, -60, 80, 60), 0.05)],  # too faint to be seen
    ],
)
def test_what_is_no_change_on_the_fold(shapes: list[tuple[Box, float]]) -> None:
    view = scene(*((box_cover(box), amount) for box, amount in shapes))(sleeve_spec().outline_of())
    assert colour_change(view, fold(), 3.0, 3.0, NOTHING) is None


def test_a_slanting_edge_is_no_change_on_the_fold() -> None:
    view = scene((box_cover(Box(0, -90, 90, 90), turn=8.0), 1.0))(sleeve_spec().outline_of())
    assert colour_change(view, fold(), 3.0, 3.0, NOTHING) is None


def test_a_fold_covered_by_type_is_not_judged() -> None:
    view = scene((box_cover(Box(0, -60, 80, 60)), 0.8))(sleeve_spec().outline_of())
    assert colour_change(view, fold(), 3.0, 3.0, np.array([(-30.0, 25.0)])) is None


@pytest.mark.parametrize(
    ("degrees", "way"), [(0, "up"), (90, "left"), (180, "down"), (-90, "right"), (20, "up")]
)
def test_the_way_type_reads(degrees: float, way: str) -> None:
    quad = Affine.turn(degrees).quad(Box(0, 0, 1, 2))
    assert WAYS[type_tops(np.array([quad]))[0]] == way


def test_large_type_weighs_more() -> None:
    shares = shares_by_way(
        np.concatenate((corners(Box(0, 0, 3, 3)), corners(Box(0, 0, 1, 1), turn=180.0)))
    )
    assert shares == {"up": pytest.approx(0.9), "down": pytest.approx(0.1)}
    assert shares_by_way(np.empty((0, 4, 2))) == {}
