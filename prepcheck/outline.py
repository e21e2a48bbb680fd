"""Outlines: the closed shapes that pieces are cut to, in mm in the piece's frame."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, Circle, FloatArray, Point, Segment


class Contour(NamedTuple):
    """A closed line to draw: its points (n, 2), and the circle itself when it is one."""

    points: FloatArray
    circle: Circle | None


class Boundary(NamedTuple):
    """Evenly spaced points on a closed outline.

    `points` and `normals` (outward, unit) are (n, 2); `along` (n,) is the length in mm from the
    loop's start; `loop` (n,) numbers the closed loop a point belongs to.
    """

    points: FloatArray
    normals: FloatArray
    along: FloatArray
    loop: NDArray[np.int64]


class Panel(NamedTuple):
    """A flat face of a piece: its name, kind ('face', 'spine' or 'flap') and its box in mm.

    `reads` is where the top of the type points in the flat ('up', 'down', 'left' or 'right').
    """

    name: str
    kind: str
    box: Box
    reads: str = "up"
    ink_allowed: bool = True
    opening: str | None = None
    """The edge at which the record goes in, as seen in the flat."""


class Outline(ABC):
    """A closed shape that knows its distance, its boundary, its hole and its parts.

    Checks and the proof speak to this, never to the kind of piece.
    """

    @property
    @abstractmethod
    def bounds(self) -> Box:
        """The upright box round the trimmed piece; centred on the origin."""

    @property
    @abstractmethod
    def hole(self) -> Circle | None:
        """The hole that will be drilled, if any."""

    @property
    @abstractmethod
    def panels(self) -> tuple[Panel, ...]:
        """Faces, spine and flaps; a disc has one face."""

    @property
    @abstractmethod
    def folds(self) -> tuple[Segment, ...]:
        """Lines on which the piece is creased."""

    @property
    @abstractmethod
    def convex(self) -> bool:
        """Whether all of a line lies no further outside the trim than the outer one of its ends."""

    @abstractmethod
    def holds(self, point: Point) -> bool:
        """Say whether one point lies within the trim or on it: `signed_distance` of many tells as
        much, but takes long for one."""

    def signed_distance(self, points: FloatArray) -> FloatArray:
        """Return the distance in mm of points (..., 2) from the trim, negative inside."""
        return self.distance_at(points[..., 0], points[..., 1])

    @abstractmethod
    def distance_at(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return what `signed_distance` does of the places that x and y give, spread over each
        other: those of a grid by a row and a column."""

    @abstractmethod
    def boundary(self, step: float = 0.25) -> Boundary:
        """Return evenly spaced points of the trim, at most `step` mm apart."""

    @abstractmethod
    def contour(self, offset: float = 0.0) -> tuple[Contour, ...]:
        """Return the trim moved outwards by `offset` mm (inwards when negative), to draw it."""

    def hole_distance(self, points: FloatArray) -> FloatArray | None:
        """Return the distance in mm of points (..., 2) from the hole's edge, negative inside it.

        None where the piece has no hole.
        """
        return self.hole_distance_at(points[..., 0], points[..., 1])

    def hole_distance_at(self, x: FloatArray, y: FloatArray) -> FloatArray | None:
        """Return what `hole_distance` does of the places that `distance_at` would take."""
        if self.hole is None:
            return None
        distance: FloatArray = np.hypot(x - self.hole.x, y - self.hole.y) - self.hole.radius
        return distance


@dataclass(frozen=True)
class Disc(Outline):
    """A round piece: a centre label."""

    diameter: float
    hole_diameter: float | None = None
    name: str = "label"

    @property
    def bounds(self) -> Box:
        return Box.centred(self.diameter, self.diameter)

    @property
    def hole(self) -> Circle | None:
        return None if self.hole_diameter is None else Circle(0.0, 0.0, self.hole_diameter / 2)

    @property
    def panels(self) -> tuple[Panel, ...]:
        return (Panel(self.name, "face", self.bounds),)

    @property
    def folds(self) -> tuple[Segment, ...]:
        return ()

    @property
    def convex(self) -> bool:
        return True

    def holds(self, point: Point) -> bool:
        return math.hypot(*point) <= self.diameter / 2

    def distance_at(self, x: FloatArray, y: FloatArray) -> FloatArray:
        distance: FloatArray = np.hypot(x, y) - self.diameter / 2
        return distance

    def boundary(self, step: float = 0.25) -> Boundary:
        radius = self.diameter / 2
        count = max(8, math.ceil(2 * math.pi * radius / step))
        normals = Circle(0.0, 0.0, 1.0).points(count)
        along = np.arange(count, dtype=np.float64) * (2 * math.pi * radius / count)
        return Boundary(normals * radius, normals, along, np.zeros(count, np.int64))

    def contour(self, offset: float = 0.0) -> tuple[Contour, ...]:
        radius = self.diameter / 2 + offset
        if radius <= 0:
            return ()
        circle = Circle(0.0, 0.0, radius)
        return (Contour(circle.points(), circle),)


