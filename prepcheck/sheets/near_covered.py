"""What lies over type near a rim is seen there by the letters alone, which are told already."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.clearance import Glyphs
from prepcheck.measure.edges import LiveEdge

BESIDE_MM = 0.1
"""How far beside the box of a letter an edge that crosses it may still be seen."""


def beside_type(
    edges: Sequence[LiveEdge], glyphs: Glyphs, told: NDArray[np.bool_]
) -> list[LiveEdge]:
    """Return edges without those that are seen on letters alone of type that is told: where a cover
    or a clip ends that hides a part of it. `told` says of which glyphs (n,), with all of their
    runs."""
    corners = glyphs.corners[np.isin(glyphs.run, np.unique(glyphs.run[told]))]
    if not len(corners) or not edges:
        return list(edges)
    low, high = corners.min(axis=1) - BESIDE_MM, corners.max(axis=1) + BESIDE_MM
    return [edge for edge in edges if not _lies_in(np.array(edge.path, np.float64), low, high)]


def _lies_in(places: FloatArray, low: FloatArray, high: FloatArray) -> bool:
    """Say whether each place (n, 2) lies in one of some boxes, of corners (m, 2)."""
    left, right = places.min(axis=0), places.max(axis=0)
    near = ((low <= right) & (high >= left)).all(axis=1)
    low, high = low[near], high[near]
    on = places[:, None, :]
    inside = np.logical_and.reduce((on >= low) & (on <= high), axis=2)
    return bool(np.logical_or.reduce(inside, axis=1).all())
