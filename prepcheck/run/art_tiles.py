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
from numpy.typing import NDArray
from PIL import Image

from prepcheck.art.model import PROCESS_INKS
from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError, UsageError
from prepcheck.geometry import Grid
from prepcheck.measure.trim import locate_trim
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import plates_or_screen
from prepcheck.press.show.appearance import appearance
from prepcheck.press.show.condition import PrintCondition, load_condition
from prepcheck.press.show.inkmap import StepPattern, steps_to
from prepcheck.press.show.profiles import intended
from prepcheck.press.view import ByteArray
from prepcheck.run.art_pictures import PicturesAnswer, PicturesTask, chosen_pages
from prepcheck.run.settings import Resolution

TILE = 512
"""Pixels of a tile's side; those at the right and below are smaller."""
NODES = 17
"""Amounts of each ink that the look of their mixes is given for."""
_FINEST = Resolution(600.0, 12e6)


def draw_tiles(task: PicturesTask) -> PicturesAnswer:
    """Write tiles into the task's folder, and return what a viewer must know of them.

    `1-look-0-0-0.jpg` is page 1 as it would print, of level 0 (the finest) the tile in column 0
    and row 0; `1-2-0-0-0.png` the same of its third plate, bare paper white and solid black;
    `1-seen-0-0-0.jpg` what is painted without ink amounts, where there is any. `1-mix.png` says how
    the process inks look together, as `mix_of` has it.
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
            cut = _cut(task.folder, number, plates, meant.condition)
            limit = task.spec.ink.most_total_percent
            pages.append({"page": index + 1, **cut, "ink": _steps(limit)})
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
    if plates.seen is not None:
        _halved(folder, f"{number}-seen", plates.seen, "jpg")
    Image.fromarray(mix_of(condition)).save(folder / f"{number}-mix.png", "PNG")
    return {
        "width": grid.width, "height": grid.height, "left_mm": grid.left, "top_mm": grid.top,
        "pitch_mm": grid.pitch, "tile": TILE, "levels": levels,
        "plates": [
            {"name": name, "colour": colour, "tints": tints}
            for name, colour, tints in zip(
                plates.inks, _solids(plates, condition), _tints(plates, condition), strict=True
            )
        ],
        "not_in_inks": plates.seen is not None,
    }  # fmt: skip


def mix_of(condition: PrintCondition) -> ByteArray:
    """Return how Cyan, Magenta, Yellow and Black look together, sRGB (289, 289, 3), by the model
    that the proof is shown by.

    Its pixels, row by row, are the amounts 0, 1/16 … 1 of each ink, Black changing fastest and Cyan
    slowest; what lies between is to be interpolated.
    """
    steps = np.rint(np.linspace(0, 255, NODES)).astype(np.uint8)
    amounts = np.stack(np.meshgrid(steps, steps, steps, steps, indexing="ij")).reshape(4, 1, -1)
    grid = Grid(amounts.shape[2], 1, 1.0, 0.0, 1.0)
    seen = appearance(Plates(PROCESS_INKS, amounts, grid), condition)
    side = NODES * NODES
    return seen.reshape(side, side, 3)


def _steps(limit_percent: float) -> dict[str, Any]:
    """Return the steps of the ink map; a total right at the limit is not over it."""
    return {
        "limit": limit_percent,
        "steps": [
            {
                "high": step.high, "words": step.words,
                "hatched": step.pattern is StepPattern.HATCHED,
                "colour": "#" + "".join(f"{value:02x}" for value in step.colour),
            }
            for step in steps_to(limit_percent)
        ],
    }  # fmt: skip


def _tints(plates: Plates, condition: PrintCondition) -> list[str]:
    """Return of each spot what its tints 0 to 255 let through of red, green and blue, as 768 bytes
    in hexadecimal digits; empty for the process inks."""
    paper = _paper(condition)
    found = []
    for index, name in enumerate(plates.inks):
        if name in PROCESS_INKS:
            found.append("")
            continue
        amounts = np.zeros((len(plates.inks), 1, 256), np.uint8)
        amounts[index, 0] = np.arange(256)
        one = Plates(plates.inks, amounts, Grid(256, 1, 1.0, 0.0, 1.0), looks=plates.looks)
        seen = appearance(one, condition)[0].astype(float) / paper * 255.0
        found.append(np.rint(seen.clip(0.0, 255.0)).astype(np.uint8).tobytes().hex())
    return found


def _paper(condition: PrintCondition) -> NDArray[np.float64]:
    bare = Plates(PROCESS_INKS, np.zeros((4, 1, 1), np.uint8), Grid(1, 1, 1.0, 0.0, 1.0))
    seen: NDArray[np.float64] = np.maximum(appearance(bare, condition)[0, 0].astype(float), 1.0)
    return seen


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
