"""Closed shapes that may be letters turned into outlines, their counters and their dots."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content, Outlines
from prepcheck.geometry import FloatArray, lengths_of

LEAST_MM, MOST_MM = 0.25, 40.0
"""Size between which a shape may be a letter."""
SMALL = 0.42
"""Shapes of less than this size beside a letter are its dot, a full stop, an apostrophe."""
MOST_CROSSED = 3000
"""Pairs of shapes that are looked at for whether they cross."""
BULGE, SOLID = 1.06, 0.95
"""Most that an outline which bulges all round turns, over once round, and least of what it holds
that is filled, where it has no counter."""
SAME = 0.06
"""Share by which alike shapes differ in what they cover of a square of their outline."""
WAYS, ONE_WAY = 36, 4
"""Directions that outlines are counted in, and how many beside one another are one way."""
NEAR = 0.75
"""Most room between a letter and its dot, of the letter's size."""


class Shapes(NamedTuple):
    """Subpaths that may be letters, counters or dots, in painting order, an array (n,) each: the
    subpaths from `run` to before `end` make each."""

    run: NDArray[np.intp]
    end: NDArray[np.intp]
    path: NDArray[np.intp]
    boxes: FloatArray
    area: FloatArray
    around: FloatArray
    corners: NDArray[np.intp]

    def take(self, chosen: NDArray[np.bool_] | slice) -> Shapes:
        return Shapes(
            self.run[chosen], self.end[chosen], self.path[chosen], self.boxes[chosen],
            self.area[chosen], self.around[chosen], self.corners[chosen],
        )  # fmt: skip

    @property
    def size(self) -> FloatArray:
        extent: FloatArray = (self.boxes[:, 2:] - self.boxes[:, :2]).max(axis=1)
        return extent


class Lettering(NamedTuple):
    """Closed shapes of a size that letters, counters and dots have: as they are drawn, with those
    as one that cross, and those of them that may be letters by themselves."""

    parts: Shapes
    whole: Shapes
    letters: Shapes


def lettering_of(content: Content) -> Lettering:
    """Return the shapes of a page that may be letters or belong to some, in painting order."""
    parts = _shapes(content)
    whole = _joined(parts, content.path_outlines)
    return Lettering(parts, whole, _letters(whole))


def letters_of(content: Content) -> Shapes:
    """Return the shapes that may be letters by themselves, in painting order."""
    return lettering_of(content).letters


def _shapes(content: Content) -> Shapes:
    points, starts, path = content.path_outlines
    traits = content.path_traits
    length = np.diff(starts)
    filled = (traits.fill >= 0)[path] & (length >= 4)
    if not filled.any():
        none, numbers = np.empty(0), np.empty(0, np.intp)
        return Shapes(numbers, numbers, numbers, none.reshape(0, 4), none, none, numbers)
    at = starts[:-1]
    low = np.minimum.reduceat(points, at)
    high = np.maximum.reduceat(points, at)
    ahead = np.append(points[1:], points[-1:], axis=0)
    last = starts[1:] - 1
    ahead[last] = points[at]
    cross = points[:, 0] * ahead[:, 1] - points[:, 1] * ahead[:, 0]
    area = np.add.reduceat(cross, at) / 2
    around = np.add.reduceat(lengths_of(ahead - points), at)
    size = (high - low).max(axis=1)
    # Whatever is thin enough for a stem of nothing is a rule.
    kept = filled & (size >= LEAST_MM / 3) & (size <= MOST_MM) & (np.abs(area) > 0)
    run = np.flatnonzero(kept)
    return Shapes(
        run, run + 1, path[kept], np.hstack((low, high))[kept], area[kept], around[kept],
        length[kept] - 1,
    )  # fmt: skip


