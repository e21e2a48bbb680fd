"""Makes of an examined part what is kept for the checks of the order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import hypot

import numpy as np
from PIL import Image

from prepcheck.art.model import PathItem
from prepcheck.geometry import Box, Grid
from prepcheck.measure.barcode import Barcodes
from prepcheck.outline import Outline
from prepcheck.press.view import View
from prepcheck.sheets.by_eye import ToRead, to_read
from prepcheck.sheets.digest import Digest, LiveWords, Look, PageDigest
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.not_live import Hidden, hidden_type, panel_at, readable, seen_on
from prepcheck.sheets.outlined import type_lines

FINE_MM, COARSE_MM = 0.25, 1.0
"""Edge of a cell of the small picture: fine on labels, coarse on sleeves."""
_SMALL_PIECE_MM = 130.0
_MOST_WORDS = 20_000
_MOST_LINES = 60
_COVERED = 0.5
"""Share of a spine that pictures cover from which its type may be part of them."""
_VARIED = 40.0
"""Of 255: how far colours on a spine lie apart where something is drawn on it."""


def digest_of(exam: Exam) -> tuple[Digest, ToRead | None]:
    """Return what is kept of a part, and what is still to be read by eye for it."""
    hidden = [hidden_type(sheet) for sheet in exam.sheets]
    lines = [tuple(line.box for line in type_lines(exam, sheet)) for sheet in exam.sheets]
    pages = tuple(map(_page, exam.sheets, hidden, lines))
    if exam.spec.barcode is not None:
        pages = tuple(
            replace(page, bars_on=_bars_on(sheet, bars))
            for page, sheet, bars in zip(pages, exam.sheets, exam.barcodes, strict=True)
        )
    holes = [size for sheet in exam.sheets if (size := _drawn_hole(sheet)) is not None]
    return to_read(exam, Digest(pages, max(holes, default=None)), hidden)


def look_of(view: View, outline: Outline) -> Look:
    """Return the trimmed piece of a view in small cells."""
    bounds = outline.bounds
    small = max(bounds.width, bounds.height) <= _SMALL_PIECE_MM
    grid = Grid.over(bounds, FINE_MM if small else COARSE_MM)
    box = grid.box
    left, top = view.grid.to_pixels.at(box.x0, box.y1)
    right, bottom = view.grid.to_pixels.at(box.x1, box.y0)
    height, width = view.rgb.shape[:2]
    crop = (max(left, 0.0), max(top, 0.0), min(right, width), min(bottom, height))
    image = Image.fromarray(view.rgb).resize((grid.width, grid.height), Image.Resampling.BOX, crop)
    x, y = grid.centres()
    across, down = x[None, :], y[:, None]
    inside = outline.distance_at(across, down) < 0
    hole = outline.hole_distance_at(across, down)
    if hole is not None:
        inside &= hole > 0
    return Look(grid, np.asarray(image).tobytes(), inside.astype(np.uint8).tobytes())


def _page(sheet: Sheet, hidden: Hidden, lines: tuple[Box, ...]) -> PageDigest:
    content, outline = sheet.content, sheet.outline
    runs = content.type_table
    rows = np.flatnonzero(seen_on(runs, outline) & readable(runs.texts))[:_MOST_WORDS]
    boxes = [runs.box(row) for row in rows.tolist()]
    words = [
        LiveWords(runs.texts[row], panel_at(outline, box), box)
        for row, box in zip(rows.tolist(), boxes, strict=True)
    ]
    return PageDigest(
        sheet.number,
        tuple(words),
        hidden.signs + sum(map(len, hidden.shapes.values())),
        sum(box.area for box in hidden.pictures),
        look_of(sheet.view, outline),
        outlined_on={panel: len(boxes) for panel, boxes in hidden.shapes.items()},
        outlined_at=lines[:_MOST_LINES],
        unnamed=hidden.signs,
        pictured=tuple(_pictured(sheet, hidden)),
    )


def _bars_on(sheet: Sheet, bars: Barcodes) -> tuple[str, ...]:
    return tuple(panel for one in bars.symbols if (panel := panel_at(sheet.outline, one.quad.box)))


def _pictured(sheet: Sheet, hidden: Hidden) -> Iterator[str]:
    """Yield the spines that pictures cover and that are not of one plain colour."""
    for panel in sheet.outline.panels:
        if panel.kind != "spine" or not hidden.pictures:
            continue
        common = (part.area for box in hidden.pictures if (part := box.overlap(panel.box)))
        if sum(common) < _COVERED * panel.box.area:
            continue
        rows, columns = sheet.view.grid.window(panel.box)
        seen = sheet.view.rgb[rows, columns].reshape(-1, 3)
        if len(seen) and np.ptp(np.percentile(seen, (2, 98), axis=0), axis=0).max() > _VARIED:
            yield panel.name


def _drawn_hole(sheet: Sheet) -> float | None:
    """Return the diameter of a ring or disc of a hole's size drawn about the centre."""
    if sheet.outline.hole is None:
        return None
    content = sheet.content
    size = (content.path_boxes[:, 2:] - content.path_boxes[:, :2]).max(axis=1, initial=0.0)
    # Of a clipped path only the box of what is left is known.
    large = np.flatnonzero((size > 5.0) | content.path_traits.clipped).tolist()
    found = [
        max(width, height)
        for index in large
        for (width, height), centre in _round(content.paths[index])
        if hypot(*centre) < 0.5 and 5.0 < width < 42.0 and abs(width - height) < 0.3
    ]
    return max(found, default=None)


def _round(path: PathItem) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Yield size and centre of subpaths that are circles."""
    for run in path.segments:
        if len(run) < 24:
            continue
        points = np.array(run, np.float64).reshape(-1, 2)
        low, high = points.min(axis=0), points.max(axis=0)
        centre, size = (low + high) / 2, high - low
        reach = np.hypot(*(points - centre).T)
        if np.ptp(reach) < 0.3:
            yield (float(size[0]), float(size[1])), (float(centre[0]), float(centre[1]))
