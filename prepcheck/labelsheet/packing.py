"""How many circles of one size go into a rectangle, in square rows or in staggered ones."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from prepcheck.geometry import Box, Point

SLACK_MM = 1e-6
"""What rounding may take from a length."""


@dataclass(frozen=True)
class Rows:
    """An arrangement: 'square' or 'staggered', and the circles' centres, row by row from the head,
    from the left; the whole stands in the middle of its rectangle."""

    kind: str
    centres: tuple[Point, ...]


def square_rows(area: Box, diameter: float, gap: float) -> Rows:
    """Return the rows and columns of circles that keep at least `gap` mm between each other."""
    pitch = diameter + gap
    across, up = (_steps(side, diameter, pitch) for side in (area.width, area.height))
    at = [(x * pitch, y * pitch) for y in range(up) for x in range(across)]
    return Rows("square", _centred(at, area))


def staggered_rows(area: Box, diameter: float, gap: float) -> Rows:
    """Return the staggered rows that hold most, upright or level.

    Every second row is moved by half a pitch. The rows are hexagonal, or drawn out lengthwise
    where they then lie so much closer that a further one fits in.
    """
    best: list[tuple[float, float]] = []
    for turned in (False, True):
        length, depth = (area.height, area.width) if turned else (area.width, area.height)
        for at in _staggered(length, depth, diameter, diameter + gap):
            if len(at) > len(best):
                best = [(y, x) for x, y in at] if turned else at
    return Rows("staggered", _centred(best, area))


def _staggered(
    length: float, depth: float, diameter: float, pitch: float
) -> Iterator[list[tuple[float, float]]]:
    """Yield every arrangement of staggered rows along `length`, hexagonal ones first."""
    most = _steps(length, diameter, pitch)
    for first in range(most, 0, -1):
        for second in (first, first - 1):
            halves = first - 0.5 if second == first else first - 1.0
            if second == 0 or halves * pitch + diameter > length + SLACK_MM:
                continue
            widest = (length - diameter) / halves
            for along in _pitches(depth, diameter, pitch, widest):
                between = _between(pitch, along)
                rows = _steps(depth, diameter, between)
                yield [
                    (along * (x + (0.5 if row % 2 else 0.0)), row * between)
                    for row in range(rows)
                    for x in range(second if row % 2 else first)
                ]


def _pitches(depth: float, diameter: float, pitch: float, widest: float) -> Iterator[float]:
    """Yield the hexagonal pitch along a row, and the least at which each further row fits in."""
    yield pitch
    rows = _steps(depth, diameter, _between(pitch, pitch))
    for more in range(rows + 1, _steps(depth, diameter, pitch / 2) + 1):
        between = (depth - diameter) / (more - 1)
        along = 2 * math.sqrt(max(pitch**2 - between**2, 0.0))
        if pitch <= along <= widest + SLACK_MM:
            yield along


def _between(pitch: float, along: float) -> float:
    """Return how far apart rows are: circles of one row touch the next, and the next but one."""
    return max(math.sqrt(max(pitch**2 - (along / 2) ** 2, 0.0)), pitch / 2)


def _steps(side: float, diameter: float, pitch: float) -> int:
    if side + SLACK_MM < diameter:
        return 0
    return math.floor((side - diameter + SLACK_MM) / pitch) + 1


def _centred(at: list[tuple[float, float]], area: Box) -> tuple[Point, ...]:
    if not at:
        return ()
    box = Box.around(at)
    dx, dy = area.centre.x - box.centre.x, area.centre.y - box.centre.y
    placed = [Point(x + dx, y + dy) for x, y in at]
    return tuple(sorted(placed, key=lambda point: (-round(point.y, 3), round(point.x, 3))))


def middled(centres: tuple[Point, ...], area: Box) -> tuple[Point, ...]:
    """Return centres moved together so that what they take up stands in the middle."""
    return _centred(list(centres), area)
