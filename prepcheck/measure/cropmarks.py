"""Crop marks: short straight strokes outside the corners, or on the axes, that point at the trim.

How they look is common practice, no source: marks are straight and upright, some millimetres
long, thin, and keep clear of the trim.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content, PathItem
from prepcheck.geometry import Box, FloatArray, Point, distinct

LEAST_LENGTH_MM = 1.5
MOST_LENGTH_MM = 25.0
MOST_WIDTH_MM = 0.6
MOST_GAP_MM = 15.0
"""Widest gap between a mark's inner end and the trim it points at."""
SLACK_MM = 0.15
"""How far marks of one edge may lie off each other."""
MOST_STROKES = 2000
"""More short upright strokes than this are a drawing, not marks."""


class _Strokes(NamedTuple):
    """Parallel strokes: where each lies across its length, and its low and high end (n,)."""

    at: FloatArray
    low: FloatArray
    high: FloatArray


def may_be_marks(content: Content) -> list[PathItem]:
    """Return the paths that may be marks by their widths and extents, and few more."""
    traits, (points, starts, path) = content.path_traits, content.path_outlines
    some = (traits.fill >= 0) & (traits.runs == 1)
    some &= _slim(content.path_boxes[:, :2], content.path_boxes[:, 2:])
    stroked = (traits.stroke >= 0) & (traits.fill < 0) & (traits.stroke_mm <= MOST_WIDTH_MM)
    corners = np.diff(starts)
    short = np.flatnonzero(stroked[path] & (corners >= 2) & (corners <= 3))
    first, last = points[starts[short]], points[starts[short + 1] - 1]
    middle = points[starts[short] + 1]
    low = np.minimum(np.minimum(first, middle), last)
    high = np.maximum(np.maximum(first, middle), last)
    some[path[short[_slim(low, high)]]] = True
    return [content.paths[index] for index in np.flatnonzero(some).tolist()]


def _slim(low: FloatArray, high: FloatArray) -> NDArray[np.bool_]:
    """Say which extents (n, 2) to (n, 2) are those of a mark."""
    sides = high - low
    long = sides.max(axis=1)
    is_long = (long >= LEAST_LENGTH_MM) & (long <= MOST_LENGTH_MM)
    slim: NDArray[np.bool_] = is_long & (sides.min(axis=1) <= MOST_WIDTH_MM)
    return slim


def corner_rectangles(paths: Iterable[PathItem]) -> tuple[Box, ...]:
    """Return each upright rectangle (mm) that has a pair of marks outside all its corners."""
    vertical, horizontal = _upright_strokes(paths)
    if not len(vertical.at) or not len(horizontal.at):
        return ()
    below, above = (
        _corners(vertical, horizontal, top=False),
        _corners(vertical, horizontal, top=True),
    )
    found = set()
    for x0, y0 in below[0]:
        for x1, y1 in above[1]:
            if x1 - x0 < MOST_GAP_MM or y1 - y0 < MOST_GAP_MM:
                continue
            if _near(above[0], x0, y1) and _near(below[1], x1, y0):
                found.add(Box(x0, y0, x1, y1))
    return tuple(sorted(found))


def centre_marks(paths: Iterable[PathItem], width: float, height: float) -> Point | None:
    """Return the one place (mm) that marks on both axes of a trim of this size point at."""
    vertical, horizontal = _upright_strokes(paths)
    if not len(vertical.at) or not len(horizontal.at):
        return None
    found: set[Point] = set()
    for x in distinct(np.round(vertical.at, 2)):
        for y in distinct(np.round(horizontal.at, 2)):
            if _points_at(vertical, x, y, height / 2) and _points_at(horizontal, y, x, width / 2):
                found.add(Point(float(x), float(y)))
    if not found:
        return None
    box = Box.around(found)
    return box.centre if max(box.width, box.height) <= 2 * SLACK_MM else None


def _upright_strokes(paths: Iterable[PathItem]) -> tuple[_Strokes, _Strokes]:
    """Return the vertical and the horizontal strokes short and thin enough to be marks."""
    rows: tuple[list[tuple[float, float, float]], ...] = ([], [])
    for path in paths:
        if path.stroke is not None and path.fill is None:
            if path.stroke_mm > MOST_WIDTH_MM:
                continue
            spans = [_span(run) for run in path.segments if len(run) in (4, 6)]
        elif path.fill is not None and len(path.segments) == 1 and len(path.segments[0]) <= 10:
            spans = [path.box]
        else:
            continue
        for x0, y0, x1, y1 in spans:
            width, height = x1 - x0, y1 - y0
            if width <= MOST_WIDTH_MM and LEAST_LENGTH_MM <= height <= MOST_LENGTH_MM:
                rows[0].append(((x0 + x1) / 2, y0, y1))
            elif height <= MOST_WIDTH_MM and LEAST_LENGTH_MM <= width <= MOST_LENGTH_MM:
                rows[1].append(((y0 + y1) / 2, x0, x1))
    vertical, horizontal = (
        _Strokes(
            *np.array(found if len(found) <= MOST_STROKES else [], np.float64).reshape(-1, 3).T
        )
        for found in rows
    )
    return vertical, horizontal


def _span(run: tuple[float, ...]) -> Box:
    return Box(min(run[::2]), min(run[1::2]), max(run[::2]), max(run[1::2]))


def _corners(
    vertical: _Strokes, horizontal: _Strokes, *, top: bool
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Return the left and the right corners (x, y) that a vertical and a horizontal mark share."""
    x, y = vertical.at[:, None], horizontal.at[None, :]
    up = vertical.low[:, None] - y if top else y - vertical.high[:, None]
    left, right = x - horizontal.high[None, :], horizontal.low[None, :] - x
    pairs = []
    for gap in (left, right):
        meet = (up >= -SLACK_MM) & (up <= MOST_GAP_MM) & (gap >= -SLACK_MM) & (gap <= MOST_GAP_MM)
        i, j = np.nonzero(meet)
        corners = {
            (float(vertical.at[a]), float(horizontal.at[b])) for a, b in zip(i, j, strict=True)
        }
        pairs.append(sorted(corners))
    return pairs[0], pairs[1]


def _near(corners: list[tuple[float, float]], x: float, y: float) -> bool:
    return any(abs(a - x) <= SLACK_MM and abs(b - y) <= SLACK_MM for a, b in corners)


def _points_at(strokes: _Strokes, at: float, centre: float, half: float) -> bool:
    """Say whether strokes on this line lie outside the trim on both sides of its centre."""
    own = np.abs(strokes.at - at) <= SLACK_MM
    above, below = strokes.low[own] - centre - half, centre - half - strokes.high[own]
    return all(bool(np.any((gap >= -SLACK_MM) & (gap <= MOST_GAP_MM))) for gap in (above, below))
