"""Reading plates between their pixels, and along lines that leave an outline."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, Grid
from prepcheck.press.view import ByteArray


def sample(plane: ByteArray, grid: Grid, points: FloatArray) -> NDArray[np.float32]:
    """Return a plane (rows, columns) at places (..., 2) in mm, bilinear; 0 outside the grid.

    The planes hold the mean over each pixel, so the half-way crossing of a straight edge stays
    where the edge is.
    """
    pixels = grid.pixels(points) - 0.5
    column, row = np.floor(pixels[..., 0]), np.floor(pixels[..., 1])
    across = (pixels[..., 0] - column).astype(np.float32)
    down = (pixels[..., 1] - row).astype(np.float32)
    c, r = column.astype(np.int64), row.astype(np.int64)
    upper = _at(plane, r, c) * (1 - across) + _at(plane, r, c + 1) * across
    lower = _at(plane, r + 1, c) * (1 - across) + _at(plane, r + 1, c + 1) * across
    return np.asarray(upper * (1 - down) + lower * down, np.float32)


def _at(plane: ByteArray, row: NDArray[np.int64], column: NDArray[np.int64]) -> NDArray[np.float32]:
    rows, columns = plane.shape
    inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
    values = plane[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)]
    return np.where(inside, values, 0).astype(np.float32)


def rays(points: FloatArray, normals: FloatArray, distances: FloatArray) -> FloatArray:
    """Return places (n, m, 2) at `distances` (m,) from points (n, 2) along their normals."""
    return np.asarray(points[:, None, :] + distances[None, :, None] * normals[:, None, :])


@dataclass(frozen=True)
class Run:
    """A stretch of a closed loop of samples: `first` to `last` inclusive, past the end it wraps."""

    first: int
    last: int
    count: int

    def indices(self) -> NDArray[np.int64]:
        """Return the samples of the stretch, in order."""
        return np.arange(self.first, self.last + 1) % self.count


def runs(mask: NDArray[np.bool_], *, join: int = 0, least: int = 1) -> tuple[Run, ...]:
    """Return the runs of true samples on a closed loop (n,).

    Gaps of up to `join` samples are bridged; runs of fewer than `least` samples are dropped.
    """
    count = len(mask)
    if mask.all():
        return (Run(0, count - 1, count),) if count >= least else ()
    if not mask.any():
        return ()
    start = int(np.argmin(mask))
    turned = np.roll(mask, -start)
    rising = np.flatnonzero(turned[1:] & ~turned[:-1]) + 1
    falling = np.flatnonzero(turned[:-1] & ~turned[1:])
    if turned[-1]:
        falling = np.append(falling, count - 1)
    spans = [[int(rising[0]), int(falling[0])]]
    for low, high in zip(rising[1:].tolist(), falling[1:].tolist(), strict=True):
        if low - spans[-1][1] - 1 <= join:
            spans[-1][1] = high
        else:
            spans.append([low, high])
    if len(spans) > 1 and spans[0][0] + count - spans[-1][1] - 1 <= join:
        low, _ = spans.pop()
        spans[0][0] = low - count
    return tuple(
        Run((low + start) % count, (low + start) % count + high - low, count)
        for low, high in spans
        if high - low + 1 >= least
    )
