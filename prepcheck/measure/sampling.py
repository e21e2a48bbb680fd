"""Reading plates between their pixels, and along lines that leave an outline."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import FloatArray, Grid
from prepcheck.measure.straight_rays import read_straight
from prepcheck.press.view import ByteArray

_Real = TypeVar("_Real", bound=np.floating)

_AT_A_TIME = 1 << 15
"""Places read at once, so that what is worked out for them stays in the processor's cache."""


def sample(plane: ByteArray, grid: Grid, points: FloatArray) -> NDArray[np.float32]:
    """Return a plane (rows, columns) at places (..., 2) in mm, bilinear; 0 outside the grid.

    Planes side by side (rows, columns, n) give (..., n), which costs little more than one. They
    hold the mean over each pixel, so the half-way crossing of a straight edge stays
    where the edge is.
    """
    places = points.reshape(-1, 2)
    found = np.empty((len(places), *plane.shape[2:]), np.float32)
    for start in range(0, len(places), _AT_A_TIME):
        own = slice(start, start + _AT_A_TIME)
        found[own] = _between(plane, _Spots.of(grid, places[own, 0], places[own, 1]))
    return found.reshape(points.shape[:-1] + plane.shape[2:])


class _Spots(NamedTuple):
    """Places as pixels: the row and column (n,) of the pixel whose centre lies above and to the
    left, and how far below and to the right of it each place lies, 0..1."""

    row: NDArray[np.intp]
    column: NDArray[np.intp]
    down: NDArray[np.float32]
    across: NDArray[np.float32]

    @classmethod
    def of(cls, grid: Grid, x: FloatArray, y: FloatArray) -> _Spots:
        column = (x - grid.left) / grid.pitch - 0.5
        row = (grid.top - y) / grid.pitch - 0.5
        c, r = np.floor(column), np.floor(row)
        across, down = (column - c).astype(np.float32), (row - r).astype(np.float32)
        return cls(r.astype(np.intp), c.astype(np.intp), down, across)


def _between(plane: ByteArray, spots: _Spots) -> NDArray[np.float32]:
    row, column, down, across = spots
    if plane.ndim > 2:
        across, down = across[:, None], down[:, None]
    upper, right, lower, last = _corners(plane, row, column)
    before = 1 - across
    above, below = upper * before, lower * before
    above += right * across
    below += last * across
    above *= 1 - down
    below *= down
    above += below
    return np.asarray(above, np.float32)


def _corners(
    plane: ByteArray, row: NDArray[np.intp], column: NDArray[np.intp]
) -> tuple[ByteArray, ByteArray, ByteArray, ByteArray]:
    """Return pixels (n,), the ones to their right, and both of the row below; 0 outside."""
    rows, columns = plane.shape[:2]
    ways = ((0, 0), (0, 1), (1, 0), (1, 1))
    held = bool(row.size) and min(row.min(), column.min()) >= 0
    if not held or row.max() >= rows - 1 or column.max() >= columns - 1:
        upper, right, lower, last = (_at(plane, row + down, column + on) for down, on in ways)
    elif plane.flags.c_contiguous:
        flat, at = plane.reshape(-1, *plane.shape[2:]), row * columns + column
        ahead = (down * columns + on for down, on in ways)
        upper, right, lower, last = (flat[step:].take(at, axis=0) for step in ahead)
    else:
        upper, right, lower, last = (plane[row + down, column + on] for down, on in ways)
    return upper, right, lower, last


def _at(plane: ByteArray, row: NDArray[np.intp], column: NDArray[np.intp]) -> ByteArray:
    rows, columns = plane.shape[:2]
    inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
    values = np.zeros(row.shape + plane.shape[2:], plane.dtype)
    values[inside] = plane[row[inside], column[inside]]
    return values


def rays(points: FloatArray, normals: FloatArray, distances: FloatArray) -> FloatArray:
    """Return places (n, m, 2) at `distances` (m,) from points (n, 2) along their normals."""
    return np.asarray(points[:, None, :] + distances[None, :, None] * normals[:, None, :])


