"""Paints pages of very many objects without those that would change nothing.

Where all pixels that an object reaches have its own colour already, painting it again leaves them
as they are, whatever share of each it covers. Pages of a hundred thousand strokes and more have
mostly such. Where their colours differ, most are hidden by others (`hidden.py`).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np
import pypdfium2.raw as pdfium_c
from numpy.typing import NDArray

from prepcheck.geometry import Affine, FloatArray
from prepcheck.press.hidden import OVERHANG_EM, REACH_PX, painted, seen_of
from prepcheck.press.many_objects import (
    DRAW_MODE,
    FILL_COLOUR,
    FONT_SIZE,
    KIND,
    MATRIX,
    STROKE_COLOUR,
    TEXT_MODE,
    TRANSPARENT,
    WIDTH,
    Ask,
    Handles,
    answers,
    boxes_of,
    objects_of,
    set_active,
    told_of,
)
from prepcheck.press.view import ByteArray

MANY = 100_000
"""Objects from which it pays to look: to ask the library for the place of each takes 2 µs."""
FIRST = 5_000
"""Objects that are painted before it is first looked."""
LOOKED_AT = 4 * FIRST
"""Objects of such a page from which it pays to look at those that meet a window: close-ups are
painted more finely, and long lines meet many of them."""
ASKED = 400
"""Objects of those to come that are tried first."""
WORTH = 0.1
"""Share of them that must change nothing for the rest to be looked at."""
OUTWARDS = 512
"""Places tried for each side of what is painted full."""
LARGE = 0.2
"""Share of all pixels from which it pays to leave them out."""

Window = tuple[slice, slice]
"""Rows and columns."""
Draw = Callable[[ByteArray, slice, slice], None]
"""Paints on pixels (rows, columns, 3) what lies in a window."""


class Crowd:
    """The objects of a loaded page."""

    def __init__(self, page: object) -> None:
        self._page = page
        self.count: int = pdfium_c.FPDFPage_CountObjects(page)
        self._active = True
        """Whether all objects are painted, or none."""

    @cached_property
    def is_plain(self) -> bool:
        """Whether all is laid on what is below it: objects that are multiplied come out otherwise
        when they are painted in several goes."""
        blends = pdfium_c.FPDFPage_HasTransparency(self._page)
        return not (blends or answers(self._objects, TRANSPARENT).any())

    @cached_property
    def _objects(self) -> Handles:
        """The library's handle of each object (n,)."""
        return objects_of(self._page)

    @cached_property
    def boxes(self) -> NDArray[np.float32]:
        """The box of each object (n, 4) in points, as the library itself goes by it."""
        return boxes_of(self._objects)

    def paint(self, pixels: ByteArray, to_pixels: Affine, draw: Draw) -> None:
        """Paint on `pixels` (rows, columns, 3) what `draw` paints of the active objects.

        `to_pixels` maps the page's points to pixels.
        """
        height, width = pixels.shape[:2]
        parts = np.array_split(self.boxes, self.count // MANY + 1)
        boxes = np.concatenate([_mapped(some, to_pixels) for some in parts])
        meets = (boxes[:, :2] < np.array((width, height)) + 2 * REACH_PX).all(axis=1)
        meets &= (boxes[:, 2:] > -2 * REACH_PX).all(axis=1)
        mine, whole = np.flatnonzero(meets), (slice(0, height), slice(0, width))
        few = len(mine) < LOOKED_AT
        if self._active != few:
            set_active(self._objects, few)
            self._active = few
        if few:
            draw(pixels, *whole)
            return
        scale, at, step = max(to_pixels.x_scale, to_pixels.y_scale), 0, FIRST
        while at < len(mine):
            some, windows = mine[at : at + step], [whole]
            if at:
                plain = _Plain(pixels)
                some, shade = self._changing(some, boxes, scale, plain)
                if shade is not None:
                    windows = plain.outside(shade)
                del plain  # it takes memory while painting does
                if at == FIRST and len(some) > (1 - WORTH) * step:
                    rest = mine[at:]
                    seen = seen_of(
                        self._objects[rest], boxes[rest], (height, width), to_pixels,
                        lambda other: draw(other, *whole),
                    )  # fmt: skip
                    if seen is not None:
                        some, windows, step = rest[seen], [whole], len(rest)
            with painted(self._objects[some]):
                for window in windows:
                    draw(pixels, *window)
            at, step = at + step, max(FIRST, at + step)

    def _changing(
        self, which: NDArray[np.intp], boxes: NDArray[np.float32], scale: float, plain: _Plain
    ) -> tuple[NDArray[np.intp], int | None]:
        """Return those of some objects that may change pixels, and the colour that they all have;
        None where they have several, or it is not told. `scale` is in pixels to a point."""
        tried = which[:: max(1, len(which) // ASKED)]
        if plain.are(boxes[tried], REACH_PX).mean() < WORTH:
            return which, None
        idle = plain.are(boxes[which], REACH_PX)
        perhaps = np.flatnonzero(idle)
        colours, reaches = paints_of(self._objects[which[perhaps]], scale)
        same = colours == plain.shades(boxes[which[perhaps]])
        same[same] = plain.are(boxes[which[perhaps[same]]], reaches[same, None] + REACH_PX)
        idle[perhaps] = same
        changing = which[~idle]
        # Where several colours are met among the first, the rest need not be asked.
        for some in (changing[:ASKED], changing):
            shades = np.unique(paints_of(self._objects[some], scale)[0])
            if len(shades) != 1 or shades[0] == UNTOLD:
                return changing, None
        return changing, int(shades[0])


class _Plain:
    """Tells boxes in which all pixels are alike."""

    def __init__(self, pixels: ByteArray) -> None:
        self._pixels = pixels
        # Squares of two by two pixels: of single ones it would take four times the memory.
        first = _packed(pixels[::2, ::2])
        self._even = even = np.ones(first.shape, np.bool_)
        for row, column in ((0, 1), (1, 0), (1, 1)):
            other = _packed(pixels[row::2, column::2])
            part = slice(0, other.shape[0]), slice(0, other.shape[1])
            even[part] &= other == first[part]
        # How many squares above and left of each place are uneven, or differ from the one beside
        # or above them.
        differs = np.zeros((2, first.shape[0] + 1, first.shape[1] + 1), np.int32)
        for counts, differ in (
            (differs[0, 1:, 2:], (first[:, 1:] != first[:, :-1]) | ~even[:, 1:]),
            (differs[1, 2:, 1:], (first[1:] != first[:-1]) | ~even[1:]),
        ):
            np.cumsum(differ, axis=1, out=counts, dtype=np.int32)
            np.cumsum(counts, axis=0, out=counts)
        self._beside, self._above = differs

    def _window(
        self, boxes: NDArray[np.float32], reach: float | FloatArray
    ) -> tuple[NDArray[np.intp], ...]:
        """Return the pixels (columns, then rows; the last one excluded) that boxes touch."""
        height, width = self._pixels.shape[:2]
        most = np.array((width, height))
        low = np.clip(np.floor(boxes[:, :2] - reach), 0, most).astype(np.intp)
        high = np.clip(np.ceil(boxes[:, 2:] + reach), 0, most).astype(np.intp)
        return low[:, 0], low[:, 1], high[:, 0], high[:, 1]

    def are(self, boxes: NDArray[np.float32], reach: float | FloatArray) -> NDArray[np.bool_]:
        """Say in which boxes (n, 4) in pixels, grown by `reach` (one, or n × 1), all pixels are
        alike."""
        x0, y0, x1, y1 = self._window(boxes, reach)
        some = (x1 > x0) & (y1 > y0)
        x0, y0, x1, y1 = x0 // 2, y0 // 2, (x1 + 1) // 2, (y1 + 1) // 2
        x0, y0 = np.minimum(x0, np.maximum(x1 - 1, 0)), np.minimum(y0, np.maximum(y1 - 1, 0))
        beside, above = self._beside, self._above
        # Of the first column none is compared with the one left of it, of the first row none.
        sides = beside[y1, x1] - beside[y0, x1] - beside[y1, x0 + 1] + beside[y0, x0 + 1]
        rows = above[y1, x1] - above[y0 + 1, x1] - above[y1, x0] + above[y0 + 1, x0]
        alike: NDArray[np.bool_] = some & (sides == 0) & (rows == 0) & self._even[y0, x0]
        return alike

    def shades(self, boxes: NDArray[np.float32]) -> NDArray[np.uint32]:
        """Return the colour (0xRRGGBB) of the first pixel of boxes (n, 4)."""
        x0, y0, _, _ = self._window(boxes, REACH_PX)
        height, width = self._pixels.shape[:2]
        return _packed(self._pixels[np.minimum(y0, height - 1), np.minimum(x0, width - 1)])

    def outside(self, shade: int) -> list[Window]:
        """Return windows that hold all but a rectangle about the middle that is of one colour,
        where that is large; else one that is the whole."""
        height, width = self._pixels.shape[:2]
        x, y = width // 2, height // 2
        sides = np.array((x, y, x + 1, y + 1))
        most = np.array((0, 0, width, height))
        # All sides go out together, then each as far as it gets.
        for moved in (np.ones(4, np.bool_), *np.eye(4, dtype=np.bool_)):
            share = np.linspace(0.0, 1.0, OUTWARDS)[:, None]
            tried = np.where(moved, np.rint(sides + share * (most - sides)), sides)
            inside = np.flatnonzero(self.are(tried.astype(np.float32), 0.0))
            if len(inside):
                sides = tried[inside[-1]].astype(np.intp)
        x0, y0, x1, y1 = sides.tolist()
        if (x1 - x0) * (y1 - y0) < LARGE * width * height or _packed(self._pixels[y, x]) != shade:
            return [(slice(0, height), slice(0, width))]
        beside = slice(y0, y1)
        around = [
            (slice(0, y0), slice(0, width)), (slice(y1, height), slice(0, width)),
            (beside, slice(0, x0)), (beside, slice(x1, width)),
        ]  # fmt: skip
        return [(rows, columns) for rows, columns in around if _some(rows) and _some(columns)]


def _packed(pixels: ByteArray) -> NDArray[np.uint32]:
    """Return colours (…, 3) as numbers 0xRRGGBB."""
    found = np.zeros(pixels.shape[:-1], np.uint32)
    for channel in range(3):
        found <<= 8
        found |= pixels[..., channel]
    return found


def _some(part: slice) -> bool:
    return bool(part.stop > part.start)


def _mapped(boxes: NDArray[np.float32], way: Affine) -> NDArray[np.float32]:
    """Return the boxes (n, 4) round mapped boxes."""
    x, y = boxes[:, 0::2].astype(np.float64), boxes[:, 1::2].astype(np.float64)
    a, b, c, d, e, f = way
    with np.errstate(invalid="ignore"):
        across = np.stack([a * x[:, i] + c * y[:, j] for i in (0, 1) for j in (0, 1)]) + e
        up = np.stack([b * x[:, i] + d * y[:, j] for i in (0, 1) for j in (0, 1)]) + f
    found = np.stack((across.min(axis=0), up.min(axis=0), across.max(axis=0), up.max(axis=0)), 1)
    unknown = ~np.isfinite(found).all(axis=1)
    found[unknown] = -np.inf, -np.inf, np.inf, np.inf
    return found.astype(np.float32)


UNTOLD = -1


def paints_of(objects: Handles, scale: float) -> tuple[NDArray[np.int64], FloatArray]:
    """Return the colour (0xRRGGBB) that each object (n,) paints with, and how many pixels it may
    reach beyond its box.

    The colour is UNTOLD where there is not one, that is laid on what is below it. `scale` is the
    number of pixels to a point of the page.
    """
    colours, reaches = np.full(len(objects), UNTOLD, np.int64), np.zeros(len(objects))
    solid = answers(objects, TRANSPARENT) == 0
    kinds = answers(objects, KIND)

    paths = np.flatnonzero(solid & (kinds == pdfium_c.FPDF_PAGEOBJ_PATH))
    modes = np.empty((len(paths), 2), np.intc)
    known = told_of(objects[paths], DRAW_MODE, *modes.T)
    strokes = known & (modes[:, 1] != 0) & (modes[:, 0] == pdfium_c.FPDF_FILLMODE_NONE)
    fills = paths[known & (modes[:, 1] == 0)]
    colours[fills] = _colours(objects[fills], FILL_COLOUR)

    lines = paths[strokes]
    widths = np.empty(len(lines), np.float32)
    lines, widths = _where(told_of(objects[lines], WIDTH, widths), lines, widths)
    colours[lines] = _colours(objects[lines], STROKE_COLOUR)

    texts = np.flatnonzero(solid & (kinds == pdfium_c.FPDF_PAGEOBJ_TEXT))
    texts = texts[answers(objects[texts], TEXT_MODE) == pdfium_c.FPDF_TEXTRENDERMODE_FILL]
    sizes = np.empty(len(texts), np.float32)
    texts, sizes = _where(told_of(objects[texts], FONT_SIZE, sizes), texts, sizes)
    colours[texts] = _colours(objects[texts], FILL_COLOUR)

    reaching = np.concatenate((lines, texts))
    own = np.empty((len(reaching), 6), np.float32)
    placed = told_of(objects[reaching], MATRIX, own)
    a, b, c, d, _, _ = own.T.astype(np.float64)
    reach = np.concatenate((widths, OVERHANG_EM * np.abs(sizes))).astype(np.float64)
    reaches[reaching] = reach * np.maximum(np.hypot(a, b), np.hypot(c, d)) * scale
    colours[reaching[~placed & (reach != 0)]] = UNTOLD
    return colours, reaches


def _where(
    told: NDArray[np.bool_], which: NDArray[np.intp], values: NDArray[np.float32]
) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    return which[told], values[told]


def _colours(objects: Handles, ask: Ask) -> NDArray[np.int64]:
    """Return one of the colours of each object (n,); UNTOLD where it is not wholly opaque."""
    told = np.empty((len(objects), 4), np.uint32)
    opaque = told_of(objects, ask, *told.T) & (told[:, 3] == 255)
    r, g, b, _ = told.T.astype(np.int64)
    return np.where(opaque, r << 16 | g << 8 | b, UNTOLD)
