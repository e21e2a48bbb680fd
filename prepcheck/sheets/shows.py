"""Whether something is seen in boxes, many at once."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, Grid
from prepcheck.measure.clearance import SEEN_PERCENT
from prepcheck.press.view import ByteArray, View

_AT_ONCE = 2_000_000
"""Pixels that are looked at together."""
_SQUARE = 8
_LEAST = SEEN_PERCENT / 100 * 255


class Shows:
    """Tells of boxes on a view whether anything shows in them; what that takes is made once."""

    def __init__(self, view: View) -> None:
        self._grid = view.grid
        self._planes = (view.ink, *np.moveaxis(view.rgb, 2, 0))

    @cached_property
    def _low(self) -> tuple[ByteArray, ...]:
        return tuple(_squares(plane, np.minimum) for plane in self._planes)

    @cached_property
    def _high(self) -> tuple[ByteArray, ...]:
        return tuple(_squares(plane, np.maximum) for plane in self._planes)

    def are_seen(self, boxes: FloatArray) -> NDArray[np.bool_]:
        """Say of each box (n, 4) in mm what `measure.clearance.is_seen` says of it."""
        first, size = _windows(self._grid, boxes)
        seen: NDArray[np.bool_] = np.asarray(size.prod(axis=1) == 0)
        perhaps = ~seen
        if not perhaps.any():
            return seen
        # Most boxes lie on even grounds, which squares of pixels tell at once.
        start = first // _SQUARE
        ends = -(-(first + size) // _SQUARE)
        perhaps[perhaps] = (
            _spreads(self._low, self._high, start[perhaps], (ends - start)[perhaps]) >= _LEAST
        )
        planes = self._planes
        seen[perhaps] = _spreads(planes, planes, first[perhaps], size[perhaps]) >= _LEAST
        return seen


def _squares(plane: ByteArray, of: np.ufunc) -> ByteArray:
    """Return the least or the greatest of each square of pixels."""
    for axis in (0, 1):
        lines = np.moveaxis(plane, axis, 0)
        found = lines[::_SQUARE].copy()
        for step in range(1, _SQUARE):
            other = lines[step::_SQUARE]
            of(found[: len(other)], other, out=found[: len(other)])
        plane = np.moveaxis(found, 0, axis)
    return plane


def _spreads(
    low: Sequence[ByteArray],
    high: Sequence[ByteArray],
    first: NDArray[np.intp],
    size: NDArray[np.intp],
) -> NDArray[np.int64]:
    """Return by how much planes differ at most within windows (n,): from the first row and column
    (n, 2) on so many rows and columns (n, 2)."""
    found = np.zeros(len(first), np.int64)
    order = np.lexsort((size[:, 1], size[:, 0]))
    alike = np.flatnonzero((np.diff(size[order], axis=0) != 0).any(axis=1)) + 1
    for own in np.split(order, alike) if len(order) else ():
        rows, columns = np.indices(size[own[0]])
        for some in np.array_split(own, rows.size * len(own) // _AT_ONCE + 1):
            at = first[some, 0, None, None] + rows, first[some, 1, None, None] + columns
            for least, most in zip(low, high, strict=True):
                spread = most[at].max(axis=(1, 2)).astype(np.int64) - least[at].min(axis=(1, 2))
                found[some] = np.maximum(found[some], spread)
    return found


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
