"""Lines of many drawn things in one array; places worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from prepcheck.art.model import Content
from prepcheck.geometry import Box, Point
from prepcheck.measure.drawn import lines_of
from prepcheck.measure.lines import as_line, drawn_lines
from tests.checks.exams import BLACK, CYAN, box_path, circle_path, path

RULE = path([Point(0, 0), Point(1, 0), Point(1, 0.2)], stroke=BLACK, stroke_mm=0.4, closed=False)
BLOCK = box_path(Box(2, 2, 3, 4), fill=CYAN)


def test_lines_lie_end_to_end() -> None:
    lines = lines_of([RULE, BLOCK])
    assert lines.starts.tolist() == [0, 3]
    assert lines.lengths.tolist() == [3, 5]
    assert lines.line.tolist() == [0, 0, 0, 1, 1, 1, 1, 1]
    assert lines.half.tolist() == [0.2, 0.0]
    assert lines.filled.tolist() == [False, True]
    assert lines.boxes.tolist() == [[0, 0, 1, 0.2], [2, 2, 3, 4]]


def test_lines_are_taken_in_the_order_asked_for() -> None:
    taken = lines_of([RULE, BLOCK]).take(np.array([1, 0, 1]))
    assert taken.starts.tolist() == [0, 5, 8]
    assert taken.boxes[:, 0].tolist() == [2, 0, 2]
    assert taken.points[5:8].tolist() == [[0, 0], [1, 0], [1, 0.2]]


def test_no_step_is_longer_than_asked_for() -> None:
    walked = lines_of([RULE, BLOCK]).walked(0.25)
    first = walked.points[: walked.starts[1]]
    assert first == pytest.approx(
        np.array([(0, 0), (0.25, 0), (0.5, 0), (0.75, 0), (1, 0), (1, 0.2)])
    )
    assert walked.lengths.tolist() == [6, 4 + 8 + 4 + 8 + 1]
    assert walked.boxes.tolist() == lines_of([RULE, BLOCK]).boxes.tolist()


def test_nothing_drawn() -> None:
    lines = lines_of([]).walked(0.25)
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
    assert [stroke for _, stroke in found] == [as_line(item) for item in lines]
    assert found[0][1].width == pytest.approx(0.3)
    assert drawn_lines(Content()) == ()
