"""How much true detail a picture holds: by traces of enlarging, and by how far its edges spread.

Traces are looked for in the spectrum (`traces.py`) and in the spacing of changes (`repeated.py`).
Where too little stands in a picture for either, edges tell: a step that is drawn at this size goes
from one colour to the other within one or two samples. The spread of a line of samples is twice
the sum of its first differences over that of its second ones: 1 for a hard step, n for a ramp of
n samples, below 2 for photographs as taken.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from enum import StrEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.measure.edge_width import edge_width
from prepcheck.measure.repeated import evenly_repeated, is_varied, widest_spacing
from prepcheck.measure.sampling import median
from prepcheck.measure.traces import JPEG_BLOCK, LARGE_TILE, Peak, traces_of

TILE = LARGE_TILE
"""Edge of a tile in samples, where the picture is as large."""
LEAST_SAMPLES = 128
"""A picture narrower than this is not judged."""
MOST_TILES = 16
MOST_STARTS = 10
"""Most places along an axis where a tile is looked for, so that large pictures cost no more."""
LEAST_BEND, BEND_REACH = 6, 4
"""Least second difference, of 255, over so many samples that counts: gradients have none."""
LEAST_BENT, LEAST_EDGES = 900, 120
"""How many places of a tile must bend for traces to be looked for, and for edges to tell."""
HARD = 1.5
"""Spread below which samples may have been repeated."""
DRAWN = 1.65
"""Greatest spread of flat art that was drawn at its size (tests/truth/enlarged.py)."""
SOFT = 2.1
"""Spread above which a picture may have been enlarged, or is out of focus."""
SOFT_SMALL, FEW_TILES = 1.8, 4
"""The same where there are fewer tiles, in which compression hides a trace: of 80 such photographs
at their size 5 are softer, of those enlarged 1.5 to 2.5 times without a trace all."""
FLAT_WIDE = 1.55
"""Steps of flat art that are so many samples wide may have been enlarged and sharpened: those of
flat art at its size were 1.45 and less (tests/truth/enlarged_little.py)."""
SPREAD = 2.4
"""Spread from which edges of flat art show that it was not drawn at this size."""
FLAT, FLAT_REACH, FLAT_STEP = 0.35, 8, 2
"""Share of samples that equal those so many further on, within so much of 255, from which art is
flat."""
FAINT_STEP, WIDE = 12, 3.3
"""Steps of so many levels of 255 that are so many samples wide were enlarged, or are out of focus:
120 crops of the photographs of tests/truth/_photographs.py at their own size had 1.3 to 2.8, but
for one that is blurred; those enlarged three times and more that no trace told of, 4.3 and more."""
STEEPEST, SLACKEST = 1.6, 0.95
"""Factor over spread at most (sharpened by a cubic) and at least."""
HARDEST = 0.55
"""Spread over factor at the least, where samples were interpolated."""
LOOSEST = 1.8
"""Spread over factor at most, where edges were smooth before."""
OVERTONE = 0.35
"""A trace at half the frequency of the strongest is the true one from this share of it."""


class Method(StrEnum):
    """What the enlargement looks like."""

    NONE = "no enlargement seen"
    REPEATED = "pixels repeated"
    INTERPOLATED = "pixels interpolated"
    SPREAD = "edges spread"


class Estimate(NamedTuple):
    """How much detail the samples hold.

    `share` is true detail over samples along one axis: 1 where no enlargement was seen, 0.5 for a
    picture blown up to twice its size. `strength` is the coherence of the traces, 0 to 1.
    `judged` is False where nothing could be said, and `why` says why not.
    """

    share: float
    method: Method
    strength: float
    judged: bool
    why: str = ""
    widest: float | None = None
    """The greatest factor it may be, where only a range is known; `factor` is then the least."""

    @property
    def factor(self) -> float:
        """The enlargement along one axis; 1 where none was seen."""
        return 1.0 / self.share

    @property
    def usual_share(self) -> float:
        """The share in the middle of the range, where only a range is known."""
        if self.widest is None:
            return self.share
        return math.sqrt(self.share / self.widest)


Lightness = Callable[[NDArray[np.uint8]], NDArray[np.uint8]]


def true_share(
    samples: NDArray[np.uint8], lightness_of: Lightness = np.ascontiguousarray
) -> Estimate:
    """Return how much true detail the samples of a picture (rows, columns, ...) hold.

    `lightness_of` turns a part of it into lightness (rows, columns); of a large picture only
    parts are looked at. Works on the tiles in which most goes on; says `judged=False` for
    pictures that are very small, empty, soft without a trace of why, or that have traces which
    fit nothing their edges tell.
    """
    if min(samples.shape[:2]) < LEAST_SAMPLES:
        return _unjudged(f"fewer than {LEAST_SAMPLES} pixels across")
    ranked = _lively_tiles(samples, lightness_of)
    if not ranked:
        return _unjudged("nothing in it that would tell")
    tiles = [tile for _, tile in ranked]
    repeated = evenly_repeated(tiles)
    if repeated is not None:
        return Estimate(1.0 / repeated, Method.REPEATED, 1.0, True)
    spread = min(_spread(tile) for tile in tiles)
    flat = median(np.array([_flatness(tile) for tile in tiles])) >= FLAT
    full = [tile for bent, tile in ranked if bent >= LEAST_BENT]
    every = traces_of(full, soft=spread > DRAWN) if full else []
    peaks = [peak for peak in every if peak.sure]
    if peaks:
        why = "traces as of enlarging, but edges too hard for it, as patterns have"
        return _traced(full, peaks, spread, flat) or _unjudged(why)
    if flat and spread >= SPREAD:
        widest = spread * STEEPEST
        return Estimate(SLACKEST / spread, Method.SPREAD, 0.0, True, "", widest)
    # Where little but compression and noise stands in smooth places, they harden the whole.
    width = edge_width(tiles, FAINT_STEP)
    soft = spread >= (SOFT_SMALL if len(full) < FEW_TILES else SOFT) or (flat and spread > DRAWN)
    if soft or (width is not None and width >= (FLAT_WIDE if flat else WIDE)):
        return _unjudged("soft all over, which enlarging makes and a lens as well")
    if every and spread > HARD:
        return _unjudged("a trace as of enlarging, but too faint to be sure of")
    if width is None and not full:
        return _unjudged("too little in it that would tell")
    return Estimate(1.0, Method.NONE, 0.0, True)


def _unjudged(why: str) -> Estimate:
    return Estimate(1.0, Method.NONE, 0.0, False, why)


def _traced(
    tiles: list[NDArray[np.uint8]], peaks: list[Peak], spread: float, flat: bool
) -> Estimate | None:
    """Return the factor that traces tell, which come at its whole multiples as well; None where
    edges are too hard for it: stripes and screens of dots leave the like."""
    strongest = peaks[0]
    frequency = strongest.frequency
    rough = [1 / frequency, 2 / frequency, 3 / frequency, 4 / frequency, 1 / (1 - frequency)]
    # Noise hardens the whole of a picture, but not its strong edges.
    wide = max(spread, edge_width(tiles) or 0.0)
    if wide <= HARD and all(map(is_varied, tiles)):
        spacing = widest_spacing(tiles, [factor for factor in rough if 1.3 < factor < TILE / 8])
        if spacing is not None:
            return Estimate(1.0 / spacing, Method.REPEATED, strongest.coherence, True)
    for below in peaks[1:]:
        times = frequency / below.frequency
        whole = round(times)
        is_tone = whole > 1 and abs(times - whole) < 0.06
        is_tone &= below.excess >= OVERTONE * strongest.excess
        # One by 3/2 leaves the same two as one by 3, whose edges are wider.
        if is_tone and wide >= HARDEST / below.frequency:
            frequency = below.frequency
            break
    if flat:
        # Edges cannot spread farther than they were stretched.
        times = max(1, math.ceil(frequency * spread / LOOSEST))
        frequency /= times
    if wide < HARDEST / frequency:
        return None
    return Estimate(frequency, Method.INTERPOLATED, strongest.coherence, True)


def _lively_tiles(
    samples: NDArray[np.uint8], lightness_of: Lightness
) -> list[tuple[int, NDArray[np.uint8]]]:
    """Return the lightness of the tiles (n, n) in which most goes on, each with how many of its
    places bend; n is a multiple of 8."""
    height, width = samples.shape[:2]
    size = min(TILE, min(height, width) // JPEG_BLOCK * JPEG_BLOCK)
    ranked = []
    for top in _starts(height, size):
        for left in _starts(width, size):
            tile = lightness_of(samples[top : top + size, left : left + size])
            bent = _bent(tile)
            if bent >= LEAST_EDGES:
                ranked.append((-bent, top, left, tile))
    ranked.sort(key=lambda entry: entry[:3])
    return [(-bent, tile) for bent, _, _, tile in ranked[:MOST_TILES]]


def _starts(length: int, size: int) -> list[int]:
    """Offsets of tiles along an axis, overlapping by half where the picture is small."""
    count = max(1, (length - size) // (size // 2) + 1) if length < 4 * size else length // size
    count = min(count, MOST_STARTS)
    return sorted({int(i) for i in np.linspace(0, length - size, count)})


def _bent(tile: NDArray[np.uint8]) -> int:
    """Return how many places bend, along the axis on which fewer do."""
    values = tile.astype(np.int16)
    r = BEND_REACH
    across = np.abs(values[:, 2 * r :] - 2 * values[:, r:-r] + values[:, : -2 * r]) >= LEAST_BEND
    down = np.abs(values[2 * r :] - 2 * values[r:-r] + values[: -2 * r]) >= LEAST_BEND
    return int(min(np.count_nonzero(across), np.count_nonzero(down)))


def _spread(tile: NDArray[np.uint8]) -> float:
    values = tile.astype(np.int32)
    found = 1.0
    for lines in (values, values.T):
        first = np.diff(lines, axis=1)
        second = int(np.abs(np.diff(first, axis=1)).sum())
        found = max(found, 2 * int(np.abs(first).sum()) / max(second, 1))
    return found


def _flatness(tile: NDArray[np.uint8]) -> float:
    values = tile.astype(np.int16)
    r = FLAT_REACH
    across = np.abs(values[:-r, r:] - values[:-r, :-r]) <= FLAT_STEP
    down = np.abs(values[r:, :-r] - values[:-r, :-r]) <= FLAT_STEP
    return float(np.mean(across & down))
