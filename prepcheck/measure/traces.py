"""Traces of resampling in a picture's spectrum.

Enlarging by a factor s repeats the small picture's spectrum every 1/s cycles per sample and then
damps the copies. What is left of a copy stays tied to its original: the amplitudes at f and at
1/s - f rise and fall together from row to row, which the frequencies of a picture made at this
size, soft or noisy as it may be, do not. The coherence of such pairs, averaged over a diagonal
f1 + f2 = 1/s of the spectral correlation matrix, therefore stands out as a sharp peak.

Sources: W. A. Gardner, 'Exploitation of spectral redundancy in cyclostationary signals', IEEE
Signal Processing Magazine 8 (1991) for the coherence; A. C. Gallagher, 'Detection of linear and
cubic interpolation in JPEG compressed images', CRV 2005, for its use on pictures. Both from memory.
The thresholds were set on photographs and drawn pages (tests/measure/detail_table.py and
tests/truth/enlarged.py print the outcome).
"""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.sampling import median

JPEG_BLOCK = 8
"""Edge of a JPEG block in samples (ITU-T T.81, A.1.1); its grid leaves peaks of its own."""
LARGE_TILE = 256
"""Edge of a tile in samples from which rows are many enough to average out chance."""
LEAST_FACTOR, MOST_FACTOR = 1.4, 6.0
LEAST_COHERENCE = 0.2
LEAST_EXCESS = 0.15
"""How far a peak must stand above its surroundings in a large tile."""
LEAST_SMALL_EXCESS = 0.28
"""The same where tiles are small."""
LEAST_RATIO, SURE_EXCESS = 2.0, 0.35
"""How far above its surroundings a peak must stand by comparison, or else in itself."""
LEAST_OUTLYING = 6.0
"""The same in robust standard deviations of what lies round it."""
SURE_OUTLYING, SURELY_OUTLYING_EXCESS = 12.0, 0.08
"""A peak off the JPEG grid that stands out by so many is one however faint compression left it: of
160 crops that were not enlarged none had more than 9 (tests/truth/enlarged_little.py)."""
DOUBTFUL_EXCESS = 0.15
"""A peak off the JPEG grid may be a trace from this on, however little it stands out otherwise."""
LEAST_GRID_EXCESS = 0.2
"""How far a peak on the JPEG grid must stand above its neighbours on the grid."""
LEAST_DOUBLE, LEAST_DOUBLE_EXCESS = 0.35, 0.12
"""The same two for an enlargement to twice the size, whose trace a camera's colour filter array
leaves too, though fainter (below 0.3)."""


class Peak(NamedTuple):
    """A trace: cycles per sample, and by how much its coherence exceeds what lies round it. One
    that is not `sure` may as well have come by chance."""

    frequency: float
    coherence: float
    excess: float
    sure: bool = True


def traces_of(tiles: list[NDArray[np.uint8]], *, soft: bool) -> list[Peak]:
    """Return the traces in tiles (n, n) of one size, a multiple of 8, strongest first, and after
    them those that are not sure.

    `soft` says that edges spread too far to be drawn at this size, so that a fainter trace in a
    small tile is taken for one.
    """
    coherence = np.sqrt(_coherence(tiles, axis=1) * _coherence(tiles, axis=0))
    size = len(tiles[0])
    first, last = math.floor(size / MOST_FACTOR), math.ceil(size / LEAST_FACTOR)
    band = np.arange(first, last + 1)
    reach, grid = size // 17, size // JPEG_BLOCK
    around = np.array([median(coherence[max(at - reach, grid) : at + reach + 1]) for at in band])
    excess = coherence[band] - around
    spread = 1.48 * median(np.abs(excess - median(excess)))
    least = LEAST_EXCESS if size >= LARGE_TILE or soft else LEAST_SMALL_EXCESS
    found = []
    for at, over, floor in zip(band.tolist(), excess.tolist(), around.tolist(), strict=True):
        if over < min(least, SURELY_OUTLYING_EXCESS) or over < LEAST_OUTLYING * spread:
            continue
        sure = over >= least and _stands_out(coherence, at, floor)
        if not sure:
            if _on_grid(size, at) or not _is_top(coherence, at):
                continue
            sure = over >= SURE_OUTLYING * spread
        if sure or over >= DOUBTFUL_EXCESS:
            found.append(Peak(_refined(coherence, at), float(coherence[at]), over, sure))
    return sorted(found, key=lambda peak: (not peak.sure, -peak.coherence))


