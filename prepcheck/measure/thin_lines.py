"""Thin drawn lines, many at once, and the places along them that come near a guide."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.geometry import Circle, FloatArray, distinct, lengths_of

Indices = NDArray[np.intp]
Stretch = tuple[FloatArray, FloatArray]
"""From where to where, as shares of the ways of parts (n,)."""
Stretches = list[Stretch]

WALK_MM = 0.25
"""Distance between the places along a drawn line that are looked at."""
_AT_ONCE = 50_000
"""Parts looked at together, so that what is worked out for them takes little memory."""
_SPARE = 1e-3
"""Steps that a stretch may be longer than it is worked out to be."""
_BESIDE_MM = 1e-3
"""How much farther off boxes are looked at: more than what a stretch may be longer by."""


class ThinLines(NamedTuple):
    """The straight parts (n,) of many lines, each walked in equal steps of at most `WALK_MM`."""

    start: FloatArray
    """(n, 2) in mm."""
    way: FloatArray
    """(n, 2): from where a part starts to where it ends."""
    steps: Indices
    """Steps of a part; the place at its end is the next part's, but for the last of a line."""
    line: Indices
    last: NDArray[np.bool_]
    places: Indices
    """Number of places along each line."""
    path: Indices
    """The path that each line is of."""
    boxes: FloatArray
    """The box round the corners of each line, in mm."""

    @classmethod
    def of(cls, content: Content, most_mm: float) -> ThinLines:
        """Return the lines of the paths that are strokes no wider than that, and nothing else."""
        traits, outlines = content.path_traits, content.path_outlines
        thin = (traits.stroke >= 0) & (traits.fill < 0) & (traits.stroke_mm <= most_mm)
        own = np.flatnonzero(thin[outlines.path] & (np.diff(outlines.starts) > 1))
        first, end = outlines.starts[own], outlines.starts[own + 1]
        # The last corner of each by itself: what lies behind it is another line's.
        spans, last = np.stack((first, end - 1), axis=1).reshape(-1), outlines.points[end - 1]
        boxes = np.hstack([
            reduce(reduce.reduceat(outlines.points, spans)[::2], last) if len(own) else last
            for reduce in (np.minimum, np.maximum)
        ])  # fmt: skip
        parts = end - first - 1
        line = np.repeat(np.arange(len(own)), parts)
        at = first[line] + np.arange(len(line)) - (np.cumsum(parts) - parts)[line]
        start = outlines.points[at]
        way = outlines.points[at + 1] - start
        length = lengths_of(way)
        steps = np.maximum(1, np.ceil(length / WALK_MM)).astype(np.intp)
        places = np.bincount(line, steps, len(own)).astype(np.intp) + 1
        return cls(start, way, steps, line, at + 2 == end[line], places, outlines.path[own], boxes)

    def near_circle(self, circle: Circle, room: float) -> tuple[FloatArray, Indices]:
        """Return the places (k, 2) that may come as near a circle as `room`, and the line that
        each is of (k,): all that do, and few more."""
        return self._near(
            lambda some: some._in_ring(circle, room),
            lambda boxes: touch_circle(boxes, circle, room + _BESIDE_MM),
        )

    def _in_ring(self, circle: Circle, room: float) -> Stretches:
        x, y, radius = circle
        away = self.start - (x, y)
        outer = self._within(away, radius + room)
        inner = self._within(away, radius - room) if radius > room else None
        if inner is None:
            return [outer]
        split = inner[0] <= inner[1]
        before = outer[0], np.where(split, inner[0], outer[1])
        after = np.where(split, inner[1], np.inf), outer[1]
        return [before, after]

    def near_segments(
        self, starts: FloatArray, ends: FloatArray, room: float
    ) -> tuple[FloatArray, Indices]:
        """Return what `near_circle` does, of the segments from `starts` to `ends` (m, 2)."""
        return self._near(
            lambda some: [*some._along(starts, ends, room)],
            lambda boxes: touch_segments(boxes, starts, ends, room + _BESIDE_MM),
        )

    def _along(self, starts: FloatArray, ends: FloatArray, room: float) -> Iterator[Stretch]:
        for start, end in zip(starts, ends, strict=True):
            length = float(np.hypot(*(end - start)))
            along = (end - start) / length if length else np.array((1.0, 0.0))
            across = np.array((-along[1], along[0]))
            away = self.start - start
            one = _between(away @ across, self.way @ across, -room, room)
            other = _between(away @ along, self.way @ along, -room, length + room)
            yield np.maximum(one[0], other[0]), np.minimum(one[1], other[1])

    def _within(self, away: FloatArray, radius: float) -> Stretch:
        """Return from where to where, as a share of its way, each part lies inside a circle; the
        first is the greater where it nowhere does."""
        a = np.einsum("ij,ij->i", self.way, self.way)
        b = np.einsum("ij,ij->i", away, self.way)
        c = np.einsum("ij,ij->i", away, away) - radius * radius
        root = np.sqrt(np.maximum(b * b - a * c, 0.0))
        meets = (a > 0) & (b * b >= a * c)
        own = np.where(meets, a, 1.0)
        still = np.where((a <= 0) & (c <= 0), np.inf, -np.inf)
        return (
            np.where(meets, (-b - root) / own, -still),
            np.where(meets, (root - b) / own, still),
        )

    def _near(
        self,
        stretches: Callable[[ThinLines], Stretches],
        touched: Callable[[FloatArray], NDArray[np.bool_]],
    ) -> tuple[FloatArray, Indices]:
        """Return the places on stretches of the parts, which are asked for many at a time, of
        those whose boxes (n, 4) are touched, and those of their lines: mostly few."""
        lines = np.flatnonzero(touched(self.boxes))
        begin, end = (self.line.searchsorted(lines, side) for side in ("left", "right"))
        count = end - begin
        parts = np.arange(int(count.sum())) + np.repeat(begin - (np.cumsum(count) - count), count)
        found = [
            some._places(stretches(some))
            for first in range(0, max(1, len(parts)), _AT_ONCE)
            for every in (self._some(parts[first : first + _AT_ONCE]),)
            for some in (every._some(np.flatnonzero(touched(every._boxes()))),)
        ]
        places, of_lines = zip(*found, strict=True)
        return np.concatenate(places), np.concatenate(of_lines)

    def _boxes(self) -> FloatArray:
        """Return the box (n, 4) of each part, in columns."""
        (x, y), (along, up) = self.start.T, self.way.T
        to_x, to_y = x + along, y + up
        low = np.minimum(x, to_x), np.minimum(y, to_y)
        return np.stack((*low, np.maximum(x, to_x), np.maximum(y, to_y))).T

    def _some(self, parts: Indices) -> ThinLines:
        """Return some of the parts, of the same lines."""
        return self._replace(
            start=self.start[parts], way=self.way[parts], steps=self.steps[parts],
            line=self.line[parts], last=self.last[parts],
        )  # fmt: skip

    def _places(self, stretches: Stretches) -> tuple[FloatArray, Indices]:
        """Return the places on stretches of the parts."""
        most = self.steps - 1 + self.last
        base = np.cumsum(most + 1) - (most + 1)
        keys = []
        for low, high in stretches:
            part = np.flatnonzero((low <= high) & (high >= -1.0) & (low <= 2.0))
            steps, end = self.steps[part], most[part]
            begin, until = np.clip(low[part], -1, 2) * steps, np.clip(high[part], -1, 2) * steps
            first = np.maximum(np.ceil(begin - _SPARE), 0).astype(np.intp)
            last = np.minimum(np.floor(until + _SPARE), end).astype(np.intp)
            count = np.maximum(last - first + 1, 0)
            which = np.repeat(np.arange(len(part)), count)
            step = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
            keys.append(base[part][which] + first[which] + step)
        every = distinct(np.concatenate(keys)) if keys else np.empty(0, np.intp)
        part = np.searchsorted(base, every, "right") - 1
        share = (every - base[part]) / self.steps[part]
        return self.start[part] + share[:, None] * self.way[part], self.line[part]


