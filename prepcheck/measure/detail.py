"""How much true detail an enlarged picture holds: resampling traces in its spectrum.

Enlarging by a factor s repeats the small picture's spectrum every 1/s cycles per sample and then
damps the copies. What is left of a copy stays tied to its original: the amplitudes at f and at
1/s - f rise and fall together from row to row, which the frequencies of a photograph taken at
this size, soft or noisy as it may be, do not. The coherence of such pairs, averaged over a
diagonal f1 + f2 = 1/s of the spectral correlation matrix, therefore stands out as a sharp peak.

Sources: W. A. Gardner, 'Exploitation of spectral redundancy in cyclostationary signals', IEEE
Signal Processing Magazine 8 (1991) for the coherence; A. C. Gallagher, 'Detection of linear and
cubic interpolation in JPEG compressed images', CRV 2005, for its use on pictures. Both from memory.
The thresholds were set on photographs (tests/measure/detail_table.py prints the outcome).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from enum import StrEnum
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray

TILE = 256
"""Edge of a tile in samples; a picture narrower than this is not judged."""
MOST_TILES = 16
MOST_STARTS = 10
"""Most places along an axis where a tile is looked for, so that large pictures cost no more."""
JPEG_BLOCK = 8
"""Edge of a JPEG block in samples (ITU-T T.81, A.1.1); its grid leaves peaks of its own."""

LEAST_COHERENCE = 0.2
LEAST_EXCESS = 0.15
"""How far a peak must stand above its surroundings."""
LEAST_RATIO = 2.0
LEAST_GRID_EXCESS = 0.2
"""How far a peak on the JPEG grid must stand above its neighbours on the grid."""
LEAST_DOUBLE, LEAST_DOUBLE_EXCESS = 0.35, 0.12
"""The same two for an enlargement to twice the size, whose trace a camera's colour filter array
leaves too, though fainter (below 0.3)."""
LEAST_FACTOR, MOST_FACTOR = 1.4, 6.0
LEAST_CONTRAST = 2.0
"""Least standard deviation of lightness (of 255) in a tile worth looking at."""

_SPACING = TILE // JPEG_BLOCK
_FIRST, _LAST = math.floor(TILE / MOST_FACTOR), math.ceil(TILE / LEAST_FACTOR)


class Method(StrEnum):
    """What the enlargement looks like."""

    NONE = "no enlargement seen"
    REPEATED = "pixels repeated"
    INTERPOLATED = "pixels interpolated"


class Estimate(NamedTuple):
    """How much detail the samples hold.

    `share` is true detail over samples along one axis: 1 where no enlargement was seen, 0.5 for a
    picture blown up to twice its size. `strength` is the coherence of the traces, 0 to 1.
    `judged` is False where there was too little texture or size to say anything.
    """

    share: float
    method: Method
    strength: float
    judged: bool

    @property
    def factor(self) -> float:
        """The enlargement along one axis; 1 where none was seen."""
        return 1.0 / self.share


UNJUDGED = Estimate(1.0, Method.NONE, 0.0, False)


def true_share(
    samples: NDArray[np.uint8],
    lightness_of: Callable[[NDArray[np.uint8]], NDArray[np.uint8]] = np.ascontiguousarray,
) -> Estimate:
    """Return how much true detail the samples of a picture (rows, columns, ...) hold.

    `lightness_of` turns a part of it into lightness (rows, columns); of a large picture only
    parts are looked at. Works on the most textured tiles; says `judged=False` for pictures
    smaller than a tile or without texture, such as flat graphics. Where samples were repeated by
    a fraction and then compressed, the enlargement is seen but its factor may be that of the
    mirrored peak, 1 - 1/s.
    """
    tiles = textured_tiles(samples, lightness_of)
    if not tiles:
        return UNJUDGED
    evenly = _evenly_repeated(tiles)
    if evenly is not None:
        return Estimate(evenly, Method.REPEATED, 1.0, True)
    coherence = np.sqrt(_coherence(tiles, axis=1) * _coherence(tiles, axis=0))
    peaks = [at for at in range(_FIRST, _LAST + 1) if _stands_out(coherence, at)]
    if not peaks:
        return Estimate(1.0, Method.NONE, float(coherence[_FIRST : _LAST + 1].max()), True)
    at = max(peaks, key=lambda at: coherence[at])
    share = _refined(coherence, at)
    return Estimate(share, Method.INTERPOLATED, float(coherence[at]), True)


def textured_tiles(
    samples: NDArray[np.uint8],
    lightness_of: Callable[[NDArray[np.uint8]], NDArray[np.uint8]] = np.ascontiguousarray,
) -> list[NDArray[np.uint8]]:
    """Return the lightness of the most textured tiles (TILE, TILE), most texture first.

    Flat areas, smooth gradients (whose rounding steps repeat evenly) and drawings of few tones
    are left out.
    """
    height, width = samples.shape[:2]
    if min(height, width) < TILE:
        return []
    ranked = []
    for top in _starts(height):
        for left in _starts(width):
            tile = lightness_of(samples[top : top + TILE, left : left + TILE])
            texture = _texture(tile)
            if texture >= LEAST_CONTRAST:
                ranked.append((-texture, top, left, tile))
    ranked.sort(key=lambda entry: entry[:3])
    return [tile for *_, tile in ranked[:MOST_TILES]]


def _starts(length: int) -> list[int]:
    """Offsets of tiles along an axis, overlapping by half where the picture is small."""
    count = max(1, (length - TILE) // (TILE // 2) + 1) if length < 4 * TILE else length // TILE
    count = min(count, MOST_STARTS)
    return sorted({int(i) for i in np.linspace(0, length - TILE, count)})


def _texture(tile: NDArray[np.uint8]) -> float:
    """Spread of the second difference over a few samples; 0 for flats and drawings."""
    reach = JPEG_BLOCK
    same = (tile[:, reach:] == tile[:, :-reach])[reach:] & (tile[reach:] == tile[:-reach])[
        :, reach:
    ]
    if np.count_nonzero(same) > same.size / 2 or np.count_nonzero(np.bincount(tile.ravel())) < 24:
        return 0.0
    values = tile.astype(np.int16)
    half = reach // 2
    across = values[:, reach:] - 2 * values[:, half:-half] + values[:, :-reach]
    down = values[reach:] - 2 * values[half:-half] + values[:-reach]
    return min(_spread(across), _spread(down))


def _spread(values: NDArray[np.int16]) -> float:
    """Return the standard deviation; both sums are whole numbers, and exact."""
    flat = values.ravel().astype(np.float64)
    mean = float(flat.sum()) / flat.size
    return math.sqrt(max(0.0, float(np.square(flat).sum()) / flat.size - mean * mean))


def _evenly_repeated(tiles: list[NDArray[np.uint8]]) -> float | None:
    """Return the share of columns and rows that are no copy of the one before, where copies are
    exact and evenly spaced; None where they are not."""
    spacings = []
    for tile in tiles:
        for axis in (0, 1):
            steps = np.abs(np.diff(tile.astype(np.int16), axis=1 - axis)).mean(axis=axis)
            gaps = np.diff(np.flatnonzero(steps > 0))
            if gaps.size < JPEG_BLOCK:
                return None
            usual = float(gaps.mean())
            even = (gaps >= math.floor(usual)) & (gaps <= math.ceil(usual))
            if usual < LEAST_FACTOR - 0.1 or even.mean() < 0.95:
                return None
            spacings.append(usual)
    spread = max(spacings) - min(spacings)
    usual = float(np.median(spacings))
    return 1.0 / usual if spread < 0.1 * usual else None


def _coherence(tiles: list[NDArray[np.uint8]], axis: int) -> FloatArray:
    """Return the mean coherence (TILE,) of frequency pairs by the sum of the two, in cycles per
    TILE samples along an axis."""
    window = np.hanning(TILE + 1)[:TILE]
    sums, starts, places = _pairs_by_sum()
    count = np.diff(starts, append=len(places))
    total: FloatArray = np.zeros(TILE)
    for tile in tiles:
        lines = (tile if axis == 1 else tile.T).astype(np.float64)
        spectrum = np.fft.rfft((lines - lines.mean()) * window, axis=1)
        power = np.sqrt((np.abs(spectrum) ** 2).mean(axis=0)) + 1e-6
        white = (spectrum / power).astype(np.complex64)
        pairs = (white.T @ white).reshape(-1)[places]
        total[sums] += np.abs(np.add.reduceat(pairs, starts)) / (count * TILE)
    return total / len(tiles)


@cache
def _pairs_by_sum() -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return the sums of two frequencies that are looked at, and for all of them in turn the
    places of their pairs in a flat matrix (TILE // 2 + 1 a side): where each begins, and which."""
    lows = {
        sum_: np.arange(max(sum_ // 4, sum_ - TILE // 2), sum_ // 2 - 1)
        for sum_ in range(_SPACING - 1, TILE)
    }
    lows = {sum_: low for sum_, low in lows.items() if low.size > 3}
    lengths = np.array([len(low) for low in lows.values()])
    places = [low * (TILE // 2 + 1) + (sum_ - low) for sum_, low in lows.items()]
    return np.array(list(lows)), np.cumsum(lengths) - lengths, np.concatenate(places)


def _refined(coherence: FloatArray, at: int) -> float:
    """Return the top of a parabola through a peak and its neighbours, in cycles per sample."""
    left, mid, right = coherence[at - 1 : at + 2]
    bend = left - 2 * mid + right
    shift = 0.5 * (left - right) / bend if bend < 0 else 0.0
    return (at + float(np.clip(shift, -0.5, 0.5))) / TILE


def _stands_out(coherence: FloatArray, at: int) -> bool:
    value = coherence[at]
    if value < LEAST_COHERENCE or value < coherence[at - 1] or value < coherence[at + 1]:
        return False
    floor = float(np.median(coherence[max(at - 15, _SPACING) : at + 16]))
    if value < floor + LEAST_EXCESS or value < LEAST_RATIO * floor:
        return False
    grid = round(at / _SPACING)
    if abs(at - grid * _SPACING) > 2:
        return True
    double = grid == JPEG_BLOCK // 2
    neighbours = (coherence[(grid - 1) * _SPACING] + coherence[(grid + 1) * _SPACING]) / 2
    excess = LEAST_DOUBLE_EXCESS if double else LEAST_GRID_EXCESS
    return bool(value > neighbours + excess and (not double or value > LEAST_DOUBLE))
