"""Where bars are drawn one by one: found on the page itself, however small they are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.geometry import FloatArray, Point, lengths_of
from prepcheck.measure.barcode.seek import BarcodeSighting

LEAST_HEIGHT_MM, MOST_WIDTH_MM = 2.0, 3.0
SLENDER = 1.6
"""Least height of a bar over its width."""
LEAST_BARS, MOST_BARS = 15, 60
"""A UPC-E has 17 bars, an EAN-13 30; an add-on has up to 16."""
MOST_ROOM = 5.5
"""Widest space in a symbol over its narrowest bar, ink gain included; quiet zones are wider."""
SAME_WAY = math.radians(0.5)
SAME_HEIGHT = 0.45
"""How far the middles of bars may lie apart, of their height: some are drawn longer than others."""
MOST_LOOKED_AT = 20_000


class _Bars(NamedTuple):
    """Slender boxes: middles (n, 2) in mm, the direction they run in (n,), 0 to π, and how long
    and how wide they are (n,)."""

    middle: FloatArray
    way: FloatArray
    length: FloatArray
    width: FloatArray

    def take(self, chosen: NDArray[np.intp] | NDArray[np.bool_]) -> _Bars:
        return _Bars(*(column[chosen] for column in self))


def drawn_blocks(content: Content) -> tuple[BarcodeSighting, ...]:
    """Return the blocks of upright bars that a page draws as boxes or strokes."""
    bars = _bars(content)
    if not LEAST_BARS <= len(bars.way) <= MOST_LOOKED_AT:
        return ()
    return tuple(block for own in _alike(bars) for block in _blocks(own))


def _bars(content: Content) -> _Bars:
    points, starts, path = content.path_outlines
    traits = content.path_traits
    length = np.diff(starts)
    boxed = (traits.fill >= 0)[path] & ((length == 5) | (length == 4))
    lined = (traits.stroke >= 0)[path] & (traits.fill < 0)[path] & (length == 2)
    box, line = np.flatnonzero(boxed), np.flatnonzero(lined)
    corners = points[starts[box][:, None] + np.arange(4)]
    sides = np.roll(corners, -1, axis=1) - corners
    long = lengths_of(sides)
    first = long[:, 0] + long[:, 2] >= long[:, 1] + long[:, 3]
    along = np.where(first[:, None], sides[:, 0], sides[:, 1])
    wide = np.where(first, long[:, 1], long[:, 0])
    even = np.abs(long[:, 0] - long[:, 2]) + np.abs(long[:, 1] - long[:, 3]) < 0.02
    ends = points[starts[line][:, None] + np.arange(2)]
    step = ends[:, 1] - ends[:, 0]
    middle = np.concatenate((corners.mean(axis=1), ends.mean(axis=1)))
    way = np.concatenate((along, step))
    width = np.concatenate((wide, traits.stroke_mm[path[line]]))
    tall = lengths_of(way)
    kept = (tall >= LEAST_HEIGHT_MM) & (width <= MOST_WIDTH_MM) & (tall >= SLENDER * width)
    kept &= (width > 0) & np.concatenate((even, np.ones(len(line), bool)))
    angle = np.arctan2(way[:, 1], way[:, 0]) % math.pi
    return _Bars(middle, angle, tall, width).take(kept)


def _alike(bars: _Bars) -> Iterator[_Bars]:
    """Yield bars that run one way, the directions in turn."""
    order = np.argsort(bars.way, kind="stable")
    sorted_ = bars.take(order)
    breaks = np.flatnonzero(np.diff(sorted_.way) > SAME_WAY) + 1
    groups = np.split(np.arange(len(order)), breaks)
    if len(groups) > 1 and sorted_.way[0] + math.pi - sorted_.way[-1] < SAME_WAY:
        groups[0] = np.concatenate((groups.pop(), groups[0]))
    for group in groups:
        if len(group) >= LEAST_BARS:
            yield sorted_.take(group)


def _blocks(bars: _Bars) -> Iterator[BarcodeSighting]:
    """Yield the blocks that bars of one direction stand in."""
    way = float(bars.way[0])
    up = np.array((math.cos(way), math.sin(way)))
    across = np.array((up[1], -up[0]))
    s, t = bars.middle @ across, bars.middle @ up
    for row in _split(t, SAME_HEIGHT * bars.length):
        if len(row) < LEAST_BARS:
            continue
        order = row[np.argsort(s[row], kind="stable")]
        low, high = s[order] - bars.width[order] / 2, s[order] + bars.width[order] / 2
        reach = np.maximum.accumulate(high)
        room = MOST_ROOM * float(np.quantile(bars.width[order], 0.1))
        breaks = np.flatnonzero(low[1:] - reach[:-1] > room) + 1
        for block in np.split(np.arange(len(order)), breaks):
            if not LEAST_BARS <= len(block) <= MOST_BARS:
                continue
            own = order[block]
            left, right = float(low[block].min()), float(high[block].max())
            height = float(np.quantile(bars.length[own], 0.25))
            middle = (left + right) / 2 * across + float(np.median(t[own])) * up
            turn = math.degrees(math.atan2(across[1], across[0]))
            place = Point(float(middle[0]), float(middle[1]))
            yield BarcodeSighting(place, turn, right - left, height)


def _split(t: FloatArray, reach: FloatArray) -> Iterator[NDArray[np.intp]]:
    """Yield the numbers of bars whose middles lie at one height."""
    order = np.argsort(t, kind="stable")
    breaks = np.flatnonzero(np.diff(t[order]) > reach[order][:-1]) + 1
    yield from np.split(order, breaks)