def along_rays(
    plane: ByteArray, grid: Grid, points: FloatArray, normals: FloatArray, distances: FloatArray
) -> NDArray[np.float32]:
    """Return `sample` of a plane at the places of `rays`, as (n, m), or (n, m, planes)."""
    found = np.empty((len(points), len(distances), *plane.shape[2:]), np.float32)
    if read_straight([plane], grid, points, normals, distances, [found], by_ray=True):
        return found
    step = max(1, _AT_A_TIME // max(1, len(distances)))
    for start in range(0, len(points), step):
        own = slice(start, start + step)
        x, y = (points[own, n, None] + distances * normals[own, n, None] for n in (0, 1))
        read = _between(plane, _Spots.of(grid, x.reshape(-1), y.reshape(-1)))
        found[own] = read.reshape(x.shape + plane.shape[2:])
    return found


def across_rays(
    planes: Sequence[ByteArray],
    grid: Grid,
    points: FloatArray,
    normals: FloatArray,
    distances: FloatArray,
) -> list[NDArray[np.float32]]:
    """Return of each plane what `along_rays` does the other way round, as (m, n): a row a
    distance."""
    found = [np.empty((len(distances), len(points)), np.float32) for _ in planes]
    if read_straight(planes, grid, points, normals, distances, found, by_ray=False):
        return found
    step = max(1, _AT_A_TIME // max(1, len(points)))
    for start in range(0, len(distances), step):
        own = slice(start, start + step)
        x, y = (points[:, n] + distances[own, None] * normals[:, n] for n in (0, 1))
        spots = _Spots.of(grid, x.reshape(-1), y.reshape(-1))
        for plane, out in zip(planes, found, strict=True):
            out[own] = _between(plane, spots).reshape(x.shape)
    return found


def median(values: NDArray[Any]) -> float:
    """Return the median of numbers (n,), at least one; for a few of them numpy's own takes ten
    times as long, and its first call imports masked arrays (40 ms), which light files need
    for nothing else."""
    ordered = np.sort(values)
    half = len(ordered) // 2
    upper = float(ordered[half])
    return upper if len(ordered) % 2 else (float(ordered[half - 1]) + upper) / 2


def quantile(values: NDArray[Any], share: float) -> float:
    """Return what a share of numbers (n,), at least one, lie below, between two of them in a
    straight line; numpy's own imports masked arrays too."""
    ordered = np.sort(values)
    return float(np.interp(share * (len(ordered) - 1), np.arange(len(ordered)), ordered))


def medians(values: NDArray[_Real], axis: int) -> NDArray[_Real]:
    """Return the medians of real numbers, at least one, along an axis, as numpy's own does."""
    half = values.shape[axis] // 2
    even = not values.shape[axis] % 2
    ordered = np.moveaxis(np.partition(values, (half - even, half), axis=axis), axis, 0)
    upper: NDArray[_Real] = ordered[half]
    return (ordered[half - 1] + upper) / 2 if even else upper


@dataclass(frozen=True)
class LoopStretch:
    """A stretch of a closed loop of samples: `first` to `last` inclusive, past the end it wraps."""

    first: int
    last: int
    count: int

    def indices(self) -> NDArray[np.int64]:
        """Return the samples of the stretch, in order."""
        return np.arange(self.first, self.last + 1) % self.count


def runs(mask: NDArray[np.bool_], *, join: int = 0, least: int = 1) -> tuple[LoopStretch, ...]:
    """Return the runs of true samples on a closed loop (n,).

    Gaps of up to `join` samples are bridged; runs of fewer than `least` samples are dropped.
    """
    count = len(mask)
    if mask.all():
        return (LoopStretch(0, count - 1, count),) if count >= least else ()
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
        LoopStretch((low + start) % count, (low + start) % count + high - low, count)
        for low, high in spans
        if high - low + 1 >= least
    )
