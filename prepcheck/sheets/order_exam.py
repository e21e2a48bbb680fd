"""An order under examination: its parts side by side."""

from __future__ import annotations

from dataclasses import dataclass

from prepcheck.findings import PartResult
from prepcheck.order import Order, OrderPart
from prepcheck.sheets.digest import Digest
from prepcheck.spec.model import Spec


@dataclass(frozen=True)
class Piece:
    """One examined part; `digest` is None where the file could not be examined."""

    part: OrderPart
    result: PartResult
    spec: Spec | None
    digest: Digest | None

    @property
    def name(self) -> str:
        return self.part.name

    @property
    def side(self) -> str | None:
        return self.part.side

    @property
    def is_label(self) -> bool:
        """A label has a side, or is round and has a hole."""
        return self.side is not None or (
            self.spec is not None
            and self.spec.outline.kind == "disc"
            and self.spec.hole is not None
        )

    def is_a(self, *kinds: str) -> bool:
        """Say whether it is of a kind, by the first word of its spec's name or its parent's."""
        if self.spec is None:
            return False
        names = (self.spec.name, self.spec.extends or "")
        return any(name.partition("-")[0] in kinds for name in names)


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
