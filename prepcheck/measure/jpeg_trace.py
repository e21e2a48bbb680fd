"""How hard a picture was once compressed as JPEG, told from its samples.

What a JPEG encoder rounds leaves the coefficients of its 8 × 8 blocks at multiples of the steps of
its table, whatever file holds the picture later: packed without loss, cropped, or saved again with
finer steps. The steps are read back from how the coefficients cluster, and ranked on the scale of
the Annex K table (ITU-T T.81, A.3 for blocks and steps, K.1 for the table).

The idea is Fan and de Queiroz, 'Identification of bitmap compression history: JPEG detection and
quantizer estimation', IEEE Transactions on Image Processing 12 (2003), from memory; the clustering
measure here is our own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.jpeg_quality import ANNEX_K_LUMINANCE, scale_percent

BLOCK = 8
TILE = 256
MOST_TILES = 6
PLACES = ((0, 1), (1, 0), (1, 1), (0, 2), (2, 0), (1, 2), (2, 1), (2, 2), (0, 3), (3, 0), (1, 3))
"""Coefficients that are looked at, (row, column) in a block: those with the most in them."""
FIRST_PLACES = 5
"""Where none of so many places shows a step, the others are not looked at."""
STEPS = np.arange(4.0, 130.0)
"""Steps that are looked for; finer ones are those of qualities that do not show."""
FINE, MOST_BINS = 4, 4096
"""Bins of coefficients to a whole number, and how many there are."""
LEAST_VALUES = 40
"""Coefficients other than zero that a step is read from."""
LEAST_CLUSTERED = 0.55
"""How well coefficients must cluster: 1 where each is a multiple of the step, about 0 by chance."""
LEAST_AGREEING = 4
"""Places whose steps must agree on one quality."""
NEAR = 0.2
"""Share by which their scales may differ."""

READ_LOW = 3
"""By how much a quality read from single steps comes out too low (tried at 20 to 80)."""
QUALITIES = np.arange(5, 81)
POOLED = tuple((row, column) for row in range(6) for column in range(6) if row + column <= 5)
"""Places whose coefficients are looked at together, by the steps of one table."""
LEAST_POOLED = 0.6
"""How well those must cluster; of pictures that never were a JPEG they come to 0.3 at the most,
of ones compressed at 12 to 45 to 0.8 at the least (tests/truth/photographs.py)."""
HIGH, NOTHING, FEW_BLOCKS = 3, 1.0, 200
"""Coefficients from this row and column on together, below so much, tell by how many they are
where blocks begin; so many blocks are enough."""
GRID, LEAST_JUMP = 6.0, 0.3
"""Standard deviations and levels by which differences at the grid stand out where it is seen."""

Lightness = Callable[[NDArray[np.uint8]], NDArray[np.uint8]]


class Trace(NamedTuple):
    """The quality (1 to 100, IJG scale) of the hardest JPEG compression that samples show, None
    where they show none; `judged` is False where blocks are seen but not how hard they are."""

    quality: int | None
    judged: bool = True


def traced_quality(samples: NDArray[np.uint8], lightness_of: Lightness) -> Trace:
    """Return how hard a picture (rows, columns, ...) was compressed, by its samples.

    `lightness_of` turns a part of the samples into lightness (rows, columns).
    """
    tiles = _tiles(samples, lightness_of)
    if not tiles:
        return Trace(None)
    across, down = (_jumps(tiles, axis) for axis in (1, 0))
    found = _by_table(tiles, across, down)
    if found is None:
        own = [_coefficients(tile, *_phases(tile)) for tile in tiles]
        found = _by_steps(_distinct(np.concatenate(own)))
    if found is not None:
        return Trace(found)
    return Trace(None, not all(_is_grid(jumps) for jumps in (across, down)))


def _by_table(tiles: Sequence[_Tile], across: FloatArray, down: FloatArray) -> int | None:
    """Return the quality at whose steps, those of the Annex K table, all coefficients cluster: the
    few that a small or smooth picture has tell together what none of its places tells alone."""
    jumps = int(across.argmax()), int(down.argmax())
    for phase in dict.fromkeys((jumps, _emptiest(tiles[0]))):
        own = [_coefficients(tile, *_from(tile, phase)) for tile in tiles]
        score, quality = _clustered(_distinct(np.concatenate(own)))
        if score >= LEAST_POOLED:
            return quality
    return None


def _from(tile: _Tile, phase: tuple[int, int]) -> tuple[int, int]:
    """Return the column and the row of a tile where blocks begin that do at these of the picture's
    first eight."""
    return (phase[0] - tile.left) % BLOCK, (phase[1] - tile.top) % BLOCK


def _distinct(coefficients: FloatArray) -> FloatArray:
    """Return coefficients (blocks, 8, 8) without the blocks that are there already: along a
    straight edge of flat art all are the same, and cluster at any step that suits the first."""
    # A number a block that only like blocks have in common, but for a chance that is nothing here.
    weights = np.sqrt(np.arange(2.0, 2.0 + BLOCK * BLOCK)).reshape(BLOCK, BLOCK)
    keys = np.einsum("nij,ij->n", coefficients, weights)
    _, first = np.unique(np.rint(keys * 100), return_index=True)
    return coefficients[np.sort(first)]


def _emptiest(tile: _Tile) -> tuple[int, int]:
    """Return the column and the row of the picture, 0 to 7, at which blocks have most coefficients
    of nothing: where an encoder rounded them off."""
    high = np.add.outer(np.arange(BLOCK), np.arange(BLOCK)) >= HIGH
    shares = []
    for down in range(BLOCK):
        for across in range(BLOCK):
            own = _coefficients(tile, across, down, FEW_BLOCKS)[:, high]
            empty = float((np.abs(own) < NOTHING).mean()) if own.size else 0.0
            shares.append((empty, (tile.left + across) % BLOCK, (tile.top + down) % BLOCK))
    _, column, row = max(shares)
    return column, row


def _clustered(coefficients: FloatArray) -> tuple[float, int]:
    """Return how well coefficients (blocks, 8, 8) cluster at the steps of the quality that fits
    best, and that quality; 0 where too few tell."""
    clusters, counted = _clusters()
    counts = np.zeros((MOST_BINS, len(POOLED)), np.float32)
    for at, (row, column) in enumerate(POOLED):
        values = coefficients[:, row, column]
        if row == column == 0:
            # The mean of a block, from middle grey; a flat ground's says nothing each time anew.
            values = np.unique(np.rint((values - BLOCK * 128.0) * FINE)) / FINE
        bins = np.minimum(np.abs(values) * FINE, MOST_BINS - 1).astype(np.int64)
        counts[:, at] = np.bincount(bins, minlength=MOST_BINS)
    steps, places = _table_steps(), np.arange(len(POOLED))
    near, count = (clusters @ counts)[steps, places], (counted @ counts)[steps, places]
    total = count.sum(axis=1)
    score = np.where(total >= LEAST_VALUES, near.sum(axis=1) / np.maximum(total, 1), 0.0)
    best = int(score.argmax())
    return float(score[best]), int(QUALITIES[best])


@cache
def _table_steps() -> NDArray[np.intp]:
    """Return which of `STEPS` the table has for each of `QUALITIES` (rows) at each of `POOLED`."""
    scale = np.array([scale_percent(int(quality)) for quality in QUALITIES])
    table = np.array([ANNEX_K_LUMINANCE[BLOCK * row + column] for row, column in POOLED])
    steps = np.clip((np.outer(scale, table) + 50) // 100, 1, 255)
    return np.asarray(np.clip(steps - int(STEPS[0]), 0, len(STEPS) - 1), np.intp)


def _by_steps(coefficients: FloatArray) -> int | None:
    """Return the quality that the steps of single places agree on, by any maker's table, which
    comes out a little low."""
    scales: list[float] = []
    for at, (row, column) in enumerate(PLACES):
        if at == FIRST_PLACES and not scales:
            return None
        step = _step(np.abs(coefficients[:, row, column]))
        if step is not None:
            scales.append(100.0 * step / ANNEX_K_LUMINANCE[BLOCK * row + column])
    if len(scales) < LEAST_AGREEING:
        return None
    usual = float(np.median(scales))
    if sum(abs(scale / usual - 1) <= NEAR for scale in scales) < LEAST_AGREEING:
        return None
    known = np.array([scale_percent(quality) for quality in range(1, 101)])
    return 1 + int(np.abs(known - usual).argmin()) + READ_LOW


class _Tile(NamedTuple):
    """Lightness (n, m) of a part of a picture, where in it the part begins, and whether (n, m) the
    block that begins at a sample has samples at the ends of the scale."""

    light: FloatArray
    top: int
    left: int
    clipped: NDArray[np.bool_]


def _tiles(samples: NDArray[np.uint8], lightness_of: Lightness) -> list[_Tile]:
    """Return parts of a picture, those with the most contrast."""
    height, width = samples.shape[:2]
    ranked = []
    for top in _starts(height):
        for left in _starts(width):
            part = lightness_of(samples[top : top + TILE, left : left + TILE]).astype(np.float64)
            if min(part.shape) > 2 * BLOCK:
                contrast = float(np.abs(np.diff(part, axis=1)).mean())
                ranked.append((contrast, top, left, part))
    ranked.sort(key=lambda entry: (-entry[0], *entry[1:3]))
    chosen = [entry[1:] for entry in ranked[:MOST_TILES] if entry[0] > 0.2]
    return [_Tile(part, top, left, _clipped(part)) for top, left, part in chosen]


def _clipped(light: FloatArray) -> NDArray[np.bool_]:
    """Return whether the block that begins at each sample (n, m) has one at an end of the scale."""
    found = (light <= 0) | (light >= 255)
    for reach in (1, 2, 4):
        found[:, :-reach] |= found[:, reach:]
        found[:-reach] |= found[reach:]
    return found


def _starts(length: int) -> list[int]:
    count = min(5, max(1, length // TILE))
    return sorted({int(start) for start in np.linspace(0, max(0, length - TILE), count)})


def _coefficients(tile: _Tile, across: int, down: int, most: int | None = None) -> FloatArray:
    """Return the coefficients (blocks, 8, 8) of a tile's blocks from a column and a row on, or of
    about as many as `most`; blocks with samples at the ends of the scale, which were clipped after
    decoding, are left out."""
    part = tile.light[down:, across:]
    rows, columns = part.shape[0] // BLOCK, part.shape[1] // BLOCK
    spread = part[: rows * BLOCK, : columns * BLOCK].reshape(rows, BLOCK, columns, BLOCK)
    clipped = tile.clipped[down::BLOCK, across::BLOCK][:rows, :columns]
    row, column = np.nonzero(~clipped)
    if most is not None:
        each = max(1, len(row) // most)
        row, column = row[::each], column[::each]
    blocks: FloatArray = spread[row, :, column]
    basis = _basis()
    found: FloatArray = basis @ blocks @ basis.T
    return found


def _phases(tile: _Tile) -> tuple[int, int]:
    """Return the column and the row (0 to 7) of a tile at which its blocks begin."""
    own = tile._replace(top=0, left=0)
    return int(_jumps([own], 1).argmax()), int(_jumps([own], 0).argmax())


def _jumps(tiles: Sequence[_Tile], axis: int) -> FloatArray:
    """Return by how much neighbours differ more than those to their left and right do, where
    blocks would begin at each of the columns (axis 1) or rows 0 to 7 of the picture."""
    sums, counts = np.zeros(BLOCK), np.zeros(BLOCK)
    for light, top, left, _ in tiles:
        lines = light if axis == 1 else light.T
        steps = np.abs(np.diff(lines, axis=1))
        jumps = (steps[:, 1:-1] - (steps[:, :-2] + steps[:, 2:]) / 2).mean(axis=0)
        place = (np.arange(len(jumps)) + 2 + (left if axis == 1 else top)) % BLOCK
        sums += np.bincount(place, jumps, BLOCK)
        counts += np.bincount(place, minlength=BLOCK)
    return np.asarray(sums / np.maximum(counts, 1))


def _is_grid(jumps: FloatArray) -> bool:
    """Say whether neighbours differ at one of the eight places clearly more than at the others."""
    order = np.sort(jumps)
    others = order[:-1]
    return bool(order[-1] - others.mean() >= GRID * others.std() + LEAST_JUMP)


@cache
def _basis() -> FloatArray:
    """Return the matrix of the discrete cosine transform (T.81, A.3.3)."""
    x = np.arange(BLOCK)
    basis = np.cos((2 * x[None, :] + 1) * x[:, None] * math.pi / (2 * BLOCK)) / 2
    basis[0] /= math.sqrt(2)
    return np.asarray(basis, np.float64)


def _step(values: FloatArray) -> float | None:
    """Return the greatest step at whose multiples coefficients cluster; None where there is none.

    Only those nearer to another multiple than to zero count, as most are near zero anyway.
    """
    counts = np.bincount(np.minimum(values * FINE, MOST_BINS - 1).astype(np.int64))
    clusters, counted = _clusters()
    counts = np.pad(counts, (0, MOST_BINS - len(counts))).astype(np.float32)
    there = counted @ counts
    score = clusters @ counts / np.maximum(there, 1)
    found = np.flatnonzero((there >= LEAST_VALUES) & (score >= LEAST_CLUSTERED))
    return float(STEPS[found[-1]]) if found.size else None


@cache
def _clusters() -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return (steps, bins): how near a coefficient lies to a multiple of a step, 1 to -1, and
    whether it counts."""
    places = (np.arange(MOST_BINS) + 0.5) / FINE
    counted = places[None, :] >= STEPS[:, None] / 2
    near = np.cos(2 * math.pi * places[None, :] / STEPS[:, None]) * counted
    return near.astype(np.float32), counted.astype(np.float32)
