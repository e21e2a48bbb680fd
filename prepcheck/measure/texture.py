"""Texture: art that runs on across a rim with edges everywhere, as against a thing that ends there.

Dots, stripes, hatching, a lattice, a photograph: an edge of theirs beside a rim is one of many,
some of them in what is cut away. What tells is the look alone, so that objects, tiling patterns and
pixels are judged alike: within a window round a place there is an edge near every point, on both
sides of the rim. A lone motif leaves most of such a window empty.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import Grid, Point
from prepcheck.measure.edges import LiveEdge
from prepcheck.measure.photograph import edge_looks, is_continuous
from prepcheck.measure.ridges import LookPlanes
from prepcheck.measure.rim import Rim
from prepcheck.measure.vignette import Vignettes
from prepcheck.outline import Outline
from prepcheck.press.view import ByteArray

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
PHOTO_MM = 8.0
"""Half the window in which a photograph's edges are looked at."""
PHOTO = ((0.75, 0.15), (0.9, 0.28))
"""Of a photograph's cells, on either side of the rim, such a part changes less than such a share of
the edge in question, and the rest more: what is cut on a flat or a grainy ground leaves a gap
between its own edges and the ground's."""
PICTURED, WORD = "edge in a picture", "word"
AT_RIM_MM = 0.25
"""What lies this close to the rim is on neither side."""
LEAST_CELLS = 40
SAME_MM = 1.5
"""Places this near each other are judged once."""
PLACES = 4
_ROWS_AT_ONCE = 64
"""Rows of pixels whose changes are worked out together, which are still at hand from one plane to
the next: in two fifths of the time that all rows take (one busy core, 2026)."""
_SHARES = np.linspace(0, 1, PLACES).tolist()
TILE = 64
"""Places along an edge that are looked at."""


