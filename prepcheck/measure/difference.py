"""What changed between two prints of one piece: the shift between them, then the places."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import Box, Grid
from prepcheck.measure.likeness import BoolArray, envelope, groups_of
from prepcheck.press.view import ByteArray

FloatPlane = NDArray[np.float32]

STEP = 26
"""Change of an ink, of 255, from which a pixel has changed: a tenth of full ink."""
LEAST_MM2 = 0.06
"""Changed areas smaller than a full stop of 4 pt are dust of the rendering."""
JOIN_MM = 2.0
"""Changed pixels nearer than this are one place."""
MOST_SHIFT_MM = 12.0
"""Shifts are looked for up to this."""
NEAR_SHIFT_MM = 0.5
"""A shift up to this is likely; a farther one must fit so much better that it cannot be chance."""
_BETTER_NEAR = 0.98
_BETTER_FAR = 0.6
_ROUNDS = 12
_ENOUGH = 0.002
"""Change of the shift, in pixels, at which it is settled."""
_OUTLIER = 24.0
"""Difference, of 255, from which a pixel tells of a change, not of a shift."""


class PixelShift(NamedTuple):
    """A shift in pixels, columns to the right and rows down; `sure` where it fits clearly."""

    columns: float
    rows: float
    sure: bool


class ChangedPlace(NamedTuple):
    """A place that changed: its box and area in mm, and the plates (by index) that did."""

    box: Box
    area_mm2: float
    plates: tuple[int, ...]


def offset_of(
    before: ByteArray, after: ByteArray, pitch: float, within: BoolArray | None = None
) -> PixelShift:
    """Return by how many pixels `after` (rows, columns) lies off `before`, judged `within`.

    Whole pixels by the peak of the cross-power spectrum (Kuglin and Hines 1975), the fraction by
    least squares on the grey gradient (Lucas and Kanade 1981), where what really changed counts
    less the more it differs (Geman and McClure's weights).
    """
    one, other = before.astype(np.float32), after.astype(np.float32)
    seen = np.ones(one.shape, np.float32) if within is None else within.astype(np.float32)
    if not seen.any():
        return PixelShift(0.0, 0.0, sure=False)
    rows, columns = _whole_shift(one, other, seen, pitch)
    best = (0.0, 0.0, _misfit(one, other, seen))
    for start in sorted({(0, 0), (rows, columns)}):
        dy, dx = refined(one, other, seen, start)
        misfit = _misfit(one, shifted(other, -dy, -dx), seen)
        near = float(np.hypot(dy, dx)) * pitch <= NEAR_SHIFT_MM
        if misfit < best[2] * (_BETTER_NEAR if near else _BETTER_FAR):
            best = (dy, dx, misfit)
    dy, dx, _ = best
    return PixelShift(dx, dy, (dy, dx) != (0.0, 0.0))


def _whole_shift(
    one: FloatPlane, other: FloatPlane, seen: FloatPlane, pitch: float
) -> tuple[int, int]:
    window = np.outer(np.hanning(one.shape[0]), np.hanning(one.shape[1])).astype(np.float32)
    window *= seen
    a = np.fft.rfft2((one - (one * seen).sum() / seen.sum()) * window)
    b = np.fft.rfft2((other - (other * seen).sum() / seen.sum()) * window)
    cross = b * np.conj(a)
    size = np.abs(cross)
    peak = np.fft.irfft2(
        np.divide(cross, size, out=np.zeros_like(cross), where=size > 1e-3 * size.max()), one.shape
    )
    most = int(MOST_SHIFT_MM / pitch)
    reach = np.zeros(one.shape, bool)
    ys, xs = (np.minimum(np.arange(n), n - np.arange(n)) for n in one.shape)
    reach[(ys <= most)[:, None] & (xs <= most)[None, :]] = True
    row, column = np.unravel_index(int(np.where(reach, peak, -np.inf).argmax()), peak.shape)
    return (
        int(row - one.shape[0] if row > one.shape[0] // 2 else row),
        int(column - one.shape[1] if column > one.shape[1] // 2 else column),
    )


def refined(
    one: FloatPlane, other: FloatPlane, seen: FloatPlane, start: tuple[int, int]
) -> tuple[float, float]:
    """Return the shift of `other` against `one`, rows down and columns to the right, to a fraction
    of a pixel; `start` must be within a pixel or two of it."""
    dy, dx = float(start[0]), float(start[1])
    for _ in range(_ROUNDS):
        moved = shifted(other, -dy, -dx)
        gy, gx = np.gradient(moved)
        rest = moved - one
        weight = seen / (1.0 + (rest / _OUTLIER) ** 2) ** 2
        yy, xx, xy = (
            (weight * p * q).sum(dtype=np.float64) for p, q in ((gy, gy), (gx, gx), (gx, gy))
        )
        ry, rx = ((weight * g * rest).sum(dtype=np.float64) for g in (gy, gx))
        det = yy * xx - xy * xy
        if det <= 1e-9 * max(yy * xx, 1.0):
            break
        step_y, step_x = (rx * xy - ry * xx) / det, (ry * xy - rx * yy) / det
        # Far from the right place a step leads astray; within a pixel it is sound.
        dy += float(np.clip(step_y, -1.0, 1.0))
        dx += float(np.clip(step_x, -1.0, 1.0))
        if max(abs(step_y), abs(step_x)) < _ENOUGH:
            break
    return dy, dx


def _misfit(one: FloatPlane, other: FloatPlane, seen: FloatPlane) -> float:
    """Return how badly two planes fit, where a change counts once, however strong it is."""
    rest = ((one - other) / _OUTLIER) ** 2
    return float((seen * rest / (1.0 + rest)).sum(dtype=np.float64) / seen.sum(dtype=np.float64))


def shifted(plane: FloatPlane, rows: float, columns: float) -> FloatPlane:
    """Return a plane moved down and right by fractions of pixels, its edge drawn out."""
    moved = _moved_along(plane, rows, 0)
    return _moved_along(moved, columns, 1)


def _moved_along(plane: FloatPlane, by: float, axis: int) -> FloatPlane:
    whole = int(np.floor(by))
    share = np.float32(by - whole)
    length = plane.shape[axis]
    places = np.clip(np.arange(length) - whole, 0, length - 1)
    near = np.take(plane, places, axis=axis)
    if share < 1e-6:
        return near
    far = np.take(plane, np.clip(places - 1, 0, length - 1), axis=axis)
    mixed: FloatPlane = near * (1 - share) + far * share
    return mixed


def changed_places(
    before: Sequence[ByteArray],
    after: Sequence[ByteArray],
    inside: BoolArray,
    grid: Grid,
    offset: PixelShift | None = None,
) -> list[ChangedPlace]:
    """Return where plates (each rows, columns) differ on the pixels `inside`, the largest first.

    With an `offset` the two are moved towards each other by half of it, so that both lose the
    same sharpness; places are where they lie in the later print. A pixel has changed where it
    lies beyond all its neighbours of the other print, so that edges drawn a little otherwise do
    not count.
    """
    y, x = (0.0, 0.0) if offset is None else (offset.rows / 2, offset.columns / 2)
    masks: list[BoolArray] = []
    for one, other in zip(before, after, strict=True):
        if offset is not None:
            one, other = _moved(one, y, x), _moved(other, -y, -x)
        masks.append(_changed(one, other) & inside)
    changed = np.logical_or.reduce(masks) if masks else np.zeros(inside.shape, bool)
    cell = grid.pitch**2
    places = []
    for box, cells in groups_of(changed, grid, JOIN_MM):
        area = float(cells.sum()) * cell
        if area < LEAST_MM2:
            continue
        rows, columns = _window(box, grid, cells)
        own = tuple(
            i
            for i, mask in enumerate(masks)
            if (mask[rows, columns] & cells).sum() * cell >= LEAST_MM2 / 2
        )
        right, up = x * grid.pitch, -y * grid.pitch
        moved = Box(box.x0 + right, box.y0 + up, box.x1 + right, box.y1 + up)
        places.append(ChangedPlace(moved, area, own))
    return places


def _moved(plane: ByteArray, rows: float, columns: float) -> ByteArray:
    """Return a plate moved, and softened so that hairlines on the seam of two pixels look like
    those in the middle of one."""
    return softened(shifted(plane.astype(np.float32), rows, columns))


def softened(plane: ByteArray | FloatPlane) -> ByteArray:
    """Return a plane (rows, columns) after a binomial filter over three pixels each way."""
    soft = plane.astype(np.float32)
    for axis in (0, 1):
        before, after = (_moved_along(soft, by, axis) for by in (1, -1))
        soft = ((before + 2 * soft + after) / 4).astype(np.float32)
    whole: ByteArray = np.clip(np.rint(soft), 0, 255).astype(np.uint8)
    return whole


def _changed(one: ByteArray, other: ByteArray) -> BoolArray:
    changed = np.zeros(one.shape, bool)
    for a, b in ((one, other), (other, one)):
        low, high = envelope(b)
        changed |= (np.maximum(a, high) - high > STEP) | (low - np.minimum(a, low) > STEP)
    return changed


def _window(box: Box, grid: Grid, cells: BoolArray) -> tuple[slice, slice]:
    row = round((grid.top - box.y1) / grid.pitch)
    column = round((box.x0 - grid.left) / grid.pitch)
    return slice(row, row + cells.shape[0]), slice(column, column + cells.shape[1])
