"""Reads by eye what may be type and cannot be read, where a text that is expected is not live."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import NamedTuple

import numpy as np
from PIL import Image

from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box, Circle, Grid
from prepcheck.measure import optical
from prepcheck.outline import Outline
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import mixed_rgb
from prepcheck.press.view import ByteArray
from prepcheck.sheets.digest import Digest, LiveWords, PageDigest
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.expected import SPINE_GLYPHS, asked_of, hides, lettered, pictured, shows
from prepcheck.sheets.not_live import Hidden, panel_at
from prepcheck.sheets.texts import LiveTexts
from prepcheck.units import mm_per_px

_ROUND_MM = 2.0
"""How far about what is hidden is looked."""
_LIVE = 0.5
"""Share of a line on live type from which it is that type, read again."""


MakePlates = Callable[[Affine, Box, float], Plates]
"""Makes plates as `Sheet.plates_of` does."""


@dataclass(frozen=True, eq=False)
class ToRead:
    """The pages of a part that are to be read by eye, and how they looked.

    The reader takes 200 MB by itself, so that this holds no plates.
    """

    pages: tuple[_Page, ...]

    def read(self, digest: Digest, plates_of: Sequence[MakePlates], until: float) -> Digest:
        """Return a digest with what an optical reader makes of hidden type.

        Each page's plates are made by its own function; what would be read after `until`, in
        processor seconds, is not.
        """
        budget = optical.ReadingTime(until=until)
        pages: list[PageDigest] = []
        try:
            for one, page, make in zip(self.pages, digest.pages, plates_of, strict=True):
                pages.append(replace(page, by_eye=tuple(_words(one, page, make, budget))))
        except optical.OutOfTimeError:
            return replace(digest, not_read="there was no time left to read it by eye")
        except (ImportError, RuntimeError, MemoryError) as error:
            # The reader's own trouble must not cost the part.
            return replace(digest, not_read=f"the optical reader failed ({type(error).__name__})")
        short = "" if budget.whole else "there is too much of it to read all of it by eye"
        return replace(digest, pages=tuple(pages), reader=True, not_read=short)


class _Page(NamedTuple):
    """A page, how it looked when it was examined, and what may be type on it."""

    outline: Outline
    to_piece: Affine
    rgb: ByteArray
    grid: Grid
    hidden: Hidden


def to_read(exam: Exam, digest: Digest, hidden: Sequence[Hidden]) -> tuple[Digest, ToRead | None]:
    """Return a digest, and what is to be read by eye where that is wanted and can be done."""
    if not _wanted(exam, digest):
        return digest, None
    if not optical.installed():
        return replace(digest, reader=False), None
    pages = (
        _Page(one.outline, one.placement.to_piece, one.view.rgb, one.view.grid, where)
        for one, where in zip(exam.sheets, hidden, strict=True)
    )
    return digest, ToRead(tuple(pages))


def _wanted(exam: Exam, digest: Digest) -> bool:
    """Say whether a text that the part must carry may be in type that cannot be read."""
    if exam.order is None or exam.part is None:
        return False
    live = LiveTexts(digest.words)
    asked = asked_of(exam.part, exam.spec, exam.order.order)
    if hides(digest) and any(not shows(live, text) for text, _ in asked):
        return True
    spines = [p.name for s in exam.sheets for p in s.outline.panels if p.kind == "spine"]
    return any(found(digest, name) is not None for name in spines for found in (lettered, pictured))


def _words(
    one: _Page, page: PageDigest, plates_of: MakePlates, budget: optical.ReadingTime
) -> Iterator[LiveWords]:
    outline = one.outline
    for box, rings in _areas(outline, one.hidden):
        look = partial(_look, one, plates_of)
        for seen in optical.sightings(box, look, optical.reader(), budget, rings):
            if not _is_live(seen.box, page.words):
                yield LiveWords(seen.text, panel_at(outline, seen.box), seen.box)


def _areas(outline: Outline, hidden: Hidden) -> Iterator[tuple[Box, tuple[Circle, float] | None]]:
    """Yield where to read, and of a round piece its rim and the radius of its hole."""
    hole = outline.hole
    if hole is not None:
        if hidden.shapes or hidden.runs or hidden.pictures:
            bounds = outline.bounds
            rim = Circle(*bounds.centre, min(bounds.width, bounds.height) / 2)
            yield bounds, (rim, hole.radius)
        return
    # Spines first: they are small and matter most.
    for panel in sorted(outline.panels, key=lambda p: p.kind != "spine"):
        shapes = hidden.shapes.get(panel.name, [])
        boxes = [box.grown(_ROUND_MM) for box in shapes] if len(shapes) >= SPINE_GLYPHS else []
        boxes += [box.grown(_ROUND_MM) for box in hidden.runs]
        boxes += hidden.pictures
        on = [part for box in boxes if (part := box.overlap(panel.box)) is not None]
        if on:
            corners = [corner for box in on for corner in box.corners]
            yield Box.around(corners), None


def _look(
    one: _Page, plates_of: MakePlates, box: Box, ppi: float, least: float
) -> tuple[ByteArray, Grid]:
    """Return how a box looks, a plain mix of the inks: as it was painted for the view where that
    is fine enough."""
    whole, pitch = one.grid, mm_per_px(ppi)
    if whole.pitch > mm_per_px(least) * 1.02:
        plates = plates_of(one.to_piece, box, ppi)
        return mixed_rgb(plates), plates.grid
    grid = Grid.over(box, max(pitch, whole.pitch))
    left, top = whole.to_pixels.at(grid.box.x0, grid.box.y1)
    right, bottom = whole.to_pixels.at(grid.box.x1, grid.box.y0)
    height, width = one.rgb.shape[:2]
    crop = (max(left, 0.0), max(top, 0.0), min(right, width), min(bottom, height))
    image = Image.fromarray(one.rgb).resize((grid.width, grid.height), Image.Resampling.BOX, crop)
    return np.asarray(image), grid


def _is_live(box: Box, words: Sequence[LiveWords]) -> bool:
    covered = sum(part.area for word in words if (part := word.box.overlap(box)) is not None)
    return covered > _LIVE * box.area
