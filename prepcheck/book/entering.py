"""An order file entered in the book, whether or not its files are there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from prepcheck.book.book import Book
from prepcheck.book.orders import NewOrder
from prepcheck.errors import OrderError, SpecError
from prepcheck.order import Order, load_order
from prepcheck.spec.load import load_spec, resolved_toml
from prepcheck.tables import TableError, read_table


@dataclass(frozen=True)
class ReadOrder:
    """An order file as read: the order, and the resolved TOML of specs of its own, by part."""

    order: Order
    specs: tuple[tuple[str, str], ...]


def read_order(path: Path) -> ReadOrder:
    """Return the order in a file; the art of its parts need not be there.

    Raises OrderError and SpecError, one line a fault.
    """
    order = load_order(path)
    return ReadOrder(order, tuple(_own_specs(order, path)))


def order_of(table: dict[str, object]) -> ReadOrder:
    """Return the order in a table such as an order file holds. Raises OrderError."""
    try:
        order = read_table(Order, table)
    except TableError as error:
        raise OrderError(*(f"order: {words}" for _, words in error.faults)) from None
    names = [part.name for part in order.part]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise OrderError(*(f"order: two parts are named {name!r}" for name in twice))
    return ReadOrder(order, ())


def _own_specs(order: Order, path: Path) -> list[tuple[str, str]]:
    own = []
    for part in order.part:
        if part.spec is not None and part.spec.endswith(".toml"):
            try:
                own.append((part.name, resolved_toml(load_spec(path.parent / part.spec))))
            except SpecError as fault:
                raise SpecError(
                    *(f"{path}: part {part.name!r}: {line}" for line in fault.lines)
                ) from None
        elif part.spec is not None:
            load_spec(part.spec)
    return own


def enter_order(book: Book, read: ReadOrder, who: str, due: date | None = None) -> str:
    """Enter an order that was read, or bring it up to date, and return its number."""
    book.enter(_new(book, read, due), who)
    return read.order.order.number


def enter_new_orders(book: Book, read: Sequence[tuple[ReadOrder, date | None]], who: str) -> None:
    """Enter orders that were read, each with its due day, all or none. Raises BookError where one
    is there already."""
    book.enter_new([_new(book, one, due) for one, due in read], who)


def _new(book: Book, read: ReadOrder, due: date | None) -> NewOrder:
    specs = tuple((name, book.store.keep_bytes(text.encode()).digest) for name, text in read.specs)
    return NewOrder(read.order.order, read.order.part, due, specs)