class Textures:
    """Says where the art of a view is a texture."""

    def __init__(self, looks: LookPlanes, outline: Outline) -> None:
        self._looks, self._view = looks, looks.view
        self._outline = outline
        self._known: dict[tuple[int, int, int, int, bool], bool] = {}
        self._sides: dict[int, _Sides] = {}

    @cached_property
    def _changes(self) -> tuple[ByteArray, float]:
        """By how much the look changes at the most in each cell, 0..255, and a cell's size."""
        view = self._view
        apart = max(1, round(APART_MM / view.grid.pitch))
        rows, columns = view.lightness.shape
        change = np.zeros((rows, columns), np.uint8)
        for first in range(0, rows, _ROWS_AT_ONCE):
            end = min(first + _ROWS_AT_ONCE, rows)
            lower, upper = (slice(max(first, apart) - n, max(end - n, 0)) for n in (0, apart))
            beside = change[first:end, apart:]
            for plane in self._looks.planes:
                across = plane[first:end]
                for a, b, out in (
                    (plane[lower], plane[upper], change[lower]),
                    (across[:, apart:], across[:, :-apart], beside),
                ):
                    np.maximum(out, np.maximum(a, b) - np.minimum(a, b), out=out)
        by = max(1, round(CELL_MM / view.grid.pitch))
        high, wide = rows // by, columns // by
        cells = change[: high * by, : wide * by]
        for step in range(1, by):
            np.maximum(cells[::by], cells[step::by], out=cells[::by])
        found = np.ascontiguousarray(cells[::by, ::by])
        for step in range(1, by):
            np.maximum(found, cells[::by, step::by], out=found)
        return found, by * view.grid.pitch

    def run_across(self, rim: Rim, edges: Sequence[LiveEdge]) -> list[bool]:
        """Say for each edge beside a rim whether it is one of a texture that runs across."""
        return [self._is_one(rim, edge) for edge in edges]

    def _is_one(self, rim: Rim, edge: LiveEdge) -> bool:
        path, pictured = edge.path, edge.what == PICTURED
        if edge.what == WORD:
            return False
        at = {round(share * (len(path) - 1)) for share in _SHARES}
        places = [edge.place, *(path[n] for n in sorted(at))]
        held = (self._at(rim, place.x, place.y, pictured) for place in places)
        # An edge of a photograph fades and grows along its way.
        if not pictured:
            return all(held) or self._vignettes.hold(edge.place, path)
        if sum(held) >= len(places) / 2 or self._vignettes.hold(edge.place, path):
            return True
        looks = edge_looks(self._looks, path)
        return not looks.is_drawn if self._is_continuous(rim, edge.place) else looks.is_varied

    def _is_continuous(self, rim: Rim, place: Point) -> bool:
        """Say whether tones change continuously on a side of a rim, round a place; within the
        large pixels of a coarse picture nothing does."""
        window, *sides = self._window(rim, *self._cell(place.x, place.y), PHOTO_MM)
        around = _greatest_about(window)
        return any(is_continuous(around[side]) for side in sides)

    @cached_property
    def _vignettes(self) -> Vignettes:
        return Vignettes(self._looks, self._outline, *self._changes)

    def _cell(self, x: float, y: float) -> tuple[int, int]:
        """Return the row and the column of a place in the map of changes."""
        grid, pitch = self._view.grid, self._changes[1]
        return int((grid.top - y) / pitch), int((x - grid.left) / pitch)

    def _at(self, rim: Rim, x: float, y: float, pictured: bool) -> bool:
        changes, pitch = self._changes
        row, column = self._cell(x, y)
        own = changes[max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2]
        strength = int(own.max(initial=0))
        by = SAME_MM / pitch
        level = round(4 * math.log(strength + 1))
        key = (id(rim), round(row / by), round(column / by), level, pictured)
        if key not in self._known:
            self._known[key] = any(
                self._fills(rim, row, column, strength, *scale) for scale in SCALES_MM
            ) or (pictured and self._is_photograph(rim, row, column, strength))
        return self._known[key]

    def _fills(
        self, rim: Rim, row: int, column: int, strength: int, near_mm: float, half_mm: float
    ) -> bool:
        near = max(1, round(near_mm / self._changes[1]))
        window, cut, art = self._window(rim, row, column, half_mm)
        cells_cut, cells_art = int(np.count_nonzero(cut)), int(np.count_nonzero(art))
        if min(cells_cut, cells_art) < LEAST_CELLS:
            return False
        lively = max(LIVELY * strength, LEAST_LIVELY)
        is_lively = window >= lively
        if all(
            _half_reach(is_lively, window, side, count, lively)
            for side, count in ((cut, cells_cut), (art, cells_art))
        ):
            return True
        edges = window >= max(ALIKE * strength, LEAST_CHANGE)
        on_cut = edges & cut
        # What costs least is asked first.
        if np.count_nonzero(on_cut) / cells_cut < AS_DENSE * (
            np.count_nonzero(edges & art) / cells_art
        ):
            return False
        beside = _widened(edges, near)
        return bool(
            np.count_nonzero(beside & art) / cells_art >= FILLED
            and np.count_nonzero(beside & cut) / cells_cut >= FILLED_CUT
            and np.count_nonzero(_widened(on_cut, round(SPREAD * near)) & cut) / cells_cut
            >= SPREAD_CUT
        )

    def _is_photograph(self, rim: Rim, row: int, column: int, strength: int) -> bool:
        """Say whether an edge in a picture is one of a photograph's, which go from faint to strong
        on both sides of the rim; grain beneath a thing that stands out from it stays faint."""
        window, *sides = self._window(rim, row, column, PHOTO_MM)
        if min(np.count_nonzero(side) for side in sides) < LEAST_CELLS:
            return False
        return all(
            min(float(np.quantile(window[side], part)) for side in sides)
            >= max(share * strength, LEAST_LIVELY)
            for part, share in PHOTO
        )

    def _window(
        self, rim: Rim, row: int, column: int, half_mm: float
    ) -> tuple[ByteArray, NDArray[np.bool_], NDArray[np.bool_]]:
        """Return the changes in a window round a cell, empty off the map, and which of its cells
        lie on the cut side and on the art side."""
        changes, pitch = self._changes
        half = round(half_mm / pitch)
        high, wide = changes.shape
        rows = slice(max(row - half, 0), min(row + half + 1, high))
        columns = slice(max(column - half, 0), min(column + half + 1, wide))
        if rows.start >= rows.stop or columns.start >= columns.stop:
            none = np.zeros((0, 0), bool)
            return none.view(np.uint8), none, none
        if id(rim) not in self._sides:
            self._sides[id(rim)] = _Sides(rim, self._outline, self._view.grid, changes.shape, pitch)
        return changes[rows, columns], *self._sides[id(rim)].of(rows, columns)


