"""Signs that are set one to a square, as kana and Chinese characters are: each advances by an em,
so that how far apart they stand tells their size, which the height of kana does not."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.sampling import median

LEAST_SQUARES = 3
"""Of fewer, letters of any script would fit some."""
NARROWEST, STEPS = 0.72, 29
"""Least of a size that is told otherwise that is tried, and how many sizes up to that."""
BEARING, BEARINGS = 0.25, 11
"""Most room before the first sign, of the em, and how many rooms are tried."""
OVER = 0.03
"""How far, of the em, a sign may reach out of its square."""
FULL, MEAN_FULL = 0.4, 0.68
"""How much of its square each sign takes at least, and all do at the mean: parts of signs, and
letters, which are narrow and wide, take less."""


def em_of_squares(spans: FloatArray, size_mm: float) -> float | None:
    """Return the em of shapes that lie one after another in squares of one size, in mm, given where
    each begins and ends along their line (n, 2) and how large the em may be; None for others."""
    if not len(spans):
        return None
    low, high = spans[:, 0].min(), spans[:, 1].max()
    if high - low < (LEAST_SQUARES - BEARING) * NARROWEST * size_mm:
        return None
    ems = np.linspace(NARROWEST, 1.0, STEPS)[:, None] * size_mm
    rooms = np.linspace(0.0, BEARING, BEARINGS)
    starts = low - rooms * ems
    begins, ends = ((spans[:, side] - starts[..., None]) / ems[..., None] for side in (0, 1))
    square = np.floor(begins + OVER)
    fits = (square == np.floor(ends - OVER)).all(axis=2)
    found = [
        float(ems[at, 0])
        for at, room in np.argwhere(fits).tolist()
        if _are_full(begins[at, room], ends[at, room], square[at, room].astype(np.intp))
    ]
    return median(np.array(found)) if found else None


def _are_full(begins: FloatArray, ends: FloatArray, square: NDArray[np.intp]) -> bool:
    """Say whether squares, in ems, are filled one after another."""
    count = int(square.max()) + 1
    first, last = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(first, square, begins)
    np.maximum.at(last, square, ends)
    taken = last - first
    full = taken.min() >= FULL and taken.mean() >= MEAN_FULL
    return bool(full and count >= LEAST_SQUARES)
