"""Leads from a marked place to its number round the piece, past the words of the art. Points."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.proof.callouts import Rail
from prepcheck.proof.pen import XY

_CLEAR = 0.4
"""How far a leader may run into a word's box, which ends beyond its ink."""
_DOT = 2.0
_STEP = 6.0
"""From one place at which a leader may turn to the next."""
_BAND = 7.0
"""How far inside the numbers leaders run round the piece."""
_AT_ONCE = 1 << 18
"""Pairs of lines and words that are looked at together, so that they stay in the cache."""
_SIDEWAYS = np.array(((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)))
_FEW_WAYS, _WAYS = 50, 400
"""Ways that are tried together at first, and at most: a free one is mostly among the shortest."""


class _Sorted(NamedTuple):
    """Words by where they begin on an axis: which they are, that place, and how far those up to
    here reach."""

    order: NDArray[np.intp]
    low: FloatArray
    reach: FloatArray

    @classmethod
    def of(cls, low: FloatArray, high: FloatArray) -> _Sorted:
        order = np.argsort(low, kind="stable")
        return cls(order, low[order], np.maximum.accumulate(high[order]))

    def about(self, places: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return from which to which word, in this order, any may lie at each place (n,)."""
        return np.searchsorted(self.reach, places), np.searchsorted(self.low, places, "right")


class PlacedWords:
    """Where words stand on the page."""

    def __init__(self, boxes: FloatArray) -> None:
        """`boxes` (n, 4) are where each begins and ends, across and down the page."""
        middle = (boxes[:, :2] + boxes[:, 2:]) / 2
        self._low = np.minimum(boxes[:, :2] + _CLEAR, middle)
        self._high = np.maximum(boxes[:, 2:] - _CLEAR, middle)
        self._sorted = [_Sorted.of(self._low[:, axis], self._high[:, axis]) for axis in (0, 1)]

    def crossed(self, starts: FloatArray, ends: FloatArray) -> NDArray[np.int64]:
        """Return how many words each line (n, 2) to (n, 2) runs through."""
        found = np.zeros(len(starts), np.int64)
        level = starts[:, 1] == ends[:, 1]
        upright = ~level & (starts[:, 0] == ends[:, 0])
        for rows, along in ((np.flatnonzero(level), 0), (np.flatnonzero(upright), 1)):
            found[rows] = self._crossed_straight(starts[rows], ends[rows], along)
        some = max(1, _AT_ONCE // max(1, len(self._low)))
        rows = np.flatnonzero(~(level | upright))
        for first in range(0, len(rows), some):
            own = rows[first : first + some]
            found[own] = self._crossed_aslant(starts[own], ends[own])
        return found

    def _crossed_straight(
        self, starts: FloatArray, ends: FloatArray, along: int
    ) -> NDArray[np.int64]:
        """Do what `crossed` does for lines along an axis: of all words only those are looked at
        that may lie at the place of a line."""
        near, far = np.minimum(starts, ends)[:, along], np.maximum(starts, ends)[:, along]
        at = starts[:, 1 - along]
        order = self._sorted[1 - along].order
        first, behind = self._sorted[1 - along].about(at)
        counts = np.maximum(behind - first, 0)
        found = np.zeros(len(at), np.int64)
        portions = np.cumsum(counts) // _AT_ONCE
        for rows in np.split(np.arange(len(at)), np.flatnonzero(np.diff(portions)) + 1):
            many = counts[rows]
            ends = np.cumsum(many)
            word = order[np.repeat(first[rows] - (ends - many), many) + np.arange(many.sum())]
            low, high = self._low[word], self._high[word]
            hit = (low[:, along] < high[:, along]) & (
                np.repeat(at[rows], many) <= high[:, 1 - along]
            )
            hit &= low[:, along] < np.repeat(far[rows], many)
            hit &= high[:, along] > np.repeat(near[rows], many)
            upto = np.concatenate((np.zeros(1, np.int64), np.cumsum(hit)))
            found[rows] = upto[ends] - upto[ends - many]
        return found

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
        at = points[:, None, :]
        inside = (at > self._low - _DOT) & (at < self._high + _DOT)
        return np.asarray(np.any(inside.all(axis=2), axis=1), np.bool_)


class LeaderPath(NamedTuple):
    """A leader over the art: from the place, perhaps round a corner, to the edge of the art."""

    points: tuple[XY, ...]

    @property
    def anchor(self) -> XY:
        return self.points[0]

    @property
    def exit(self) -> XY:
        return self.points[-1]


class _Ways(NamedTuple):
    """Ways to choose from: the points of each (n, points, 2), and what its dot stands on (n,)."""

    points: FloatArray
    covered: NDArray[np.bool_]

    def at(self, which: int) -> LeaderPath:
        return LeaderPath(tuple((x, y) for x, y in self.points[which].tolist()))

    def crossed(self, which: NDArray[np.intp], words: PlacedWords) -> NDArray[np.int64]:
        """Return how many words some of them meet, the one under the dot among them."""
        crossed = self.covered[which].astype(np.int64)
        for starts, ends in pairwise(np.moveaxis(self.points[which], 1, 0)):
            moved = (starts != ends).any(axis=1)
            crossed[moved] += words.crossed(starts[moved], ends[moved])
        return crossed


def way_out(anchors: Sequence[XY], rail: Rail, room: float, words: PlacedWords) -> LeaderPath:
    """Return the shortest leader from one of the anchors, the best first, past all words.

    `room` is the distance from the edge of the art to the rail. Where no way is free the one
    through the fewest words is taken.
    """
    starts = np.array(anchors, np.float64)
    first = _straight(starts[:1], words.covered(starts[:1]), rail, room)
    if not first.crossed(np.arange(1), words)[0]:
        return first.at(0)
    covered = words.covered(starts)
    best = _best(_straight(starts, covered, rail, room), words)
    if best.met:
        some = slice(None, None, max(1, len(anchors) // 8))
        bent = _round_corners(starts[some], covered[some], rail, room)
        if len(bent.points):
            best = min(best, _best(bent, words), key=lambda found: (found.met, found.length))
    return best.way


def along(way: LeaderPath, place: XY, rail: Rail, room: float) -> tuple[XY, ...]:
    """Return a leader up to its number, which may have been moved along the rail."""
    middle = ((way.exit[0] + place[0]) / 2, (way.exit[1] + place[1]) / 2)
    if rail.inset(middle) <= room:
        return (*way.points, place)
    inner = rail.drawn_in(_BAND)
    start, end = inner.along(way.exit), inner.along(place)
    turn = (end - start + inner.length / 2) % inner.length - inner.length / 2
    steps = max(1, math.ceil(abs(turn) / _STEP))
    return (*way.points, *(inner.at(start + turn * i / steps) for i in range(steps + 1)), place)


class _Found(NamedTuple):
    """A way, the number of words it meets, and its length."""

    way: LeaderPath
    met: float
    length: float


def _best(ways: _Ways, words: PlacedWords) -> _Found:
    """Return the way that meets the fewest words, the shortest of those."""
    lengths = np.zeros(len(ways.points))
    for leg in np.moveaxis(np.diff(ways.points, axis=1), 1, 0):
        lengths += np.hypot(*leg.T)
    order = np.argsort(lengths, kind="stable")
    best, fewest = 0, math.inf
    first, some = 0, _FEW_WAYS
    while first < len(order) and fewest:  # all others are longer
        own = order[first : first + some]
        own = own[ways.covered[own] < fewest]  # others meet as many by their dots alone
        if len(own):
            crossed = ways.crossed(own, words)
            at = int(np.argmin(crossed))
            if crossed[at] < fewest:
                best, fewest = int(own[at]), float(crossed[at])
        first, some = first + some, min(2 * some, _WAYS)
    return _Found(ways.at(best), fewest, float(lengths[best]))


def _round_corners(
    starts: FloatArray, covered: NDArray[np.bool_], rail: Rail, room: float
) -> _Ways:
    """Return level and upright ways with one corner."""
    steps = _STEP * np.arange(1, int(rail.length / 4 // _STEP) + 1)
    corners = starts[:, None, None] + steps[:, None] * _SIDEWAYS[:, None]
    inside = np.logical_and.accumulate(rail.insets(corners) >= room, axis=2)
    corners, of = corners[inside], np.nonzero(inside)[0]
    ends = rail.exits(corners, room)
    points = np.stack(np.broadcast_arrays(starts[of, None], corners[:, None], ends), axis=2)
    return _Ways(points.reshape(-1, 3, 2), np.repeat(covered[of], ends.shape[1]))


def _straight(starts: FloatArray, covered: NDArray[np.bool_], rail: Rail, room: float) -> _Ways:
    """Return straight ways from some places, the nearest of each first."""
    ends = rail.exits(starts, room)
    points = np.stack(np.broadcast_arrays(starts[:, None], ends), axis=2)
    return _Ways(points.reshape(-1, 2, 2), np.repeat(covered, ends.shape[1]))
