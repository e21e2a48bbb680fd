"""Draws a part's pages as they would print, for screens: small, and large enough to point at."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image

from prepcheck.art.model import Artwork
from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError, UsageError
from prepcheck.geometry import Box
from prepcheck.measure.trim import locate_trim
from prepcheck.outline import Contour, Outline
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import plates_or_screen, reduced
from prepcheck.press.show.appearance import appearance
from prepcheck.press.show.condition import load_condition
from prepcheck.press.show.profiles import Intended, intended
from prepcheck.proof.model import ProofPart
from prepcheck.run.printing import jpeg
from prepcheck.run.recognise import face_of
from prepcheck.run.settings import DEFAULT, Resolution, Settings
from prepcheck.spec.model import Spec

_PAGE = Resolution(300.0, 3e6)
_SMALL_PX = 240


@dataclass(frozen=True)
class PicturesTask:
    """A part to draw: its file, the spec it was judged by, and the page (from 1) that it is.

    Without a page it is as many as the piece has. Pictures go to `folder`, which is there.
    """

    path: Path
    spec: Spec
    page: int | None
    folder: Path
    settings: Settings = DEFAULT


@dataclass(frozen=True)
class PicturesAnswer:
    """What is known of the pictures as JSON, or the kind of fault and its lines."""

    facts: str = ""
    fault: str = ""
    lines: tuple[str, ...] = ()


def draw_pictures(task: PicturesTask) -> PicturesAnswer:
    """Draw `page-1.jpg` and so on, and `small.jpg` of the first of them."""
    try:
        artwork = open_art(task.path, task.settings.art.opened())
        meant = intended(load_condition(task.spec.print_condition), artwork)
        pages = [
            _drawn(task, artwork, meant, number, index, face)
            for number, (index, face) in enumerate(chosen_pages(task, artwork), 1)
        ]
    except UsageError as error:
        return PicturesAnswer(fault="usage", lines=error.lines)
    except ArtworkError as error:
        return PicturesAnswer(fault="unreadable", lines=error.lines)
    return PicturesAnswer(json.dumps({"pages": pages}))


def chosen_pages(task: PicturesTask, artwork: Artwork) -> list[tuple[int, int]]:
    """Return which pages of the file are drawn (from 0), each with the face that it is."""
    if task.page is None:
        count = min(len(artwork.pages), len(task.spec.pages))
        return [(index, index) for index in range(count)]
    index = task.page - 1
    if index >= len(artwork.pages):
        return []
    face = face_of(task.spec, artwork.pages[index])
    return [(index, face if face is not None else min(index, len(task.spec.pages) - 1))]


def _drawn(
    task: PicturesTask, artwork: Artwork, meant: Intended, number: int, index: int, face: int
) -> dict[str, Any]:
    page, spec = artwork.pages[index], task.spec
    outline = spec.outline_of(face)
    known = artwork.raster is None or artwork.raster.ppi is not None
    placement = locate_trim(
        page, outline, spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm, known,
        artwork.document.layers,
    )  # fmt: skip
    bleed = spec.bleed.wanted_mm
    box = outline.bounds.grown(bleed + task.settings.margin_mm)
    plates, _ = plates_or_screen(page, placement.to_piece, box, _PAGE.ppi(box), meant.to_inks)
    grid = plates.grid
    picture = jpeg(appearance(plates, meant.condition), grid, 88)
    (task.folder / f"page-{number}.jpg").write_bytes(picture.data)
    if number == 1:
        _small(task.folder / "small.jpg", plates, meant, outline)
    return {
        "page": index + 1,
        "face": spec.pages[face].name,
        "width": grid.width,
        "height": grid.height,
        "left_mm": grid.left,
        "top_mm": grid.top,
        "pitch_mm": grid.pitch,
        "off_mm": spec.clearance.print_to_cut_mm,
        "lines": lines_of(spec, outline),
    }


def keep_pictures(part: ProofPart, folder: Path) -> str:
    """Write what the proof shows of a part as `draw_pictures` would, and return what is known of
    it as JSON; empty where the proof has no picture of it."""
    spec = part.spec
    if spec is None or not part.pages:
        return ""
    pages = []
    for number, page in enumerate(part.pages, 1):
        grid, outline = page.picture.grid, spec.outline_of(page.page_index)
        (folder / f"page-{number}.jpg").write_bytes(page.picture.data)
        if number == 1:
            rows, columns = grid.window(outline.bounds)
            with Image.open(io.BytesIO(page.picture.data)) as whole:
                shown = whole.crop((columns.start, rows.start, columns.stop, rows.stop))
            shown.thumbnail((_SMALL_PX, _SMALL_PX))
            shown.save(folder / "small.jpg", "JPEG", quality=85)
        pages.append(
            {
                "page": page.number, "face": spec.pages[page.page_index].name,
                "width": grid.width, "height": grid.height, "left_mm": grid.left,
                "top_mm": grid.top, "pitch_mm": grid.pitch,
                "off_mm": spec.clearance.print_to_cut_mm, "lines": lines_of(spec, outline),
            }
        )  # fmt: skip
    return json.dumps({"pages": pages})


def _small(path: Path, plates: Plates, meant: Intended, outline: Outline) -> None:
    box = outline.bounds
    pitch = max(box.width, box.height) / _SMALL_PX
    few = reduced(plates, pitch) if pitch > plates.grid.pitch else plates
    rows, columns = few.grid.window(box)
    Image.fromarray(appearance(few, meant.condition)[rows, columns]).save(path, "JPEG", quality=85)


def lines_of(spec: Spec, outline: Outline) -> dict[str, Any]:
    """Return the lines of a piece in mm: closed loops of places, circles as (x, y, radius)."""
    bleed, safe = spec.bleed.wanted_mm, spec.clearance.trim.wanted_mm
    hole = outline.hole
    found: dict[str, Any] = {
        "trim": _loops(outline.contour()),
        "bleed": _loops(outline.contour(bleed)),
        "safe": _loops(outline.contour(-safe)) if safe else [],
        "folds": [[*fold.start, *fold.end] for fold in outline.folds],
        "panels": [
            [panel.name, *_corners(panel.box)]
            for panel in outline.panels
            if len(outline.panels) > 1
        ],
        "hole": [] if hole is None else [[hole.x, hole.y, hole.radius]],
    }
    if hole is not None and spec.clearance.hole is not None:
        found["ring"] = [[hole.x, hole.y, hole.radius + spec.clearance.hole.wanted_mm]]
    return found


def _loops(contours: Sequence[Contour]) -> list[Any]:
    return [
        [one.circle.x, one.circle.y, one.circle.radius]
        if one.circle is not None
        else [[round(float(x), 4), round(float(y), 4)] for x, y in one.points]
        for one in contours
    ]


def _corners(box: Box) -> tuple[float, float, float, float]:
    return box.x0, box.y0, box.x1, box.y1
