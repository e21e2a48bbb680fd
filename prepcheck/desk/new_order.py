"""Orders entered at the desk: by a form, by an order file, or many by a table."""

from __future__ import annotations

import csv
import io
import tomllib
from datetime import date
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from prepcheck.book.access import Visit
from prepcheck.book.entering import ReadOrder, enter_new_orders, enter_order, order_of
from prepcheck.desk.own_specs import OwnSpecs
from prepcheck.desk.specs_page import own_specs
from prepcheck.desk.web import Desk, text_of, told_by, whole
from prepcheck.errors import OrderError, PrepcheckError, SpecError
from prepcheck.spec.load import resolved_toml

FORMATS = ("12-inch", "10-inch", "7-inch")
SPEEDS = ("33", "45", "78")
COLUMNS = (
    "number", "client", "title", "catalogue", "format", "discs", "speed", "barcode", "quantity",
    "due", "parts",
)  # fmt: skip
_MUST = ("number", "client", "title", "catalogue", "format", "parts")
_MOST_ROWS = 5_000
_HEAD = ("number", "client", "title", "catalogue", "format", "speed", "barcode")
_START = {"format": "12-inch", "discs": "1", "speed": "33"}
_PARTS = "Label A: A, label-12in\nLabel B: B, label-12in\nJacket: jacket-12in"


def page(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show the three ways."""
    return _shown(desk, visit, {**_START, "parts": _PARTS}, [], 200)


def _shown(
    desk: Desk, visit: Visit, typed: dict[str, str], wrong: list[str], status: int
) -> Response:
    return desk.show(
        "new-order.html", visit, status,
        typed={**dict.fromkeys((*COLUMNS, "toml", "csv"), ""), **typed}, wrong=wrong,
        formats=FORMATS, speeds=SPEEDS, columns=COLUMNS,
    )  # fmt: skip


def by_form(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Enter one order from the form's fields; there must be none of its number yet."""
    names = (*_HEAD, "discs", "quantity", "due", "parts")
    typed = {name: text_of(form, name) for name in names}
    try:
        read, due = order_from(typed, own_specs(desk))
        number = read.order.order.number
        enter_new_orders(desk.book, [(read, due)], visit.person.name)
    except PrepcheckError as fault:
        return _shown(desk, visit, typed, told_by(desk, fault), 422)
    return desk.go_to_order(number, said="entered")


def by_file(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Enter one order from an order file's text, or bring one up to date by it."""
    text = text_of(form, "toml", 500_000)
    due = text_of(form, "due", 20)
    try:
        read = _read_toml(text, own_specs(desk))
        number = enter_order(desk.book, read, visit.person.name, _day(due))
    except PrepcheckError as fault:
        typed = {**_START, "parts": _PARTS, "toml": text, "due": due}
        return _shown(desk, visit, typed, told_by(desk, fault), 422)
    return desk.go_to_order(number, said="entered")


def by_table(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Enter many orders from a table (CSV), all or none."""
    text = text_of(form, "csv", 900_000)
    try:
        orders = read_table(text, own_specs(desk))
        enter_new_orders(desk.book, orders, visit.person.name)
    except PrepcheckError as fault:
        typed = {**_START, "parts": _PARTS, "csv": text}
        return _shown(desk, visit, typed, told_by(desk, fault)[:50], 422)
    return desk.go("/", entered=str(len(orders)))


def order_from(fields: dict[str, str], own: OwnSpecs) -> tuple[ReadOrder, date | None]:
    """Return an order from words in fields. Raises OrderError, one line a fault.

    `parts` holds a part a line, or with ';' between them: 'Label A: A, label-12in', that is name,
    side where it is a label, spec where it is not to be recognised by its size.
    """
    head: dict[str, Any] = {name: fields[name] for name in _HEAD if fields.get(name)}
    for name in ("discs", "quantity"):
        if fields.get(name):
            head[name] = whole(fields[name], -1)
    parts = [_part(line) for line in fields.get("parts", "").replace(";", "\n").splitlines()
             if line.strip()]  # fmt: skip
    if not parts:
        raise OrderError("parts: name one part at least, such as 'Label A: A'")
    read = with_known_specs(order_of({"order": head, "part": parts}), own)
    return read, _day(fields.get("due", ""))


def _part(line: str) -> dict[str, str]:
    name, _, rest = line.partition(":")
    part = {"name": name.strip()}
    for word in filter(None, (word.strip() for word in rest.split(","))):
        part["side" if len(word) == 1 else "spec"] = word
    return part


def with_known_specs(read: ReadOrder, own: OwnSpecs) -> ReadOrder:
    """Return an order whose specs are all shipped or the plant's own: no path from a browser is
    ever opened."""
    lines, kept, parts = [], [], []
    for part in read.order.part:
        parts.append(part)
        if part.file is not None and ("/" in part.file or "\\" in part.file):
            lines.append(f"part {part.name!r}: file: write a name without folders")
        if part.spec is None:
            continue
        if part.spec.endswith(".toml") or "/" in part.spec or "\\" in part.spec:
            lines.append(f"part {part.name!r}: spec: name one of those on the page of specs")
            continue
        try:
            spec = own.load(part.spec)
        except SpecError as fault:
            words = "is not valid any more; look at it on the page of specs"
            known = part.spec in own.names()
            said = [f"spec: {part.spec} {words}"] if known else fault.lines
            lines += [f"part {part.name!r}: {line}" for line in said]
            continue
        if part.spec in own.names():  # kept with the order as it is now
            kept.append((part.name, resolved_toml(spec)))
            parts[-1] = part.replaced(spec=f"{part.spec}.toml")
    if lines:
        raise OrderError(*lines)
    return ReadOrder(read.order.replaced(part=tuple(parts)), tuple(kept))


def _read_toml(text: str, own: OwnSpecs) -> ReadOrder:
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise OrderError(f"order file: {str(error) or 'is nested too deep'}") from None
    return with_known_specs(order_of(table), own)


def read_table(text: str, own: OwnSpecs) -> list[tuple[ReadOrder, date | None]]:
    """Return the orders in a table. Raises OrderError, each line with the row it is about."""
    rows = list(csv.reader(io.StringIO(text), delimiter=";" if _semicolons(text) else ","))
    rows = [row for row in rows if any(cell.strip() for cell in row)]
    if len(rows) < 2:
        raise OrderError("table: write a line of column names, then an order a line")
    if len(rows) > _MOST_ROWS + 1:
        raise OrderError(f"table: has more than {_MOST_ROWS} orders; send it in pieces")
    names = [name.strip().casefold() for name in rows[0]]
    lines = [f"table: there is no column {name!r}" for name in names if name not in COLUMNS]
    lines += [f"table: the column {name!r} is missing" for name in _MUST if name not in names]
    if lines:
        raise OrderError(*lines)
    orders, seen = [], set()
    for number, row in enumerate(rows[1:], 2):
        fields = dict(zip(names, (cell.strip() for cell in row), strict=False))
        try:
            read, due = order_from(fields, own)
        except OrderError as fault:
            lines += [f"line {number}: {line}" for line in fault.lines]
            continue
        if read.order.order.number in seen:
            lines.append(f"line {number}: number: {read.order.order.number} stands twice")
        seen.add(read.order.order.number)
        orders.append((read, due))
    if lines:
        raise OrderError(*lines)
    return orders


def _semicolons(text: str) -> bool:
    first = text.partition("\n")[0]
    return first.count(";") > first.count(",")


def _day(text: str) -> date | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise OrderError(f"due: {text[:40]} is no day; write it as 2026-03-31") from None
