"""The client's page of what was checked: against the order, and in which parts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from prepcheck.findings import Outcome, Result, Status
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
from prepcheck.words import listed

_COLUMNS = 2
_TICK = 14.0
_TITLE = 0.56
"""Share of a column that the name of a check takes."""
_TITLE_ROOM = 51.0
_STYLE = SMALL.in_ink(Ink.TEXT)


class _Line(Block):
    """Something that was looked at, and where or with what outcome."""

    def __init__(self, what: str, said: str, width: float) -> None:
        room = width - _TICK
        self.said_at = _TICK + room * _TITLE
        self.what = wrap(what, _STYLE, room * _TITLE - 9)
        self.said = wrap(said, SMALL, room * (1 - _TITLE))
        self.height = on_grid(max(len(self.what), len(self.said)) * SMALL.leading + 3)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        draw_tick(pen, (x + 4, y + 6.6), 0.8)
        pen.lines(x + _TICK, y + 9, self.what, _STYLE)
        pen.lines(x + self.said_at, y + 9, self.said, SMALL)


def checked_leaves(result: Result, titles: Mapping[str, str]) -> list[Leaf]:
    """Return the page; none where no check was clear. `titles` are the checks' by identifier."""
    width = column_width(A4_UPRIGHT, _COLUMNS)
    agreed = [one for one in result.outcomes if one.status is Status.CLEAR]
    blocks: list[Block] = []
    if agreed:
        blocks.append(Heading("Agrees with the order", counted(len(agreed), "check"), width))
        blocks += [_Line(_title(one.check, titles), _sentence(one), width) for one in agreed]
    where = _clear_in(result)
    if where:
        blocks.append(Heading("In order in the files", counted(len(where), "check"), width))
        names = [part.name for part in result.parts if part.outcomes]
        blocks += [
            _Line(_title(check, titles), _places(parts, names), width)
            for check, parts in where.items()
        ]
    if not blocks:
        return []
    rooms = columns(A4_UPRIGHT, A4_UPRIGHT.top + _TITLE_ROOM, _COLUMNS)
    return [
        Leaf(A4_UPRIGHT, "", _page(placed), ("What was checked", 0) if i == 0 else None)
        for i, placed in enumerate(flow(blocks, rooms, rooms))
    ]


def _clear_in(result: Result) -> dict[str, list[str]]:
    """Return the checks that found nothing, and the parts in which they did."""
    found: dict[str, list[str]] = {}
    for part in result.parts:
        for outcome in part.outcomes:
            if outcome.status is Status.CLEAR:
                found.setdefault(outcome.check, []).append(part.name)
    return dict(sorted(found.items()))


def _places(parts: Sequence[str], names: Sequence[str]) -> str:
    """Return the parts in as few words as tell them."""
    if len(parts) == len(names):
        return f"all {len(names)} parts" if len(names) > 1 else names[0]
    others = [name for name in names if name not in parts]
    if len(others) < len(parts) and len(others) < 3:
        return f"all but {listed(others)}"
    return listed(parts)


def _title(check: str, titles: Mapping[str, str]) -> str:
    return titles.get(check, check)


def _sentence(outcome: Outcome) -> str:
    return outcome.why[:1].upper() + outcome.why[1:]


def _page(placed: Sequence[Placed]) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        pen.text(pen.paper.left, pen.paper.top + 15, "What was checked", HEADING)
        words = "Looked at and found in order. What was found wrong stands with each part."
        pen.text(
            pen.paper.left, pen.paper.top + 30, shortened(words, BODY_SOFT, pen.paper.measure),
            BODY_SOFT,
        )  # fmt: skip
        draw_placed(pen, placed)

    return draw
