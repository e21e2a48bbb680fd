"""A registered check: of a part, of each of its pages, or of an order as a whole.

A check of the order is a module in `checks/` with `DECLARATIONS` and `examine_order(exam)`, which
yields `Finding`, `Clear`, `NotApplicable` and `Missing` values and is held to what holds for a
check of a part: never silent, no I/O, nothing changed. A module may have both, where one identifier
is judged on each part and on the order; and `examine_loose(pieces)`, for what holds between files
whether they were ordered or not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from prepcheck.findings import Finding
from prepcheck.frozen import dataclass
from prepcheck.said import Declaration, Measured, OrderSaid, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.order_exam import OrderExam
from prepcheck.sheets.piece import Piece

T = TypeVar("T")
Examine = Callable[[Exam], Iterator[Said]]


@dataclass(frozen=True, slots=True)
class Check:
    """A registered check."""

    module: str
    declarations: tuple[Declaration, ...]
    examine: Examine
    needs_plates: bool = True
    """False where it asks no sheet for its plates, its view or anything made of them."""
    needs_view: bool = True
    """False where it asks no sheet for more than its plates."""


def each_sheet(examine_sheet: Callable[[Exam, Sheet], Iterator[Said]]) -> Examine:
    """Return a check of a part from one of a page of it: each page of the piece in turn."""

    def examine(exam: Exam) -> Iterator[Said]:
        for sheet in exam.sheets:
            yield from examine_sheet(exam, sheet)

    return examine


def all_sheets(
    examine_sheet: Callable[[Exam, Sheet], PageSaid[T]],
    conclude: Callable[[Exam, Sequence[T]], Iterator[Said]],
) -> Examine:
    """Return a check of a part from one of its pages and what comes of all of them together."""

    def examine(exam: Exam) -> Iterator[Said]:
        found: set[str] = set()
        seen: list[T] = []
        for sheet in exam.sheets:
            of_page = yield from _noting(examine_sheet(exam, sheet), found)
            seen.append(of_page)
        for item in conclude(exam, seen):
            if isinstance(item, Finding | Measured) or item.check not in found:
                yield item

    return examine


def _noting(said: PageSaid[T], found: set[str]) -> PageSaid[T]:
    """Yield what is said of a page, and note of what there are findings."""
    while True:
        try:
            item = next(said)
        except StopIteration as end:
            seen: T = end.value
            return seen
        if isinstance(item, Finding):
            found.add(item.check)
        yield item


@dataclass(frozen=True, slots=True)
class OrderCheck:
    """A registered check of orders."""

    module: str
    declarations: tuple[Declaration, ...]
    examine: Callable[[OrderExam], Iterator[OrderSaid]]
    examine_loose: Callable[[Sequence[Piece]], Iterator[OrderSaid]] | None = None
    """What it asks of files that came together without an order, where it asks anything."""
