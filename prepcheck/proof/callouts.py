"""Places callout numbers round a piece: outside the art, apart from each other. Points.

A rail runs round the piece; each number slides along it to the place nearest to what it points
at, and numbers that would touch are moved apart by the least total of squared shifts.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import NamedTuple, Self

import numpy as np

from prepcheck.frozen import dataclass
from prepcheck.geometry import FloatArray
from prepcheck.proof.pen import XY, Rect

SPACING = 18.0
"""Least distance along the rail between two numbers."""
_ANGLES = (0.0, 15.0, -15.0, 30.0, -30.0, 50.0, -50.0, 70.0, -70.0)
"""Degrees off the shortest way at which ways lead out of round art."""


class Rail(ABC):
    """A closed line round the piece."""

    @property
    @abstractmethod
    def length(self) -> float:
        """Its whole length."""

    @abstractmethod
    def along(self, point: XY) -> float:
        """Return the length along the rail, from its start, to the place nearest to a point."""

    @abstractmethod
    def at(self, along: float) -> XY:
        """Return the place at a length along the rail."""

    @abstractmethod
    def inset(self, point: XY) -> float:
        """Return how far inside the rail a point lies."""

    @abstractmethod
    def insets(self, points: FloatArray) -> FloatArray:
        """Return how far inside the rail points (..., 2) lie."""

    @abstractmethod
    def exits(self, points: FloatArray, room: float) -> FloatArray:
        """Return places (n, ways, 2) on the edge of the art, `room` inside the rail, to which
        straight ways lead from points (n, 2), the nearest first; one beyond that edge is its own.
        """

    @abstractmethod
    def drawn_in(self, by: float) -> Self:
        """Return the rail that runs so far inside this one."""


@dataclass(frozen=True)
class RoundRail(Rail):
    """A circle."""

    centre: XY
    radius: float

    @property
    def length(self) -> float:
        return 2 * math.pi * self.radius

    def along(self, point: XY) -> float:
        angle = math.atan2(point[1] - self.centre[1], point[0] - self.centre[0])
        return (angle % (2 * math.pi)) * self.radius

    def at(self, along: float) -> XY:
        angle = along / self.radius
        return (
            self.centre[0] + self.radius * math.cos(angle),
            self.centre[1] + self.radius * math.sin(angle),
        )

    def inset(self, point: XY) -> float:
        return self.radius - math.dist(point, self.centre)

    def insets(self, points: FloatArray) -> FloatArray:
        away = points - self.centre
        return np.asarray(self.radius - np.hypot(away[..., 0], away[..., 1]))

    def exits(self, points: FloatArray, room: float) -> FloatArray:
        x, y = (points - self.centre).T[:, :, None]
        turned, radius = np.arctan2(y, x) + np.radians(_ANGLES), self.radius - room
        dx, dy = np.cos(turned), np.sin(turned)
        half = x * dx + y * dy
        reach = np.sqrt(np.maximum(half * half - x * x - y * y + radius * radius, 0.0)) - half
        reach[np.hypot(x, y)[:, 0] >= radius] = 0.0
        return np.asarray(points[:, None] + np.stack((reach * dx, reach * dy), axis=2))

    def drawn_in(self, by: float) -> RoundRail:
        return RoundRail(self.centre, self.radius - by)


@dataclass(frozen=True)
class SquareRail(Rail):
    """An upright rectangle, walked clockwise from its upper left corner."""

    rect: Rect

    @property
    def length(self) -> float:
        return 2 * (self.rect.width + self.rect.height)

    def along(self, point: XY) -> float:
        x, y, width, height = self.rect
        dx, dy = min(max(point[0] - x, 0), width), min(max(point[1] - y, 0), height)
        reaches = (
            (dy, dx),
            (width - dx, width + dy),
            (height - dy, 2 * width + height - dx),
            (dx, 2 * (width + height) - dy),
        )
        return min(reaches)[1]

    def at(self, along: float) -> XY:
        x, y, width, height = self.rect
        rest = along % self.length
        if rest <= width:
            return x + rest, y
        if rest <= width + height:
            return x + width, y + rest - width
        if rest <= 2 * width + height:
            return x + 2 * width + height - rest, y + height
        return x, y + self.length - rest

    def inset(self, point: XY) -> float:
        x, y, width, height = self.rect
        return min(point[0] - x, x + width - point[0], point[1] - y, y + height - point[1])

    def insets(self, points: FloatArray) -> FloatArray:
        low, high = points - self.rect[:2], (self.rect.right, self.rect.bottom) - points
        return np.asarray(np.minimum(low, high).min(axis=-1))

    def exits(self, points: FloatArray, room: float) -> FloatArray:
        art = self.rect.grown(-room)
        x, y = np.clip(points, (art.x, art.y), (art.right, art.bottom)).T
        sides = ((x, art.y), (art.right, y), (x, art.bottom), (art.x, y))
        ends = np.stack([np.stack(np.broadcast_arrays(*side), axis=1) for side in sides], axis=1)
        away = ends - points[:, None]
        nearest = np.argsort(np.hypot(away[..., 0], away[..., 1]), axis=1, kind="stable")
        return np.asarray(np.take_along_axis(ends, nearest[:, :, None], axis=1))

    def drawn_in(self, by: float) -> SquareRail:
        return SquareRail(self.rect.grown(-by))


class Callout(NamedTuple):
    """A number at its place, and the point its leader leads to."""

    of: int
    """Which of the anchors it belongs to."""
    anchor: XY
    place: XY


def capacity(rail: Rail) -> int:
    """Return how many numbers a rail takes."""
    return int(rail.length // SPACING)


def arrange(anchors: Sequence[XY], rail: Rail) -> tuple[Callout, ...]:
    """Return a place on the rail for each anchor; at most `capacity(rail)` anchors."""
    wanted = [rail.along(anchor) for anchor in anchors]
    order = sorted(range(len(anchors)), key=lambda i: (wanted[i], rail.inset(anchors[i]), i))
    placed = spread([wanted[i] for i in order], rail.length, SPACING)
    return tuple(
        Callout(i, anchors[i], rail.at(along)) for i, along in zip(order, placed, strict=True)
    )


def spread(wanted: Sequence[float], length: float, spacing: float) -> list[float]:
    """Return places on a closed line of `length`, near the wanted ones and `spacing` apart.

    `wanted` ascends; the places returned keep its order and may run past `length`. Where there
    is not room for all, they stand evenly.
    """
    count = len(wanted)
    if count < 2:
        return list(wanted)
    gaps = [wanted[i + 1] - wanted[i] for i in range(count - 1)]
    gaps.append(wanted[0] + length - wanted[-1])
    first = (max(range(count), key=lambda i: gaps[i]) + 1) % count
    unrolled = [wanted[(first + i) % count] for i in range(count)]
    unrolled = [at + length if first + i >= count else at for i, at in enumerate(unrolled)]
    moved = _isotonic([at - i * spacing for i, at in enumerate(unrolled)])
    places = [at + i * spacing for i, at in enumerate(moved)]
    if places[-1] - places[0] > length - spacing:
        even = length / count
        middle = sum(at - i * even for i, at in enumerate(unrolled)) / count
        places = [middle + i * even for i in range(count)]
    return [places[(i - first) % count] for i in range(count)]


def _isotonic(values: Sequence[float]) -> list[float]:
    """Return the ascending sequence nearest to `values` (pooling of adjacent violators)."""
    pools: list[tuple[float, int]] = []
    for value in values:
        total, size = value, 1
        while pools and pools[-1][0] / pools[-1][1] > total / size:
            before, many = pools.pop()
            total, size = total + before, size + many
        pools.append((total, size))
    return [total / size for total, size in pools for _ in range(size)]
