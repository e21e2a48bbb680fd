"""What shows, lies on the art and comes near the trim is told alike for one thing and for many."""

from __future__ import annotations

import numpy as np
import pytest

from prepcheck.art.model import Paint, Space, SpaceFamily
from prepcheck.geometry import Box, Grid
from prepcheck.measure.clearance import is_seen, trim_clearances
from prepcheck.outline import Disc, Outline, Panel, Panels
from prepcheck.press.view import View
from prepcheck.sheets.shows import Shows
from prepcheck.sheets.surroundings import (
    are_on_art,
    are_reversed_out,
    are_unseen,
    on_art,
    reversed_out,
    unseen,
)
from prepcheck.spec.model import Spec
from tests.checks.exams import label_spec, make_exam, sleeve_spec


def test_many_boxes_show_what_each_shows() -> None:
    chance = np.random.default_rng(3)
    rgb, ink = np.full((90, 130, 3), 255, np.uint8), np.zeros((90, 130), np.uint8)
    for _ in range(9):
        row, column, high, wide = chance.integers(1, (80, 120, 20, 20))
        rgb[row : row + high, column : column + wide, chance.integers(3)] = chance.integers(
            225, 256
        )
        ink[row : row + 9, column : column + high] = chance.integers(40)
    view = View(ink, rgb[:, :, 0], rgb, Grid(130, 90, 0.1, -3.0, 5.0))
    places = chance.uniform(-6, 12, (400, 2))
    boxes = np.hstack((places, places + chance.uniform(0, 3, (400, 2))))
    each = [is_seen(view, Box(*box)) for box in boxes.tolist()]
    assert {*each} == {True, False}
    assert Shows(view).are_seen(boxes).tolist() == each


@pytest.mark.parametrize("spec", [label_spec(), sleeve_spec()], ids=["label", "sleeve"])
def test_many_boxes_lie_on_the_art_as_each_does(spec: Spec) -> None:
    exam = make_exam(spec)
    (sheet,) = exam.sheets
    side = max(sheet.outline.bounds.width, sheet.outline.bounds.height)
    chance = np.random.default_rng(5)
    places = chance.uniform(-0.7 * side, 0.7 * side, (300, 2))
    boxes = [Box(*at) for at in np.hstack((places, places + chance.uniform(0, side / 2, (300, 2))))]
    each = [on_art(exam, sheet, box) for box in boxes]
    assert {*each} == {True, False}
    assert are_on_art(exam, sheet, boxes).tolist() == each


def test_many_things_are_light_on_dark_as_each_is() -> None:
    levels = [0.0, 0.1, 0.15, 0.2, 0.3, 0.45, 0.6, 0.97, 0.98, 1.0]
    pairs = [(own, around) for own in levels for around in (None, *levels)]
    lightness = np.array([own for own, _ in pairs])
    around = np.array([np.nan if ground is None else ground for _, ground in pairs])
    grey = Paint(Space(SpaceFamily.GREY, 1), (0.0,), (), (0.0, 0.0, 0.0))
    paints = [grey._replace(rgb=(own, own, own)) for own in lightness.tolist()]
    grounds = [ground for _, ground in pairs]
    exact = np.array([paint.lightness for paint in paints])
    sure, perhaps = are_reversed_out(exact, around)
    each = [reversed_out(paint, ground) for paint, ground in zip(paints, grounds, strict=True)]
    assert {*each} == {True, False, None}
    assert sure.tolist() == [one is True for one in each]
    assert perhaps.tolist() == [one is None for one in each]
    none = [unseen(paint, ground) for paint, ground in zip(paints, grounds, strict=True)]
    assert are_unseen(exact, around).tolist() == none


L_SHAPE = Panels((Panel("A", "face", Box(0, 0, 40, 20)), Panel("B", "face", Box(0, 20, 20, 40))))


@pytest.mark.parametrize(
    ("outline", "convex"),
    [(Disc(40.0), True), (Panels(L_SHAPE.parts[:1]), True), (L_SHAPE, False)],
    ids=["disc", "box", "corner"],
)
def test_how_near_the_trim_a_quad_comes_is_told_as_from_places_all_along_it(
    outline: Outline, convex: bool
) -> None:
    assert outline.convex is convex
    chance = np.random.default_rng(6)
    middles = chance.uniform(-25, 45, (400, 1, 2))
    quads = middles + chance.uniform(-4, 4, (400, 4, 2))
    share = np.linspace(0, 1, 201)[:, None]
    sides = np.roll(quads, -1, axis=1)
    places = quads[:, :, None] * (1 - share) + sides[:, :, None] * share
    distance = outline.signed_distance(places).reshape(400, -1)
    outside = distance.min(axis=1) >= 0.02
    inside = distance.min(axis=1) < -0.02
    found = trim_clearances(quads, outline, 3.0)
    assert np.isinf(found[outside]).all()
    near = inside & (distance.max(axis=1) > -3.0)
    assert near.any()
    assert outside.any()
    assert found[near] == pytest.approx(-distance.max(axis=1)[near], abs=0.05)
