"""Orders entered and looked for; `reading` tells what is known of them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from prepcheck.book import journal
from prepcheck.book.models import OrderRow, PartRow
from prepcheck.book.reading import not_there
from prepcheck.book.records import Waiting
from prepcheck.book.standing import settle
from prepcheck.book.stored import storable
from prepcheck.book.when import stamp
from prepcheck.tables import Table, plain

if TYPE_CHECKING:
    from prepcheck.order import OrderHead, OrderPart


@dataclass(frozen=True, slots=True)
class NewOrder:
    """An order to enter: its head, its parts, and for parts with a spec of their own that spec's
    digest (of the kept TOML), by the part's name."""

    head: OrderHead
    parts: tuple[OrderPart, ...]
    due: date | None = None
    specs: tuple[tuple[str, str], ...] = ()


def enter(session: Session, new: NewOrder, at: datetime, who: str) -> OrderRow:
    """Enter an order, or bring one that is there up to what is said of it now.

    Parts are known by name; those no longer named are dropped, never deleted.
    """
    head = new.head
    number = storable(head.number)
    row = session.scalars(select(OrderRow).where(OrderRow.number == number)).first()
    act = "order changed"
    if row is None:
        act = "order entered"
        row = OrderRow(
            number=number, client="", title="", catalogue="", head="", made_at=stamp(at), due=None,
            round=0, parts=0, received=0, clear=0, open=0,
            waiting_for=Waiting.CLIENT.value, waiting_why="", waiting_since=stamp(at),
        )  # fmt: skip
        session.add(row)
    before = _said(session, row)
    row.client, row.title = storable(head.client), storable(head.title)
    row.catalogue, row.barcode = storable(head.catalogue), head.barcode
    row.head = storable(_written(head))
    if new.due is not None:
        row.due = new.due.isoformat()
    session.flush()
    _enter_parts(session, row, new)
    session.flush()
    after = _said(session, row)
    if after != before:
        journal.write(session, at, who, act, row.number, {"order": after})
        settle(session, row, at)
    return row


def _written(table: Table, *, given_only: bool = False) -> str:
    told = plain(table, given_only=given_only)
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


def _enter_parts(session: Session, row: OrderRow, new: NewOrder) -> None:
    there = {p.name: p for p in session.scalars(select(PartRow).where(PartRow.order_id == row.id))}
    specs = dict(new.specs)
    for position, part in enumerate(new.parts):
        name = storable(part.name)
        own = there.pop(name, None)
        if own is None:
            own = PartRow(order_id=row.id, name=name, position=position, data="", verdict=None)
            session.add(own)
        own.position, own.side, own.dropped = position, part.side, False
        own.data = storable(_written(part, given_only=True))
        own.spec_digest = specs.get(part.name)
    for left in there.values():
        left.dropped = True


def _said(session: Session, row: OrderRow) -> dict[str, object]:
    """Return what was said of an order by whoever entered it."""
    if row.id is None:
        return {}
    parts = session.scalars(
        select(PartRow)
        .where(PartRow.order_id == row.id, PartRow.dropped.is_(False))
        .order_by(PartRow.position)
    )
    return {
        "head": row.head,
        "due": row.due,
        "parts": [[part.data, part.spec_digest] for part in parts],
    }


def order_row(session: Session, number: str) -> OrderRow:
    """Return the order with this number. Raises BookError."""
    row = session.scalars(select(OrderRow).where(OrderRow.number == number)).first()
    if row is None:
        raise not_there(number)
    return row
