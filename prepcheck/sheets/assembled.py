"""Pictures that exports cut into strips or tiles, put together again as they lie on the page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import ImageItem, Samples
from prepcheck.geometry import Box, FloatArray
from prepcheck.units import MM_PER_INCH

MOST_SAMPLES = 8_000_000
"""Parts are put together up to so many samples; what a picture shows is seen in as many."""
FILLED = (0.9, 1.1)
"""Share of the whole that its parts fill, at the least and at the most."""
OFF = 0.02
"""Parts of one picture lie turned alike to this sine."""


class Whole(NamedTuple):
    """A picture put together: its parts, and all of their samples in its own frame."""

    item: ImageItem
    """Stands for the parts: `visible` is the box round what is seen of them."""
    samples: Samples


def assembled(
    parts: Sequence[ImageItem], samples_of: Callable[[int], Samples | None]
) -> Whole | None:
    """Return parts of one picture as a whole, cut off at `MOST_SAMPLES`; None where they are of
    several kinds, do not fit together, or cannot be decoded."""
    first = parts[0]
    corner, right, down = _frame(first)
    if not all(_turned_alike(first, part) for part in parts):
        return None
    per_mm = np.array(first.ppi) / MM_PER_INCH
    places: list[tuple[int, int, ImageItem]] = []
    for part in parts:
        own = _frame(part)[0] - corner
        column, row = np.rint((own @ right * per_mm[0], own @ down * per_mm[1])).astype(int)
        places.append((int(row), int(column), part))
    top, left = min(row for row, _, _ in places), min(column for _, column, _ in places)
    places = [(row - top, column - left, part) for row, column, part in places]
    wide = max(column + part.samples[0] for _, column, part in places)
    # Whole rows of parts are taken, from the top, so that what is left out is at the bottom.
    most = max(MOST_SAMPLES // wide, max(part.samples[1] for part in parts))
    places = [entry for entry in places if entry[0] + entry[2].samples[1] <= most]
    if not places:
        return None
    high = max(row + part.samples[1] for row, _, part in places)
    area = sum(part.samples[0] * part.samples[1] for _, _, part in places)
    if not FILLED[0] <= area / (wide * high) <= FILLED[1] or wide * high > 2 * MOST_SAMPLES:
        return None
    whole: Samples | None = None
    for row, column, part in places:
        own_samples = samples_of(part.key)
        if own_samples is None:
            return None
        data = own_samples.data if own_samples.data.ndim == 3 else own_samples.data[:, :, None]
        if whole is None:
            blank = np.zeros((high, wide, data.shape[2]), np.uint8)
            whole = Samples(blank, own_samples.space, own_samples.jpeg_tables)
        alike = own_samples.space == whole.space and data.shape[2] == whole.data.shape[2]
        if not alike or data.shape[1::-1] != part.samples:
            return None
        whole.data[row : row + data.shape[0], column : column + data.shape[1]] = data
    if whole is None:
        return None
    boxes = [part.visible for part in parts if part.visible is not None]
    seen = Box.around(point for box in boxes for point in box.corners) if boxes else None
    return Whole(first._replace(visible=seen, samples=(wide, high)), whole)


def _frame(item: ImageItem) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return a picture's upper left corner, and the ways along its rows and down its columns."""
    low_left, low_right, _, up_left = item.quad.array()
    right, down = low_right - low_left, low_left - up_left
    return up_left, right / np.hypot(*right), down / np.hypot(*down)


def _turned_alike(one: ImageItem, other: ImageItem) -> bool:
    _, right, down = _frame(one)
    _, own_right, own_down = _frame(other)
    return bool(right @ own_right > 1 - OFF**2 and down @ own_down > 1 - OFF**2)
