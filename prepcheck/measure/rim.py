"""A rim: the trim, the hole or a fold, seen from the side where art has to keep clear of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import Circle, FloatArray, lengths_of
from prepcheck.measure.folds import Fold
from prepcheck.outline import Outline

INSIDE_MM = 0.4
"""How far inside the trim what lies outside is looked for."""
STEP_MM = 0.125
"""Distance between places on a rim: finer than the stem of small type."""


@dataclass(frozen=True)
class Rim:
    """Evenly spaced places on a cut edge.

    `points` and `into` (unit, towards the art) are (n, 2), `loop` (n,) numbers closed loops.
    `room` gives the distance in mm of places (..., 2) from the edge, negative where they are cut
    away. `past_mm` is how far art that runs across must reach past the edge, `depth_mm` how far
    the art side is looked at.
    """

    points: FloatArray
    into: FloatArray
    loop: NDArray[np.int64]
    room: Callable[[FloatArray], FloatArray] = field(repr=False)
    past_mm: float
    depth_mm: float
    is_hole: bool
    cuts: bool = False
    """Whether what lies past it is cut away."""
    beside_trim: tuple[float, float] | None = None
    """Where the room is told by the distance from the trim: what that is multiplied with, and
    what is then added."""

    def rooms(self, x: FloatArray, y: FloatArray, outside: FloatArray) -> FloatArray:
        """Return the room (rows, columns) of the places of a grid, x of its columns and y of its
        rows, that lie so far outside the trim (rows, columns)."""
        if self.beside_trim is None:
            return self.room(np.stack(np.meshgrid(x, y), axis=-1))
        way, added = self.beside_trim
        return way * outside + added

    def clearances(self, places: FloatArray, first: NDArray[np.intp]) -> FloatArray:
        """Return the least room in mm of the places (n, 2) of each of k things (k,), which begin at
        `first` (k,)."""
        return np.asarray(np.minimum.reduceat(self.room(places), first))


def trim_rim(outline: Outline, past_mm: float, depth_mm: float) -> Rim:
    """Return the trim as a rim."""
    boundary = outline.boundary(STEP_MM)

    def room(points: FloatArray) -> FloatArray:
        return -outline.signed_distance(points)

    return Rim(
        boundary.points, -boundary.normals, boundary.loop, room, past_mm, depth_mm, is_hole=False,
        cuts=True, beside_trim=(-1.0, 0.0),
    )  # fmt: skip


def outer_rim(outline: Outline, depth_mm: float) -> Rim:
    """Return what lies outside the trim, up to `depth_mm` from it, as beyond a rim that runs
    INSIDE_MM within the trim: what touches the trim there comes near it, too."""
    boundary = outline.boundary(STEP_MM)

    def room(points: FloatArray) -> FloatArray:
        return np.asarray(outline.signed_distance(points) + INSIDE_MM)

    return Rim(
        boundary.points - INSIDE_MM * boundary.normals, boundary.normals, boundary.loop, room,
        INSIDE_MM, depth_mm + INSIDE_MM, is_hole=True, beside_trim=(1.0, INSIDE_MM),
    )  # fmt: skip


def hole_rim(hole: Circle, depth_mm: float) -> Rim:
    """Return the edge of the hole as a rim; art that runs across comes out on the other side."""
    count = max(16, int(np.ceil(2 * np.pi * hole.radius / STEP_MM)))
    into = Circle(0.0, 0.0, 1.0).points(count)
    centre = np.array((hole.x, hole.y))

    def room(points: FloatArray) -> FloatArray:
        offset = points - centre
        return lengths_of(offset) - hole.radius

    loop = np.zeros(count, np.int64)
    return Rim(
        centre + hole.radius * into, into, loop, room, hole.radius * 0.8, depth_mm, is_hole=True,
        cuts=True,
    )  # fmt: skip


def fold_rim(fold: Fold, side: int, depth_mm: float) -> Rim:
    """Return a fold as a rim of what lies beyond it (`side` 1) or before it (-1); art that runs
    across comes out on the other side."""
    count = max(16, int(np.ceil(fold.length / STEP_MM)))
    along = fold.low + (np.arange(count) + 0.5) * (fold.length / count)
    points, into = np.empty((count, 2)), np.zeros((count, 2))
    points[:, fold.axis], points[:, 1 - fold.axis] = fold.at, along
    into[:, fold.axis] = side

    def room(places: FloatArray) -> FloatArray:
        return side * fold.across(places)

    return Rim(points, into, np.zeros(count, np.int64), room, depth_mm, depth_mm, is_hole=True)
