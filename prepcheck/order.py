"""The order: what was ordered, its parts and sides, and what each part is expected to carry."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal

from msgspec import Meta

from prepcheck.errors import OrderError
from prepcheck.faults import (
    A_PIPE,
    NO_SUCH_FILE,
    TomlError,
    no_plain_file,
    read_toml,
    short_name,
)
from prepcheck.tables import First, MostText, Table, TableError, read_table

_GTIN_LENGTHS = (8, 12, 13)
"""Digits of EAN-8, UPC-A and EAN-13."""
_SPEEDS = {"33⅓": "33", "33 1/3": "33", "33.3": "33"}


def gtin_check_digit(digits: str) -> int:
    """Return the check digit that belongs behind `digits`.

    GS1 General Specifications, section 7.9: from the right the digits weigh 3, 1, 3, 1 and so
    on; the check digit lifts the sum to the next ten.
    """
    total = sum(int(d) * (1 if i % 2 else 3) for i, d in enumerate(reversed(digits)))
    return -total % 10


def _barcode(value: str) -> str:
    digits = value.replace(" ", "").replace("-", "")
    if not (digits.isascii() and digits.isdigit()) or len(digits) not in _GTIN_LENGTHS:
        raise ValueError(
            f"{value!r} is no barcode number; write the 13 digits of an EAN, the 12 of a UPC-A "
            "or the 8 of an EAN-8, with the check digit"
        )
    right = gtin_check_digit(digits[:-1])
    if int(digits[-1]) != right:
        raise ValueError(
            f"{value!r} has the check digit {digits[-1]}, but {digits[:-1]} asks for {right}; "
            "one digit is wrong, ask the client"
        )
    if not digits.strip("0"):
        raise ValueError(f"{value!r} is all zeros, which is no number that is given out")
    return digits


def _side(value: str) -> str:
    side = value.strip().upper()
    if len(side) != 1 or not side.isascii() or not side.isalpha():
        raise ValueError(f"{value!r} is not a side; write one letter such as 'A'")
    return side


def _speed(value: object) -> object:
    text = str(value) if isinstance(value, int | float) else value
    return _SPEEDS.get(text, text) if isinstance(text, str) else text


def _as_text(value: object) -> object:
    return str(value) if isinstance(value, int | float) and not isinstance(value, bool) else value


def _not_blank(value: str) -> str:
    if not value.strip():
        raise ValueError("it is blank; write something, or leave the key out if it may be")
    return value.strip()


MOST_WORDS, MOST_TEXT, MOST_PATH = 250, 2_000, 4_000
"""Greatest lengths in characters: of names, numbers and titles, of a text that a part must carry,
and of a path."""

_AS_TEXT = First(_as_text)
_Words = Annotated[str, _AS_TEXT, MostText(MOST_WORDS), _not_blank]
_Text = Annotated[str, _AS_TEXT, MostText(MOST_TEXT), _not_blank]
_Path = Annotated[str, _AS_TEXT, MostText(MOST_PATH), _not_blank]


class OrderHead(Table, frozen=True):
    """The `[order]` table. `barcode` is kept as its digits alone, check digit verified."""

    number: _Words
    client: _Words
    title: _Words
    catalogue: _Words
    format: Literal["7-inch", "10-inch", "12-inch"]
    discs: Annotated[int, Meta(ge=1, le=13)] = 1
    speed: Annotated[Literal["33", "45", "78"], First(_speed)] = "33"
    barcode: Annotated[str, _AS_TEXT, _barcode] | None = None
    quantity: Annotated[int, Meta(ge=1, le=1_000_000_000)] | None = None

    @property
    def sides(self) -> tuple[str, ...]:
        """The letters of the sides: two a disc, from A."""
        return tuple(chr(ord("A") + i) for i in range(2 * self.discs))


class OrderPart(Table, frozen=True):
    """A `[[part]]` table: one piece with its file.

    `file` is relative to the order file, and left out while it has not come; `side` is the side of
    a label, given for labels only;
    `page` (1-based) picks one page of a file that holds several parts; `face` says which of the
    spec's pages a file holds, by its name there ('outside', 'inside'), where the faces of a piece
    come as files of their own; `inks` are those paid for; `expect` are texts the part must carry.
    """

    name: _Words
    file: _Path | None = None
    side: Annotated[str, _AS_TEXT, _side] | None = None
    page: Annotated[int, Meta(ge=1, le=1_000_000)] | None = None
    face: _Words | None = None
    spec: _Path | None = None
    inks: tuple[_Words, ...] | None = None
    expect: tuple[_Text, ...] = ()


def loose_part(
    name: str, file: str, *, side: str | None = None, page: int | None = None,
    face: str | None = None,
) -> OrderPart:  # fmt: skip
    """Return what stands for a part where art came without an order; names are taken as they are,
    however long."""
    return OrderPart(name=name, file=file, side=side, page=page, face=face)


class Order(Table, frozen=True):
    """An order file as read."""

    order: OrderHead
    part: Annotated[tuple[OrderPart, ...], Meta(min_length=1)]


def load_order(path: Path) -> Order:
    """Return the order in a TOML file.

    Raises OrderError, one line a fault: file, key, what is wrong, what is allowed. The parts' files
    may lie anywhere, and need not have come yet; a folder is no file.
    """
    try:
        table = read_toml(path)
    except TomlError as error:
        raise OrderError(str(error)) from None
    try:
        order = read_table(Order, table)
    except TableError as error:
        raise OrderError(*dict.fromkeys(f"{path}: {words}" for _, words in error.faults)) from None
    lines = [f"{path}: {words}" for words in (*_side_faults(order), *_part_faults(order, path))]
    if lines:
        raise OrderError(*lines)
    return order


def part_path(part: OrderPart, folder: Path) -> Path | None:
    """Return where a part's file lies or is to lie; None where the order names none.

    `folder` is the order file's.
    """
    return None if part.file is None else folder / part.file


def _side_faults(order: Order) -> Iterator[str]:
    """Yield what contradicts itself. A side that is missing does not: checks look after that."""
    due = order.order.sides
    given = Counter(part.side for part in order.part if part.side is not None)
    discs = f"{order.order.discs} disc{'s' if order.order.discs > 1 else ''}"
    span = f"{discs} in the order make sides {due[0]} to {due[-1]}"
    for number, part in enumerate(order.part, 1):
        if part.side is not None and part.side not in due:
            yield f"part[{number}].side: there is no side {part.side}; {span}"
    for side, count in sorted(given.items()):
        if count > 1:
            names = ", ".join(repr(part.name) for part in order.part if part.side == side)
            yield f"part: side {side} is given {count} times ({names}); each side has one label"


def _part_faults(order: Order, path: Path) -> Iterator[str]:
    names = Counter(part.name for part in order.part)
    for name, count in names.items():
        if count > 1:
            yield f"part: {count} parts are named {name!r}; each needs its own name"
    for number, part in enumerate(order.part, 1):
        file = part_path(part, path.parent)
        why = None if file is None else no_plain_file(file)
        if why not in (None, A_PIPE, NO_SUCH_FILE):  # those become findings
            yield f"part[{number}].file: {short_name(Path(part.file or ''))!r}: {why}"