class _Sides:
    """Which cells of the map of changes lie on the cut side of a rim, and which on the art side,
    beyond the room asked for: told a tile at a time, once."""

    def __init__(
        self, rim: Rim, outline: Outline, grid: Grid, shape: tuple[int, ...], pitch: float
    ) -> None:
        self._rim, self._outline, self._grid, self._pitch = rim, outline, grid, pitch
        self._cut, self._art = np.zeros(shape, bool), np.zeros(shape, bool)
        self._told = np.zeros([count // TILE + 1 for count in shape], bool)

    def of(self, rows: slice, columns: slice) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Return the cut side and the art side of a window of the map."""
        down, across = (
            range(part.start // TILE, (part.stop - 1) // TILE + 1) for part in (rows, columns)
        )
        for tile in itertools.product(down, across):
            if not self._told[tile]:
                self._tell(*tile)
        return self._cut[rows, columns], self._art[rows, columns]

    def _tell(self, down: int, across: int) -> None:
        self._told[down, across] = True
        rows, columns = (slice(n * TILE, (n + 1) * TILE) for n in (down, across))
        high, wide = self._cut[rows, columns].shape
        x = (
            self._grid.left
            + (np.arange(wide, dtype=np.float64) + columns.start + 0.5) * self._pitch
        )
        y = self._grid.top - (np.arange(high, dtype=np.float64) + rows.start + 0.5) * self._pitch
        rim = self._rim
        outside = self._outline.distance_at(x, y[:, None])
        room = rim.rooms(x, y, outside)
        cut = (room < -AT_RIM_MM) & (room > -rim.past_mm)
        if rim.is_hole:
            cut &= outside <= 0
        self._cut[rows, columns] = cut
        self._art[rows, columns] = (room > rim.depth_mm) & (outside <= 0)


def _greatest_about(window: ByteArray) -> ByteArray:
    """Return for each cell the greatest of it and its neighbours."""
    for axis in (0, 1):
        low, high = _parts(axis, 0, -1), _parts(axis, 1, window.shape[axis])
        found = window.copy()
        np.maximum(found[low], window[high], out=found[low])
        np.maximum(found[high], window[low], out=found[high])
        window = found
    return window


def _half_reach(
    reach: NDArray[np.bool_], window: ByteArray, side: NDArray[np.bool_], count: int, least: float
) -> bool:
    """Say whether the median of a side's cells, so many, reaches a value, as `reach` says of each
    cell of a window."""
    reached = 2 * np.count_nonzero(reach & side)
    if reached == count:
        return float(np.median(window[side])) >= least
    return bool(reached > count)


def _widened(mask: NDArray[np.bool_], by: int) -> NDArray[np.bool_]:
    """Return a mask with each true cell widened by so many cells all round."""
    rows, columns = mask.shape
    down, across = min(by, rows - 1), min(by, columns - 1)
    found = np.zeros((rows + 2 * down, columns + 2 * across), bool)
    found[down : down + rows, across : across + columns] = mask
    for step in _doubling(2 * down + 1):
        found = found[:-step] | found[step:]
    for step in _doubling(2 * across + 1):
        found = found[:, :-step] | found[:, step:]
    return found


def _doubling(reach: int) -> tuple[int, ...]:
    """Return by how many cells stretches are moved and laid over themselves, one after the other,
    until each cell's is as long as what it reaches: they double in length."""
    steps, long = [], 1
    while long < reach:
        steps.append(min(long, reach - long))
        long += steps[-1]
    return tuple(steps)


def _parts(axis: int, start: int, stop: int | None) -> tuple[slice, ...]:
    part = slice(start, stop)
    return (part, slice(None)) if axis == 0 else (slice(None), part)
