"""Paints pages of very many objects without those that would change nothing.

Where all pixels that an object reaches have its own colour already, painting it again leaves them
as they are, whatever share of each it covers. Pages of a hundred thousand strokes and more have
mostly such.
"""

from __future__ import annotations

import ctypes
import math
from collections.abc import Callable
from functools import cached_property

import numpy as np
import pypdfium2.raw as pdfium_c
from numpy.typing import NDArray

from prepcheck.geometry import Affine, FloatArray
from prepcheck.press.view import ByteArray

MANY = 100_000
"""Objects from which it pays to look: to ask the library for the place of each takes 2 µs."""
FIRST = 5_000
"""Objects that are painted before it is first looked."""
ASKED = 400
"""Objects of those to come that are tried first."""
WORTH = 0.1
"""Share of them that must change nothing for the rest to be looked at."""
REACH_PX = 2.0
"""How far beyond its box an object may reach: thin lines are drawn a pixel wide."""
OUTWARDS = 512
"""Places tried for each side of what is painted full."""
LARGE = 0.2
"""Share of all pixels from which it pays to leave them out."""
OVERHANG_EM = 0.5
"""How far letters may reach beyond the box of their line, which goes by their widths."""

Window = tuple[slice, slice]
"""Rows and columns."""
Draw = Callable[[slice, slice], None]
"""Paints what lies in a window."""


class Crowd:
    """The objects of a loaded page."""

    def __init__(self, page: object) -> None:
        self._page = page
        self.count: int = pdfium_c.FPDFPage_CountObjects(page)
        self.is_plain: bool = not pdfium_c.FPDFPage_HasTransparency(page)
        """Whether all blends as if each object were painted on what is below it."""

    @cached_property
    def boxes(self) -> NDArray[np.float32]:
        """The box of each object (n, 4) in points, as the library itself goes by it."""
        found = np.empty((self.count, 4), np.float32)
        x0, y0, x1, y1 = (ctypes.c_float() for _ in range(4))
        for index in range(self.count):
            one = pdfium_c.FPDFPage_GetObject(self._page, index)
            if pdfium_c.FPDFPageObj_GetBounds(one, x0, y0, x1, y1):
                found[index] = x0.value, y0.value, x1.value, y1.value
            else:
                found[index] = -np.inf, -np.inf, np.inf, np.inf
        return found

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
        if len(mine) < MANY:
            draw(*whole)
            return
        asked = _Asked(max(to_pixels.x_scale, to_pixels.y_scale))
        try:
            self._set(mine, False)
            at, step = 0, FIRST
            while at < len(mine):
                some, windows = mine[at : at + step], [whole]
                if at:
                    plain = _Plain(pixels)
                    some, shade = self._changing(some, boxes, asked, plain)
                    if shade is not None:
                        windows = plain.outside(shade)
                    del plain  # it takes memory while painting does
                self._set(some, True)
                for window in windows:
                    draw(*window)
                self._set(some, False)
                at, step = at + step, max(FIRST, at + step)
        finally:
            self._set(mine, True)

    def _set(self, which: NDArray[np.intp], active: bool) -> None:
        page = self._page
        for index in which.tolist():
            pdfium_c.FPDFPageObj_SetIsActive(pdfium_c.FPDFPage_GetObject(page, index), active)

    def _changing(
        self, which: NDArray[np.intp], boxes: NDArray[np.float32], asked: _Asked, plain: _Plain
    ) -> tuple[NDArray[np.intp], int | None]:
        """Return those of some objects that may change pixels, and the colour that they all have;
        None where they have several, or it is not told."""
        tried = which[:: max(1, len(which) // ASKED)]
        if plain.are(boxes[tried], REACH_PX).mean() < WORTH:
            return which, None
        idle = plain.are(boxes[which], REACH_PX)
        shades = plain.shades(boxes[which]).tolist()
        page, get = self._page, pdfium_c.FPDFPage_GetObject
        reaches = np.zeros(len(which))
        seen: set[int | None] = set()
        for at, index in enumerate(which.tolist()):
            told = asked.paint(get(page, index)) if idle[at] or len(seen) < 2 else None
            if told is None or told[0] != shades[at]:
                idle[at] = False
            else:
                reaches[at] = told[1]
            if not idle[at]:
                seen.add(None if told is None else told[0])
        further = np.flatnonzero(idle & (reaches > 0))
        idle[further] = plain.are(boxes[which[further]], reaches[further, None] + REACH_PX)
        # Those found now are of colours that were seen as well.
        seen |= {shades[at] for at in further[~idle[further]].tolist()}
        return which[~idle], seen.pop() if len(seen) == 1 else None


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


class _Asked:
    """Asks what objects paint with."""

    def __init__(self, scale: float) -> None:
        """`scale` is the number of pixels to a point of the page."""
        self._scale = scale
        # Made once: a page may have a million objects to ask.
        self._size, self._rule = ctypes.c_float(), ctypes.c_int()
        self._strokes, self._own = ctypes.c_int(), pdfium_c.FS_MATRIX()
        self._colour = tuple(ctypes.c_uint() for _ in range(4))

    def paint(self, one: object) -> tuple[int, float] | None:
        """Return the colour that an object paints with (0xRRGGBB), and how many pixels it may
        reach beyond its box; None where there is not one, that is laid on what is below it."""
        if pdfium_c.FPDFPageObj_HasTransparency(one):
            return None
        kind, size = pdfium_c.FPDFPageObj_GetType(one), self._size
        if kind == pdfium_c.FPDF_PAGEOBJ_PATH:
            if not pdfium_c.FPDFPath_GetDrawMode(one, self._rule, self._strokes):
                return None
            if not self._strokes.value:
                return self._told(one, pdfium_c.FPDFPageObj_GetFillColor, 0.0)
            if self._rule.value != pdfium_c.FPDF_FILLMODE_NONE:
                return None
            if not pdfium_c.FPDFPageObj_GetStrokeWidth(one, size):
                return None
            return self._told(one, pdfium_c.FPDFPageObj_GetStrokeColor, size.value)
        if kind != pdfium_c.FPDF_PAGEOBJ_TEXT:
            return None
        mode = pdfium_c.FPDFTextObj_GetTextRenderMode(one)
        if mode != pdfium_c.FPDF_TEXTRENDERMODE_FILL:
            return None
        if not pdfium_c.FPDFTextObj_GetFontSize(one, size):
            return None
        return self._told(one, pdfium_c.FPDFPageObj_GetFillColor, OVERHANG_EM * abs(size.value))

    def _told(self, one: object, ask: Callable[..., int], reach: float) -> tuple[int, float] | None:
        r, g, b, alpha = self._colour
        if not ask(one, r, g, b, alpha) or alpha.value != 255:
            return None
        if reach:
            own = self._own
            if not pdfium_c.FPDFPageObj_GetMatrix(one, own):
                return None
            reach *= max(math.hypot(own.a, own.b), math.hypot(own.c, own.d)) * self._scale
        return r.value << 16 | g.value << 8 | b.value, reach
