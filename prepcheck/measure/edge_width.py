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
    counts = np.zeros(LEVELS * LEVELS, np.int64)
    for tile in tiles:
        for lines in (tile, tile.T):
            counts += np.bincount(_steps(lines, least_step), minlength=counts.size)
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
    before, after = lines[:, :-1], lines[:, 1:]
    rises, falls = after > before, after < before
    begins = np.ones(rises.shape, bool)
    begins[:, 1:] = (rises[:, 1:] != rises[:, :-1]) | (falls[:, 1:] != falls[:, :-1])
    starts = np.flatnonzero(begins)
    ends = np.append(starts[1:], begins.size)
    # A step only rises or only falls, so that its two ends tell its height; each line has one
    # sample more than changes.
    line = starts // rises.shape[1]
    starts, ends = starts + line, ends + line
    values = lines.reshape(-1).astype(np.int16)
    heights = np.abs(values[ends] - values[starts])
    strong = heights >= least
    starts, ends, heights = starts[strong], ends[strong], heights[strong]
    size = np.abs(values[1:] - values[:-1])
    steepest = size[starts]
    longer = np.flatnonzero(starts + 1 < ends)
    part = 0
    while longer.size:
        part += 1
        steepest[longer] = np.maximum(steepest[longer], size[starts[longer] + part])
        longer = longer[starts[longer] + part + 1 < ends[longer]]
    kinds: NDArray[np.int64] = heights.astype(np.int64) * LEVELS + steepest
    return kinds
