"""X-dimension, ink gain and height of a symbol from the edges of its bars."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from prepcheck.geometry import FloatArray
from prepcheck.measure.barcode.symbology import Reading, edges_of, encode
from prepcheck.measure.barcode.upright import Upright, crossings

DRAWN_SHARP = 2.15
"""Pixels over which the edge of a drawn bar seems to go."""


class Fit(NamedTuple):
    """All in mm in the upright frame."""

    x_mm: float
    gain_mm: float
    distortion_mm: float
    blur_mm: float
    edges: FloatArray
    """Every edge as measured, left to right."""
    heights: tuple[float, float]
    """Lower and upper end of the shortest bar."""

    @property
    def ends(self) -> tuple[float, float]:
        return float(self.edges[0]), float(self.edges[-1])


def fitted(upright: Upright, reading: Reading, edges: FloatArray) -> Fit:
    """Return the measures of a symbol whose edges (elements + 1,) were read.

    Edges lie at x0 + X m -+ gain / 2, with m the modules from the first bar; the three unknowns
    are fitted to all edges at once.
    """
    modules = edges_of(encode(reading.kind, reading.digits))
    sides = np.where(np.arange(len(modules)) % 2, 0.5, -0.5)
    design = np.column_stack((np.ones_like(modules), modules, sides))
    solved, *_ = np.linalg.lstsq(design, edges, rcond=None)
    off = float(np.abs(design @ solved - edges).max())
    heights = common_height(upright, edges, reading.kind.longer_bars)
    return Fit(float(solved[1]), float(solved[2]), off, blur_at(upright, edges), edges, heights)


def common_height(
    upright: Upright, edges: FloatArray, longer: frozenset[int] = frozenset()
) -> tuple[float, float]:
    """Return the lower and upper end of what all bars but the `longer` ones have in common."""
    x, _ = upright.grid.centres()
    grid, middle = upright.grid, upright.middle
    low, high = grid.box.y0, grid.box.y1
    for number, (start, end) in enumerate(zip(edges[::2], edges[1::2], strict=True)):
        if number in longer:
            continue
        inside = np.abs(x - (start + end) / 2) <= max((end - start) / 4, grid.pitch / 2)
        column = upright.bar[:, inside].mean(axis=1).astype(np.float64)
        places, _ = crossings(column)
        above, below = places[places < middle], places[places > middle]
        if len(above):
            high = min(high, grid.top - (float(above[-1]) + 0.5) * grid.pitch)
        if len(below):
            low = max(low, grid.top - (float(below[0]) + 0.5) * grid.pitch)
    return low, high


def blur_at(upright: Upright, edges: FloatArray) -> float:
    """Return the median width in mm over which edges go from space to bar, without what drawing
    on pixels adds."""
    profile = upright.bar[upright.band()].mean(axis=0).astype(np.float64)
    x, _ = upright.grid.centres()
    slopes = np.abs(np.gradient(profile, upright.grid.pitch))
    width = 1.0 / max(float(np.median(np.interp(edges, x, slopes))), 1e-6)
    return math.sqrt(max(width**2 - (DRAWN_SHARP * upright.grid.pitch) ** 2, 0.0))
