"""Draws a page of artwork over a pixel grid in the piece's frame, as it looks on screen."""

from __future__ import annotations

import atexit
from functools import lru_cache
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
from PIL import Image

from prepcheck.art.model import Page
from prepcheck.art.pdf.page import PdfPage
from prepcheck.errors import UnreadableError, said_by
from prepcheck.geometry import Affine, Box, Grid
from prepcheck.press.pdfium import ONE_AT_A_TIME, Painter
from prepcheck.press.separate.raster import naive_rgb, raster_plates, raster_rgb
from prepcheck.press.view import ByteArray, View, over_colours
from prepcheck.units import mm_per_px

OVERSAMPLE = 2
"""PDFium moves the edges of pictures and upright rectangles to whole pixels; painting on a grid
this much finer and averaging keeps the error under half a pixel."""
BAND_PIXELS = 8_000_000
"""Pixels painted at a time, so that a large sleeve needs little memory."""


def render_view(page: Page, to_frame: Affine, box: Box, ppi: float, step: int = OVERSAMPLE) -> View:
    """Draw the part of a page that lies in `box` (mm, in the frame `to_frame` leads to).

    With a `step` of 1 edges may lie half a pixel off, and it takes a quarter of the time. Optional
    content is shown as printed, annotations are not drawn, and outside the page is
    paper. Raises UnreadableError when the page cannot be drawn.
    """
    grid = Grid.over(box, mm_per_px(ppi))
    if isinstance(page, PdfPage):
        rgb = _rgb(page, to_frame, grid, step)
        return View(255 - over_colours(np.minimum, rgb), luma(rgb), rgb, grid)
    _, plates, seen = raster_plates(page, to_frame, grid)
    rgb = naive_rgb(plates) if seen is None else seen
    ink = plates.max(axis=0) if seen is None else 255 - over_colours(np.minimum, seen)
    return View(ink, luma(rgb), rgb, grid)


LUMA_ROWS = 64
"""Rows made light and dark at a time: copies between stay in the processor's own memory."""
REC_709 = (0.2126, 0.7152, 0.0722, 0.0)
"""Weights of red, green and blue in lightness (ITU-R BT.709), and what is added."""


def luma(rgb: ByteArray) -> ByteArray:
    """Return lightness (rows, columns) by the Rec. 709 weights."""
    out = np.empty(rgb.shape[:2], np.uint8)
    for first in range(0, len(rgb), LUMA_ROWS):
        rows = slice(first, first + LUMA_ROWS)
        out[rows] = np.asarray(Image.fromarray(rgb[rows]).convert("L", REC_709))
    return out


def render_rgb(page: Page, to_frame: Affine, box: Box, ppi: float) -> tuple[ByteArray, Grid]:
    """Draw the part of a page in `box` as RGB (rows, columns, 3); as `render_view` else."""
    grid = Grid.over(box, mm_per_px(ppi))
    return _rgb(page, to_frame, grid), grid


def _rgb(page: Page, to_frame: Affine, grid: Grid, step: int = OVERSAMPLE) -> ByteArray:
    if not isinstance(page, PdfPage):
        return raster_rgb(page, to_frame, grid)
    with ONE_AT_A_TIME:
        painter = open_painter(page.document.path, page.index)
        return paint_smooth(painter, page.to_page.then(to_frame), grid, step)


def paint_smooth(
    painter: Painter, from_user: Affine, grid: Grid, step: int = OVERSAMPLE
) -> ByteArray:
    """Paint on a finer grid, a band of rows at a time, and average down to `grid`."""
    out = np.empty((grid.height, grid.width, 3), np.uint8)
    rows = max(1, BAND_PIXELS // (grid.width * step * step))
    for first in range(0, grid.height, rows):
        count = min(rows, grid.height - first)
        band = Grid(
            grid.width * step, count * step, grid.pitch / step, grid.left,
            grid.top - first * grid.pitch,
        )  # fmt: skip
        fine = painter.paint(from_user, band)
        smooth = fine if step == 1 else np.asarray(Image.fromarray(fine).reduce(step))
        out[first : first + count] = smooth
    return out


def open_painter(path: Path, index: int) -> Painter:
    """Return the page of a PDF ready to be painted; the last few stay open for insets."""
    state = path.stat()
    return _open_painter(path, index, state.st_mtime_ns, state.st_size)


@lru_cache(maxsize=2)
def _open_painter(path: Path, index: int, changed: int, size: int) -> Painter:
    try:
        return Painter.open(pdfium.PdfDocument(path), index)
    except pdfium.PdfiumError as error:
        raise UnreadableError(
            f"{path.name}: page {index + 1} cannot be drawn ({said_by(error)}); export it again"
        ) from error


# Before the library goes, which would complain of what is still open.
atexit.register(_open_painter.cache_clear)
