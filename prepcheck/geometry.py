"""Points, boxes, quads, affine maps and pixel grids, all in mm.

Frame of a piece: origin at the centre of the trimmed piece, x right, y up. A page of artwork has
its own frame (origin at the lower left of the page as displayed); `Affine` maps one to the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass

FloatArray = NDArray[np.float64]
_Number = TypeVar("_Number", bound=np.number)

CIRCLE_STEPS = 720
"""Corners of the polygon that stands for a drawn circle; its sagitta on a 100 mm disc is 0.5 µm."""

ROUNDING = 1e-6
"""Share of a pixel that arithmetic may add to a length without a further pixel for it."""


class Point(NamedTuple):
    """A place in mm."""

    x: float
    y: float


class Box(NamedTuple):
    """An upright rectangle in mm; `x0 <= x1` and `y0 <= y1` when made by `Box.around`."""

    x0: float
    y0: float
    x1: float
    y1: float

    @classmethod
    def around(cls, points: Iterable[tuple[float, float]]) -> Box:
        """Return the smallest box that holds all points (at least one)."""
        xs, ys = zip(*points, strict=True)
        return cls(min(xs), min(ys), max(xs), max(ys))

    @classmethod
    def centred(cls, width: float, height: float, at: tuple[float, float] = (0.0, 0.0)) -> Box:
        """Return a box of the given size with its centre at `at`."""
        x, y = at
        return cls(x - width / 2, y - height / 2, x + width / 2, y + height / 2)

    @property
    def width(self) -> float:
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        return self.y1 - self.y0

    @property
    def area(self) -> float:
        """Area in mm²; 0 for a box without extent."""
        return max(self.width, 0.0) * max(self.height, 0.0)

    @property
    def centre(self) -> Point:
        return Point((self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2)

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Corners from the lower left, anticlockwise."""
        return (
            Point(self.x0, self.y0),
            Point(self.x1, self.y0),
            Point(self.x1, self.y1),
            Point(self.x0, self.y1),
        )

    def grown(self, by: float) -> Box:
        """Return the box with each side moved outwards by `by` mm."""
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def union(self, other: Box) -> Box:
        return Box(
            min(self.x0, other.x0),
            min(self.y0, other.y0),
            max(self.x1, other.x1),
            max(self.y1, other.y1),
        )

    def overlap(self, other: Box) -> Box | None:
        """Return the common part, or None where the boxes do not touch."""
        box = Box(
            max(self.x0, other.x0),
            max(self.y0, other.y0),
            min(self.x1, other.x1),
            min(self.y1, other.y1),
        )
        return box if box.x0 <= box.x1 and box.y0 <= box.y1 else None

    def holds(self, other: Box, slack: float = 0.0) -> bool:
        """Say whether `other` lies inside, give or take `slack` mm."""
        return (
            self.x0 - slack <= other.x0
            and self.y0 - slack <= other.y0
            and self.x1 + slack >= other.x1
            and self.y1 + slack >= other.y1
        )


class Quad(NamedTuple):
    """Four corners in order, in mm: a parallelogram that may be turned or skewed."""

    a: Point
    b: Point
    c: Point
    d: Point

    @property
    def box(self) -> Box:
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = self
        return Box(min(ax, bx, cx, dx), min(ay, by, cy, dy),
                   max(ax, bx, cx, dx), max(ay, by, cy, dy))  # fmt: skip

    def array(self) -> FloatArray:
        """Return the corners as an array (4, 2)."""
        return np.array(self, dtype=np.float64)

    def sampled(self, step: float = 0.1) -> FloatArray:
        """Return points (n, 2) along the four edges, at most `step` mm apart."""
        return sample_loop(self.array(), step)


