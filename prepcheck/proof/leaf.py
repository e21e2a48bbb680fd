"""A page of the proof before it is drawn, and blocks that flow through columns over pages."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from prepcheck.proof.pen import Pen
from prepcheck.proof.theme import A3_ACROSS, A4_UPRIGHT, GRID, Paper

COLUMN_GAP = 36.0


@dataclass(frozen=True)
class Leaf:
    """One page: its paper, what its running head calls it, and how it is drawn.

    `bookmark` is its entry in the document's outline, with its depth; None for a page that
    only continues another.
    """

    paper: Paper
    section: str
    draw: Callable[[Pen], None]
    bookmark: tuple[str, int] | None = None


class Block(ABC):
    """Something of known height that is set into a column and is not broken.

    `keep` asks for the next block to stand in the same column.
    """

    height: float
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


def columns(paper: Paper, top: float | None = None) -> tuple[Column, ...]:
    """Return the columns of a paper: one on A4, three on A3."""
    count = 1 if paper is A4_UPRIGHT else 3
    width = (paper.measure - (count - 1) * COLUMN_GAP) / count
    start = paper.top if top is None else top
    return tuple(
        Column(paper.left + i * (width + COLUMN_GAP), start, paper.bottom, width)
        for i in range(count)
    )


def column_width(paper: Paper) -> float:
    """Return the width of a paper's columns."""
    return columns(paper)[0].width


def on_grid(y: float) -> float:
    """Return the next line of the baseline grid at or below y."""
    return -(-round(y, 3) // GRID) * GRID


def flow(
    blocks: Sequence[Block], first: Sequence[Column], more: Sequence[Column]
) -> list[list[Placed]]:
    """Return blocks placed in the columns of the first page and of as many more as it takes."""
    pages: list[list[Placed]] = [[]]
    rooms: Iterator[Column] = iter(first)
    room = next(rooms, None)
    y = room.top if room else 0.0
    for i, block in enumerate(blocks):
        need = block.height
        for follower, before in zip(blocks[i + 1 :], blocks[i:], strict=False):
            if not before.keep:
                break
            need += follower.height
        while room is None or (y + need > room.bottom and not _is_fresh(room, y, more)):
            room = next(rooms, None)
            if room is None:
                pages.append([])
                rooms = iter(more)
                room = next(rooms)
            y = room.top
        pages[-1].append(Placed(block, room.x, y))
        y += block.height
    return pages


def _is_fresh(room: Column, y: float, more: Sequence[Column]) -> bool:
    """Say whether moving on would win nothing: an empty column as tall as any to come."""
    return y == room.top and room.bottom - room.top >= more[0].bottom - more[0].top


def paper_for_art(width_pt: float) -> Paper:
    """Return the paper for a piece of the given width at true scale, callouts included."""
    return A4_UPRIGHT if width_pt <= A4_UPRIGHT.measure else A3_ACROSS
