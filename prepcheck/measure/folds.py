"""Folds: how near type and drawn things come, where colour changes, where creases are drawn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import ImageItem, PathItem
from prepcheck.geometry import Box, FloatArray, Point
from prepcheck.measure.edges import LiveEdge, is_whole, shows
from prepcheck.outline import Outline, Panel
from prepcheck.press.view import View

TOUCH_MM = 0.05
"""Panels whose edges lie this close touch."""
LONG = 0.5
"""An edge that follows a fold for this share of it is a change of colour on the fold, no end of
an object."""
MOST_POINTS = 50
"""Places kept of one edge."""
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
    off = fold.across(corners)
    along = corners[..., 1 - fold.axis]
    low, high = off.min(axis=1), off.max(axis=1)
    clearance = np.where(low >= 0, low, np.where(high <= 0, -high, -np.minimum(high, -low)))
    past = (along.max(axis=1) < fold.low) | (along.min(axis=1) > fold.high)
    return np.asarray(np.where(past, np.inf, clearance))


def inside(corners: FloatArray, box: Box) -> NDArray[np.bool_]:
    """Say which glyphs (n, 4, 2) have their centre in a box."""
    if not len(corners):
        return np.zeros(0, bool)
    x, y = corners.mean(axis=1).T
    return np.asarray((x >= box.x0) & (x <= box.x1) & (y >= box.y0) & (y <= box.y1))


def ends_near(
    paths: Iterable[PathItem], images: Iterable[ImageItem], fold: Fold, near_mm: float, view: View
) -> Iterator[LiveEdge]:
    """Yield the drawn things that end within `near_mm` of a fold, on either side of it.

    What runs across and comes out far enough has no end there; an edge that follows the fold is
    a change of colour on it, and so is a rule along it. Edges that do not show are left out.
    """
    ends = [
        end
        for points, half in _lines(paths, images, fold, near_mm)
        for end in _ends(points, half, fold, near_mm)
    ]
    for half in sorted({end.half_mm for end in ends}):
        own = [end for end in ends if end.half_mm == half]
        seen = shows(view, np.concatenate([end.points for end in own]), half)
        starts = np.cumsum([0, *(len(end.points) for end in own[:-1])])
        for end, is_seen in zip(own, np.logical_or.reduceat(seen, starts), strict=True):
            if is_seen:
                path = tuple(Point(float(x), float(y)) for x, y in end.points)
                yield LiveEdge(abs(end.off_mm), end.nearest, path, end.extent_mm)


class _End(NamedTuple):
    """Where a drawn thing ends near a fold: how far beyond it, the places of that edge beside the
    fold and the nearest of them, for how long it runs along the fold, half its stroke width."""

    off_mm: float
    points: FloatArray
    nearest: Point
    extent_mm: float
    half_mm: float


def _ends(points: FloatArray, half: float, fold: Fold, near_mm: float) -> Iterator[_End]:
    off = fold.across(points)
    for end, sign in ((float(off.min()) - half, -1), (float(off.max()) + half, 1)):
        if abs(end) >= near_mm:
            continue
        edge = _near_part(points, off + sign * half, near_mm)
        along = edge[:, 1 - fold.axis]
        extent = float(np.ptp(along))
        beside = min(along.max(), fold.high) - max(along.min(), fold.low)
        held = edge[(along >= fold.low) & (along <= fold.high)]
        if extent >= LONG * fold.length or beside < 0.5 * extent or not len(held):
            continue
        nearest = held[np.argmin(np.abs(fold.across(held) + sign * half - end))]
        every = max(1, len(held) // MOST_POINTS)
        yield _End(end, held[::every], Point(*map(float, nearest)), extent, half)


def _near_part(points: FloatArray, off: FloatArray, near_mm: float) -> FloatArray:
    """Return places every 0.25 mm of the stretches of a line that lie near the fold."""
    near = np.abs(off) < near_mm
    pieces = [points[near]]
    for index in np.flatnonzero(near[:-1] & near[1:]):
        start, end = points[index], points[index + 1]
        count = int(np.hypot(*(end - start)) / 0.25)
        share = np.linspace(0.0, 1.0, count + 2)[1:-1, None]
        pieces.append(start + share * (end - start))
    return np.concatenate(pieces)


def _lines(
    paths: Iterable[PathItem], images: Iterable[ImageItem], fold: Fold, near_mm: float
) -> Iterator[tuple[FloatArray, float]]:
    """Yield the outlines that come near a fold, each with half its stroke width."""
    drawn = [item for item in paths if not item.clipped]
    boxes = np.array([item.box for item in drawn], np.float64).reshape(-1, 4)
    for index in np.flatnonzero(_meeting(boxes, fold, near_mm)).tolist():
        item = drawn[index]
        half = item.stroke_mm / 2 if item.stroke is not None else 0.0
        for run in item.segments:
            points = np.array(run, np.float64).reshape(-1, 2)
            box = np.concatenate((points.min(axis=0), points.max(axis=0)))[None]
            if len(points) > 1 and _meeting(box, fold, near_mm + half)[0]:
                yield points, half
    for image in images:
        box = np.array([image.quad.box])
        if not image.is_mask and is_whole(image) and _meeting(box, fold, near_mm)[0]:
            yield np.array((*image.quad, image.quad.a), np.float64), 0.0


def _meeting(boxes: FloatArray, fold: Fold, near_mm: float) -> NDArray[np.bool_]:
    """Say which boxes (n, 4) come within `near_mm` of a fold."""
    axis, along = fold.axis, 1 - fold.axis
    near = (boxes[:, axis] - near_mm <= fold.at) & (boxes[:, 2 + axis] + near_mm >= fold.at)
    beside = (boxes[:, along] <= fold.high) & (boxes[:, 2 + along] >= fold.low)
    return np.asarray(near & beside)


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
