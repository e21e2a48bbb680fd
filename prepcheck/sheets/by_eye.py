"""Reads by eye what may be type and cannot be read, where a text that is expected is not live."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

import numpy as np
from PIL import Image

from prepcheck.geometry import Box, Circle, Grid
from prepcheck.measure import optical
from prepcheck.press.separate.printed import mixed_rgb
from prepcheck.press.view import ByteArray
from prepcheck.sheets.digest import Digest, LiveWords, PageDigest
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.expected import SPINE_GLYPHS, asked_of, hides, lettered, pictured, shows
from prepcheck.sheets.not_live import Hidden, panel_at
from prepcheck.sheets.texts import LiveTexts
from prepcheck.units import mm_per_px

_ROUND_MM = 2.0
"""How far about what is hidden is looked."""
_LIVE = 0.5
"""Share of a line on live type from which it is that type, read again."""


def read_by_eye(exam: Exam, digest: Digest, hidden: Sequence[Hidden], until: float) -> Digest:
    """Return a digest with what an optical reader makes of hidden type, where that is wanted."""
    if not _wanted(exam, digest):
        return digest
    if not optical.installed():
        return replace(digest, reader=False)
    budget = optical.ReadingTime(until=until)
    pages: list[PageDigest] = []
    try:
        for sheet, page, where in zip(exam.sheets, digest.pages, hidden, strict=True):
            pages.append(replace(page, by_eye=tuple(_words(sheet, page, where, budget))))
    except optical.OutOfTimeError:
        return replace(digest, not_read="there was no time left to read it by eye")
    except (ImportError, RuntimeError, MemoryError) as error:
        # The reader's own trouble must not cost the part.
        return replace(digest, not_read=f"the optical reader failed ({type(error).__name__})")
    short = "" if budget.whole else "there is too much of it to read all of it by eye"
    return replace(digest, pages=tuple(pages), reader=True, not_read=short)


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
    sheet: Sheet, page: PageDigest, hidden: Hidden, budget: optical.ReadingTime
) -> Iterator[LiveWords]:
    outline = sheet.outline
    for box, rings in _areas(sheet, hidden):
        look = partial(_look, sheet)
        for seen in optical.sightings(box, look, optical.reader(), budget, rings):
            if not _is_live(seen.box, page.words):
                yield LiveWords(seen.text, panel_at(outline, seen.box), seen.box)


def _areas(sheet: Sheet, hidden: Hidden) -> Iterator[tuple[Box, tuple[Circle, float] | None]]:
    """Yield where to read, and of a round piece its rim and the radius of its hole."""
    outline = sheet.outline
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


def _look(sheet: Sheet, box: Box, ppi: float, least: float) -> tuple[ByteArray, Grid]:
    """Return how a box looks, a plain mix of the inks: as it was painted for the view where that
    is fine enough."""
    view, pitch = sheet.view, mm_per_px(ppi)
    if view.grid.pitch > mm_per_px(least) * 1.02:
        plates = sheet.plates_of(sheet.placement.to_piece, box, ppi)
        return mixed_rgb(plates), plates.grid
    grid = Grid.over(box, max(pitch, view.grid.pitch))
    left, top = view.grid.to_pixels.at(grid.box.x0, grid.box.y1)
    right, bottom = view.grid.to_pixels.at(grid.box.x1, grid.box.y0)
    height, width = view.rgb.shape[:2]
    crop = (max(left, 0.0), max(top, 0.0), min(right, width), min(bottom, height))
    image = Image.fromarray(view.rgb).resize((grid.width, grid.height), Image.Resampling.BOX, crop)
    return np.asarray(image), grid


def _is_live(box: Box, words: Sequence[LiveWords]) -> bool:
    covered = sum(part.area for word in words if (part := word.box.overlap(box)) is not None)
    return covered > _LIVE * box.area
