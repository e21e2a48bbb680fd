"""A page as printed, for measuring and for showing: made from its plates, never from a screen."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from PIL import Image

from prepcheck.art.model import PROCESS_INKS, Content, Page
from prepcheck.art.pdf.content.spots import SpotLook, at_all_tints
from prepcheck.errors import ArtworkError, BudgetError, itself_failed
from prepcheck.geometry import ROUNDING, Affine, Box, Grid
from prepcheck.press.render import luma, render_rgb
from prepcheck.press.separate.conversion import OutputProfile
from prepcheck.press.separate.plates import Plates, Separation, followed, separation
from prepcheck.press.separate.raster import SPOT_DARK, lay_filter, naive_rgb
from prepcheck.press.view import ByteArray, View


class Unread(NamedTuple):
    """Why a page's inks cannot be told apart; `ours` where prepcheck itself failed."""

    why: str
    ours: bool = False

    @classmethod
    def by(cls, error: Exception) -> Unread:
        if isinstance(error, ArtworkError):
            return cls(str(error).partition(": ")[2] or str(error))
        # A defect of ours must not cost the part, nor be told as the file's.
        return cls(itself_failed(error), ours=True)


NOT_SAID = Unread("")
_COLOURLESS = 0.9
"""A stand-in whose every share of red, green and blue is above this is none: white or clear."""


def plates_or_screen(
    page: Page, to_frame: Affine, box: Box, ppi: float, profile: OutputProfile | None = None
) -> tuple[Plates, Separation | None]:
    """Return a page's plates and what more of them can be made from.

    An output profile turns paint without ink amounts into inks, as in `separation`. Where the
    inks cannot be told apart but the page can be drawn, it is taken as it looks on screen, as
    paint without ink amounts, with a trouble that says so; where prepcheck itself failed,
    `Plates.failed` says so instead. Raises UnreadableError when nothing can be made of the page.
    """
    try:
        read = separation(page, profile)
    except (MemoryError, BudgetError):
        raise
    except Exception as error:
        return screen_plates(page, to_frame, box, ppi, Unread.by(error)), None
    return painted_or_screen(read, page, to_frame, box, ppi)


class Read(NamedTuple):
    """A page read for its plates, or why its inks cannot be told apart; and what it paints, None
    where that has to be asked for again to learn why not."""

    plates: Separation | Unread
    content: Content | None


def read_or_why(
    page: Page,
    to_frame: Affine,
    ppi: float,
    profile: OutputProfile | None = None,
    closest_ppi: float = 0.0,
) -> Read:
    """Return a page read for plates of this fineness, and what it paints in the frame.

    `closest_ppi` is as in `Separation.prepare`.
    """
    content = None
    try:
        read, content = followed(page, to_frame, profile)
        read.prepare(to_frame, ppi, closest_ppi)
    except (MemoryError, BudgetError):
        raise
    except Exception as error:
        return Read(Unread.by(error), content)
    return Read(read, content)


def painted_or_screen(
    read: Separation | Unread, page: Page, to_frame: Affine, box: Box, ppi: float
) -> tuple[Plates, Separation | None]:
    """Do the rest of `plates_or_screen`, which needs nothing more of a PDF library's objects."""
    if not isinstance(read, Unread):
        try:
            return read.plates(to_frame, [box], ppi)[0], read
        except (MemoryError, BudgetError):
            raise
        except Exception as error:
            read = Unread.by(error)
    return screen_plates(page, to_frame, box, ppi, read), None


def screen_plates(
    page: Page, to_frame: Affine, box: Box, ppi: float, unread: Unread = NOT_SAID
) -> Plates:
    """Return a page as it looks on screen: empty plates, all of it paint without ink amounts."""
    rgb, grid = render_rgb(page, to_frame, box, ppi)
    bare = np.zeros((len(PROCESS_INKS), grid.height, grid.width), np.uint8)
    if unread.ours:
        return Plates(PROCESS_INKS, bare, grid, rgb, failed=unread.why, on_screen=True)
    said = "the inks cannot be told apart, so the page is judged as it looks on screen: "
    return Plates(PROCESS_INKS, bare, grid, rgb, (said + unread.why,), on_screen=True)


def printed_view(plates: Plates) -> View:
    """Return plates as a view to measure on: what lays down no ink is bare paper.

    Edges are looked for in `lightness` and `rgb`, a plain mix of the inks; how the sheet will
    look is a matter of the print condition.
    """
    rgb = mixed_rgb(plates)
    return View(plates.greatest, luma(rgb), rgb, plates.grid)


def mixed_rgb(plates: Plates) -> ByteArray:
    """Return a plain mix of the inks (rows, columns, 3), paint without ink amounts over it.

    Spots show as their stand-in colours do, so that one is told from another. None is darker than
    grey, so that what black prints over it shows; one that has no colour is grey.
    """
    spots = list(zip(plates.inks, plates.data, strict=True))[len(PROCESS_INKS) :]
    tints = [(plate, tints_of(plates.looks.get(ink))) for ink, plate in spots]
    filters = [(plate, tint) for plate, tint in tints if tint is not None]
    if filters:
        grey = [plate for plate, tint in tints if tint is None]
        rgb = naive_rgb([*plates.data[: len(PROCESS_INKS)], *grey], filters)
    else:
        rgb = naive_rgb(plates.data)
    if plates.seen is not None:
        lay_filter(rgb, plates.seen)
    return rgb


@lru_cache(maxsize=64)
def tints_of(look: SpotLook | None) -> ByteArray | None:
    """Return the filter (256, 3) that each tint of a spot lays over what is below, 255 clear; None
    of one that has no colour of its own, as varnish has."""
    if look is None:
        return None
    steps = np.array(look.steps)
    if look.in_inks:
        steps = (1.0 - steps[:, :3]) * (1.0 - steps[:, 3:])
    if steps[-1].min() > _COLOURLESS:
        return None
    tints: ByteArray = np.rint(at_all_tints(steps).clip(0, 1) * 255).astype(np.uint8)
    return np.maximum(tints, 255 - SPOT_DARK)


def reduced(plates: Plates, pitch: float) -> Plates:
    """Return plates over coarser pixels of `pitch` mm, each the mean of the area it covers.

    Plates as coarse already are returned as they are. The part of a pixel that is left over at
    the right and below is cut off.
    """
    grid = plates.grid
    share = pitch / grid.pitch
    if share <= 1:
        return plates
    width, height = (max(1, math.floor(n / share + 1e-6)) for n in (grid.width, grid.height))
    size = (width, height)
    small = np.zeros((len(plates.inks), height, width), np.uint8)
    for plate, out in zip(plates.data, small, strict=True):
        if plate.any():
            out[:] = _averaged(plate, share, size)
    seen = None if plates.seen is None else _averaged(plates.seen, share, size)
    return replace(
        plates, data=small, grid=Grid(width, height, pitch, grid.left, grid.top), seen=seen
    )


def _averaged(pixels: ByteArray, share: float, size: tuple[int, int]) -> ByteArray:
    """Return pixels averaged to (width, height) pixels, each `share` times as wide as before."""
    whole = round(share)
    height, width = pixels.shape[:2]
    picture = Image.fromarray(pixels)
    if abs(share - whole) * max(size) < ROUNDING:  # a quarter of the time, and rounded but once
        upto = (0, 0, min(size[0] * whole, width), min(size[1] * whole, height))
        return np.asarray(picture.reduce(whole, upto))
    box = (0.0, 0.0, min(size[0] * share, width), min(size[1] * share, height))
    return np.asarray(picture.resize(size, Image.Resampling.BOX, box))
