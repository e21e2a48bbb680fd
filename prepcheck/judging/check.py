"""A registered check: of a part, or of an order as a whole.

A check of the order is a module in `checks/` with `DECLARATIONS` and `examine_order(exam)`, which
yields `Finding`, `Clear`, `NotApplicable` and `Missing` values and is held to what holds for a
check of a part: never silent, no I/O, nothing changed. A module may have both, where one identifier
is judged on each part and on the order; and `examine_loose(pieces)`, for what holds between files
whether they were ordered or not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from prepcheck.said import Declaration, OrderSaid, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.order_exam import OrderExam
from prepcheck.sheets.piece import Piece


@dataclass(frozen=True, slots=True)
class Check:
    """A registered check."""

    module: str
    declarations: tuple[Declaration, ...]
    examine: Callable[[Exam], Iterator[Said]]
    needs_plates: bool = True
    """False where it asks no sheet for its plates, its view or anything made of them."""


@dataclass(frozen=True, slots=True)
class OrderCheck:
    """A registered check of orders."""

    module: str
    declarations: tuple[Declaration, ...]
    examine: Callable[[OrderExam], Iterator[OrderSaid]]
    examine_loose: Callable[[Sequence[Piece]], Iterator[OrderSaid]] | None = None
    """What it asks of files that came together without an order, where it asks anything."""
