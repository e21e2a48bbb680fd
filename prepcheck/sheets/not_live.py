"""What may be type on a page and is not live: shapes like letters, pictures, meaningless signs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content, TypeTable
from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, FloatArray
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
    runs = content.type_table
    rows = np.flatnonzero(seen_on(runs, outline) & ~readable(runs.texts))
    pictures = tuple(
        image.visible
        for image in content.images
        if image.visible is not None and _on(outline, image.visible)
    )
    signs = int(runs.counts[rows].sum())
    return Hidden(_letters(sheet), tuple(map(runs.box, rows.tolist())), signs, pictures)


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


def seen_on(runs: TypeTable, outline: Outline) -> NDArray[np.bool_]:
    """Say which runs of type are painted on the piece (n,)."""
    shows = runs.where(lambda s: s.paints and (s.fill is None or s.fill.opacity > 0))
    return shows & _touching(outline, runs.boxes)


def readable(texts: Sequence[str]) -> NDArray[np.bool_]:
    """Say which texts are more than signs without a meaning, as fonts without a table give (n,)."""
    told = {text: _readable(text) for text in dict.fromkeys(texts)}
    return np.array([told[text] for text in texts], np.bool_)


def _readable(text: str) -> bool:
    if text.isascii():
        return bool(text.strip())
    known = [c for c in text if not c.isspace()]
    return bool(known) and not all(c == "\ufffd" or "\ue000" <= c <= "\uf8ff" for c in known)


def panel_at(outline: Outline, box: Box) -> str:
    """Return the name of the panel that the middle of a box lies on; '' where it is on none."""
    return _panels_at(outline, np.array([box], np.float64))[0]


def _panels_at(outline: Outline, boxes: FloatArray) -> list[str]:
    """Return for each box (n, 4) what `panel_at` does; of panels that overlap, the first."""
    x, y = ((boxes[:, :2] + boxes[:, 2:]) / 2).T
    names = [*(panel.name for panel in outline.panels), ""]
    found = np.full(len(boxes), len(outline.panels))
    for number, panel in reversed([*enumerate(outline.panels)]):
        x0, y0, x1, y1 = panel.box
        found[(x0 <= x) & (x <= x1) & (y0 <= y) & (y <= y1)] = number
    return [names[number] for number in found.tolist()]


def _touching(outline: Outline, boxes: FloatArray) -> NDArray[np.bool_]:
    """Say which boxes (n, 4) touch the piece or what lies close round it."""
    x0, y0, x1, y1 = outline.bounds.grown(_NEAR_MM)
    low, high = boxes[:, :2], boxes[:, 2:]
    return np.asarray(((low <= (x1, y1)) & (high >= (x0, y0))).all(axis=1))


def _on(outline: Outline, box: Box) -> bool:
    return outline.bounds.grown(_NEAR_MM).overlap(box) is not None


def _letters(sheet: Sheet) -> dict[str, list[Box]]:
    """Return the boxes of shapes that may be letters, by the panel they stand on."""
    found: dict[str, list[Box]] = defaultdict(list)
    content, outline = sheet.content, sheet.outline
    path, shapes = _shapes(content)
    firsts = np.flatnonzero(np.diff(path, prepend=-1))
    ends = path.searchsorted(path[firsts], "right")
    boxes = content.path_boxes[path[firsts]]
    some = (content.path_traits.fill[path[firsts]] >= 0) & _touching(outline, boxes)
    # Type of several panels may be one path.
    small = (boxes[:, 2:] - boxes[:, :2]).max(axis=1) <= _GLYPH_MM[1]
    rows = zip(
        firsts[some].tolist(), ends[some].tolist(), _panels_at(outline, boxes[some]),
        small[some].tolist(), strict=True,
    )  # fmt: skip
    for first, end, panel, is_small in rows:
        if len(found[panel]) >= _ENOUGH_GLYPHS:
            continue
        own = shapes[first:end]
        panels = [panel] * len(own) if is_small else _panels_at(outline, own)
        for name, row in zip(panels, own.tolist(), strict=True):
            found[name].append(Box(*row))
    return {panel: held for panel, held in found.items() if held}


def _shapes(content: Content) -> tuple[NDArray[np.intp], FloatArray]:
    """Return the subpaths of more corners than a plain box has and of a letter's size: the path
    (n,) that each belongs to, and its box (n, 4)."""
    points, starts, path = content.path_outlines
    runs = np.flatnonzero(np.diff(starts) > 6)
    if not len(runs):
        return path[:0], np.empty((0, 4))
    # From each to before the next: what lies between two is reduced in vain.
    spans = np.stack((starts[runs], starts[runs + 1]), axis=1).reshape(-1)
    ends = np.append(points, points[-1:], axis=0)
    boxes = np.hstack(
        [reach.reduceat(ends, spans, axis=0)[::2] for reach in (np.minimum, np.maximum)]
    )
    low, high = _GLYPH_MM
    width, height = boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1]
    may = (height >= low) & (height <= high) & (width <= high) & (np.hypot(width, height) > low)
    return path[runs[may]], boxes[may]
