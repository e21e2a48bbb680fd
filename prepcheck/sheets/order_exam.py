"""An order under examination: its parts side by side."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from prepcheck.order import Order
from prepcheck.sheets.alike import Pair, pairs_of
from prepcheck.sheets.mistakes import Mistakes, mistakes_of
from prepcheck.sheets.piece import Piece

__all__ = ["OrderExam", "Piece"]


@dataclass(frozen=True)
class OrderExam:
    """An order under examination; `pieces` may be a choice of its parts."""

    order: Order
    pieces: tuple[Piece, ...]

    @property
    def labels(self) -> tuple[Piece, ...]:
        return tuple(piece for piece in self.pieces if piece.is_label)

    @property
    def whole(self) -> bool:
        """Whether every part of the order was examined."""
        return len(self.pieces) == len(self.order.part)

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """Every two labels and how alike they are."""
        return pairs_of(self.labels)

    @cached_property
    def mistakes(self) -> Mistakes:
        """What went wrong with whole files, which explains much that single checks see."""
        return mistakes_of(self.labels, self.order.order.sides, self.pairs)
