"""The pages that list, part for part, what was checked and found in order."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from prepcheck.findings import Outcome, PartResult, Result, Status
from prepcheck.proof.badge import draw_tick
from prepcheck.proof.entries import Heading
from prepcheck.proof.figures import counted
from prepcheck.proof.leaf import (
    Block,
    Leaf,
    Placed,
    column_width,
    columns,
    draw_placed,
    flow,
    on_grid,
)
from prepcheck.proof.pen import Pen
from prepcheck.proof.theme import A4_UPRIGHT, BODY_SOFT, HEADING, SMALL, Ink
from prepcheck.proof.typeset import shortened, wrap

_COLUMNS = 2
_TICK = 14.0
_NAME = 81.0
_TITLE_ROOM = 51.0


class Checked(Block):
    """One check that found nothing, with what it says."""

    def __init__(self, outcome: Outcome, width: float) -> None:
        self.name = shortened(outcome.check, SMALL, _NAME - 6)
        self.style = SMALL.in_ink(Ink.TEXT)
        self.lines = wrap(outcome.why, self.style, width - _TICK - _NAME)
        self.height = on_grid(max(1, len(self.lines)) * SMALL.leading + 3)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        draw_tick(pen, (x + 4, y + 6.6), 0.8)
        pen.text(x + _TICK, y + 9, self.name, SMALL)
        pen.lines(x + _TICK + _NAME, y + 9, self.lines, self.style)


def in_order_leaves(result: Result) -> list[Leaf]:
    """Return the pages; none when no check of any part was clear."""
    width = column_width(A4_UPRIGHT, _COLUMNS)
    blocks = [block for part in result.parts for block in _part_blocks(part, width)]
    if not blocks:
        return []
    rooms = columns(A4_UPRIGHT, A4_UPRIGHT.top + _TITLE_ROOM, _COLUMNS)
    return [
        Leaf(A4_UPRIGHT, "", _page(placed), ("In order", 0) if i == 0 else None)
        for i, placed in enumerate(flow(blocks, rooms, rooms))
    ]


def _part_blocks(part: PartResult, width: float) -> list[Block]:
    clear = [outcome for outcome in part.outcomes if outcome.status is Status.CLEAR]
    if not clear:
        return []
    aside = counted(len(clear), "check")
    return [Heading(part.name, aside, width), *(Checked(outcome, width) for outcome in clear)]


def _page(placed: Sequence[Placed]) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        pen.text(pen.paper.left, pen.paper.top + 15, "In order", HEADING)
        words = "What was looked at in each part and needs nothing done."
        pen.text(pen.paper.left, pen.paper.top + 30, words, BODY_SOFT)
        draw_placed(pen, placed)

    return draw