class Affine(NamedTuple):
    """x' = a x + c y + e, y' = b x + d y + f (the order of a PDF matrix, ISO 32000-2, 8.3.3)."""

    a: float
    b: float
    c: float
    d: float
    e: float
    f: float

    @classmethod
    def identity(cls) -> Affine:
        return cls(1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

    @classmethod
    def move(cls, x: float, y: float) -> Affine:
        return cls(1.0, 0.0, 0.0, 1.0, x, y)

    @classmethod
    def scale(cls, x: float, y: float | None = None) -> Affine:
        return cls(x, 0.0, 0.0, x if y is None else y, 0.0, 0.0)

    @classmethod
    def turn(cls, degrees: float) -> Affine:
        """Return an anticlockwise turn about the origin; exact at multiples of 90."""
        quarter, rest = divmod(degrees, 90.0)
        if rest == 0.0:
            cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
        else:
            cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return cls(cos, sin, -sin, cos, 0.0, 0.0)

    def then(self, after: Affine) -> Affine:
        """Return the map that applies `self` first and `after` second."""
        a, b, c, d, e, f = self
        a1, b1, c1, d1, e1, f1 = after
        return Affine(
            a * a1 + b * c1, a * b1 + b * d1,
            c * a1 + d * c1, c * b1 + d * d1,
            e * a1 + f * c1 + e1, e * b1 + f * d1 + f1,
        )  # fmt: skip

    def at(self, x: float, y: float) -> Point:
        """Return the image of a point."""
        return Point(self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def places(self, points: FloatArray) -> FloatArray:
        """Return the images of points (n, 2)."""
        a, b, c, d, e, f = self
        return np.asarray(points @ np.array(((a, b), (c, d))) + np.array((e, f)))

    def box(self, box: Box) -> Box:
        """Return the upright box round the image of `box`."""
        return Box.around(self.at(x, y) for x, y in box.corners)

    def quad(self, box: Box) -> Quad:
        """Return the image of `box`, corners in the order of `Box.corners`."""
        return Quad(*(self.at(x, y) for x, y in box.corners))

    def array(self, points: FloatArray) -> FloatArray:
        """Return the images of points (..., 2)."""
        matrix = np.array(((self.a, self.b), (self.c, self.d)))
        mapped: FloatArray = points @ matrix + np.array((self.e, self.f))
        return mapped

    @property
    def determinant(self) -> float:
        return self.a * self.d - self.b * self.c

    @property
    def x_scale(self) -> float:
        """Length of the image of the unit vector along x."""
        return math.hypot(self.a, self.b)

    @property
    def y_scale(self) -> float:
        """Length of the image of the unit vector along y."""
        return math.hypot(self.c, self.d)

    def inverse(self) -> Affine:
        """Return the inverse map; raises ZeroDivisionError when there is none."""
        det = self.determinant
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(self.e * a + self.f * c), -(self.e * b + self.f * d))


class Circle(NamedTuple):
    """A circle in mm."""

    x: float
    y: float
    radius: float

    def points(self, steps: int = CIRCLE_STEPS) -> FloatArray:
        """Return `steps` points (n, 2), anticlockwise from the right."""
        angle = np.arange(steps) * (2 * math.pi / steps)
        return np.column_stack(
            (self.x + self.radius * np.cos(angle), self.y + self.radius * np.sin(angle))
        )


class Segment(NamedTuple):
    """A straight line between two places, with the name of what it is (a fold, an edge)."""

    name: str
    start: Point
    end: Point

    def distance(self, points: FloatArray) -> FloatArray:
        """Return the distance in mm of points (..., 2) from the line."""
        return segment_distance(points, np.array([self.start]), np.array([self.end]))


@dataclass(frozen=True)
class Grid:
    """Where the pixels of an array lie: square pixels, row 0 on top, in the piece's frame.

    `left` and `top` are the outer corner of pixel (0, 0) in mm; `pitch` is mm per pixel.
    """

    width: int
    height: int
    pitch: float
    left: float
    top: float

    @classmethod
    def over(cls, box: Box, pitch: float) -> Grid:
        """Return the grid of whole pixels that covers `box`, centred on it."""
        width = math.ceil(box.width / pitch - ROUNDING)
        height = math.ceil(box.height / pitch - ROUNDING)
        x, y = box.centre
        return cls(width, height, pitch, x - width * pitch / 2, y + height * pitch / 2)

    @property
    def box(self) -> Box:
        """The box in mm that the grid covers."""
        return Box(
            self.left, self.top - self.height * self.pitch,
            self.left + self.width * self.pitch, self.top,
        )  # fmt: skip

    @property
    def to_pixels(self) -> Affine:
        """The map from the frame (mm) to fractional (column, row)."""
        pitch = self.pitch
        return Affine(1 / pitch, 0.0, 0.0, -1 / pitch, -self.left / pitch, self.top / pitch)

    def pixels(self, points: FloatArray) -> FloatArray:
        """Return places (..., 2) as fractional (column, row); a pixel's centre is at its half."""
        return np.stack(
            ((points[..., 0] - self.left) / self.pitch, (self.top - points[..., 1]) / self.pitch),
            axis=-1,
        )

    def places(self, pixels: FloatArray) -> FloatArray:
        """Return fractional (column, row) pairs (..., 2) as places in mm."""
        return np.stack(
            (self.left + pixels[..., 0] * self.pitch, self.top - pixels[..., 1] * self.pitch),
            axis=-1,
        )

    def centres(self) -> tuple[FloatArray, FloatArray]:
        """Return x of each column's centre (width,) and y of each row's (height,), in mm."""
        return (
            self.left + (np.arange(self.width, dtype=np.float64) + 0.5) * self.pitch,
            self.top - (np.arange(self.height, dtype=np.float64) + 0.5) * self.pitch,
        )

    def window(self, box: Box) -> tuple[slice, slice]:
        """Return (rows, columns) that cover `box`, cut to the grid; empty slices when outside."""
        c0 = min(max(math.floor((box.x0 - self.left) / self.pitch), 0), self.width)
        c1 = min(max(math.ceil((box.x1 - self.left) / self.pitch), c0), self.width)
        r0 = min(max(math.floor((self.top - box.y1) / self.pitch), 0), self.height)
        r1 = min(max(math.ceil((self.top - box.y0) / self.pitch), r0), self.height)
        return slice(r0, r1), slice(c0, c1)

    def windows(self, places: FloatArray, room: float) -> Iterator[tuple[slice, slice]]:
        """Yield `window` of what lies up to `room` mm beside each of many places (n, 2), upright
        and level; each window once."""
        x, y = places.T
        lefts = np.clip(np.floor((x - room - self.left) / self.pitch), 0, self.width)
        rights = np.clip(np.ceil((x + room - self.left) / self.pitch), lefts, self.width)
        tops = np.clip(np.floor((self.top - (y + room)) / self.pitch), 0, self.height)
        bottoms = np.clip(np.ceil((self.top - (y - room)) / self.pitch), tops, self.height)
        every = np.stack((tops, bottoms, lefts, rights), axis=1).astype(np.intp)
        for r0, r1, c0, c1 in {tuple(window) for window in every.tolist()}:
            yield slice(r0, r1), slice(c0, c1)


def distinct(values: NDArray[_Number]) -> NDArray[_Number]:
    """Return the different numbers among some (n,), rising; the library's own way imports what it
    has for masked arrays first, which takes as long as a check."""
    ordered = np.sort(values)
    return ordered[np.append(True, ordered[1:] != ordered[:-1])] if len(ordered) else ordered


def lengths_of(ways: FloatArray) -> FloatArray:
    """Return how long ways (..., 2) are. As complex numbers they are told in a thirtieth of the
    time that `hypot` takes: a million in 0.9 ms (one busy core, 2026)."""
    pairs = np.ascontiguousarray(ways, np.float64).view(np.complex128)
    return np.asarray(np.abs(pairs[..., 0]))


def segment_distance(points: FloatArray, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Return the distance in mm of points (..., 2) from the nearest of m segments (m, 2)."""
    best: FloatArray = np.full(points.shape[:-1], np.inf)
    for start, end in zip(starts, ends, strict=True):
        line = end - start
        length = float(line @ line)
        offset = points - start
        share = np.clip(offset @ line / length, 0.0, 1.0) if length else 0.0
        rest = offset - np.multiply.outer(share, line) if length else offset
        np.minimum(best, lengths_of(rest), out=best)
    return best


def segment_distances(points: FloatArray, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Return the distances (n, m) in mm of points (n, 2) from each of m segments (m, 2)."""
    lines = ends - starts
    squared = (lines * lines).sum(axis=1)
    offsets = points[:, None] - starts
    along = (offsets * lines).sum(axis=2) / np.where(squared > 0, squared, 1.0)
    share = np.clip(along, 0.0, 1.0)
    rest = offsets - share[..., None] * lines
    return lengths_of(rest)


def sample_loop(corners: FloatArray, step: float) -> FloatArray:
    """Return points (n, 2) along a closed polygon (m, 2), at most `step` mm apart."""
    return sample_loops(corners, np.zeros(len(corners), np.intp), step)[0]


def sample_loops(
    corners: FloatArray, loop: NDArray[np.intp], step: float
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return points (n, 2) along closed polygons, at most `step` mm apart, and the corner that each
    follows (n,). `corners` (m, 2) are those of all polygons, `loop` (m,) says which each is of,
    rising."""
    following = np.arange(1, len(corners) + 1)
    begin = np.flatnonzero(np.diff(loop, prepend=-1))
    following[np.append(begin[1:], len(corners))[: len(begin)] - 1] = begin
    ways = corners[following] - corners
    parts = np.maximum(1, np.ceil(lengths_of(ways) / step).astype(np.intp))
    side = np.repeat(np.arange(len(parts)), parts)
    share = (np.arange(len(side)) - (np.cumsum(parts) - parts)[side]) / parts[side]
    return np.asarray(corners[side] + share[:, None] * ways[side]), side
