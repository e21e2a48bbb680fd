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
from collections.abc import Callable
from functools import cache

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.jpeg import ANNEX_K_LUMINANCE, scale_percent

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

Lightness = Callable[[NDArray[np.uint8]], NDArray[np.uint8]]


def traced_quality(samples: NDArray[np.uint8], lightness_of: Lightness) -> int | None:
    """Return the quality (1 to 100, IJG scale) of the hardest JPEG compression that the samples
    (rows, columns, ...) show; None where they show none or too little stands in them.

    `lightness_of` turns a part of the samples into lightness (rows, columns).
    """
    tiles = _tiles(samples, lightness_of)
    if not tiles:
        return None
    coefficients = np.concatenate([_coefficients(tile) for tile in tiles])
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
    return 1 + int(np.abs(known - usual).argmin())


def _tiles(samples: NDArray[np.uint8], lightness_of: Lightness) -> list[FloatArray]:
    """Return lightness of parts of a picture, those with the most contrast."""
    height, width = samples.shape[:2]
    ranked = []
    for top in _starts(height):
        for left in _starts(width):
            part = lightness_of(samples[top : top + TILE, left : left + TILE]).astype(np.float64)
            if min(part.shape) > 2 * BLOCK:
                ranked.append((float(np.abs(np.diff(part, axis=1)).mean()), top, left, part))
    ranked.sort(key=lambda entry: (-entry[0], *entry[1:3]))
    return [part for contrast, *_, part in ranked[:MOST_TILES] if contrast > 0.2]


def _starts(length: int) -> list[int]:
    count = min(5, max(1, length // TILE))
    return sorted({int(start) for start in np.linspace(0, max(0, length - TILE), count)})


def _coefficients(tile: FloatArray) -> FloatArray:
    """Return the coefficients (blocks, 8, 8) of a tile on the grid that its edges show; blocks with
    samples at the ends of the scale, which were clipped after decoding, are left out."""
    across, down = _phase(tile), _phase(tile.T)
    part = tile[down:, across:]
    rows, columns = part.shape[0] // BLOCK, part.shape[1] // BLOCK
    spread = part[: rows * BLOCK, : columns * BLOCK].reshape(rows, BLOCK, columns, BLOCK)
    blocks: FloatArray = spread.transpose(0, 2, 1, 3).reshape(-1, BLOCK, BLOCK)
    whole = (blocks.min(axis=(1, 2)) > 0) & (blocks.max(axis=(1, 2)) < 255)
    basis = _basis()
    found: FloatArray = basis @ blocks[whole] @ basis.T
    return found


def _phase(tile: FloatArray) -> int:
    """Return the column (0 to 7) at which blocks begin: where neighbours differ by more than
    those to their left and right do."""
    steps = np.abs(np.diff(tile, axis=1))
    jumps = (steps[:, 1:-1] - (steps[:, :-2] + steps[:, 2:]) / 2).mean(axis=0)
    by_phase = [float(jumps[phase::BLOCK].mean()) for phase in range(BLOCK)]
    return (int(np.argmax(by_phase)) + 2) % BLOCK


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