@dataclass(frozen=True)
class Panels(Outline):
    """A piece made of upright rectangles that touch: a sleeve, a bag, an insert.

    `parts` are in the piece's own frame; their silhouette may be any right-angled shape.
    """

    parts: tuple[Panel, ...]
    creases: tuple[Segment, ...] = ()

    @cached_property
    def bounds(self) -> Box:
        box = self.parts[0].box
        for part in self.parts[1:]:
            box = box.union(part.box)
        return box

    @property
    def hole(self) -> Circle | None:
        return None

    @property
    def panels(self) -> tuple[Panel, ...]:
        return self.parts

    @property
    def folds(self) -> tuple[Segment, ...]:
        return self.creases

    @property
    def convex(self) -> bool:
        return [len(loop) for loop in self._loops] == [4]

    @cached_property
    def _loops(self) -> tuple[FloatArray, ...]:
        return silhouette(tuple(part.box for part in self.parts))

    def holds(self, point: Point) -> bool:
        x, y = point
        return any(x0 <= x <= x1 and y0 <= y <= y1 for x0, y0, x1, y1 in self._boxes)

    @cached_property
    def _boxes(self) -> tuple[Box, ...]:
        return tuple(part.box for part in self.parts)

    def distance_at(self, x: FloatArray, y: FloatArray) -> FloatArray:
        x, y = np.asarray(x, order="C"), np.asarray(y, order="C")
        nearest = np.full(np.broadcast_shapes(x.shape, y.shape), np.inf)
        beside = np.empty_like(nearest)
        for loop in self._loops:
            for start, end in zip(loop, np.roll(loop, -1, axis=0), strict=True):
                # Edges are upright or level: how far beyond their ends, and how far beside them.
                (x0, x1), (y0, y1) = sorted((start[0], end[0])), sorted((start[1], end[1]))
                dx = x - np.clip(x, x0, x1)
                dy = y - np.clip(y, y0, y1)
                dx *= dx
                dy *= dy
                np.minimum(nearest, np.add(dx, dy, out=beside), out=nearest)
        np.sqrt(nearest, out=nearest)
        inside = np.zeros(nearest.shape, bool)
        for x0, y0, x1, y1 in (part.box for part in self.parts):
            inside |= ((x >= x0) & (x <= x1)) & ((y >= y0) & (y <= y1))
        np.negative(nearest, out=nearest, where=inside)
        return nearest

    def boundary(self, step: float = 0.25) -> Boundary:
        points, normals, along, loops = [], [], [], []
        for number, loop in enumerate(self._loops):
            run = 0.0
            for start, end in zip(loop, np.roll(loop, -1, axis=0), strict=True):
                length = float(np.hypot(*(end - start)))
                count = max(1, math.ceil(length / step))
                at = (np.arange(count) + 0.5) * (length / count)
                direction = (end - start) / length
                points.append(start + at[:, None] * direction)
                normals.append(np.tile((direction[1], -direction[0]), (count, 1)))
                along.append(run + at)
                loops.append(np.full(count, number, np.int64))
                run += length
        return Boundary(
            np.concatenate(points),
            np.concatenate(normals),
            np.concatenate(along),
            np.concatenate(loops),
        )

    def contour(self, offset: float = 0.0) -> tuple[Contour, ...]:
        if offset > 0:
            # A notch narrower than twice the offset closes instead of crossing itself.
            loops = silhouette(tuple(part.box.grown(offset) for part in self.parts))
        else:
            loops = tuple(_offset_loop(loop, offset) for loop in self._loops)
        return tuple(Contour(loop, None) for loop in loops)


def silhouette(boxes: tuple[Box, ...]) -> tuple[FloatArray, ...]:
    """Return the closed loops (n, 2) round the union of upright boxes.

    Outer loops run anticlockwise, loops round an opening clockwise, so the outside is always on
    the right of the way.
    """
    xs = sorted({x for box in boxes for x in (box.x0, box.x1)})
    ys = sorted({y for box in boxes for y in (box.y0, box.y1)})
    filled = {
        (i, j)
        for i in range(len(xs) - 1)
        for j in range(len(ys) - 1)
        if any(
            b.x0 <= xs[i] and xs[i + 1] <= b.x1 and b.y0 <= ys[j] and ys[j + 1] <= b.y1
            for b in boxes
        )
    }
    follow: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for i, j in filled:
        sides = (
            ((i, j - 1), (i, j), (i + 1, j)),
            ((i + 1, j), (i + 1, j), (i + 1, j + 1)),
            ((i, j + 1), (i + 1, j + 1), (i, j + 1)),
            ((i - 1, j), (i, j + 1), (i, j)),
        )
        for beyond, start, end in sides:
            if beyond not in filled:
                follow.setdefault(start, []).append(end)
    loops = []
    while follow:
        first = min(follow)
        walk, here, came = [first], first, (0, 0)
        while True:
            ends = follow[here]
            # Where two corners touch, turn left so that each body keeps a loop of its own.
            end = max(ends, key=lambda to: _turn(came, (to[0] - here[0], to[1] - here[1])))
            ends.remove(end)
            if not ends:
                del follow[here]
            came, here = (end[0] - here[0], end[1] - here[1]), end
            if here == first:
                break
            walk.append(here)
        loops.append(np.array([(xs[i], ys[j]) for i, j in _corners_only(walk)], np.float64))
    return tuple(loops)


def _turn(came: tuple[int, int], goes: tuple[int, int]) -> int:
    return came[0] * goes[1] - came[1] * goes[0]


def _corners_only(walk: list[tuple[int, int]]) -> list[tuple[int, int]]:
    kept = []
    for before, here, after in zip(walk[-1:] + walk[:-1], walk, walk[1:] + walk[:1], strict=True):
        if _turn(
            (here[0] - before[0], here[1] - before[1]), (after[0] - here[0], after[1] - here[1])
        ):
            kept.append(here)
    return kept


def _offset_loop(loop: FloatArray, offset: float) -> FloatArray:
    into = loop - np.roll(loop, 1, axis=0)
    out = np.roll(loop, -1, axis=0) - loop
    normals = [
        np.column_stack((line[:, 1], -line[:, 0])) / np.hypot(line[:, 0], line[:, 1])[:, None]
        for line in (into, out)
    ]
    return np.asarray(loop + offset * (normals[0] + normals[1]), np.float64)
