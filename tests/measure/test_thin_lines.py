"""Places along thin lines near a guide, against every place of every line looked at one by one."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest

from prepcheck.art.model import Content, PathItem
from prepcheck.geometry import Box, Circle
from prepcheck.measure.thin_lines import WALK_MM, ThinLines
from tests.checks.exams import BLACK

ROOM = 0.15
Place = tuple[float, float]
CIRCLES = [Circle(0, 0, 20), Circle(5, -3, 0.1), Circle(-4, 8, 9.5)]
SEGMENTS = [((-20, -10), (20, -10)), ((3, -20), (3, 20)), ((-9, -9), (12, 7)), ((2, 2), (2, 2))]


def stroke(corners: list[Place], width: float = 0.2) -> PathItem:
    flat = tuple(value for corner in corners for value in corner)
    xs, ys = zip(*corners, strict=True)
    box = Box(min(xs), min(ys), max(xs), max(ys))
    return PathItem(box, None, BLACK, width, False, None, (flat,))


def random_lines() -> list[list[Place]]:
    chance = random.Random(8)
    lines = [
        [(chance.uniform(-25, 25), chance.uniform(-25, 25)) for _ in range(chance.randrange(2, 5))]
        for _ in range(150)
    ]
    lines += [[(x, -10.1), (x + 3, -10.1)] for x in range(-18, 15, 4)]
    lines += [[(20.1, 0.0), (20.1, 0.0)], [(3.0, 3.0), (3.0, 3.0), (9.0, 3.0)]]
    ring = [(math.cos(t / 20) * 20.05, math.sin(t / 20) * 20.05) for t in range(126)]
    return [*lines, ring]


def walked(corners: list[Place]) -> list[Place]:
    """Every part in equal steps of at most `WALK_MM`, and the end of the last."""
    places = []
    for (x0, y0), (x1, y1) in itertools.pairwise(corners):
        count = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / WALK_MM))
        places += [(x0 + (x1 - x0) * k / count, y0 + (y1 - y0) * k / count) for k in range(count)]
    return [*places, corners[-1]]


def off_segment(x: float, y: float, segment: tuple[Place, Place]) -> float:
    (ax, ay), (bx, by) = segment
    square = (bx - ax) ** 2 + (by - ay) ** 2
    share = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / square if square else 0.0
    share = min(max(share, 0.0), 1.0)
    return math.hypot(x - ax - share * (bx - ax), y - ay - share * (by - ay))


@pytest.mark.parametrize("guide", [*CIRCLES, *SEGMENTS, SEGMENTS], ids=str)
def test_all_places_near_a_guide_are_found_and_belong_to_their_lines(guide: object) -> None:
    lines = random_lines()
    thin = ThinLines.of(Content(paths=tuple(map(stroke, lines))), 0.4)
    assert thin.places.tolist() == [len(walked(line)) for line in lines]
    if isinstance(guide, Circle):
        points, numbers = thin.near_circle(guide, ROOM)

        def off(x: float, y: float) -> float:
            return abs(math.hypot(x - guide.x, y - guide.y) - guide.radius)
    else:
        sides = guide if isinstance(guide, list) else [guide]
        starts, ends = (np.array(one, float) for one in zip(*sides, strict=True))
        points, numbers = thin.near_segments(starts, ends, ROOM)

        def off(x: float, y: float) -> float:
            return min(off_segment(x, y, side) for side in sides)

    due = [
        (round(x, 6), round(y, 6), number)
        for number, line in enumerate(lines)
        for x, y in walked(line)
        if off(x, y) <= ROOM
    ]
    found = [
        (round(x, 6), round(y, 6), number)
        for (x, y), number in zip(points.tolist(), numbers.tolist(), strict=True)
        if off(x, y) <= ROOM
    ]
    assert sorted(found) == sorted(due)
    assert len(points) < 0.3 * thin.places.sum()


def test_wide_lines_and_lone_points_are_left_out() -> None:
    paths = (stroke([(0, 0), (1, 0)], 0.5), stroke([(0, 0)]), stroke([(0, 0), (0, 1)]))
    assert ThinLines.of(Content(paths=paths), 0.4).path.tolist() == [2]
    none = ThinLines.of(Content(), 0.4)
    assert none.near_circle(Circle(0, 0, 5), ROOM)[0].shape == (0, 2)
    assert none.near_segments(np.zeros((1, 2)), np.ones((1, 2)), ROOM)[0].shape == (0, 2)
