"""An order under examination: its parts side by side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from functools import cached_property
from typing import Unpack

from prepcheck.findings import Finding, Severity
from prepcheck.frozen import dataclass
from prepcheck.order import Order
from prepcheck.sheets.alike import Pair, pairs_of
from prepcheck.sheets.faces import Exchange, exchanged_faces, other_faces
from prepcheck.sheets.mistakes import Mistakes, mistakes_of
from prepcheck.sheets.piece import Piece
from prepcheck.sheets.told import Told, finding_of
from prepcheck.spec.model import Spec

__all__ = ["OrderExam", "Piece"]


@dataclass(frozen=True)
class OrderExam:
    """An order under examination; `pieces` may be a choice of its parts."""

    order: Order
    pieces: tuple[Piece, ...]
    moved: Mapping[str, str] = field(default_factory=dict)
    """Parts that are judged by the file named for another part, by the file named for them."""

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
        head = self.order.order
        return mistakes_of(self.labels, head.sides, self.pairs, head.catalogue)

    @cached_property
    def exchanged_faces(self) -> tuple[Exchange, ...]:
        """Faces of one piece, in files of their own, that carry what belongs on each other."""
        return exchanged_faces(self.pieces)

    def told_by_eye(self, piece: Piece) -> bool:
        """Say whether it is told that a part and another carry what belongs on each other, as it
        was read by eye: what was seen to stand there is a matter of that."""
        told = [one.piece for one in self.mistakes.exchanged if one.by_eye]
        for exchange in self.exchanged_faces:
            told += [exchange.one, exchange.other] if exchange.by_eye else []
        return any(one.name == piece.name for one in told)

    def of_piece(self, piece: Piece) -> tuple[Piece, ...]:
        """Return the files that one piece comes in: a part, and its other faces behind it."""
        return (piece, *other_faces(piece, self.pieces))

    def finding(
        self,
        check: str,
        code: str,
        severity: Severity,
        message: str,
        fix: str,
        *,
        spec: Spec | None = None,
        **told: Unpack[Told],
    ) -> Finding:
        """Return a finding of the order; a limit is one of `spec`. See `finding_of`."""
        return finding_of(spec, check, code, severity, message, fix, **told)
