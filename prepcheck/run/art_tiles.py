"""Cuts a part's pages into tiles at halving sizes: as it would print, and each plate by itself.

A viewer shows them at any size without a page ever being painted twice.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError, UsageError
from prepcheck.geometry import Grid
from prepcheck.measure.trim import locate_trim
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import plates_or_screen
from prepcheck.press.show.appearance import appearance
from prepcheck.press.show.condition import PrintCondition, load_condition
from prepcheck.press.show.profiles import intended
from prepcheck.press.view import ByteArray
from prepcheck.run.art_pictures import PicturesAnswer, PicturesTask, chosen_pages
from prepcheck.run.settings import Resolution

TILE = 512
"""Pixels of a tile's side; those at the right and below are smaller."""
_FINEST = Resolution(600.0, 12e6)


def draw_tiles(task: PicturesTask) -> PicturesAnswer:
    """Write tiles into the task's folder, and return what a viewer must know of them.

    `1-look-0-0-0.jpg` is page 1 as it would print, of level 0 (the finest) the tile in column 0
    and row 0; `1-2-0-0-0.png` the same of its third plate, bare paper white and solid black.
    """
    try:
        artwork = open_art(task.path, task.settings.art.opened())
        meant = intended(load_condition(task.spec.print_condition), artwork)
        pages = []
        known = artwork.raster is None or artwork.raster.ppi is not None
        for number, (index, face) in enumerate(chosen_pages(task, artwork), 1):
            page, outline = artwork.pages[index], task.spec.outline_of(face)
            bleed = task.spec.bleed.wanted_mm
            placement = locate_trim(
                page, outline, bleed, task.spec.outline.trim_tolerance_mm, known,
                artwork.document.layers,
            )  # fmt: skip
            box = outline.bounds.grown(bleed + task.settings.margin_mm)
            ppi = _FINEST.ppi(box)
            plates, _ = plates_or_screen(page, placement.to_piece, box, ppi, meant.to_inks)
            pages.append(_cut(task.folder, number, plates, meant.condition))
    except UsageError as error:
        return PicturesAnswer(fault="usage", lines=error.lines)
    except ArtworkError as error:
        return PicturesAnswer(fault="unreadable", lines=error.lines)
    return PicturesAnswer(json.dumps({"pages": pages}))


def _cut(folder: Path, number: int, plates: Plates, condition: PrintCondition) -> dict[str, Any]:
    grid = plates.grid
    seen = np.concatenate([appearance(band, condition) for band in _bands(plates)])
    levels = _halved(folder, f"{number}-look", seen, "jpg")
    for index, plate in enumerate(plates.data):
        _halved(folder, f"{number}-{index}", 255 - plate, "png")
    return {
        "width": grid.width, "height": grid.height, "left_mm": grid.left, "top_mm": grid.top,
        "pitch_mm": grid.pitch, "tile": TILE, "levels": levels,
        "plates": [
            {"name": name, "colour": colour}
            for name, colour in zip(plates.inks, _solids(plates, condition), strict=True)
        ],
        "not_in_inks": plates.seen is not None,
    }  # fmt: skip


def _bands(plates: Plates) -> Iterator[Plates]:
    """Yield plates a band of rows at a time, so that showing them takes little memory."""
    grid = plates.grid
    for first in range(0, grid.height, TILE):
        count = min(TILE, grid.height - first)
        rows = slice(first, first + count)
        band = Grid(grid.width, count, grid.pitch, grid.left, grid.top - first * grid.pitch)
        seen = None if plates.seen is None else plates.seen[rows]
        yield replace(plates, data=plates.data[:, rows], grid=band, seen=seen)


def _halved(folder: Path, stem: str, pixels: ByteArray, ending: str) -> int:
    """Write a picture's tiles, then those of half its size, until one holds all; return how many
    sizes there are."""
    picture, level = Image.fromarray(pixels), 0
    while True:
        for row in range(0, picture.height, TILE):
            for column in range(0, picture.width, TILE):
                box = (
                    column, row, min(column + TILE, picture.width),
                    min(row + TILE, picture.height),
                )  # fmt: skip
                name = f"{stem}-{level}-{column // TILE}-{row // TILE}.{ending}"
                tile = picture.crop(box)
                if ending == "jpg":
                    tile.save(folder / name, "JPEG", quality=88, subsampling="4:4:4")
                else:
                    tile.save(folder / name, "PNG", compress_level=1)
        level += 1
        if max(picture.size) <= TILE:
            return level
        picture = picture.reduce(2)


def _solids(plates: Plates, condition: PrintCondition) -> list[str]:
    """Return how each ink looks as a solid, '#rrggbb'."""
    count = len(plates.inks)
    amounts = np.zeros((count, 1, count), np.uint8)
    for index in range(count):
        amounts[index, 0, index] = 255
    one = Plates(plates.inks, amounts, Grid(count, 1, 1.0, 0.0, 1.0), looks=plates.looks)
    return ["#" + "".join(f"{int(v):02x}" for v in look) for look in appearance(one, condition)[0]]
