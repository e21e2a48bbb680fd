"""What may be type on a page and is not live: shapes like letters, pictures, meaningless signs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np

from prepcheck.art.model import PathItem, TextRun
from prepcheck.geometry import Box
from prepcheck.outline import Outline
from prepcheck.sheets.exam import Sheet

_GLYPH_MM = (0.6, 15.0)
"""Height between which a closed shape may be a letter turned into outlines."""
_ENOUGH_GLYPHS = 400
"""So many shapes like letters on a panel say it all; more are not looked at."""
_NEAR_MM = 1.0
_BESIDE, _ALIKE = 2.6, 2.6
"""How many sizes apart letters of a word stand at most, and how much larger one may be."""


@dataclass(frozen=True, slots=True)
class Hidden:
    """Boxes in mm of shapes that may be letters, by the name of their panel, of live type without
    meaning, `signs` in number, and of pictures."""

    shapes: Mapping[str, list[Box]]
    runs: tuple[Box, ...]
    signs: int
    pictures: tuple[Box, ...]


def hidden_type(sheet: Sheet) -> Hidden:
    """Return what may hold type that cannot be read."""
    content, outline = sheet.content, sheet.outline
    unread = [
        (box, len(run.glyphs))
        for run in content.texts
        if (box := seen_at(run, outline)) is not None and not readable(run.text)
    ]
    pictures = tuple(
        image.visible
        for image in content.images
        if image.visible is not None and _on(outline, image.visible)
    )
    signs = sum(count for _, count in unread)
    return Hidden(_letters(sheet), tuple(box for box, _ in unread), signs, pictures)


def in_company(boxes: Sequence[Box]) -> list[Box]:
    """Return those of some shapes that stand close to two others of about their size, as letters
    of a word do."""
    if len(boxes) < 3:
        return []
    corners = np.array(boxes, np.float64)
    centres = (corners[:, :2] + corners[:, 2:]) / 2
    sizes = (corners[:, 2:] - corners[:, :2]).max(axis=1)
    apart = np.hypot(*(centres[:, None] - centres[None]).transpose(2, 0, 1))
    larger, smaller = np.maximum(*np.ix_(sizes, sizes)), np.minimum(*np.ix_(sizes, sizes))
    near = (apart < _BESIDE * larger) & (larger < _ALIKE * smaller)
    return [boxes[i] for i in np.flatnonzero(near.sum(axis=1) > 2).tolist()]


def seen_at(run: TextRun, outline: Outline) -> Box | None:
    """Return the box of type that is painted on the piece; None where it is not."""
    if not run.paints or (run.fill is not None and run.fill.opacity <= 0):
        return None
    box = run.box
    return box if box is not None and _on(outline, box) else None


def readable(text: str) -> bool:
    """Say whether text is more than signs without a meaning, as fonts without a table give."""
    known = [c for c in text if not c.isspace()]
    return bool(known) and not all(c == "\ufffd" or "\ue000" <= c <= "\uf8ff" for c in known)


def panel_at(outline: Outline, box: Box) -> str:
    """Return the name of the panel that the middle of a box lies on; '' where it is on none."""
    x, y = box.centre
    for panel in outline.panels:
        if panel.box.x0 <= x <= panel.box.x1 and panel.box.y0 <= y <= panel.box.y1:
            return panel.name
    return ""


def _on(outline: Outline, box: Box) -> bool:
    return outline.bounds.grown(_NEAR_MM).overlap(box) is not None


def _letters(sheet: Sheet) -> dict[str, list[Box]]:
    """Return the boxes of shapes that may be letters, by the panel they stand on."""
    found: dict[str, list[Box]] = defaultdict(list)
    low, high = _GLYPH_MM
    for path in sheet.content.paths:
        if path.fill is None or not _on(sheet.outline, path.box):
            continue
        panel = panel_at(sheet.outline, path.box)
        if len(found[panel]) >= _ENOUGH_GLYPHS:
            continue
        # Type of several panels may be one path.
        small = max(path.box.width, path.box.height) <= high
        for box in _shapes(path):
            if (
                low <= box.height <= high
                and box.width <= high
                and hypot(box.width, box.height) > low
            ):
                found[panel if small else panel_at(sheet.outline, box)].append(box)
    return {panel: boxes for panel, boxes in found.items() if boxes}


def _shapes(path: PathItem) -> Iterator[Box]:
    """Yield the box of each subpath with more corners than a plain box has."""
    for run in path.segments:
        if len(run) > 12:
            xs, ys = run[0::2], run[1::2]
            yield Box(min(xs), min(ys), max(xs), max(ys))
