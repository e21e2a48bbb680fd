"""How alike two small pictures of one piece are, and where they differ."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import Box, Grid
from prepcheck.measure.components import label
from prepcheck.press.view import ByteArray, over_colours

BoolArray = NDArray[np.bool_]

ALIKE_STEP = 40
"""Difference of a colour channel, of 255, up to which two cells look alike; also what JPEG and a
place between two cells do to an edge."""
_SHIFT_CELLS = 2
"""Shifts up to so many cells are looked through for the best fit."""
_JOIN_MM = 2.0
"""Differing cells nearer than this are one place."""
_COARSE = 8
_HOPELESS = 0.35
"""Share of coarse cells that differ from which two arts are simply different."""


class Likeness(NamedTuple):
    """How alike: `share` (0..1) of what is drawn, the turn (degrees, anticlockwise) that the
    second must be given, the area that differs and its places. `plain` where neither has any
    drawing on its ground."""

    share: float
    turn: int
    differs_mm2: float
    places: tuple[Box, ...]
    plain: bool


def likeness(
    one: ByteArray, other: ByteArray, inside: BoolArray, grid: Grid, turns: tuple[int, ...] = (0,)
) -> Likeness | None:
    """Return how alike two pictures (rows, columns, 3) are on the cells `inside`.

    What counts is what is drawn: cells that differ from the ground, the commonest colour. Of the
    `turns` (multiples of 90 degrees; only where the grid is square) the best is returned; None
    where the pictures differ so much that nothing need be measured.
    """
    best: Likeness | None = None
    for turn in turns:
        turned = np.rot90(other, turn // 90)
        if turned.shape != one.shape or _hopeless(one, turned, inside):
            continue
        found = _compared(one, turned, inside, grid, turn)
        if best is None or found.share > best.share:
            best = found
        if best.share == 1.0:
            break
    return best


def _compared(
    one: ByteArray, other: ByteArray, inside: BoolArray, grid: Grid, turn: int
) -> Likeness:
    other = _fitted(one, other, inside)
    drawn = (_drawn(one, inside) | _drawn(other, inside)) & inside
    differs = _differs(one, other) & inside
    cell = grid.pitch**2
    count = int(differs.sum())
    total = max(int((drawn | differs).sum()), 1)
    return Likeness(
        1.0 - count / total, turn, count * cell, places_of(differs, grid), not drawn.any()
    )


def _hopeless(one: ByteArray, other: ByteArray, inside: BoolArray) -> bool:
    """Say by a coarse look whether two pictures are simply different."""
    step = _COARSE
    rows, columns = (side // step * step for side in inside.shape)
    if not rows or not columns:
        return False

    def coarse(picture: NDArray[np.float32]) -> NDArray[np.float32]:
        cells = picture[:rows, :columns].reshape(rows // step, step, columns // step, step, -1)
        means: NDArray[np.float32] = cells.mean(axis=(1, 3))
        return means

    whole = coarse(inside[..., None].astype(np.float32))[..., 0] > 0.99
    gap = np.abs(coarse(one.astype(np.float32)) - coarse(other.astype(np.float32))).max(axis=2)
    return bool(whole.any() and (gap[whole] > ALIKE_STEP).mean() > _HOPELESS)


def _fitted(one: ByteArray, other: ByteArray, inside: BoolArray) -> ByteArray:
    """Return the second picture moved by the few whole cells that make it fit best."""
    light, against = (over_colours(np.add, look.astype(np.int16)) for look in (one, other))
    best, moved = np.inf, other
    reach = range(-_SHIFT_CELLS, _SHIFT_CELLS + 1)
    for dy, dx in sorted(
        ((y, x) for y in reach for x in reach), key=lambda s: abs(s[0]) + abs(s[1])
    ):
        gap = np.abs(light - np.roll(against, (dy, dx), (0, 1)))[inside].mean()
        if gap < best - 1e-9:
            best, moved = gap, np.roll(other, (dy, dx), (0, 1))
        if not best:
            break
    return moved


def _drawn(picture: ByteArray, inside: BoolArray) -> BoolArray:
    """Return the cells that differ from the ground, the commonest colour (to 5 bits)."""
    keys = (picture >> 3).astype(np.int32)
    keyed = (keys[..., 0] << 10) | (keys[..., 1] << 5) | keys[..., 2]
    if not inside.any():
        return np.zeros(inside.shape, bool)
    commonest = np.bincount(keyed[inside]).argmax()
    ground = np.median(picture[inside & (keyed == commonest)], axis=0)
    drawn: BoolArray = (
        over_colours(np.maximum, np.abs(picture.astype(np.int16) - ground)) > ALIKE_STEP
    )
    return drawn


def _differs(one: ByteArray, other: ByteArray) -> BoolArray:
    """Return the cells of either that no cell beside them in the other comes near."""
    gap = over_colours(np.maximum, np.maximum(_beyond(one, other), _beyond(other, one)))
    differs: BoolArray = gap > ALIKE_STEP
    return differs


def _beyond(one: ByteArray, other: ByteArray) -> ByteArray:
    low, high = envelope(other)
    return np.maximum(one, high) - high | (low - np.minimum(one, low))


def envelope(plane: ByteArray) -> tuple[ByteArray, ByteArray]:
    """Return the least and the greatest of each pixel and its eight neighbours."""
    low, high = plane.copy(), plane.copy()
    for axis in (0, 1):
        for result, choose in ((low, np.minimum), (high, np.maximum)):
            before = result.copy()
            head = (slice(None),) * axis + (slice(None, -1),)
            tail = (slice(None),) * axis + (slice(1, None),)
            choose(result[head], before[tail], out=result[head])
            choose(result[tail], before[head], out=result[tail])
    return low, high


def places_of(mask: BoolArray, grid: Grid, join_mm: float = _JOIN_MM) -> tuple[Box, ...]:
    """Return the boxes in mm of groups of true cells, the largest area of cells first."""
    return tuple(box for box, _ in groups_of(mask, grid, join_mm))


def groups_of(mask: BoolArray, grid: Grid, join_mm: float) -> list[tuple[Box, BoolArray]]:
    """Return each group of true cells nearer to each other than `join_mm`: its box and cells.

    The cells come as a mask over the grid's window of the box; the largest group is the first.
    """
    if not mask.any():
        return []
    joined = _grown(mask, max(1, round(join_mm / grid.pitch / 2)))
    rows = np.ones(len(mask), bool)
    rows[-1] = False
    numbers = np.where(mask, label(joined, rows), -1)
    at_row, at_column = np.nonzero(mask)
    owner = numbers[at_row, at_column]
    found = []
    order = np.argsort(owner, kind="stable")
    for chosen in np.split(order, np.flatnonzero(np.diff(owner[order])) + 1):
        r, c = at_row[chosen], at_column[chosen]
        r0, r1, c0, c1 = int(r.min()), int(r.max()) + 1, int(c.min()), int(c.max()) + 1
        box = Box(
            grid.left + c0 * grid.pitch, grid.top - r1 * grid.pitch,
            grid.left + c1 * grid.pitch, grid.top - r0 * grid.pitch,
        )  # fmt: skip
        cells = np.zeros((r1 - r0, c1 - c0), bool)
        cells[r - r0, c - c0] = True
        found.append((box, cells))
    return sorted(found, key=lambda item: (-int(item[1].sum()), item[0]))


def _grown(mask: BoolArray, by: int) -> BoolArray:
    """Return a mask grown by `by` cells to all sides, corners included."""
    grown = mask
    for axis in (0, 1):
        padding = [(by, by) if a == axis else (0, 0) for a in (0, 1)]
        total = np.cumsum(np.pad(grown, padding), axis=axis, dtype=np.int32)
        total = np.insert(total, 0, 0, axis=axis)
        length = grown.shape[axis]
        ahead = np.take(total, np.arange(2 * by + 1, 2 * by + 1 + length), axis=axis)
        behind = np.take(total, np.arange(length), axis=axis)
        grown = ahead > behind
    return grown
