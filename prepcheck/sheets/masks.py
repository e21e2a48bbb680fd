"""Masks that are coarser than the pictures they cut out, and whose steps are seen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import ImageItem
from prepcheck.geometry import FloatArray, Quad
from prepcheck.measure.seen import LIVE_DELTA_E, looks_at
from prepcheck.press.show.ciede2000 import ciede2000
from prepcheck.sheets.exam import Sheet
from prepcheck.spec.model import TOLERANCE_PPI
from prepcheck.units import ppi

AS_FINE = 0.95
"""A mask of this share of its picture's resolution is no coarser."""
SHARP = 128
"""Step from one sample of a mask to the next, of 255, from which it makes stairs; a softer edge
hides them."""
LEAST_EDGE, LEAST_SEEN = 12, 0.1
"""Samples of sharp edge, and the share of them that must be seen."""
MOST_PLACES = 400


class CoarseMask(NamedTuple):
    """A picture whose mask is coarse, and the mask's resolution."""

    item: ImageItem
    ppi: float


def coarse_masks(
    sheet: Sheet, items: Iterable[ImageItem], wanted_ppi: float
) -> Iterator[CoarseMask]:
    """Yield the pictures whose masks have fewer samples than wanted, and than the picture has."""
    for item in items:
        if item.mask_samples is None:
            continue
        fine = _ppi(item.mask_quad or item.quad, item.mask_samples)
        if fine >= wanted_ppi - TOLERANCE_PPI or fine >= AS_FINE * min(item.ppi):
            continue
        mask = sheet.page.picture(item.mask_key)
        if mask is not None and _is_seen(sheet, item, mask.data[:, :, 0]):
            yield CoarseMask(item, fine)


def _ppi(quad: Quad, samples: tuple[int, int]) -> float:
    """Return the samples an inch of a mask that lies there, the fewer of both ways."""
    corners = quad.array()
    sides = (corners[1] - corners[0], corners[3] - corners[0])
    return min(
        ppi(count, float(np.hypot(*side))) for count, side in zip(samples, sides, strict=True)
    )


def _is_seen(sheet: Sheet, item: ImageItem, mask: NDArray[np.uint8]) -> bool:
    """Say whether a mask has a sharp edge across which the look changes."""
    height, width = mask.shape
    levels = mask.astype(np.int16)
    rows, columns = np.nonzero(np.abs(np.diff(levels, axis=1)) >= SHARP)
    across = np.column_stack((columns + 1.0, rows + 0.5))
    rows, columns = np.nonzero(np.abs(np.diff(levels, axis=0)) >= SHARP)
    down = np.column_stack((columns + 0.5, rows + 1.0))
    if len(across) + len(down) < LEAST_EDGE:
        return False
    changes = []
    for places, step in ((across, (1.0, 0.0)), (down, (0.0, 1.0))):
        chosen = places[:: max(1, len(places) // MOST_PLACES)]
        one, other = (_on_piece(item, chosen + way * np.array(step), (width, height))
                      for way in (-1.5, 1.5))  # fmt: skip
        held = _visible(item, one) & _visible(item, other)
        changes.append(
            ciede2000(looks_at(sheet.view, one[held]), looks_at(sheet.view, other[held]))
        )
    seen = np.concatenate(changes) >= LIVE_DELTA_E
    return bool(len(seen)) and float(seen.mean()) >= LEAST_SEEN


def _on_piece(item: ImageItem, places: FloatArray, size: tuple[int, int]) -> FloatArray:
    """Return places (n, 2) on the piece, in mm, of columns and rows of a mask."""
    corners = (item.mask_quad or item.quad).array()
    origin, right, up = corners[0], corners[1] - corners[0], corners[3] - corners[0]
    share = places / np.array(size, np.float64)
    found: FloatArray = origin + share[:, :1] * right + (1.0 - share[:, 1:]) * up
    return found


def _visible(item: ImageItem, places: FloatArray) -> NDArray[np.bool_]:
    box = item.visible
    if box is None:
        return np.zeros(len(places), bool)
    x, y = places.T
    held: NDArray[np.bool_] = (x >= box.x0) & (x <= box.x1) & (y >= box.y0) & (y <= box.y1)
    return held