def _coherence(tiles: list[NDArray[np.uint8]], axis: int) -> FloatArray:
    """Return the mean coherence (n,) of frequency pairs by the sum of the two, in cycles per n
    samples along an axis."""
    size = len(tiles[0])
    window = np.hanning(size + 1)[:size]
    sums, starts, places = _pairs_by_sum(size)
    count = np.diff(starts, append=len(places))
    total: FloatArray = np.zeros(size)
    for tile in tiles:
        lines = (tile if axis == 1 else tile.T).astype(np.float64)
        spectrum = np.fft.rfft((lines - lines.mean()) * window, axis=1)
        power = np.sqrt((np.abs(spectrum) ** 2).mean(axis=0)) + 1e-6
        white = (spectrum / power).astype(np.complex64)
        pairs = (white.T @ white).reshape(-1)[places]
        total[sums] += np.abs(np.add.reduceat(pairs, starts)) / (count * size)
    return total / len(tiles)


@cache
def _pairs_by_sum(size: int) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return the sums of two frequencies that are looked at, and for all of them in turn the
    places of their pairs in a flat matrix (size // 2 + 1 a side): where each begins, and which."""
    lows = {
        sum_: np.arange(max(sum_ // 4, sum_ - size // 2), sum_ // 2 - 1)
        for sum_ in range(size // JPEG_BLOCK - 1, size)
    }
    lows = {sum_: low for sum_, low in lows.items() if low.size > 3}
    lengths = np.array([len(low) for low in lows.values()])
    places = [low * (size // 2 + 1) + (sum_ - low) for sum_, low in lows.items()]
    return np.array(list(lows)), np.cumsum(lengths) - lengths, np.concatenate(places)


def _refined(coherence: FloatArray, at: int) -> float:
    """Return the top of a parabola through a peak and its neighbours, in cycles per sample."""
    left, mid, right = coherence[at - 1 : at + 2]
    bend = left - 2 * mid + right
    shift = 0.5 * (left - right) / bend if bend < 0 else 0.0
    return (at + float(np.clip(shift, -0.5, 0.5))) / len(coherence)


def _is_top(coherence: FloatArray, at: int) -> bool:
    return bool(coherence[at] >= max(coherence[at - 1], coherence[at + 1]))


def _on_grid(size: int, at: int) -> bool:
    """Say whether a sum of two frequencies is one that the JPEG grid leaves."""
    spacing = size // JPEG_BLOCK
    return abs(at - round(at / spacing) * spacing) <= 2


def _stands_out(coherence: FloatArray, at: int, floor: float) -> bool:
    value = coherence[at]
    if value < LEAST_COHERENCE or not _is_top(coherence, at):
        return False
    if value < LEAST_RATIO * floor and value < floor + SURE_EXCESS:
        return False
    if not _on_grid(len(coherence), at):
        return True
    spacing = len(coherence) // JPEG_BLOCK
    grid = round(at / spacing)
    double = grid == JPEG_BLOCK // 2
    neighbours = (coherence[(grid - 1) * spacing] + coherence[(grid + 1) * spacing]) / 2
    excess = LEAST_DOUBLE_EXCESS if double else LEAST_GRID_EXCESS
    return bool(value > neighbours + excess and (not double or value > LEAST_DOUBLE))
