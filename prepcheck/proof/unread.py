"""The pages for parts that have no picture: what could not be read, or did not come again."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from prepcheck.proof.badge import draw_verdict, verdict_width
from prepcheck.proof.entries import Paragraph, list_blocks, unjudged_blocks
from prepcheck.proof.leaf import (
    Block,
    Leaf,
    Placed,
    column_width,
    columns,
    draw_placed,
    flow,
)
from prepcheck.proof.model import ProofPart
from prepcheck.proof.page_findings import numbered_of
from prepcheck.proof.pen import Pen
from prepcheck.proof.theme import A4_UPRIGHT, BODY, BODY_SOFT, HEADING
from prepcheck.proof.typeset import shortened

_NOT_READ = (
    "There is no picture of this file: it could not be read, so nothing on it has been judged. "
    "Please send it again as described below; the rest of the order was checked."
)


class _Head(Block):
    """The name of a part, its file and its verdict."""

    keep = True
    before = 24.0
    height = 39.0

    def __init__(self, part: ProofPart, width: float) -> None:
        self.result, self.width = part.result, width

    def draw(self, pen: Pen, x: float, y: float) -> None:
        room, verdict = self.width - 120, self.result.verdict
        pen.text(x, y + 15, shortened(self.result.name, HEADING, room), HEADING)
        pen.text(x, y + 30, shortened(self.result.file, BODY_SOFT, room), BODY_SOFT)
        draw_verdict(pen, x + self.width - verdict_width(verdict), y + 15, verdict)


def unread_leaves(parts: Sequence[ProofPart]) -> list[Leaf]:
    """Return the pages that say why parts have no picture, one part after the other."""
    width = column_width(A4_UPRIGHT)
    rooms = columns(A4_UPRIGHT)
    blocks = [block for part in parts for block in _blocks(part, width)]
    name = parts[0].result.name if len(parts) == 1 else "Not shown"
    return [
        Leaf(A4_UPRIGHT, name, _page(placed), (name, 1) if i == 0 else None)
        for i, placed in enumerate(flow(blocks, rooms, rooms) if blocks else ())
    ]


def _blocks(part: ProofPart, width: float) -> list[Block]:
    """Return what is said of one part; where it was sent before, that its result stands."""
    kept = part.result.kept_from
    words = f"Not sent again: what was found stands as in {kept}." if kept else _NOT_READ
    if not part.result.received:
        words = "No file has come for this part, so nothing of it has been looked at."
    when_none = "Nothing is open." if kept else "No reason was reported."
    title = "What was found" if kept else "What is wrong"
    return [
        _Head(part, width),
        Paragraph(words, BODY, width * 0.8),
        *list_blocks(title, numbered_of(part), width, when_none),
        *unjudged_blocks(part.result, width),
    ]


def _page(placed: Sequence[Placed]) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        draw_placed(pen, placed)

    return draw
