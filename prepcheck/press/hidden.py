"""Finds what shows of very many objects that are painted over one another.

From the top downwards some are painted on white and on black: where both come out alike, nothing
below shows. Laying an object on makes lighter of lighter, so that what is alike for the lightest
and the darkest below is alike for all. That pays on pages in very many colours, of which most is
covered.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import repeat

import numpy as np
import pypdfium2.raw as pdfium_c
from numpy.typing import NDArray

from prepcheck.geometry import Affine, FloatArray
from prepcheck.press.many_objects import (
    DRAW_MODE,
    FONT_SIZE,
    KIND,
    MATRIX,
    POINT,
    SEGMENT,
    SEGMENT_KIND,
    SEGMENTS,
    WIDTH,
    Handles,
    answers,
    set_active,
    told_of,
)
from prepcheck.press.view import ByteArray

FIRST = 5_000
"""Objects that are painted before it is first looked."""
LAYERS = 4.0
"""How often all objects together must cover their place for it to pay: so many leave a fiftieth of
it open (e to the power of -4)."""
REACH_PX = 2.0
"""How far beyond its box an object may reach: thin lines are drawn a pixel wide."""
OVERHANG_EM = 0.5
"""How far letters may reach beyond the box of their line, which goes by their widths."""
CELL = 4
"""Pixels a side of the cells in which it is looked for what is open."""
AT_ONCE, LINES_AT_ONCE = 100_000, 500
"""Objects, and lines, that are looked at together."""
MOST_REACH = 12
"""Cells that a line may reach to each side of its middle; of wider ones the box is taken."""

Boxes = NDArray[np.float32]
"""Boxes (n, 4) in pixels: left, first row, right, last row."""
Cells = NDArray[np.bool_]
"""Cells of CELL by CELL pixels (rows, columns)."""
Draw = Callable[[ByteArray], None]
"""Paints what is active on pixels (rows, columns, 3)."""


@contextmanager
def painted(objects: Handles) -> Iterator[None]:
    """Have objects painted inside this block, and not behind it."""
    set_active(objects, True)
    try:
        yield
    finally:
        set_active(objects, False)


def seen_of(
    objects: Handles, boxes: Boxes, size: tuple[int, int], to_pixels: Affine, draw: Draw
) -> NDArray[np.intp] | None:
    """Return which objects (n,) others above do not hide, in rising order; None where too little
    lies on anything else for it to pay.

    All are laid on what is below them, and none is active, before and after. `size` is that of
    what is painted in pixels (rows, columns), `to_pixels` maps the page's points to it.
    """
    open_ = Open(*size, boxes)
    left, step = len(objects), FIRST
    kept: list[NDArray[np.intp]] = []
    while left:
        some = np.arange(max(0, left - step), left)
        if kept:
            parts = np.array_split(some, len(some) // AT_ONCE + 1)
            some = np.concatenate([
                one[_touch(open_, objects[one], boxes[one], to_pixels)] for one in parts
            ])  # fmt: skip
        kept.append(some)
        left = max(0, left - step)
        if left and len(some):
            with painted(objects[some]):
                open_.close(draw)
        if len(kept) == 1 and open_.layers * len(objects) < LAYERS * step:
            return None
        step *= 2
    return np.concatenate(kept[::-1])


def _touch(open_: Open, objects: Handles, boxes: Boxes, to_pixels: Affine) -> NDArray[np.bool_]:
    """Say which objects may reach what is open."""
    touch = open_.meet(boxes, REACH_PX)
    scale = max(to_pixels.x_scale, to_pixels.y_scale)
    letters = np.flatnonzero(~touch)
    letters = letters[answers(objects[letters], KIND) == pdfium_c.FPDF_PAGEOBJ_TEXT]
    touch[letters] = open_.meet(boxes[letters], _overhang(objects[letters]) * scale + REACH_PX)
    slanting = np.flatnonzero(touch)
    lines, ends, widths = _lines(objects[slanting])
    ends = to_pixels.array(ends.reshape(-1, 2)).reshape(-1, 4)
    touch[slanting[lines]] = open_.cross(ends, widths * scale / 2 + REACH_PX)
    return touch


class Open:
    """Where what lies below can still be seen, in cells over the pixels."""

    def __init__(self, height: int, width: int, boxes: Boxes) -> None:
        """All is open that boxes reach."""
        shape = -(-height // CELL), -(-width // CELL)
        x0, y0, x1, y1 = self._cells(boxes, REACH_PX, shape)
        steps = np.zeros((shape[0] + 1, shape[1] + 1), np.int32)
        for rows, columns, change in ((y0, x0, 1), (y0, x1, -1), (y1, x0, -1), (y1, x1, 1)):
            np.add.at(steps, (rows, columns), change)
        reached: Cells = np.asarray(steps.cumsum(axis=0).cumsum(axis=1))[:-1, :-1] > 0
        self._pixels = reached.repeat(CELL, axis=0).repeat(CELL, axis=1)
        self._inside = slice(0, height), slice(0, width)
        self._pixels[height:] = self._pixels[:, width:] = False
        self._reached = int(np.count_nonzero(self._pixels[self._inside]))
        self._count()

    def _count(self) -> None:
        """Count the cells with open pixels above and left of each place."""
        rows, columns = (side // CELL for side in self._pixels.shape)
        cells = self._pixels.reshape(rows, CELL, columns, CELL)
        self._open: Cells = np.asarray(cells.any(axis=(1, 3)))
        self._before = np.zeros((rows + 1, columns + 1), np.int32)
        self._before[1:, 1:] = self._open.cumsum(axis=0, dtype=np.int32).cumsum(axis=1)
        self._near: dict[int, Cells] = {}

    @property
    def layers(self) -> float:
        """How often what was painted covers its place, if that came about by chance."""
        left = int(np.count_nonzero(self._pixels[self._inside]))
        return math.log(max(self._reached, 1) / max(left, 1))

    def close(self, draw: Draw) -> None:
        """Close the pixels in which nothing of what is below shows through what `draw` paints."""
        height, width = (side.stop for side in self._inside)
        light, dark = (np.full((height, width, 3), tone, np.uint8) for tone in (255, 0))
        draw(light)
        draw(dark)
        shows = light[:, :, 0] != dark[:, :, 0]
        for channel in (1, 2):
            shows |= light[:, :, channel] != dark[:, :, channel]
        del light, dark
        self._pixels[self._inside] &= shows
        self._count()

    @staticmethod
    def _cells(
        boxes: Boxes, reach: float | FloatArray, shape: tuple[int, int]
    ) -> tuple[NDArray[np.intp], ...]:
        """Return the cells (columns, then rows; the last one excluded) that grown boxes touch."""
        most = np.array((shape[1], shape[0]), np.float64)
        grown = np.asarray(reach)[..., None]
        low = np.clip(np.floor((boxes[:, :2] - grown) / CELL), 0, most).astype(np.intp)
        high = np.clip(np.ceil((boxes[:, 2:] + grown) / CELL), 0, most).astype(np.intp)
        return low[:, 0], low[:, 1], high[:, 0], high[:, 1]

    def meet(self, boxes: Boxes, reach: float | FloatArray) -> NDArray[np.bool_]:
        """Say which boxes (n, 4) in pixels, grown by `reach` (one, or one each), touch what is
        open."""
        x0, y0, x1, y1 = self._cells(boxes, reach, self._open.shape)
        before = self._before
        found = before[y1, x1] - before[y0, x1] - before[y1, x0] + before[y0, x0]
        return np.asarray(found > 0)

    def cross(self, ends: FloatArray, reach: FloatArray) -> NDArray[np.bool_]:
        """Say which lines (n, 4) in pixels, as wide to each side as `reach`, touch what is open."""
        found = np.ones(len(ends), np.bool_)
        # No place of a line is farther than half a cell from one that is looked at.
        far = np.ceil((reach + CELL / 2) / CELL)
        steps = np.ceil(np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1]) / CELL)
        known = (far <= MOST_REACH) & (steps <= 2 * sum(self._open.shape))
        for cells in np.unique(far[known]).astype(int).tolist():
            alike = np.flatnonzero(known & (far == cells))
            alike = alike[np.argsort(steps[alike])]
            for some in np.array_split(alike, len(alike) // LINES_AT_ONCE + 1):
                if len(some):
                    found[some] = self._any(cells, ends[some], int(steps[some[-1]]))
        return found

    def _grown(self, cells: int) -> Cells:
        """Return what is open and all within so many cells of it, with a closed rim beyond."""
        if cells not in self._near:
            near = np.pad(self._open, cells + 1)
            for axis in (0, 1):
                wide = near.copy()
                for step in range(1, cells + 1):
                    wide |= np.roll(near, step, axis) | np.roll(near, -step, axis)
                near = wide
            self._near[cells] = near
        return self._near[cells]

    def _any(self, cells: int, ends: FloatArray, steps: int) -> NDArray[np.bool_]:
        """Say which lines (n, 4) come within so many cells of what is open, looked at in so many
        steps."""
        near = self._grown(cells)
        share = np.linspace(0.0, 1.0, steps + 1)[:, None]
        places = ends[:, :2] + share[..., None] * (ends[:, 2:] - ends[:, :2])
        inside = np.array(near.shape[::-1]) - 1
        columns, rows = np.clip(places / CELL + cells + 1, 0, inside).astype(np.int32).T
        return np.asarray(near[rows, columns].any(axis=1))


def _own_maps(objects: Handles) -> FloatArray:
    """Return the map (n, 6) from each object's own units to the page's points; an object that
    tells of none is infinitely large."""
    maps = np.empty((len(objects), 6), np.float32)
    maps[~told_of(objects, MATRIX, maps)] = np.inf
    return maps.astype(np.float64)


def _scales(maps: FloatArray) -> FloatArray:
    """Return by what maps (n, 6) enlarge at most (n,)."""
    a, b, c, d = maps[:, :4].T
    return np.asarray(np.hypot(np.hypot(a, b), np.hypot(c, d)))


def _overhang(texts: Handles) -> FloatArray:
    """Return how far letters may reach beyond the box of each text (n,), in points of the page."""
    sizes = np.empty(len(texts), np.float32)
    sizes[~told_of(texts, FONT_SIZE, sizes)] = np.inf
    return np.nan_to_num(OVERHANG_EM * np.abs(sizes) * _scales(_own_maps(texts)), nan=np.inf)


def _lines(objects: Handles) -> tuple[NDArray[np.intp], FloatArray, FloatArray]:
    """Return which objects are straight strokes, from where to where (n, 4), and how wide (n,), in
    points of the page."""
    which = np.flatnonzero(answers(objects, KIND) == pdfium_c.FPDF_PAGEOBJ_PATH)
    which = which[answers(objects[which], SEGMENTS) == 2]
    modes, widths = np.empty((len(which), 2), np.intc), np.empty(len(which), np.float32)
    told = told_of(objects[which], DRAW_MODE, *modes.T)
    told &= told_of(objects[which], WIDTH, widths)
    told &= (modes[:, 1] != 0) & (modes[:, 0] == pdfium_c.FPDF_FILLMODE_NONE)
    which, widths = which[told], widths[told]
    ends = np.empty((len(which), 4), np.float32)
    kinds = []
    for end in (0, 1):
        found = map(SEGMENT, objects[which].data, repeat(end))
        segments = np.fromiter((one or 0 for one in found), np.uintp, len(which))
        kinds.append(answers(segments, SEGMENT_KIND))
        told_of(segments, POINT, *ends[:, 2 * end : 2 * end + 2].T)
    straight = kinds[1] == pdfium_c.FPDF_SEGMENT_LINETO
    maps = _own_maps(objects[which])
    straight &= np.isfinite(maps).all(axis=1)
    which, widths, ends, maps = which[straight], widths[straight], ends[straight], maps[straight]
    a, b, c, d, e, f = maps.T[:, :, None]
    x, y = ends[:, 0::2].astype(np.float64), ends[:, 1::2].astype(np.float64)
    mapped = np.stack((a * x + c * y + e, b * x + d * y + f), axis=2).reshape(-1, 4)
    return which, mapped, widths * _scales(maps)
