"""A registered check: of a part, or of an order as a whole.

A check of the order is a module in `checks/` with `DECLARATIONS` and `examine_order(exam)`, which
yields `Finding`, `Clear`, `NotApplicable` and `Missing` values and is held to what holds for a
check of a part: never silent, no I/O, nothing changed. A module may have both, where one identifier
is judged on each part and on the order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from prepcheck.said import Declaration, OrderSaid, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.order_exam import OrderExam


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
