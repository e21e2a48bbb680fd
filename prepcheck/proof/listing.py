"""Pages that list what was looked at and found in order, a line each with a tick."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from prepcheck.proof.badge import draw_tick
from prepcheck.proof.leaf import (
    Block,
    Leaf,
    Placed,
    column_width,
    columns,
    draw_placed,
    flow_evenly,
    on_grid,
)
from prepcheck.proof.pen import Pen
from prepcheck.proof.theme import A4_UPRIGHT, BODY_SOFT, HEADING, SMALL, TextStyle
from prepcheck.proof.typeset import shortened

_COLUMNS = 2
WIDTH = column_width(A4_UPRIGHT, _COLUMNS)
"""Width of a block in points."""
TICK = 14.0
"""Room for the tick."""
_TITLE_ROOM = 51.0


class Ticked(Block):
    """A tick and two texts beside each other, in lines; `said_at` is where the second begins."""

    def __init__(
        self,
        what: Sequence[str],
        said: Sequence[str],
        said_at: float,
        styles: tuple[TextStyle, TextStyle],
    ) -> None:
        self.what, self.said, self.said_at, self.styles = what, said, said_at, styles
        self.height = on_grid(max(1, len(what), len(said)) * SMALL.leading + 3)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        draw_tick(pen, (x + 4, y + 6.6), 0.8)
        pen.lines(x + TICK, y + 9, self.what, self.styles[0])
        pen.lines(x + self.said_at, y + 9, self.said, self.styles[1])


def listing(title: str, words: str, blocks: Sequence[Block]) -> list[Leaf]:
    """Return the pages under a title and a sentence; none without blocks."""
    if not blocks:
        return []
    rooms = columns(A4_UPRIGHT, A4_UPRIGHT.top + _TITLE_ROOM, _COLUMNS)
    return [
        Leaf(A4_UPRIGHT, "", _page(title, words, placed), (title, 0) if i == 0 else None)
        for i, placed in enumerate(flow_evenly(blocks, rooms, rooms))
    ]


def _page(title: str, words: str, placed: Sequence[Placed]) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        paper = pen.paper
        pen.text(paper.left, paper.top + 15, title, HEADING)
        shown = shortened(words, BODY_SOFT, paper.measure)
        pen.text(paper.left, paper.top + 30, shown, BODY_SOFT)
        draw_placed(pen, placed)

    return draw
