"""The page for a part whose file could not be read."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from prepcheck.proof.badge import draw_verdict, verdict_width
from prepcheck.proof.close_up_plan import numbered
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
from prepcheck.proof.pen import Pen
from prepcheck.proof.theme import A4_UPRIGHT, BODY_SOFT, HEADING, INTRO
from prepcheck.proof.typeset import shortened


def unread_leaves(part: ProofPart) -> list[Leaf]:
    """Return the pages that say why a part has no picture and what to send instead."""
    width = column_width(A4_UPRIGHT)
    blocks: list[Block] = [
        Paragraph(
            "There is no picture of this file: it could not be read, so nothing on it has been "
            "judged. Please send it again as described below; the rest of the order was checked.",
            INTRO,
            width * 0.8,
            after=24,
        ),
        *list_blocks("What is wrong", numbered(part.result), width, "No reason was reported."),
        *unjudged_blocks(part.result, width),
    ]
    rooms = columns(A4_UPRIGHT, A4_UPRIGHT.top + 54)
    name = part.result.name
    return [
        Leaf(A4_UPRIGHT, name, _page(part, placed), (name, 1) if i == 0 else None)
        for i, placed in enumerate(flow(blocks, rooms, rooms))
    ]


def _page(part: ProofPart, placed: Sequence[Placed]) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        left, top = pen.paper.left, pen.paper.top
        room = pen.paper.measure - 120
        pen.text(left, top + 15, shortened(part.result.name, HEADING, room), HEADING)
        pen.text(left, top + 30, shortened(part.result.file, BODY_SOFT, room), BODY_SOFT)
        verdict = part.result.verdict
        draw_verdict(pen, pen.paper.right - verdict_width(verdict), top + 15, verdict)
        draw_placed(pen, placed)

    return draw
