"""Leaders find their way to the edge of the art past the words. A leader is
walked in steps of 0.1 pt, and no step may lie in a word."""

import itertools
import math
import random

import numpy as np
import pytest

from prepcheck.proof.callouts import Rail, RoundRail, SquareRail
from prepcheck.proof.leaders import PlacedWords, along, way_out
from prepcheck.proof.pen import XY, Rect

ROOM = 16.0
ROUND = RoundRail((300.0, 300.0), 200.0)
SQUARE = SquareRail(Rect(100.0, 100.0, 600.0, 400.0))
INK = 0.5
"""A word's ink ends this far inside its box, in points."""


def corners(rect: Rect) -> list[XY]:
    x, y, right, bottom = rect.x, rect.y, rect.right, rect.bottom
    middle = (x + right) / 2, (y + bottom) / 2
    return [(middle[0], y), (middle[0], bottom), (x, middle[1]), (right, middle[1]),
            (x, y), (right, y), (x, bottom), (right, bottom)]  # fmt: skip


def placed(words: list[Rect]) -> PlacedWords:
    rows = [(word.x, word.y, word.right, word.bottom) for word in words]
    return PlacedWords(np.array(rows, np.float64).reshape(-1, 4))


def walked(points: tuple[XY, ...]) -> list[XY]:
    steps: list[XY] = []
    for start, end in itertools.pairwise(points):
        count = max(1, math.ceil(math.dist(start, end) / 0.1))
        steps += [
            (start[0] + (end[0] - start[0]) * i / count, start[1] + (end[1] - start[1]) * i / count)
            for i in range(count + 1)
        ]
    return steps


def met(points: tuple[XY, ...], words: list[Rect]) -> list[Rect]:
    return [
        word
        for word in words
        if any(
            word.x + INK < x < word.right - INK and word.y + INK < y < word.bottom - INK
            for x, y in walked(points)
        )
    ]


def column(x: float, y: float, width: float, lines: int) -> list[Rect]:
    """Return lines of a paragraph, 8 pt tall and 12 pt apart."""
    return [Rect(x, y + 12.0 * i, width, 8.0) for i in range(lines)]


@pytest.mark.parametrize("rail", [ROUND, SQUARE], ids=["round", "square"])
def test_the_nearest_way_is_taken_where_it_is_free(rail: Rail) -> None:
    way = way_out([(300.0, 200.0)], rail, ROOM, placed([]))
    assert len(way.points) == 2
    assert rail.inset(way.exit) == pytest.approx(ROOM)


@pytest.mark.parametrize("marked", range(20))
def test_no_leader_runs_through_a_paragraph(marked: int) -> None:
    words = column(180.0, 160.0, 160.0, 20)
    way = way_out(corners(words[marked]), SQUARE, ROOM, placed(words))
    assert met(way.points, words) == []
    assert SQUARE.inset(way.exit) == pytest.approx(ROOM)


def test_a_leader_goes_round_a_corner_where_no_straight_way_is_free() -> None:
    wall = [Rect(200.0, 200.0, 8.0, 180.0), Rect(360.0, 200.0, 8.0, 180.0),
            Rect(200.0, 190.0, 168.0, 6.0)]  # fmt: skip
    foot = [Rect(240.0, 360.0, 90.0, 8.0)]
    way = way_out([(285.0, 300.0)], SQUARE, ROOM, placed([*wall, *foot]))
    assert len(way.points) == 3
    assert met(way.points, [*wall, *foot]) == []


def test_on_a_label_leaders_pass_between_words() -> None:
    rng = random.Random(7)
    words = [
        Rect(300 + rng.uniform(-120, 80), 300 + rng.uniform(-120, 110), rng.uniform(15, 50), 7.0)
        for _ in range(30)
    ]
    free = 0
    for word in words:
        way = way_out(corners(word), ROUND, ROOM, placed(words))
        free += not met(way.points, words)
        assert ROUND.inset(way.exit) == pytest.approx(ROOM)
    assert free >= len(words) - 1  # words that lie over each other leave some without a way


def test_a_number_that_was_moved_is_reached_round_the_piece_not_over_it() -> None:
    way = way_out([(300.0, 150.0)], ROUND, ROOM, placed([]))
    place = ROUND.at(ROUND.along(way.exit) + 180.0)
    leader = along(way, place, ROUND, ROOM)
    assert leader[-1] == place
    outside = walked(leader[len(way.points) - 1 :])
    assert max(ROUND.inset(point) for point in outside) <= ROOM + 0.5