def _joined(shapes: Shapes, outlines: Outlines) -> Shapes:
    """Return shapes with those taken together that cross one another in one path: in many faces a
    letter is drawn by parts that overlap."""
    count = len(shapes.run)
    first = np.arange(count)
    left = MOST_CROSSED
    for step in (1, 2, 3):
        own = np.flatnonzero(shapes.path[:-step] == shapes.path[step:])
        other = own + step
        near = gaps_between(shapes.boxes[own], shapes.boxes[other]) < 0
        near &= shapes.area[own] * shapes.area[other] > 0
        for at in own[near][:left].tolist():
            left -= 1
            one, two = (
                outlines.points[outlines.starts[n] : outlines.starts[n + 1]]
                for n in (shapes.run[at], shapes.run[at + step])
            )
            if _cross(one, two):
                first[at + step] = min(first[at + step], first[at])
    if (first == np.arange(count)).all():
        return shapes
    # What lies between the parts of a letter belongs to it.
    reach = np.zeros(count + 1, np.intp)
    joined = np.flatnonzero(first < np.arange(count))
    np.add.at(reach, first[joined] + 1, 1)
    np.add.at(reach, joined + 1, -1)
    begin = np.flatnonzero(np.cumsum(reach)[:count] == 0)
    last = np.append(begin[1:], count) - 1
    boxes = np.hstack((np.minimum.reduceat(shapes.boxes[:, :2], begin),
                       np.maximum.reduceat(shapes.boxes[:, 2:], begin)))  # fmt: skip
    area, around = (np.add.reduceat(one, begin) for one in (shapes.area, shapes.around))
    corners = np.add.reduceat(shapes.corners, begin)
    return Shapes(
        shapes.run[begin], shapes.end[last], shapes.path[begin], boxes, area, around, corners
    )


def _cross(one: FloatArray, other: FloatArray) -> bool:
    """Say whether any sides of two closed lines, (n, 2) and (m, 2), cross."""
    a, b = one[:, None], np.roll(one, -1, axis=0)[:, None]
    c, d = other[None], np.roll(other, -1, axis=0)[None]

    def side(p: FloatArray, q: FloatArray, r: FloatArray) -> FloatArray:
        ways, to = q - p, r - p
        return np.asarray(ways[..., 0] * to[..., 1] - ways[..., 1] * to[..., 0])

    crossing = (side(a, b, c) * side(a, b, d) < 0) & (side(c, d, a) * side(c, d, b) < 0)
    return bool(crossing.any())


def _letters(shapes: Shapes) -> Shapes:
    """Return the shapes that are letters by themselves: counters are taken from the letter they
    lie in, dots and points are left out."""
    count = len(shapes.run)
    area, around = np.abs(shapes.area), shapes.around.copy()
    size, boxes = shapes.size, shapes.boxes
    inside = np.zeros(count, bool)
    small = np.zeros(count, bool)
    for step in (1, -1, 2, -2, 3, -3, 4, -4):
        first = max(0, -step)
        one = slice(first, max(first, min(count, count - step)))
        two = slice(one.start + step, one.stop + step)
        low, high = boxes[two, :2] - 1e-6, boxes[two, 2:] + 1e-6
        # Few lie within another by one side: these alone are looked at further.
        own = first + np.flatnonzero((boxes[one, 0] >= low[:, 0]) & (boxes[one, 2] <= high[:, 0]))
        other = own + step
        within = (boxes[own, 1] >= low[own - first, 1]) & (boxes[own, 3] <= high[own - first, 1])
        within &= ~inside[own] & (np.abs(shapes.area[own]) < np.abs(shapes.area[other]))
        # A counter turns the other way; a letter on a sign of the same paint does not.
        within &= (shapes.area[own] * shapes.area[other] < 0) | (
            shapes.path[own] == shapes.path[other]
        )
        np.subtract.at(area, other[within], np.abs(shapes.area[own[within]]))
        np.add.at(around, other[within], shapes.around[own[within]])
        inside[own[within]] = True
        if abs(step) <= 2:
            own = first + np.flatnonzero(size[one] < SMALL * size[two])
            other = own + step
            near = gaps_between(boxes[own], boxes[other]) <= NEAR * size[other]
            small[own] |= near & ~inside[other]
    return shapes._replace(area=area, around=around).take(
        ~inside & ~small & (size >= LEAST_MM) & (area > 0)
    )


