"""How many samples the strong edges of a picture take from one tone to the other.

Along a line of samples each stretch that only rises or only falls is a step; its height over its
steepest part is its width: 1 for a hard edge, about n for one that was stretched n times. Faint
steps, which noise and compression make everywhere, do not count.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

LEAST_STEP = 24
"""Levels of 255 that a strong step has at least."""
LEAST_STEPS = 60
"""Fewer steps do not tell."""
HARDER = 0.25
"""Share of the steps, by their heights, that are harder than the width that is told."""
LEVELS = 256
"""Of a sample of 8 bits; a step is of fewer."""


def edge_width(tiles: Sequence[NDArray[np.uint8]], least_step: int = LEAST_STEP) -> float | None:
    """Return the width in samples that the harder edges of tiles (n, n) have; None where there are
    too few of at least `least_step` levels."""
    steps = [_steps(lines, least_step) for tile in tiles for lines in (tile, tile.T)]
    counts = np.bincount(np.concatenate(steps))
    if counts.sum() < LEAST_STEPS:
        return None
    # Steps are put in order kind by kind: there are far fewer kinds than steps.
    kinds = np.flatnonzero(counts)
    heights, steepest = np.divmod(kinds, LEVELS)
    widths = heights / steepest
    order = np.argsort(widths)
    passed = np.cumsum((counts[kinds] * heights)[order])
    return float(widths[order][np.searchsorted(passed, HARDER * passed[-1])])


def _steps(lines: NDArray[np.uint8], least: int) -> NDArray[np.int64]:
    """Return the kinds of the steps of at least so many levels along lines (m, n): height times
    `LEVELS` plus the height of the steepest part."""
    lines = np.ascontiguousarray(lines)
    count, before, after = lines.shape[1], lines[:, :-1], lines[:, 1:]
    rises, falls = after > before, after < before
    # A step begins at a sample; at the last one of a line none does, but the one before ends.
    begins = np.ones(lines.shape, bool)
    inner = begins[:, 1:-1]
    np.not_equal(rises[:, 1:], rises[:, :-1], out=inner)
    inner |= falls[:, 1:] != falls[:, :-1]
    places = np.flatnonzero(begins)
    values = lines.reshape(-1).astype(np.int16)
    # A step only rises or only falls, so that its two ends tell its height.
    heights = np.abs(np.diff(values.take(places)))
    heights[np.searchsorted(places, np.arange(count - 1, values.size - 1, count))] = 0
    strong = np.flatnonzero(heights >= least)
    starts, ends, heights = places.take(strong), places.take(strong + 1), heights.take(strong)
    size = np.abs(np.diff(values))
    steepest = size.take(starts)
    longer = np.flatnonzero(starts + 1 < ends)
    part = 0
    while longer.size:
        part += 1
        steepest[longer] = np.maximum(steepest[longer], size[starts[longer] + part])
        longer = longer[starts[longer] + part + 1 < ends[longer]]
    kinds: NDArray[np.int64] = heights.astype(np.int64) * LEVELS + steepest
    return kinds
