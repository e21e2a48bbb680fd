"""Sharp tips: where both sides of a thing come so close that no pixel shows them apart, it reaches
to the tip none the less."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.drawn import Lines

WIDE_MM, LONG_MM = 0.3, 4.0
"""A tip is no wider where it is seen last, and its outline beyond is no longer."""


def with_tips(lines: Lines, near: NDArray[np.bool_], seen: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which places (n,) of lines are seen, with those round the tips of fills whose sides
    are `seen` up to there; `near` says which places were looked at."""
    unseen = near & ~seen
    starts = lines.starts
    perhaps = lines.filled & (lines.half == 0)
    for mask in (unseen, seen):
        perhaps &= np.logical_or.reduceat(mask, starts) if len(starts) else False
    found = seen.copy()
    lengths = lines.lengths
    for index in np.flatnonzero(perhaps).tolist():
        own = slice(int(starts[index]), int(starts[index] + lengths[index]))
        found[own] |= _tips(lines.points[own], near[own], seen[own])
    return found


def _tips(
    points: FloatArray, near: NDArray[np.bool_], seen: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Say which places (n,) of a closed outline lie on its tips."""
    count = len(points) - bool((points[0] == points[-1]).all())
    found = np.zeros(len(points), np.bool_)
    shown = np.flatnonzero(seen[:count])
    if not len(shown):
        return found
    after = np.roll(shown, -1)
    gaps = np.flatnonzero((after - shown) % count > 1)
    before, after = shown[gaps], after[gaps]
    across = np.hypot(*(points[after] - points[before]).T)
    ring = points[:count]
    ways = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    for first, last in zip(before[across <= WIDE_MM], after[across <= WIDE_MM], strict=True):
        between = np.arange(first + 1, first + 1 + (last - first - 1) % count) % count
        way = ways[first] + ways[between].sum()
        if near[between].all() and way <= LONG_MM:
            found[between] = True
    found[count:] = found[0]
    return found