def gaps_between(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the room between boxes (n, 4), the greater of both ways; negative where they meet."""
    apart = np.maximum(one[:, :2] - other[:, 2:], other[:, :2] - one[:, 2:])
    gap: FloatArray = apart.max(axis=1)
    return gap


def stems_of(own: Shapes) -> FloatArray:
    """Return how wide the strokes are of which shapes are made: the side of a long box of the
    same area and length of outline."""
    half = own.around / 2
    stems: FloatArray = (half - np.sqrt(np.maximum(half**2 - 4 * own.area, 0.0))) / 2
    return stems


class Across(NamedTuple):
    """How outlines lie about a line: the standard deviation of their height above it in mm, how
    many strokes lie one above another, how much of the line they take, and the greatest share of
    them that runs one way, within 20 degrees."""

    spread: float
    layers: float
    length: float
    one_way: float


def across_of(points: FloatArray, lengths: Sequence[int]) -> Across:
    """Return how closed outlines of so many points each lie about a line; places (n, 2) are given
    along and above it."""
    ends = np.cumsum(lengths)
    ahead = np.append(points[1:], points[:1], axis=0)
    ahead[ends - 1] = points[ends - lengths]
    ways = ahead - points
    around = lengths_of(ways)
    whole = max(float(around.sum()), 1e-9)
    heights = points[:, 1] + ways[:, 1] / 2
    mean = float(heights @ around) / whole
    off = heights - mean
    spread = float((off * off + ways[:, 1] ** 2 / 12) @ around) / whole
    length = max(float(np.ptp(points[:, 0])), 1e-9)
    layers = float(np.abs(ways[:, 0]).sum()) / 2 / length
    angles = np.arctan2(ways[:, 1], ways[:, 0]) % np.pi
    share = np.bincount((angles * (WAYS / np.pi)).astype(np.intp) % WAYS, around, WAYS) / whole
    summed = np.cumsum(np.concatenate(([0.0], share, share[:ONE_WAY])))
    one_way = float((summed[ONE_WAY:] - summed[:-ONE_WAY]).max())
    return Across(spread**0.5, layers, length, one_way)


def spans_of(points: FloatArray, lengths: Sequence[int]) -> FloatArray:
    """Return where closed outlines of so many points each begin and end along a line (n, 2)."""
    starts = (np.cumsum(lengths) - lengths).astype(np.intp)
    along = points[:, 0]
    return np.stack(
        (np.minimum.reduceat(along, starts), np.maximum.reduceat(along, starts)), axis=1
    )


def kinds_of(own: Shapes) -> int:
    """Return how many different shapes there are, those alike that differ by size and turn only."""
    compact = np.round(np.log(np.abs(own.area) / own.around**2) / SAME).astype(np.intp)
    return len(set(compact.tolist()))


def bulging(points: FloatArray, lengths: Sequence[int], own: Shapes) -> NDArray[np.bool_]:
    """Say which shapes (n,), given by their outlines without counters, bulge all round and have no
    counter."""
    ends = np.cumsum(lengths)
    starts = ends - np.asarray(lengths, np.intp)
    ahead = np.append(points[1:], points[:1], axis=0)
    ahead[ends - 1] = points[starts]
    ways = ahead - points
    known = lengths_of(ways) > 0
    angles = np.angle(ways[:, 0] + 1j * ways[:, 1])
    shape = np.repeat(np.arange(len(lengths)), lengths)[known]
    angles = angles[known]
    turns = np.append(angles[1:], angles[:1]) - angles
    last = np.append(shape[1:] != shape[:-1], True)
    first = np.flatnonzero(np.append(True, last[:-1]))
    turns[last] = angles[first] - angles[last]
    turned = np.abs((turns + np.pi) % (2 * np.pi) - np.pi)
    around = np.bincount(shape, turned, len(lengths))
    cross = points[:, 0] * ahead[:, 1] - points[:, 1] * ahead[:, 0]
    whole = np.abs(np.add.reduceat(cross, starts)) / 2
    return np.asarray((around < BULGE * 2 * np.pi) & (own.area > SOLID * whole))
