"""A page of the proof before it is drawn, and blocks that flow through columns over pages."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple

from prepcheck.frozen import dataclass
from prepcheck.proof.pen import Pen
from prepcheck.proof.theme import A4_UPRIGHT, GRID, PageSize

COLUMN_GAP = 36.0


@dataclass(frozen=True)
class Leaf:
    """One page: its paper, what its running head calls it, and how it is drawn.

    `bookmark` is its entry in the document's outline, with its depth; None for a page that
    only continues another. `note` is set above the running foot.
    """

    paper: PageSize
    section: str
    draw: Callable[[Pen], None]
    bookmark: tuple[str, int] | None = None
    note: str = ""


class Block(ABC):
    """Something of known height that is set into a column and is not broken.

    `before` is room above it where it does not open a column; `keep` asks for the next block to
    stand in the same column.
    """

    height: float
    before: float = 0.0
    keep: bool = False

    @abstractmethod
    def draw(self, pen: Pen, x: float, y: float) -> None:
        """Draw with the upper left corner at (x, y)."""


class Column(NamedTuple):
    """Room for blocks; `top` and `bottom` down from the page's top edge."""

    x: float
    top: float
    bottom: float
    width: float


class Placed(NamedTuple):
    """A block and where its upper left corner stands."""

    block: Block
    x: float
    y: float


def column_count(paper: PageSize) -> int:
    """Return how many columns of running text a paper holds."""
    return 1 if paper is A4_UPRIGHT else 3


def columns(paper: PageSize, top: float | None = None, count: int | None = None) -> list[Column]:
    """Return equal columns from `top` to the foot of the page; by default as running text has."""
    number = count or column_count(paper)
    width = column_width(paper, number)
    start = paper.top if top is None else top
    return [
        Column(paper.left + i * (width + COLUMN_GAP), start, paper.bottom, width)
        for i in range(number)
    ]


def column_width(paper: PageSize, count: int | None = None) -> float:
    """Return the width of one of `count` columns; by default of running text."""
    number = count or column_count(paper)
    return (paper.measure - (number - 1) * COLUMN_GAP) / number


def on_grid(y: float) -> float:
    """Return the next line of the baseline grid at or below y."""
    return -(-round(y, 3) // GRID) * GRID


def flow(
    blocks: Sequence[Block], first: Sequence[Column], more: Sequence[Column]
) -> list[list[Placed]]:
    """Return blocks placed in the columns of the first page and of as many more as it takes.

    The columns of the last page end as nearly level as they can.
    """
    pages = _fill(blocks, first, more)
    return level(pages, more if len(pages) > 1 else first)


def flow_evenly(
    blocks: Sequence[Block], first: Sequence[Column], more: Sequence[Column]
) -> list[list[Placed]]:
    """Return blocks placed as by `flow`, on as few pages, but none much emptier than the others.

    The pages after the first are shared out; the first is filled.
    """
    pages = flow(blocks, first, more)
    if len(pages) < 2:
        return pages
    whole = first == more
    start = 0 if whole else 1
    held = sum(len(page) for page in pages[:start])
    rest, count = blocks[held:], len(pages) - start
    low, high = more[0].top, more[0].bottom
    if count < 2:
        return pages
    while high - low > GRID:
        middle = (low + high) / 2
        rooms = [room._replace(bottom=middle) for room in more]
        tried = _fill(rest, rooms, rooms)
        if len(tried) <= count and all(
            placed.y + placed.block.height <= middle for page in tried for placed in page
        ):
            high = middle
        else:
            low = middle
    rooms = [room._replace(bottom=high) for room in more]
    return [*pages[:start], *level(_fill(rest, rooms, rooms), rooms)]


def level(pages: list[list[Placed]], rooms: Sequence[Column]) -> list[list[Placed]]:
    """Return pages whose last one, in columns of one height, ends as level as it can."""
    if len(rooms) < 2 or not pages[-1] or len({(r.top, r.bottom) for r in rooms}) > 1:
        return pages
    last = [placed.block for placed in pages[-1]]
    top, bottom = rooms[0].top, rooms[0].bottom
    low, high = top, bottom
    while high - low > GRID:
        middle = (low + high) / 2
        level = [room._replace(bottom=middle) for room in rooms]
        if _fits(last, level):
            high = middle
        else:
            low = middle
    level = [room._replace(bottom=min(high, bottom)) for room in rooms]
    return [*pages[:-1], *(_fill(last, level, level) if _fits(last, level) else pages[-1:])]


def _fits(blocks: Sequence[Block], rooms: Sequence[Column]) -> bool:
    """Say whether blocks fit the columns of one page, with what is kept together in one."""
    pages = _fill(blocks, rooms, rooms)
    return (
        len(pages) == 1
        and all(placed.y + placed.block.height <= rooms[0].bottom for placed in pages[0])
        and all(a.x == b.x for a, b in pairwise(pages[0]) if a.block.keep)
    )


def _fill(
    blocks: Sequence[Block], first: Sequence[Column], more: Sequence[Column]
) -> list[list[Placed]]:
    pages: list[list[Placed]] = [[]]
    rooms = iter(first)
    room = next(rooms)
    y = room.top
    for i, block in enumerate(blocks):
        need = _height_kept(blocks[i:])
        while y + (block.before if y > room.top else 0.0) + need > room.bottom and not _is_fresh(
            room, y, more
        ):
            following = next(rooms, None)
            if following is None:
                pages.append([])
                rooms = iter(more)
                following = next(rooms)
            room = following
            y = room.top
        y += block.before if y > room.top else 0.0
        pages[-1].append(Placed(block, room.x, y))
        y += block.height
    return pages


def _height_kept(blocks: Sequence[Block]) -> float:
    """Return the height of the first block and of those that must stand with it."""
    height = 0.0
    for block in blocks:
        height += block.height
        if not block.keep:
            break
    return height


def _is_fresh(room: Column, y: float, more: Sequence[Column]) -> bool:
    """Say whether moving on would win nothing: an empty column as tall as any to come."""
    return y == room.top and room.bottom - room.top >= more[0].bottom - more[0].top


def draw_placed(pen: Pen, placed: Sequence[Placed]) -> None:
    """Draw blocks where the flow has put them."""
    for block, x, y in placed:
        block.draw(pen, x, y)
