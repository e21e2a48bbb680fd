"""Tints too faint to print: where they lie and how wide they are."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from prepcheck.geometry import Box
from prepcheck.measure.ink import FULL, Cells, Mask, reduce
from prepcheck.press.view import ByteArray

WIDEST_MM = 25.0
"""Widths are followed up to this; the eye judges no wider stretch otherwise."""
_FLAT = 0.6
"""Percent by which the cells of an even tint may differ."""
_BAND_MM = 1.5
"""A stretch up to this wide is a band of a fade, though its cells may be alike."""


class Faint(NamedTuple):
    """A place of faint ink: its area in mm², its greatest and least amount on any one plate in
    percent, and how wide it is at its widest."""

    box: Box
    area: float
    most: float
    least: float
    width_mm: float

    @property
    def is_even(self) -> bool:
        """Whether it is a tint of its own rather than a stretch of a fade."""
        return self.most - self.least <= _FLAT and self.width_mm > _BAND_MM


def faint_places(
    cells: Cells, printed: Mask, least_percent: float, least_mm2: float
) -> list[Faint]:
    """Return places where there is ink, yet on no plate as much as `least_percent`.

    Cells count that are faint all through: the softened edge of a shape is no tint. Ink under
    0.6 % counts as none, so that a fade's stretch is measured from there. Largest first.
    """
    greatest = cells.plates.greatest
    # Less than 2 of 255 is the rounding of a conversion or of a compression, not a tint.
    low, high = 2, int(np.ceil(least_percent * FULL / 100)) - 1
    if high < low:
        return []
    faint = (greatest - np.uint8(low)) <= high - low
    value = reduce(greatest, cells.size).astype(np.float32) * np.float32(100 / FULL)
    whole = (cells.share(faint) >= 1) & printed
    if cells.plates.not_in_inks is not None:
        whole &= reduce(cells.plates.not_in_inks, cells.size) == 0
    regions = cells.regions(whole, None, value)
    if not any(region.area >= least_mm2 for region in regions):
        return []
    depths = cells.regions(whole, None, _depth(whole, cells.grid.pitch).astype(np.float32))
    return [
        Faint(*region, width_mm=2 * depth.most * cells.grid.pitch)
        for region, depth in zip(regions, depths, strict=True)
        if region.area >= least_mm2
    ]


def _depth(mask: Mask, pitch: float) -> ByteArray:
    """Return how many rings of cells can be taken off a place before each of its cells goes.

    The rings are taken off by turns without and with their corners, so that the depth is about
    the same in every direction.
    """
    depth = np.zeros(mask.shape, np.uint8)
    left = mask.copy()
    for ring in range(min(254, round(WIDEST_MM / 2 / pitch))):
        if not left.any():
            break
        depth += left
        left = _thinned(left, corners=ring % 2 == 1)
    return depth


def _thinned(mask: Mask, corners: bool) -> Mask:
    """Return a mask without the cells that have one outside it beside them."""
    tall, wide = mask.copy(), mask.copy()
    tall[1:] &= mask[:-1]
    tall[:-1] &= mask[1:]
    across = tall if corners else mask
    wide[:, 1:] &= across[:, :-1]
    wide[:, :-1] &= across[:, 1:]
    return tall & wide
