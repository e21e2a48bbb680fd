"""Paints pages of a PDF with PDFium, at an exact scale and place.

`page.render()` of the binding sizes bitmaps by a rounded number and cuts to the CropBox, so the
raw call with a matrix is used, on a bitmap of our own, with the CropBox set aside.
"""

from __future__ import annotations

import ctypes
import threading
from collections import deque
from collections.abc import Callable
from functools import cached_property, partial

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c

from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box, Grid
from prepcheck.press.bare import FEWEST, Idle
from prepcheck.press.crowded import MANY, Crowd
from prepcheck.press.view import ByteArray


class _Turns:
    """A lock that one thread holds at a time, as often as it likes, and what waits for it."""

    def __init__(self) -> None:
        self._lock = threading.RLock()
        self._left: deque[Callable[[], object]] = deque()

    def __enter__(self) -> None:
        self._lock.acquire()

    def __exit__(self, *error: object) -> None:
        self._lock.release()
        self._tidy()

    def leave(self, close: Callable[[], object]) -> None:
        """Have something closed by whoever holds the lock, or at once where nobody does.

        Never waits: rubbish is collected in any thread at any time, whatever locks that holds.
        """
        self._left.append(close)
        self._tidy()

    def _tidy(self) -> None:
        # Asked again after each release: what was left in between has been refused its turn.
        while self._left and self._lock.acquire(blocking=False):
            try:
                while self._left:
                    self._left.popleft()()
            finally:
                self._lock.release()


ONE_AT_A_TIME = _Turns()
"""The library must not be called from two threads at once: held by whoever opens and paints."""


@dataclass(frozen=True, eq=False)
class Painter:
    """A page that PDFium has loaded. Keeps the document open for as long as it lives."""

    document: pdfium.PdfDocument
    page: pdfium.PdfPage
    media: Box
    """The MediaBox in default user space (pt)."""
    plain: bool = False
    """Known to have no patterns and no drawn letters, whose colours the library does not tell."""

    @classmethod
    def open(cls, document: pdfium.PdfDocument, index: int, plain: bool = False) -> Painter:
        """Load a page so that everything on the MediaBox is painted, unturned.

        Of very many objects of a `plain` page those that would change nothing are left out.
        Raises pypdfium2.PdfiumError when the page cannot be loaded.
        """
        page = document[index]
        media = Box(*page.get_mediabox())
        if page.get_cropbox() != tuple(media):
            # The page's content is cut to the box that holds when it is loaded.
            page.set_cropbox(*media)
            page.close()
            page = document[index]
        page.set_rotation(0)
        return cls(document, page, media, plain)

    @property
    def count(self) -> int:
        """The number of the page's objects."""
        return int(pdfium_c.FPDFPage_CountObjects(self.page))

    @cached_property
    def _crowd(self) -> Crowd | None:
        """The page's objects, where they are so many that it pays to look at them."""
        if not self.plain:
            return None
        crowd = Crowd(self.page)
        return crowd if crowd.count >= MANY and crowd.is_plain else None

    @cached_property
    def _idle(self) -> Idle | None:
        """The page's objects, where some may knock out what is bare."""
        return Idle(self.page) if self.plain and self.count >= FEWEST else None

    def paint(self, from_user: Affine, grid: Grid, room: ByteArray | None = None) -> ByteArray:
        """Return the page as RGB (rows, columns, 3) over the grid.

        `from_user` maps default user space (pt) to the frame of the grid (mm). Optional content
        is shown as printed; annotations are not drawn; outside the MediaBox is paper. It is painted
        in `room` (n,), where that is given, which must be large enough.
        """
        size = grid.height * grid.width * 3
        pixels = (np.empty(size, np.uint8) if room is None else room[:size]).reshape(
            grid.height, grid.width, 3
        )
        pixels.fill(255)
        matrix = self._to_display().inverse().then(from_user).then(grid.to_pixels)
        draw = partial(self._draw, matrix)
        if self._crowd is None:
            if self._idle is not None:
                self._idle.leave_out(from_user.then(grid.to_pixels))
            draw(pixels, slice(0, grid.height), slice(0, grid.width))
        else:
            self._crowd.paint(pixels, from_user.then(grid.to_pixels), draw)
        _clear_outside(pixels, from_user, self.media, grid)
        return pixels

    def _draw(self, matrix: Affine, pixels: ByteArray, rows: slice, columns: slice) -> None:
        """Paint what lies in some rows and columns of pixels, as a bitmap of its own."""
        part = pixels[rows, columns]
        height, width = part.shape[:2]
        bitmap = pdfium_c.FPDFBitmap_CreateEx(
            width, height, pdfium_c.FPDFBitmap_BGR, part.ctypes.data_as(ctypes.c_void_p),
            pixels.strides[0],
        )  # fmt: skip
        try:
            pdfium_c.FPDF_RenderPageBitmapWithMatrix(
                bitmap,
                self.page,
                pdfium_c.FS_MATRIX(*matrix.then(Affine.move(-columns.start, -rows.start))),
                pdfium_c.FS_RECTF(0.0, 0.0, width, height),
                pdfium_c.FPDF_PRINTING | pdfium_c.FPDF_REVERSE_BYTE_ORDER,
            )
        finally:
            pdfium_c.FPDFBitmap_Destroy(bitmap)

    def _to_display(self) -> Affine:
        """Return the map that PDFium itself applies first: y down from the page's upper left."""
        bounds = pdfium_c.FS_RECTF()
        pdfium_c.FPDF_GetPageBoundingBox(self.page, bounds)
        return Affine(1.0, 0.0, 0.0, -1.0, -bounds.left, bounds.top)


def _clear_outside(pixels: ByteArray, from_user: Affine, media: Box, grid: Grid) -> None:
    """Make paper of each pixel whose centre lies outside the MediaBox."""
    xs, ys = grid.centres()
    if from_user.b == from_user.c == 0.0 or from_user.a == from_user.d == 0.0:
        box = from_user.box(media)
        left, right = np.searchsorted(xs, box.x0), np.searchsorted(xs, box.x1, "right")
        above, below = np.searchsorted(-ys, -box.y1), np.searchsorted(-ys, -box.y0, "right")
        pixels[:, :left] = pixels[:, right:] = 255
        pixels[:above] = pixels[below:] = 255
        return
    back = from_user.inverse()
    for row, y in enumerate(ys):
        x_user = back.a * xs + back.c * y + back.e
        y_user = back.b * xs + back.d * y + back.f
        outside = (x_user < media.x0) | (x_user > media.x1)
        outside |= (y_user < media.y0) | (y_user > media.y1)
        pixels[row, outside] = 255
