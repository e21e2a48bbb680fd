"""Leads from a marked place to its number round the piece, past the words of the art. Points."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.proof.callouts import Rail, RoundRail, SquareRail
from prepcheck.proof.pen import XY, Rect

_CLEAR = 0.4
"""How far a leader may run into a word's box, which ends beyond its ink."""
_DOT = 2.0
_ANGLES = (0.0, 15.0, -15.0, 30.0, -30.0, 50.0, -50.0, 70.0, -70.0)
_STEP = 6.0
"""From one place at which a leader may turn to the next."""
_BAND = 7.0
"""How far inside the numbers leaders run round the piece."""
_AT_ONCE = 1 << 18
"""Pairs of lines and words that are looked at together, so that they stay in the cache."""
_MANY = 1000
"""Words from which it pays to find those that lie at a place."""
_FEW_WAYS, _WAYS = 50, 400
"""Ways that are tried together at first, and at most: a free one is mostly among the shortest."""


class Words:
    """Where words stand on the page."""

    def __init__(self, rects: Iterable[Rect]) -> None:
        rows = [(r.x, r.y, r.right, r.bottom) for r in rects]
        boxes = np.array(rows, np.float64).reshape(-1, 4)
        middle = (boxes[:, :2] + boxes[:, 2:]) / 2
        self._low = np.minimum(boxes[:, :2] + _CLEAR, middle)
        self._high = np.maximum(boxes[:, 2:] - _CLEAR, middle)

    def crossed(self, starts: FloatArray, ends: FloatArray) -> NDArray[np.int64]:
        """Return how many words each line (n, 2) to (n, 2) runs through."""
        found = np.zeros(len(starts), np.int64)
        some = max(1, _AT_ONCE // max(1, len(self._low)))
        straight = (starts == ends).any(axis=1)
        found[straight] = self._crossed_straight(starts[straight], ends[straight])
        rows = np.flatnonzero(~straight)
        for first in range(0, len(rows), some):
            own = rows[first : first + some]
            found[own] = self._crossed_aslant(starts[own], ends[own])
        return found

    def _crossed_straight(self, starts: FloatArray, ends: FloatArray) -> NDArray[np.int64]:
        """Do what `crossed` does for level and upright lines; of many words only those are looked
        at that lie at the place of a line."""
        low, high = np.minimum(starts, ends), np.maximum(starts, ends)
        level = starts[:, 1] == ends[:, 1]
        found = np.zeros(len(starts), np.int64)
        for rows, along in ((np.flatnonzero(level), 0), (np.flatnonzero(~level), 1)):
            each: list[tuple[NDArray[np.intp], NDArray[np.intp] | slice]] = [(rows, slice(None))]
            if len(self._low) > _MANY and len(rows):
                rows = rows[np.argsort(low[rows, 1 - along], kind="stable")]
                places, first = np.unique(low[rows, 1 - along], return_index=True)
                each = [
                    (own, self._at(place, 1 - along))
                    for own, place in zip(np.split(rows, first[1:]), places.tolist(), strict=True)
                ]
            for own, words in each:
                near, far, at = low[own, along, None], high[own, along, None], low[own, 1 - along]
                before, behind = self._low[words, along], self._high[words, along]
                hit = (before < behind) & (before < far) & (behind > near)
                hit &= self._low[words, 1 - along] <= at[:, None]
                hit &= at[:, None] <= self._high[words, 1 - along]
                found[own] = hit.sum(axis=1)
        return found

    def _at(self, place: float, axis: int) -> NDArray[np.intp]:
        """Return the words that lie at a place of an axis."""
        return np.flatnonzero((self._low[:, axis] <= place) & (place <= self._high[:, axis]))

    def _crossed_aslant(self, starts: FloatArray, ends: FloatArray) -> NDArray[np.int64]:
        """Do what `crossed` does for other lines, by slabs."""
        enters, leaves = [], []
        for axis in (0, 1):
            start, way = starts[:, axis, None], (ends - starts)[:, axis, None]
            low, high = (self._low[:, axis] - start) / way, (self._high[:, axis] - start) / way
            enters.append(np.minimum(low, high))
            leaves.append(np.maximum(low, high))
        enter, leave = np.maximum(*enters), np.minimum(*leaves)
        hit = (enter < leave) & (leave > 0) & (enter < 1)
        return np.asarray(hit.sum(axis=1), np.int64)

    def covered(self, points: FloatArray) -> NDArray[np.bool_]:
        """Say of each point (n, 2) whether the dot of a leader there would stand on a word."""
        if not len(self._low):
            return np.zeros(len(points), np.bool_)
        some, of = np.unique(points, axis=0, return_inverse=True)
        at = some[:, None, :]
        inside = (at > self._low - _DOT) & (at < self._high + _DOT)
        return np.asarray(np.any(np.all(inside, axis=2), axis=1), np.bool_)[of.reshape(-1)]


class Way(NamedTuple):
    """A leader over the art: from the place, perhaps round a corner, to the edge of the art."""

    points: tuple[XY, ...]

    @property
    def anchor(self) -> XY:
        return self.points[0]

    @property
    def exit(self) -> XY:
        return self.points[-1]


def way_out(anchors: Sequence[XY], rail: Rail, room: float, words: Words) -> Way:
    """Return the shortest leader from one of the anchors, the best first, past all words.

    `room` is the distance from the edge of the art to the rail. Where no way is free the one
    through the fewest words is taken.
    """
    first = Way((anchors[0], _straight(anchors[0], rail, room)))
    if not _faults(first, words):
        return first
    best = _best([Way((a, e)) for a in anchors for e in _exits(a, rail, room)] or [first], words)
    if not _faults(best, words):
        return best
    return _best([best, *_round_corners(anchors, rail, room)], words)


def along(way: Way, place: XY, rail: Rail, room: float) -> tuple[XY, ...]:
    """Return a leader up to its number, which may have been moved along the rail."""
    middle = ((way.exit[0] + place[0]) / 2, (way.exit[1] + place[1]) / 2)
    if rail.inset(middle) <= room:
        return (*way.points, place)
    inner: Rail
    if isinstance(rail, RoundRail):
        inner = RoundRail(rail.centre, rail.radius - _BAND)
    elif isinstance(rail, SquareRail):
        inner = SquareRail(rail.rect.grown(-_BAND))
    else:
        return (*way.points, place)
    start, end = inner.along(way.exit), inner.along(place)
    turn = (end - start + inner.length / 2) % inner.length - inner.length / 2
    steps = max(1, math.ceil(abs(turn) / _STEP))
    return (*way.points, *(inner.at(start + turn * i / steps) for i in range(steps + 1)), place)


def _faults(way: Way, words: Words) -> int:
    return int(_crossed(_corners([way]), words)[0])


def _best(ways: Sequence[Way], words: Words) -> Way:
    """Return the way that meets the fewest words, the shortest of those."""
    corners = _corners(ways)
    lengths = np.zeros(len(ways))
    for leg in np.moveaxis(np.diff(corners, axis=1), 1, 0):
        lengths += np.hypot(*leg.T)
    best, fewest = ways[0], math.inf
    order = np.argsort(lengths, kind="stable")
    first, some = 0, _FEW_WAYS
    while first < len(order) and fewest:  # all others are longer
        own = order[first : first + some]
        crossed = _crossed(corners[own], words)
        at = int(np.argmin(crossed))
        if crossed[at] < fewest:
            best, fewest = ways[own[at]], float(crossed[at])
        first, some = first + some, min(2 * some, _WAYS)
    return best


def _corners(ways: Sequence[Way]) -> FloatArray:
    """Return the corners of ways (ways, corners, 2); one with fewer stays where it ends."""
    most = max(len(way.points) for way in ways)
    rows = [way.points + way.points[-1:] * (most - len(way.points)) for way in ways]
    return np.array(rows, np.float64)


def _crossed(corners: FloatArray, words: Words) -> NDArray[np.int64]:
    """Return how many words each way (see `_corners`) meets, its dot's among them."""
    crossed = words.covered(corners[:, 0]).astype(np.int64)
    for starts, ends in pairwise(np.moveaxis(corners, 1, 0)):
        moved = (starts != ends).any(axis=1)
        crossed[moved] += words.crossed(starts[moved], ends[moved])
    return crossed


def _straight(anchor: XY, rail: Rail, room: float) -> XY:
    """Return where the shortest way from a point leaves the art."""
    return next(iter(_exits(anchor, rail, room)))


def _exits(anchor: XY, rail: Rail, room: float) -> Iterator[XY]:
    """Yield places on the edge of the art, the nearest first."""
    if isinstance(rail, RoundRail):
        x, y = anchor[0] - rail.centre[0], anchor[1] - rail.centre[1]
        radius = rail.radius - room
        if math.hypot(x, y) >= radius:
            yield anchor
            return
        base = math.atan2(y, x)
        for angle in _ANGLES:
            dx, dy = math.cos(base + math.radians(angle)), math.sin(base + math.radians(angle))
            half = x * dx + y * dy
            reach = -half + math.sqrt(max(0.0, half * half - x * x - y * y + radius * radius))
            yield anchor[0] + reach * dx, anchor[1] + reach * dy
        return
    if not isinstance(rail, SquareRail):
        return
    art = rail.rect.grown(-room)
    x = min(max(anchor[0], art.x), art.right)
    y = min(max(anchor[1], art.y), art.bottom)
    ends = [(x, art.y), (art.right, y), (x, art.bottom), (art.x, y)]
    yield from sorted(ends, key=lambda end: math.dist(end, anchor))


def _round_corners(anchors: Sequence[XY], rail: Rail, room: float) -> Iterator[Way]:
    """Yield level and upright ways with one corner."""
    reach = rail.length / 4
    steps = [_STEP * i for i in range(1, int(reach // _STEP) + 1)]
    for anchor in anchors[:: max(1, len(anchors) // 8)]:
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            for step in steps:
                corner = anchor[0] + dx * step, anchor[1] + dy * step
                if rail.inset(corner) < room:
                    break
                for end in _exits(corner, rail, room):
                    yield Way((anchor, corner, end))
