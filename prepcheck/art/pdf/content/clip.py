"""The clipping path, as far as places need it: its exact box, and its shape where it is no box."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, FloatArray, Point, Quad

Flags = NDArray[np.bool_]

MOST_SHAPES = 8
"""Shapes kept of nested clips; one more only leaves a little more counted as visible."""
INNER_SHARES = (0.98, 0.85, 0.7, 0.5, 0.25)
ALIGNED = 1e-6
"""Corners of an upright rectangle agree to this many mm."""
WIDEST_STRIP_MM, MOST_CORNERS = 1.5, 64
"""A clip wider than this, or with more corners, leaves no strip."""
STRIP_SHARES = (0.02, 0.25, 0.5, 0.75, 0.98)
"""Where it is looked whether something holds all of a strip."""
FULL = 0.85
"""Share of the box along a strip that it fills."""
SLACK_MM = 0.01
"""A clip that takes off less than this, as the edge of a page does of its ground, cuts nothing."""


class Strip(NamedTuple):
    """A narrow area: the ends of its middle line, and how wide it is, in mm."""

    start: Point
    end: Point
    width: float

    def within(self, box: Box) -> Strip | None:
        """Return as much of it as has its middle line in a box (Liang and Barsky, 1984)."""
        first, last = 0.0, 1.0
        for at, to, low, high in (
            (self.start.x, self.end.x, box.x0, box.x1),
            (self.start.y, self.end.y, box.y0, box.y1),
        ):
            way = to - at
            if abs(way) < ALIGNED:
                if not low <= at <= high:
                    return None
                continue
            one, other = sorted(((low - at) / way, (high - at) / way))
            first, last = max(first, one), min(last, other)
        return Strip(self.along(first), self.along(last), self.width) if first < last else None

    def along(self, share: float) -> Point:
        """Return a place on its middle line."""
        (x0, y0), (x1, y1) = self.start, self.end
        return Point(x0 + share * (x1 - x0), y0 + share * (y1 - y0))


@dataclass(frozen=True, eq=False)
class ClipShape:
    """A clipping path that is no upright rectangle: edges (n, 2) to (n, 2) in mm."""

    starts: FloatArray
    ends: FloatArray
    even_odd: bool
    box: Box

    @cached_property
    def strip(self) -> Strip | None:
        """What it leaves, where that is no more than a strip."""
        if len(self.starts) > MOST_CORNERS:
            return None
        ways = self.ends - self.starts
        lengths = np.hypot(ways[:, 0], ways[:, 1])
        ways = ways[lengths > ALIGNED] / lengths[lengths > ALIGNED, None]
        if not len(ways):
            return None
        across = self.starts @ np.stack((-ways[:, 1], ways[:, 0]))
        low, high = across.min(axis=0), across.max(axis=0)
        best = int(np.argmin(high - low))
        width, (x, y) = float(high[best] - low[best]), ways[best]
        along = self.starts @ ways[best]
        start, end = float(along.min()), float(along.max())
        (x0, y0), (x1, y1) = self.starts.T, self.ends.T
        area = abs(float((x0 * y1 - x1 * y0).sum())) / 2
        if not 0 < width <= WIDEST_STRIP_MM or area < FULL * width * (end - start):
            return None
        foot = np.array((-y, x)) * float(low[best] + high[best]) / 2
        return Strip(Point(*(foot + start * ways[best]).tolist()),
                     Point(*(foot + end * ways[best]).tolist()), width)  # fmt: skip

    @cached_property
    def inner(self) -> Box | None:
        """A box known to lie wholly inside, for a quick answer; None where none was found."""
        for share in INNER_SHARES:
            box = Box.centred(self.box.width * share, self.box.height * share, self.box.centre)
            if not self._crosses(box) and self.has(box.centre):
                return box
        return None

    def touches(self, box: Box) -> bool:
        """Say whether any part of `box` lies inside."""
        if self.inner is not None and self.inner.holds(box):
            return True
        return self._crosses(box) or self.has(box.centre)

    def holds(self, box: Box) -> bool:
        """Say whether all of `box` lies inside."""
        if self.inner is not None and self.inner.holds(box):
            return True
        return not self._crosses(box) and self.has(box.centre)

    def _crosses(self, box: Box) -> bool:
        """Say whether an edge meets the box (separating axes: the two sides, the edge's normal)."""
        low, high = np.minimum(self.starts, self.ends), np.maximum(self.starts, self.ends)
        near = np.all((low <= box[2:]) & (high >= box[:2]), axis=1)
        if not near.any():
            return False
        start, line = self.starts[near], (self.ends - self.starts)[near]
        sides = [
            line[:, 0] * (y - start[:, 1]) - line[:, 1] * (x - start[:, 0]) for x, y in box.corners
        ]
        return bool(np.any((np.min(sides, axis=0) <= 0) & (np.max(sides, axis=0) >= 0)))

    def has(self, point: Point) -> bool:
        """Say whether a point lies inside."""
        rising = self.ends[:, 1] > self.starts[:, 1]
        between = (self.starts[:, 1] <= point.y) != (self.ends[:, 1] <= point.y)
        line = self.ends - self.starts
        side = line[:, 0] * (point.y - self.starts[:, 1]) - line[:, 1] * (
            point.x - self.starts[:, 0]
        )
        right = between & ((side > 0) == rising)
        turns = int(np.count_nonzero(right & rising)) - int(np.count_nonzero(right & ~rising))
        return bool(np.count_nonzero(right) % 2) if self.even_odd else turns != 0


class Clip(NamedTuple):
    """What may be seen: `box` in mm, less what lies outside any of `shapes`."""

    box: Box
    shapes: tuple[ClipShape, ...] = ()

    @property
    def strip(self) -> Strip | None:
        """The strip that is left where it cuts down to one, all of it inside; None where not."""
        found = [(shape.strip.width, at) for at, shape in enumerate(self.shapes) if shape.strip]
        if not found:
            return None
        least = min(found)[1]
        strip = self.shapes[least].strip
        strip = strip and strip.within(self.box)
        others = [shape for at, shape in enumerate(self.shapes) if at != least]
        if strip and all(other.has(strip.along(s)) for other in others for s in STRIP_SHARES):
            return strip
        return None

    @property
    def empty(self) -> bool:
        return self.box.x0 > self.box.x1 or self.box.y0 > self.box.y1

    def to_box(self, box: Box) -> Clip:
        """Return the clip cut down to a box."""
        return Clip(self.box.overlap(box) or EMPTY, self.shapes)

    def to_path(self, subpaths: Sequence[Sequence[float]], even_odd: bool) -> Clip:
        """Return the clip cut down to a path: flat coordinates in mm, closed or not."""
        runs = [run for run in subpaths if len(run) >= 4]
        if not runs:
            return Clip(EMPTY)
        box = Box(
            min(min(run[::2]) for run in runs), min(min(run[1::2]) for run in runs),
            max(max(run[::2]) for run in runs), max(max(run[1::2]) for run in runs),
        )  # fmt: skip
        cut = self.to_box(box)
        if cut.empty or (len(runs) == 1 and upright(runs[0])):
            return cut
        loops = [np.array(run, np.float64).reshape(-1, 2) for run in runs]
        shape = ClipShape(
            np.concatenate(loops),
            np.concatenate([np.roll(loop, -1, axis=0) for loop in loops]),
            even_odd,
            box,
        )
        return Clip(cut.box, (*cut.shapes[-MOST_SHAPES + 1 :], shape))

    def has(self, point: Point) -> bool:
        """Say whether a point may be seen."""
        x0, y0, x1, y1 = self.box
        inside = x0 <= point.x <= x1 and y0 <= point.y <= y1
        return inside and all(shape.has(point) for shape in self.shapes)

    def cut(self, box: Box) -> Box | None:
        """Return what is seen of a box, as a box; None when nothing is."""
        x0, y0, x1, y1 = self.box
        if x0 <= box[0] and y0 <= box[1] and box[2] <= x1 and box[3] <= y1:
            inside: Box | None = box
        else:
            inside = self.box.overlap(box)
        if inside is None or not self.shapes or all(shape.touches(inside) for shape in self.shapes):
            return inside
        return None

    def holds(self, box: Box) -> bool:
        """Say whether nothing of a box is cut off, give or take `SLACK_MM` at the sides."""
        return self.box.holds(box, SLACK_MM) and all(
            shape.holds(self.box.overlap(box) or box) for shape in self.shapes
        )

    def cut_all(self, boxes: FloatArray) -> tuple[FloatArray, NDArray[np.bool_], NDArray[np.bool_]]:
        """Return what is seen of boxes (n, 4), and for each what `cut` and `holds` say of it."""
        low, high = np.array(self.box[:2]), np.array(self.box[2:])
        seen = np.hstack((np.maximum(boxes[:, :2], low), np.minimum(boxes[:, 2:], high)))
        shown: Flags = np.all(seen[:, :2] <= seen[:, 2:], axis=1)
        whole = (boxes[:, :2] >= low - SLACK_MM) & (boxes[:, 2:] <= high + SLACK_MM)
        held: Flags = shown & np.all(whole, axis=1)
        for shape in self.shapes:
            doubtful = shown
            if shape.inner is not None:
                within = (seen[:, :2] >= shape.inner[:2]) & (seen[:, 2:] <= shape.inner[2:])
                doubtful = shown & ~np.all(within, axis=1)
            for row in np.flatnonzero(doubtful).tolist():
                box = Box(*seen[row].tolist())
                shown[row] = shape.touches(box)
                held[row] &= shown[row] and shape.holds(box)
        return seen, shown, held

    def cut_quad(self, quad: Quad) -> Quad | None:
        """Return what is seen of a quad: itself when it lies inside the box, else the upright
        box round what is left of it; None when nothing is."""
        box = quad.box
        if self.cut(box) is None:
            return None
        if self.box.holds(box):
            return quad
        rest = _cut_polygon(list(quad), self.box)
        return Quad(*Box.around(rest).corners) if rest else None


EMPTY = Box(1.0, 1.0, 0.0, 0.0)
EVERYWHERE = Box(-1e6, -1e6, 1e6, 1e6)


def upright(run: Sequence[float]) -> bool:
    """Say whether a flat run of corners is an upright rectangle."""
    if len(run) == 10 and run[:2] != run[8:]:
        return False
    if len(run) not in (8, 10):
        return False
    ax, ay, bx, by, cx, cy, dx, dy = run[:8]
    return (
        abs(ax - bx) < ALIGNED and abs(by - cy) < ALIGNED
        and abs(cx - dx) < ALIGNED and abs(dy - ay) < ALIGNED
    ) or (
        abs(ay - by) < ALIGNED and abs(bx - cx) < ALIGNED
        and abs(cy - dy) < ALIGNED and abs(dx - ax) < ALIGNED
    )  # fmt: skip


def _cut_polygon(corners: list[Point], box: Box) -> list[Point]:
    """Cut a convex polygon to a box, side by side (Sutherland and Hodgman, 1974)."""
    for axis, limit, sign in ((0, box.x0, 1), (0, box.x1, -1), (1, box.y0, 1), (1, box.y1, -1)):
        kept: list[Point] = []
        for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
            inside, next_inside = (
                sign * (start[axis] - limit) >= 0,
                sign * (end[axis] - limit) >= 0,
            )
            if inside:
                kept.append(start)
            if inside != next_inside:
                share = (limit - start[axis]) / (end[axis] - start[axis])
                kept.append(
                    Point(
                        start.x + share * (end.x - start.x),
                        start.y + share * (end.y - start.y),
                    )
                )
        corners = kept
    return corners
