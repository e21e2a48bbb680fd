"""Lines of many drawn things in one array; places worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from prepcheck.art.model import BUTT_CAP, SQUARE_CAP, Content, PathItem
from prepcheck.geometry import Box, Circle, Point
from prepcheck.measure.drawn import Lines, lines_in
from prepcheck.measure.lines import drawn_lines
from prepcheck.measure.rim import hole_rim
from tests.checks.exams import BLACK, CYAN, box_path, circle_path, path

RULE = path([Point(0, 0), Point(1, 0), Point(1, 0.2)], stroke=BLACK, stroke_mm=0.4, closed=False)
BLOCK = box_path(Box(2, 2, 3, 4), fill=CYAN)


def lines_among(*paths: PathItem) -> Lines:
    return lines_in(Content(paths=paths), np.ones(len(paths), bool))


def test_lines_lie_end_to_end() -> None:
    lines = lines_among(RULE, BLOCK)
    assert lines.starts.tolist() == [0, 3]
    assert lines.lengths.tolist() == [3, 5]
    assert lines.line.tolist() == [0, 0, 0, 1, 1, 1, 1, 1]
    assert lines.half.tolist() == [0.2, 0.0]
    assert lines.filled.tolist() == [False, True]
    assert lines.boxes.tolist() == [[0, 0, 1, 0.2], [2, 2, 3, 4]]


def test_lines_are_taken_in_the_order_asked_for() -> None:
    taken = lines_among(RULE, BLOCK).take(np.array([1, 0, 1]))
    assert taken.starts.tolist() == [0, 5, 8]
    assert taken.boxes[:, 0].tolist() == [2, 0, 2]
    assert taken.points[5:8].tolist() == [[0, 0], [1, 0], [1, 0.2]]


def test_no_step_is_longer_than_asked_for() -> None:
    walked = lines_among(RULE, BLOCK).walked(0.25)
    first = walked.points[: walked.starts[1]]
    assert first == pytest.approx(
        np.array([(0, 0), (0.25, 0), (0.5, 0), (0.75, 0), (1, 0), (1, 0.2)])
    )
    assert walked.lengths.tolist() == [6, 4 + 8 + 4 + 8 + 1]
    assert walked.boxes.tolist() == lines_among(RULE, BLOCK).boxes.tolist()


def test_near_something_the_same_places_are_walked_and_further_off_few() -> None:
    rng = np.random.default_rng(4)
    corners = rng.uniform(-60, 60, (400, 4, 2))
    drawn = [
        path([Point(*corner) for corner in own], stroke=BLACK, stroke_mm=width, closed=False)
        for own, width in zip(corners.tolist(), rng.uniform(0, 2, 400).tolist(), strict=True)
    ]
    lines, rim = lines_among(*drawn), hole_rim(Circle(10.0, -5.0, 6.0), 2.0)
    whole, some = lines.walked(0.25), lines.walked_near(0.25, rim.room, rim.depth_mm)
    assert len(some.points) < 0.3 * len(whole.points)
    kept = []
    for each in (whole, some):
        centre = rim.room(each.points)
        room = centre - each.half[each.line]
        near = room < rim.depth_mm
        # Places that follow one another without one further off between them.
        row = np.cumsum(~near)[near]
        joined = np.concatenate(([False], (np.diff(row) == 0) & (np.diff(each.line[near]) == 0)))
        kept.append((each.points[near].tolist(), each.line[near].tolist(), joined.tolist()))
        assert np.maximum.reduceat(centre, each.starts).max() > 60
    assert kept[0] == kept[1]
    furthest = [np.maximum.reduceat(rim.room(each.points), each.starts) for each in (whole, some)]
    assert ((furthest[0] <= rim.depth_mm) == (furthest[1] <= rim.depth_mm)).all()


def test_nothing_drawn() -> None:
    lines = lines_among().walked(0.25)
    assert [len(lines.points), len(lines.starts), lines.boxes.shape] == [0, 0, (0, 4)]


def test_lines_among_paths_are_those_that_are_lines_by_themselves() -> None:
    turn = np.radians(30)
    along, aside = np.array((np.cos(turn), np.sin(turn))), np.array((-np.sin(turn), np.cos(turn)))
    sliver = [Point(*(a * along + b * aside)) for a, b in ((0, 0), (4, 0), (4, 0.3), (0, 0.3))]
    lines = [path(sliver, fill=BLACK), RULE, box_path(Box(0, 0, 0.1, 1.0), fill=BLACK)]
    others = [
        BLOCK, circle_path(3.0, fill=BLACK), box_path(Box(0, 0, 0.05, 0.9), fill=BLACK),
        box_path(Box(0, 0, 5, 0.1), fill=BLACK)._replace(clipped=True),
    ]  # fmt: skip
    paths = (others[0], lines[0], *others[1:], *lines[1:])
    found = drawn_lines(Content(paths=paths))
    assert [item for item, _ in found] == lines
    assert [stroke.paint for _, stroke in found] == [BLACK] * 3
    assert [stroke.width for _, stroke in found] == pytest.approx([0.3, 0.4, 0.1])
    assert not len(drawn_lines(Content()))


@pytest.mark.parametrize("turn", [0.0, 20.0, 45.0, 90.0])
@pytest.mark.parametrize(
    ("cap", "corners"),
    [(BUTT_CAP, [(0, 0.3), (0, -0.3)]), (SQUARE_CAP, [(-0.3, 0.3), (-0.3, -0.3)])],
)
def test_a_flat_end_reaches_as_far_as_its_corners(
    turn: float, cap: int, corners: list[tuple[float, float]]
) -> None:
    """Corners of strokes by ISO 32000-2, Table 53, turned by hand; the room is how far right."""
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    way = [Point(0, 0), Point(c, s), Point(2 * c, 2 * s)]
    line = path(way, stroke=BLACK, stroke_mm=0.6, closed=False)._replace(cap=cap)
    lines = lines_among(line).walked(0.1)
    room = lines.points[:, 0]
    least = min(x * c - y * s for x, y in corners)
    assert (room - lines.reach(room)).min() == pytest.approx(least, abs=1e-9)


def test_round_and_closed_strokes_reach_by_half_their_width() -> None:
    line = path([Point(0, 0), Point(1, 0)], stroke=BLACK, stroke_mm=0.6, closed=False)
    closed = box_path(Box(2, 2, 3, 4), stroke=BLACK, stroke_mm=0.6)._replace(cap=SQUARE_CAP)
    lines = lines_among(line, closed)
    assert lines.reach(lines.points[:, 0]).tolist() == [0.3] * 7
