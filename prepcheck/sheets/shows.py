"""Whether something is seen in boxes, many at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, Grid
from prepcheck.measure.clearance import SEEN_PERCENT
from prepcheck.press.view import View

_AT_ONCE = 2_000_000
"""Pixels that are looked at together."""


def are_seen(view: View, boxes: FloatArray) -> NDArray[np.bool_]:
    """Say of each box (n, 4) in mm what `measure.clearance.is_seen` says of it."""
    first, size = _windows(view.grid, boxes)
    seen: NDArray[np.bool_] = np.asarray(size.prod(axis=1) == 0)
    order = np.lexsort((size[:, 1], size[:, 0]))
    order = order[~seen[order]]
    alike = np.flatnonzero((np.diff(size[order], axis=0) != 0).any(axis=1)) + 1
    for own in np.split(order, alike) if len(order) else ():
        rows, columns = np.indices(size[own[0]])
        for some in np.array_split(own, rows.size * len(own) // _AT_ONCE + 1):
            at = first[some, 0, None, None] + rows, first[some, 1, None, None] + columns
            ink, rgb = view.ink[at], view.rgb[at]
            most = np.ptp(ink.reshape(len(some), -1), axis=1).astype(np.int64)
            spread = np.ptp(rgb.reshape(len(some), -1, 3), axis=1).max(axis=1)
            seen[some] = np.maximum(most, spread) >= SEEN_PERCENT / 100 * 255
    return seen


def _windows(grid: Grid, boxes: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the first row and column (n, 2) of the pixels that cover boxes and what lies right
    round them, and how many rows and columns they are; see `Grid.window`."""
    x0, y0, x1, y1 = boxes.T
    room = 1.5 * grid.pitch
    low = np.stack((grid.top - (y1 + room), (x0 - room) - grid.left), axis=1) / grid.pitch
    high = np.stack((grid.top - (y0 - room), (x1 + room) - grid.left), axis=1) / grid.pitch
    most = (grid.height, grid.width)
    first = np.clip(np.floor(low), 0, most).astype(np.intp)
    last = np.clip(np.ceil(high), first, most).astype(np.intp)
    return first, last - first
