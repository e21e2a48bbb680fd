"""Leaves out what lays bare paper on bare paper.

On the copy for a spot all that is in other inks knocks out, mostly where nothing lies: painting
it leaves white what is white, whatever share of each pixel it covers.
"""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
import pypdfium2.raw as pdfium_c
from numpy.typing import NDArray

from prepcheck.geometry import Affine
from prepcheck.press.crowded import ASKED, UNTOLD, WORTH, paints_of
from prepcheck.press.hidden import REACH_PX
from prepcheck.press.many_objects import (
    KIND,
    Handles,
    answers,
    boxes_of,
    objects_of,
    set_active,
)

FEWEST = 1_000
"""Objects from which it pays to look: of a spot's copy with 3,000 discs that knock out it takes a
fifth of the time that painting takes, and halves that (one busy core, 2026)."""
BARE = 0xFFFFFF
CELL_PX = 16.0
"""Side of the cells in which it is looked what an object meets."""
MOST_CELLS = 1_000_000
"""Cells that all objects may meet; more are not worth it."""

Boxes = NDArray[np.float32]
Rows = NDArray[np.intp]


class Idle:
    """The objects of a loaded page that lay white on what is white, so far as that is easily
    told."""

    def __init__(self, page: object) -> None:
        self._page = page
        self._coarsest = math.inf
        """Pixels to a point from which on those that are left out are idle."""

    def leave_out(self, to_pixels: Affine) -> None:
        """Have them left out of what is painted next; `to_pixels` maps the page's points."""
        scale = max(to_pixels.x_scale, to_pixels.y_scale)
        if scale >= self._coarsest:
            return
        if self._coarsest < math.inf:
            set_active(self._objects, True)
        self._coarsest = scale
        if pdfium_c.FPDFPage_HasTransparency(self._page):
            return
        # Where the ground has ink, a few of them tell as much.
        step = max(1, pdfium_c.FPDFPage_CountObjects(self._page) // ASKED)
        some = objects_of(self._page, step)
        if len(_idle(some, scale)) >= WORTH * len(some):
            set_active(self._objects[_idle(self._objects, scale)], False)

    @cached_property
    def _objects(self) -> Handles:
        return objects_of(self._page)


def _idle(objects: Handles, scale: float) -> Rows:
    """Return which of objects that are painted in turn are idle."""
    colours, reaches = paints_of(objects, scale)
    # How far beyond its box a thing reaches is not known where its colour is not, but of pictures.
    unknown = np.flatnonzero(colours == UNTOLD)
    unknown = unknown[answers(objects[unknown], KIND) != pdfium_c.FPDF_PAGEOBJ_IMAGE]
    known = slice(0, unknown[0] if len(unknown) else len(objects))
    objects, bare, reaches = objects[known], colours[known] == BARE, reaches[known]
    if bare.sum() < WORTH * len(bare):
        return np.empty(0, np.intp)
    room = (reaches + REACH_PX)[:, None].astype(np.float32)
    boxes = boxes_of(objects) * np.float32(scale)
    boxes[:, :2] -= room
    boxes[:, 2:] += room
    return idle_among(boxes, bare)


def idle_among(boxes: Boxes, bare: NDArray[np.bool_]) -> Rows:
    """Return which of objects that are painted in turn, by their boxes (n, 4) in pixels, are bare
    and meet none that was painted before and is not."""
    inked, rest = np.flatnonzero(~bare), np.flatnonzero(bare)
    if not len(inked):
        return rest
    # What lies outside of all that is inked meets nothing.
    low, high = boxes[inked, :2].min(axis=0), boxes[inked, 2:].max(axis=0)
    if not (np.isfinite(low).all() and np.isfinite(high).all()):
        return np.asarray(rest[rest < inked[0]])
    columns, rows = np.maximum(np.ceil((high - low) / CELL_PX), 1).astype(np.intp).tolist()
    first, last = (
        np.clip(np.floor((boxes[:, at : at + 2] - low) / CELL_PX), -1, (columns, rows))
        for at in (0, 2)
    )
    first = np.maximum(first, 0).astype(np.intp)
    last = np.minimum(last, (columns - 1, rows - 1)).astype(np.intp)
    sides = np.maximum(last - first + 1, 0)
    counts = sides.prod(axis=1)
    if columns * rows > MOST_CELLS or counts.sum() > MOST_CELLS:
        return np.asarray(rest[rest < inked[0]])
    met = np.full(columns * rows, len(boxes))
    cells, owners = _cells(first, sides, inked, columns)
    np.minimum.at(met, cells, owners)
    within = rest[counts[rest] > 0]
    cells, owners = _cells(first, sides, within, columns)
    starts = np.cumsum(counts[within]) - counts[within]
    earliest = np.full(len(boxes), len(boxes))
    if len(within):
        earliest[within] = np.minimum.reduceat(met[cells], starts)
    return np.asarray(rest[earliest[rest] > rest])


def _cells(first: Rows, sides: Rows, which: Rows, columns: int) -> tuple[Rows, Rows]:
    """Return the numbers of the cells that some objects meet, object after object, and which object
    each is met by."""
    wide, counts = sides[which, 0], sides[which].prod(axis=1)
    number = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
    wide = np.repeat(wide, counts)
    column = np.repeat(first[which, 0], counts) + number % np.maximum(wide, 1)
    row = np.repeat(first[which, 1], counts) + number // np.maximum(wide, 1)
    return row * columns + column, np.repeat(which, counts)
