"""Makes of an examined part what is kept for the checks of the order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from math import hypot

import numpy as np
from PIL import Image

from prepcheck.art.model import Content, PathItem, TextRun
from prepcheck.geometry import Box, Grid
from prepcheck.outline import Outline
from prepcheck.press.view import View
from prepcheck.sheets.digest import Digest, Look, PageDigest, Words
from prepcheck.sheets.exam import Exam, Sheet

FINE_MM, COARSE_MM = 0.25, 1.0
"""Edge of a cell of the small picture: fine on labels, coarse on sleeves."""
_SMALL_PIECE_MM = 130.0
_MOST_WORDS = 20_000
_GLYPH_MM = (0.6, 15.0)
"""Height between which a closed shape may be a letter turned into outlines."""
_ENOUGH_GLYPHS = 400
"""So many shapes like letters say it all; more are not counted."""
_NEAR_MM = 1.0


def digest_of(exam: Exam) -> Digest:
    """Return what is kept of a part."""
    pages = tuple(_page(sheet) for sheet in exam.sheets)
    holes = [size for sheet in exam.sheets if (size := _drawn_hole(sheet)) is not None]
    return Digest(pages, max(holes, default=None))


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
    points = np.stack(np.meshgrid(x, y), axis=-1)
    inside = outline.signed_distance(points) < 0
    hole = outline.hole_distance(points)
    if hole is not None:
        inside &= hole > 0
    return Look(grid, np.asarray(image).tobytes(), inside.astype(np.uint8).tobytes())


def _page(sheet: Sheet) -> PageDigest:
    content, outline = sheet.content, sheet.outline
    words: list[Words] = []
    unread = 0
    for run in content.texts:
        if not _seen(run) or (box := run.box) is None or not _on(outline, box):
            continue
        if _readable(run.text):
            words.append(Words(run.text, _panel(outline, box), box))
        else:
            unread += len(run.glyphs)
    drawn = _letters(content, outline)
    shapes = unread + drawn.total()
    pictures = sum(
        image.visible.area
        for image in content.images
        if image.visible is not None and _on(outline, image.visible)
    )
    return PageDigest(
        sheet.number,
        tuple(words[:_MOST_WORDS]),
        shapes,
        pictures,
        look_of(sheet.view, outline),
        outlined_on=dict(drawn),
    )


def _seen(run: TextRun) -> bool:
    return run.paints and (run.fill is None or run.fill.opacity > 0)


def _readable(text: str) -> bool:
    """Say whether text is more than signs without a meaning, as fonts without a table give."""
    known = [c for c in text if not c.isspace()]
    return bool(known) and not all(c == "\ufffd" or "\ue000" <= c <= "\uf8ff" for c in known)


def _on(outline: Outline, box: Box) -> bool:
    return outline.bounds.grown(_NEAR_MM).overlap(box) is not None


def _panel(outline: Outline, box: Box) -> str:
    x, y = box.centre
    for panel in outline.panels:
        if panel.box.x0 <= x <= panel.box.x1 and panel.box.y0 <= y <= panel.box.y1:
            return panel.name
    return ""


def _letters(content: Content, outline: Outline) -> Counter[str]:
    """Count shapes that may be letters, by the panel they stand on."""
    found: Counter[str] = Counter()
    count = 0
    for path in content.paths:
        if path.fill is None or not _on(outline, path.box):
            continue
        for width, height in _shapes(path):
            low, high = _GLYPH_MM
            if low <= height <= high and width <= high and hypot(width, height) > low:
                found[_panel(outline, path.box)] += 1
                count += 1
            if count >= _ENOUGH_GLYPHS:
                return found
    return found


def _shapes(path: PathItem) -> Iterator[tuple[float, float]]:
    """Yield the size of each subpath with more corners than a plain box has."""
    for run in path.segments:
        if len(run) > 12:
            xs, ys = run[0::2], run[1::2]
            yield max(xs) - min(xs), max(ys) - min(ys)


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
