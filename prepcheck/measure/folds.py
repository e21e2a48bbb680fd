"""Folds: where they are, how near type comes, where creases are drawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import PathItem
from prepcheck.geometry import Box, FloatArray, Point
from prepcheck.outline import Outline, Panel

TOUCH_MM = 0.05
"""Panels whose edges lie this close touch."""
STRAIGHT_MM = 0.3
"""A drawn crease strays no further from a straight line than this."""


class Fold(NamedTuple):
    """A crease: the line x = `at` (axis 0) or y = `at` (axis 1), from `low` to `high` along it.

    `before` is the panel on the side of smaller coordinates, `after` the one beyond.
    """

    name: str
    axis: int
    at: float
    low: float
    high: float
    before: Panel
    after: Panel

    @property
    def length(self) -> float:
        return self.high - self.low

    def across(self, points: FloatArray) -> FloatArray:
        """Return how far beyond the fold places (..., 2) lie, negative before it."""
        return np.asarray(points[..., self.axis] - self.at)

    def place(self, off: float, along: float) -> Point:
        """Return the place `off` mm beyond the fold, at the coordinate `along` it."""
        pair = (self.at + off, along)
        return Point(*pair) if self.axis == 0 else Point(pair[1], pair[0])

    def width(self, panel: Panel) -> float:
        """Return how wide a panel is across the fold."""
        return panel.box.width if self.axis == 0 else panel.box.height

    @property
    def words(self) -> str:
        """What it lies between, as part of a sentence."""
        return f"the fold between {self.before.name} and {self.after.name}"


def folds_of(outline: Outline) -> tuple[Fold, ...]:
    """Return the folds of a piece with the panels on either side."""
    found = []
    for segment in outline.folds:
        (x0, y0), (x1, y1) = segment.start, segment.end
        axis = 0 if abs(x1 - x0) < abs(y1 - y0) else 1
        at = (x0, y0)[axis]
        low, high = sorted(((y0, y1), (x0, x1))[axis])
        sides = [_beside(outline.panels, axis, at, low, high, side) for side in (2, 0)]
        if sides[0] is not None and sides[1] is not None:
            found.append(Fold(segment.name, axis, at, low, high, sides[0], sides[1]))
    return tuple(found)


def _beside(
    panels: Sequence[Panel], axis: int, at: float, low: float, high: float, side: int
) -> Panel | None:
    """Return the panel whose edge (box index `side` + axis) lies on a fold's middle."""
    middle = (low + high) / 2
    for panel in panels:
        edge, start, end = panel.box[side + axis], panel.box[1 - axis], panel.box[3 - axis]
        if abs(edge - at) <= TOUCH_MM and start <= middle <= end:
            return panel
    return None


def type_clearances(corners: FloatArray, fold: Fold) -> FloatArray:
    """Return the distance in mm of each glyph (n, 4, 2) from a fold.

    Where the fold runs through it the distance is negative, by as much as lies on the smaller
    side; it is infinite where the glyph lies past the fold's ends.
    """
    if not len(corners):
        return np.empty(0)
    return places_clearances(corners.reshape(-1, 2), np.arange(0, 4 * len(corners), 4), fold)


def places_clearances(places: FloatArray, first: NDArray[np.intp], fold: Fold) -> FloatArray:
    """Return the same (k,) of things of any number of places (n, 2), which begin at `first`
    (k,)."""
    off, along = fold.across(places), places[:, 1 - fold.axis]
    low, high = np.minimum.reduceat(off, first), np.maximum.reduceat(off, first)
    clearance = np.where(low >= 0, low, np.where(high <= 0, -high, -np.minimum(high, -low)))
    past = np.maximum.reduceat(along, first) < fold.low
    past |= np.minimum.reduceat(along, first) > fold.high
    return np.asarray(np.where(past, np.inf, clearance))


def inside(corners: FloatArray, box: Box) -> NDArray[np.bool_]:
    """Say which glyphs (n, 4, 2) have their centre in a box."""
    if not len(corners):
        return np.zeros(0, bool)
    x, y = corners.mean(axis=1).T
    return np.asarray((x >= box.x0) & (x <= box.x1) & (y >= box.y0) & (y <= box.y1))


class Crease(NamedTuple):
    """A straight line drawn on a layer of creases: its coordinate on the axis it crosses."""

    at: float
    path: tuple[Point, Point]


def creases(paths: Iterable[PathItem], axis: int, least_mm: float) -> tuple[Crease, ...]:
    """Return the straight lines of at least `least_mm` across an axis, by their coordinate."""
    found = []
    for item in paths:
        for run in item.segments:
            points = np.array(run, np.float64).reshape(-1, 2)
            for start, end in pairwise(points):
                off = abs(float(end[axis] - start[axis]))
                along = abs(float(end[1 - axis] - start[1 - axis]))
                if off <= STRAIGHT_MM and along >= least_mm:
                    ends = (Point(*map(float, start)), Point(*map(float, end)))
                    found.append(Crease(float(start[axis] + end[axis]) / 2, ends))
    return tuple(sorted(found))
