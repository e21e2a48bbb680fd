"""Every part of an order as a thumbnail with its verdict; what is missing as an empty frame."""

from __future__ import annotations

import math
from collections.abc import Sequence

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box
from prepcheck.proof.badge import draw_verdict
from prepcheck.proof.drawing import Projection, draw_picture
from prepcheck.proof.leaf import Block
from prepcheck.proof.model import ProofPart
from prepcheck.proof.pen import Align, Pen, Rect
from prepcheck.proof.theme import BODY_SOFT, LABEL, SMALL, STRONG, TRIM, LineStyle, Palette
from prepcheck.proof.typeset import shortened

ACROSS, MOST_ACROSS = 4, 5
"""Parts beside each other; of many one more, which saves a row."""
_GAP = 18.0
_HIGH = 90.0
_EMPTY = LineStyle(Palette.SOFT, 0.7, (2.5, 2.5))


@dataclass(frozen=True)
class MissingPiece:
    """A piece that nobody sent."""

    name: str
    said: str = "MISSING"


class GalleryRow(Block):
    """Up to four parts or missing pieces side by side."""

    height = _HIGH + 45.0

    def __init__(
        self, items: Sequence[ProofPart | MissingPiece], width: float, across: int = ACROSS
    ) -> None:
        self.items = items
        self.cell = (width + _GAP) / across - _GAP

    def draw(self, pen: Pen, x: float, y: float) -> None:
        for index, item in enumerate(self.items):
            room = Rect(x + index * (self.cell + _GAP), y, self.cell, _HIGH)
            if isinstance(item, MissingPiece):
                _draw_missing(pen, room, item)
            else:
                _draw_part(pen, room, item)


def gallery_rows(
    parts: Sequence[ProofPart], missing: Sequence[str], width: float
) -> list[GalleryRow]:
    """Return the rows; none for a single part of an order that lacks nothing."""
    items: list[ProofPart | MissingPiece] = [
        part if part.result.received else MissingPiece(part.result.name, "NOT RECEIVED")
        for part in parts
    ]
    items += [MissingPiece(name) for name in missing]
    if len(items) < 2:
        return []
    fewer = math.ceil(len(items) / MOST_ACROSS) < math.ceil(len(items) / ACROSS)
    across = MOST_ACROSS if fewer and len(items) > MOST_ACROSS else ACROSS
    return [GalleryRow(items[i : i + across], width, across) for i in range(0, len(items), across)]


def _draw_part(pen: Pen, room: Rect, part: ProofPart) -> None:
    below = room.bottom + 12
    pen.text(room.x, below, shortened(part.result.name, STRONG, room.width), STRONG)
    draw_verdict(pen, room.x, below + 12, part.result.verdict)
    if not part.pages:
        pen.rect(room, LineStyle(Palette.RULE, 0.5), fill=Palette.TINT)
        _centred(pen, room, "cannot be shown")
        return
    page = part.pages[0]
    if part.spec is None:
        _draw_whole(pen, room, part, page.picture.grid.box)
        return
    outline = part.spec.outline_of(page.page_index)
    to_page = _fitted(room, outline.bounds)
    loops = [to_page.loop(contour) for contour in outline.contour()]
    hole = outline.hole
    with pen.clipped(loops if hole is None else [*loops, to_page.circle(hole)]):
        draw_picture(pen, to_page, page.picture)
    for loop in loops:
        pen.outline(loop, LineStyle(TRIM.ink, 0.4))
    for fold in outline.folds:
        pen.polyline((to_page.at(fold.start), to_page.at(fold.end)), LineStyle(Palette.PAPER, 0.4))


def _draw_whole(pen: Pen, room: Rect, part: ProofPart, box: Box) -> None:
    to_page = _fitted(room, box)
    draw_picture(pen, to_page, part.pages[0].picture)
    pen.rect(to_page.rect(box), LineStyle(Palette.RULE, 0.5))


def _fitted(room: Rect, box: Box) -> Projection:
    """Return the map that shows a box as large as the room holds, at its foot and left."""
    factor = min(room.width / box.width, room.height / box.height)
    x = room.x - box.x0 * factor
    return Projection(x, room.bottom + box.y0 * factor, factor)


def _draw_missing(pen: Pen, room: Rect, missing: MissingPiece) -> None:
    """Draw an empty frame of a square's shape."""
    frame = Rect(room.x, room.y, min(room.width, room.height), room.height)
    pen.rect(frame, _EMPTY)
    _centred(pen, frame, "nothing sent")
    pen.text(room.x, room.bottom + 12, shortened(missing.name, STRONG, room.width), STRONG)
    pen.text(room.x, room.bottom + 24, missing.said, LABEL.in_ink(Palette.STOP))


def _centred(pen: Pen, room: Rect, words: str) -> None:
    x, y = room.centre
    style = BODY_SOFT if room.width > 80 else SMALL
    pen.text(x, y + 3, words, style, Align.CENTRE)
