"""Where colour changes along a fold, and by how much that lies off it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, Point
from prepcheck.measure.folds import Fold
from prepcheck.measure.sampling import sample
from prepcheck.press.view import View, over_colours

ROW_MM = 1.0
"""Distance between the places along a fold that are looked at."""
SIDE_MM = (0.25, 0.9)
"""From where to where beside a change its two colours are taken: inside the narrowest spine."""
CHANGE_PERCENT = 8.0
"""A change of colour, in the channel that changes most, of the full range."""
STEADY_SHARE = 0.5
"""How much a colour may vary beside the change, of the change; a texture varies more."""
SAME_MM = 0.25
"""Changes this near to their middle lie on one line."""
SHARE = 0.6
"""A change belongs to the fold where it follows it for this share of what can be seen."""
LEAST_SEEN = 0.3
"""Share of the fold that must be free of type for it to be judged."""
BARE_PERCENT = 3.0
"""Ink below this is bare paper."""


class ColourChange(NamedTuple):
    """A straight change of colour along a fold.

    `off_mm` is how far beyond the fold it lies (negative: before it); `share` for how much of
    the fold it runs; `bare_before` and `bare_after` say whether a side of it is bare paper.
    """

    off_mm: float
    share: float
    path: tuple[Point, Point]
    bare_before: bool
    bare_after: bool


def colour_change(
    view: View, fold: Fold, before_mm: float, after_mm: float, covered: FloatArray
) -> ColourChange | None:
    """Return the change of colour that follows a fold, no further off than given; None if none.

    `covered` (n, 2) are stretches along the fold (low, high) where type lies; they are left out.
    """
    along = np.arange(fold.low + ROW_MM, fold.high - ROW_MM / 2, ROW_MM)
    free = np.ones(len(along), bool)
    for low, high in covered:
        free &= (along < low) | (along > high)
    if not len(along) or free.mean() < LEAST_SEEN:
        return None
    along = along[free]
    step = view.grid.pitch / 2
    margin = SIDE_MM[1] + step
    off = np.arange(-before_mm - margin, after_mm + margin + step, step)
    places = _places(fold, along, off)
    colours = sample(view.rgb, view.grid, places)
    ink = sample(view.ink, view.grid, places)
    inner, outer = (round(value / step) for value in SIDE_MM)
    found = _changes(colours, outer, inner)
    keep = np.isfinite(found)
    if not keep.any():
        return None
    at = np.where(keep, found, 0.0)
    index = np.rint(at).astype(int)
    rows = np.arange(len(along))
    offsets = np.where(keep, off[0] + at * step, np.nan)
    middle = float(np.nanmedian(offsets))
    same = keep & (np.abs(offsets - middle) <= SAME_MM)
    share = float(same.mean())
    if share < SHARE:
        return None
    middle = float(offsets[same].mean())
    limit = BARE_PERCENT / 100 * 255
    bare = [
        float(np.median(ink[rows[same], index[same] + sign * (inner + outer) // 2])) < limit
        for sign in (-1, 1)
    ]
    ends = along[same]
    path = (fold.place(middle, float(ends[0])), fold.place(middle, float(ends[-1])))
    return ColourChange(middle, share, path, bare[0], bare[1])


def _places(fold: Fold, along: FloatArray, off: FloatArray) -> FloatArray:
    across = np.broadcast_to(fold.at + off[None, :], (len(along), len(off)))
    down = np.broadcast_to(along[:, None], across.shape)
    pair = (across, down) if fold.axis == 0 else (down, across)
    return np.stack(pair, axis=-1)


def _changes(colours: NDArray[np.float32], outer: int, inner: int) -> FloatArray:
    """Return for each row (rows, samples, 3) the sample at which a steady colour becomes another.

    NaN where there is none. Half-way between the two colours is where the change lies.
    """
    rows, count, _ = colours.shape
    total = np.zeros((rows, count + 1, 3), np.float64)
    np.cumsum(colours, axis=1, out=total[:, 1:])
    width = outer - inner
    centre = np.arange(outer, count - outer)

    def mean(start: NDArray[np.int64]) -> FloatArray:
        return np.asarray((total[:, start + width] - total[:, start]) / width)

    left, right = mean(centre - outer), mean(centre + inner)
    change = over_colours(np.maximum, np.abs(right - left))
    best = change.argmax(axis=1)
    row = np.arange(rows)
    at = centre[best]
    low, high = left[row, best], right[row, best]
    channel = np.abs(high - low).argmax(axis=1)
    one = colours[row, :, channel]
    start, end = low[row, channel], high[row, channel]
    middle = (start + end) / 2
    result = np.full(rows, np.nan)
    for i in range(rows):
        if change[i, best[i]] < CHANGE_PERCENT / 100 * 255:
            continue
        window = one[i, at[i] - outer : at[i] + outer + 1]
        before, after = window[: outer - inner], window[outer + inner + 1 :]
        if max(np.ptp(before), np.ptp(after)) > STEADY_SHARE * abs(end[i] - start[i]):
            continue
        rising = (window - middle[i]) * np.sign(end[i] - start[i])
        cross = np.flatnonzero((rising[:-1] < 0) & (rising[1:] >= 0))
        if len(cross) != 1:
            continue
        first = int(cross[0])
        part = -rising[first] / (rising[first + 1] - rising[first])
        result[i] = at[i] - outer + first + part
    return result
