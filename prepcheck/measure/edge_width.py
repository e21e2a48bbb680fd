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


def edge_width(tiles: Sequence[NDArray[np.uint8]], least_step: int = LEAST_STEP) -> float | None:
    """Return the width in samples that the harder edges of tiles (n, n) have; None where there are
    too few of at least `least_step` levels."""
    found = [_steps(lines, least_step) for tile in tiles for lines in (tile, tile.T)]
    heights = np.concatenate([height for height, _ in found])
    widths = np.concatenate([width for _, width in found])
    if len(heights) < LEAST_STEPS:
        return None
    order = np.argsort(widths)
    passed = np.cumsum(heights[order])
    return float(widths[order][np.searchsorted(passed, HARDER * passed[-1])])


def _steps(lines: NDArray[np.uint8], least: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return heights and widths of the steps of at least so many levels along lines (m, n)."""
    change = np.diff(lines.astype(np.int16), axis=1)
    sign = np.sign(change)
    begins = np.ones(change.shape, bool)
    begins[:, 1:] = sign[:, 1:] != sign[:, :-1]
    starts = np.flatnonzero(begins.ravel())
    size = np.abs(change).ravel()
    heights = np.add.reduceat(size, starts, dtype=np.float64)
    steepest = np.maximum.reduceat(size, starts)
    strong = heights >= least
    return heights[strong], heights[strong] / steepest[strong]