def touch_circle(boxes: FloatArray, circle: Circle, room: float) -> NDArray[np.bool_]:
    """Say which boxes (n, 4) may come as near a circle as `room`: all that do, and few more."""
    x, y, radius = circle
    low, high = boxes[:, :2] - (x, y), boxes[:, 2:] - (x, y)
    nearest = lengths_of(np.maximum(np.maximum(low, -high), 0.0))
    farthest = lengths_of(np.maximum(np.abs(low), np.abs(high)))
    return np.asarray((nearest <= radius + room) & (farthest >= radius - room))


def touch_segments(
    boxes: FloatArray, starts: FloatArray, ends: FloatArray, room: float
) -> NDArray[np.bool_]:
    """Say which boxes (n, 4) may come as near any of the segments from `starts` to `ends` (m, 2)
    as `room`: all that do, and few more."""
    lows, highs = np.minimum(starts, ends) - room, np.maximum(starts, ends) + room
    found = np.zeros(len(boxes), bool)
    left, bottom, right, top = np.ascontiguousarray(boxes.T)
    for (x0, y0), (x1, y1) in zip(lows.tolist(), highs.tolist(), strict=True):
        found |= (left <= x1) & (right >= x0) & (bottom <= y1) & (top >= y0)
    return found


def _between(
    value: FloatArray, rate: FloatArray, low: float, high: float
) -> tuple[FloatArray, FloatArray]:
    """Return from where to where `value + t * rate` lies between two numbers; the first is the
    greater where it nowhere does."""
    moving = rate != 0
    own = np.where(moving, rate, 1.0)
    one, other = (low - value) / own, (high - value) / own
    still = np.where((value >= low) & (value <= high), np.inf, -np.inf)
    return (
        np.where(moving, np.minimum(one, other), -still),
        np.where(moving, np.maximum(one, other), still),
    )
