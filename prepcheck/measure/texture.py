"""Texture: art that runs on across a rim with edges everywhere, as against a thing that ends there.

Dots, stripes, hatching, a lattice, a photograph: an edge of theirs beside a rim is one of many,
some of them in what is cut away. What tells is the look alone, so that objects, tiling patterns and
pixels are judged alike: within a window round a place there is an edge near every point, on both
sides of the rim. A lone motif leaves most of such a window empty.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from prepcheck.measure.edges import LiveEdge
from prepcheck.measure.rim import Rim
from prepcheck.outline import Outline
from prepcheck.press.view import ByteArray, View

CELL_MM = 0.25
"""Cells of the map of changes, at the least."""
APART_MM = 0.12
"""How far apart looks are compared."""
SCALES_MM = ((0.75, 8.0), (1.5, 8.0), (3.0, 13.0), (4.5, 20.0))
"""How near to every point an edge of a texture lies, and half the window in which that holds: a
lone motif would have to be some 14 mm wide, and full of edges, to fill one."""
ALIKE = 0.4
"""Edges of a texture change the look by this share of what the edge in question does."""
LEAST_CHANGE = 12.0
"""Levels of 255 by which an edge of a texture changes red, green or blue at least."""
FILLED, FILLED_CUT = 0.9, 0.7
"""Shares of the art side, beyond the room asked for, and of the cut side that have edges near."""
AS_DENSE = 0.05
"""How dense edges lie on the cut side at least, against the art side: few of a coarse texture's
motifs may reach into a hole."""
SPREAD, SPREAD_CUT = 2.0, 0.75
"""Edges on the cut side lie within this many times the scale of this share of it."""
LIVELY, LEAST_LIVELY = 0.15, 5.0
"""A photograph changes everywhere: half its cells by this share of the edge's change, and by this
many levels."""
AT_RIM_MM = 0.25
"""What lies this close to the rim is on neither side."""
LEAST_CELLS = 40
SAME_MM = 1.5
"""Places this near each other are judged once."""
PLACES = 4
"""Places along an edge that are looked at."""


class Textures:
    """Says where the art of a view is a texture."""

    def __init__(self, view: View, outline: Outline) -> None:
        self._view = view
        self._outline = outline
        self._known: dict[tuple[int, int, int, int], bool] = {}

    @cached_property
    def _changes(self) -> tuple[ByteArray, float]:
        """By how much the look changes at the most in each cell, 0..255, and a cell's size."""
        view = self._view
        apart = max(1, round(APART_MM / view.grid.pitch))
        rows, columns = view.lightness.shape
        change = np.zeros((rows, columns), np.uint8)
        for channel in range(3):
            plane = np.ascontiguousarray(view.rgb[:, :, channel])
            for a, b, out in (
                (plane[apart:], plane[:-apart], change[apart:]),
                (plane[:, apart:], plane[:, :-apart], change[:, apart:]),
            ):
                np.maximum(out, np.maximum(a, b) - np.minimum(a, b), out=out)
        by = max(1, round(CELL_MM / view.grid.pitch))
        high, wide = rows // by, columns // by
        cells = change[: high * by, : wide * by].reshape(high, by, wide, by)
        return np.asarray(cells.max(axis=3).max(axis=1), np.uint8), by * view.grid.pitch

    def run_across(self, rim: Rim, edges: Sequence[LiveEdge]) -> list[bool]:
        """Say for each edge beside a rim whether it is one of a texture that runs across."""
        return [self._is_one(rim, edge) for edge in edges]

    def _is_one(self, rim: Rim, edge: LiveEdge) -> bool:
        path = edge.path
        at = {round(share * (len(path) - 1)) for share in np.linspace(0, 1, PLACES)}
        places = [edge.place, *(path[n] for n in sorted(at))]
        return all(self._at(rim, place.x, place.y) for place in places)

    def _at(self, rim: Rim, x: float, y: float) -> bool:
        changes, pitch = self._changes
        grid = self._view.grid
        column, row = int((x - grid.left) / pitch), int((grid.top - y) / pitch)
        own = changes[max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2]
        strength = int(own.max(initial=0))
        by = SAME_MM / pitch
        key = (id(rim), round(row / by), round(column / by), round(4 * math.log(strength + 1)))
        if key not in self._known:
            self._known[key] = any(
                self._fills(rim, row, column, strength, *scale) for scale in SCALES_MM
            )
        return self._known[key]

    def _fills(
        self, rim: Rim, row: int, column: int, strength: int, near_mm: float, half_mm: float
    ) -> bool:
        changes, pitch = self._changes
        half, near = round(half_mm / pitch), max(1, round(near_mm / pitch))
        high, wide = changes.shape
        top, left = max(row - half, 0), max(column - half, 0)
        bottom, right = min(row + half + 1, high), min(column + half + 1, wide)
        if top >= bottom or left >= right:
            return False
        window = changes[top:bottom, left:right]
        grid = self._view.grid
        x = grid.left + (np.arange(left, right) + 0.5) * pitch
        y = grid.top - (np.arange(top, bottom) + 0.5) * pitch
        places = np.stack(np.meshgrid(x, y), axis=-1)
        room, outside = rim.room(places), self._outline.signed_distance(places)
        cut = (room < -AT_RIM_MM) & (room > -rim.past_mm)
        art = (room > rim.depth_mm) & (outside <= 0)
        if rim.is_hole:
            cut &= outside <= 0
        if min(int(cut.sum()), int(art.sum())) < LEAST_CELLS:
            return False
        lively = max(LIVELY * strength, LEAST_LIVELY)
        if min(float(np.median(window[cut])), float(np.median(window[art]))) >= lively:
            return True
        edges = window >= max(ALIKE * strength, LEAST_CHANGE)
        beside = _widened(edges, near)
        return bool(
            beside[art].mean() >= FILLED
            and beside[cut].mean() >= FILLED_CUT
            and edges[cut].mean() >= AS_DENSE * edges[art].mean()
            and _widened(edges & cut, round(SPREAD * near))[cut].mean() >= SPREAD_CUT
        )


def _widened(mask: NDArray[np.bool_], by: int) -> NDArray[np.bool_]:
    """Return a mask with each true cell widened by so many cells all round."""
    total = np.pad(np.cumsum(np.cumsum(mask, axis=0, dtype=np.int64), axis=1), ((1, 0), (1, 0)))
    rows, columns = mask.shape
    low_r = np.maximum(np.arange(rows) - by, 0)[:, None]
    high_r = np.minimum(np.arange(rows) + by + 1, rows)[:, None]
    low_c = np.maximum(np.arange(columns) - by, 0)
    high_c = np.minimum(np.arange(columns) + by + 1, columns)
    held = total[high_r, high_c] - total[low_r, high_c] - total[high_r, low_c] + total[low_r, low_c]
    return np.asarray(held > 0)
