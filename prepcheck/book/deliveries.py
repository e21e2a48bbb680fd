"""Deliveries: what came, and which part each file was taken as."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from prepcheck.book import journal
from prepcheck.book.models import (
    ContentRow,
    DeliveryRow,
    FileRow,
    OrderRow,
    PartRow,
    PlacementRow,
    TakenRow,
)
from prepcheck.book.standing import settle
from prepcheck.book.store import Kept
from prepcheck.book.stored import storable
from prepcheck.book.when import stamp
from prepcheck.errors import BookError


@dataclass(frozen=True, slots=True)
class Came:
    """A kept file and the name it came under ('archive.zip/label-a.pdf' from an archive).

    `key` and `path` say where a watched folder had it, so that it is not taken twice. A `note`
    says why it is no artwork to be placed, such as an archive whose files came with it.
    """

    name: str
    kept: Kept
    key: str | None = None
    path: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class TakenAs:
    """A file of a delivery (its id) taken as a part, or one page of it (from 1), and why."""

    file: int
    part: str
    why: str
    page: int | None = None


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A file of a delivery that no part was found for, or (`asked`) more than one, in words."""

    file: int
    why: str
    asked: bool = False


def arrive(
    session: Session,
    files: Sequence[Came],
    order: OrderRow | None,
    at: datetime,
    who: str,
    *,
    sender: str | None,
    way: str,
) -> tuple[int, bool]:
    """Record a delivery; return its id and whether it is a new one.

    What came before in just this way is not recorded twice: an unfinished delivery of the same
    files goes on, and files that are all the same as in the order's latest round bring nothing
    new. Without an order the delivery is put aside.
    """
    if not files:
        raise BookError("there is no file in this delivery; nothing was recorded")
    came = [(storable(file.name), file.kept.digest) for file in files]
    taken = _taken_already(session, files)
    if taken is not None:  # by another watcher, a moment ago
        return taken, False
    earlier = _same_delivery(session, came, order)
    if earlier is not None:
        _take(session, files, earlier, at)
        return earlier, False
    for file in files:
        _know(session, file.kept, at)
    row = DeliveryRow(
        order_id=None if order is None else order.id,
        round=None if order is None else order.round + 1,
        state="aside" if order is None else "arrived",
        came_at=stamp(at), sender=None if sender is None else storable(sender), way=way, note="",
    )  # fmt: skip
    session.add(row)
    session.flush()
    session.add_all(
        FileRow(delivery_id=row.id, name=name, digest=digest, note=storable(file.note), asked=False)
        for file, (name, digest) in zip(files, came, strict=True)
    )
    _take(session, files, row.id, at)
    journal.write(
        session, at, who, "received" if order is not None else "put aside",
        None if order is None else order.number,
        {"delivery": row.id, "round": row.round, "from": row.sender, "way": way, "files": came},
    )  # fmt: skip
    if order is not None:
        order.round += 1
        settle(session, order, at)
    return row.id, True


def _same_delivery(
    session: Session, came: Sequence[tuple[str, str]], order: OrderRow | None
) -> int | None:
    mine = DeliveryRow.order_id.is_(None) if order is None else DeliveryRow.order_id == order.id
    query = select(DeliveryRow).where(mine).order_by(DeliveryRow.id.desc())
    for row in session.scalars(query if order is None else query.limit(1)):
        files = session.execute(
            select(FileRow.name, FileRow.digest).where(FileRow.delivery_id == row.id)
        )
        if sorted(tuple(file) for file in files) == sorted(came):
            return row.id
    return None


def _taken_already(session: Session, files: Sequence[Came]) -> int | None:
    keys = [file.key for file in files if file.key is not None]
    if not keys:
        return None
    rows = session.scalars(select(TakenRow).where(TakenRow.key.in_(keys))).all()
    return rows[0].delivery_id if len(rows) == len(keys) else None


def know(session: Session, kept: Iterable[Kept], at: datetime) -> None:
    """Note that these files are in the folder."""
    for one in kept:
        _know(session, one, at)


def _know(session: Session, kept: Kept, at: datetime) -> None:
    known = session.scalar(select(ContentRow.id).where(ContentRow.digest == kept.digest))
    if known is None:
        session.add(ContentRow(digest=kept.digest, bytes=kept.bytes, kept_at=stamp(at)))
        session.flush()


def _take(session: Session, files: Sequence[Came], delivery: int, at: datetime) -> None:
    keys = {file.key: file for file in files if file.key is not None}
    if not keys:
        return
    known = set(session.scalars(select(TakenRow.key).where(TakenRow.key.in_(keys))))
    session.add_all(
        TakenRow(key=key, path=storable(file.path), delivery_id=delivery, at=stamp(at))
        for key, file in keys.items()
        if key not in known
    )
    session.flush()


def taken_keys(session: Session, keys: Sequence[str]) -> frozenset[str]:
    """Return those of the keys whose files are in the book."""
    return frozenset(session.scalars(select(TakenRow.key).where(TakenRow.key.in_(keys))))


def place(
    session: Session,
    delivery_id: int,
    placed: Sequence[TakenAs],
    unplaced: Sequence[Unplaced],
    at: datetime,
    who: str,
    *,
    by_hand: bool = False,
) -> None:
    """Record what the files of a delivery were taken as; the order is then to be examined.

    By hand, what a file was taken as before is withdrawn. A delivery that has been placed is
    placed again by hand only. Raises BookError for a part or a file that is not there.
    """
    row, order = _with_order(session, delivery_id)
    if row.state != "arrived" and not by_hand:
        return
    parts = {
        part.name: part
        for part in session.scalars(
            select(PartRow).where(PartRow.order_id == order.id, PartRow.dropped.is_(False))
        )
    }
    files = {
        file.id: file
        for file in session.scalars(select(FileRow).where(FileRow.delivery_id == row.id))
    }
    for one in placed:
        if one.part not in parts:
            raise BookError(
                f"order {order.number}: has no part {one.part!r}; its parts: {', '.join(parts)}"
            )
        if one.file not in files:
            raise BookError(f"delivery {row.id}: has no file {one.file}")
    if by_hand:
        _withdraw(session, {one.file for one in placed})
    for one in placed:
        files[one.file].note, files[one.file].asked = "", False
        session.add(
            PlacementRow(
                file_id=one.file, part_id=parts[one.part].id, page=one.page,
                why=storable(one.why), by=who if by_hand else None, at=stamp(at), withdrawn=False,
            )
        )  # fmt: skip
    for left in unplaced:
        files[left.file].note, files[left.file].asked = storable(left.why), left.asked
    row.state, row.note = "placed", ""
    journal.write(
        session, at, who, "placed by hand" if by_hand else "placed", order.number,
        {
            "delivery": row.id,
            "placed": [[files[one.file].name, one.part, one.page, one.why] for one in placed],
            "unplaced": [[files[one.file].name, one.why, one.asked] for one in unplaced],
        },
    )  # fmt: skip
    settle(session, order, at)


def _withdraw(session: Session, files: set[int]) -> None:
    rows = session.scalars(
        select(PlacementRow).where(
            PlacementRow.file_id.in_(files), PlacementRow.withdrawn.is_(False)
        )
    )
    for row in rows:
        row.withdrawn = True


def leave(session: Session, file_id: int, at: datetime, who: str, why: str) -> None:
    """Record that a file is for no part, by hand; it stays in the book."""
    file = session.get(FileRow, file_id)
    if file is None:
        raise BookError(f"file {file_id}: is not in the book")
    row, order = _with_order(session, file.delivery_id)
    _withdraw(session, {file_id})
    file.asked, file.note = False, storable(why)
    row.state = "placed"
    journal.write(
        session, at, who, "left out", order.number,
        {"delivery": row.id, "file": file.name, "why": why},
    )  # fmt: skip
    settle(session, order, at)


def trouble(session: Session, order: OrderRow, why: str, at: datetime, who: str) -> None:
    """Record why an order could not be examined; it waits for us, and is tried again when asked."""
    rows = session.scalars(
        select(DeliveryRow).where(DeliveryRow.order_id == order.id, DeliveryRow.state == "placed")
    ).all()
    why = storable(why)
    if not rows or all(row.note == why for row in rows):
        return
    for row in rows:
        row.note = why
    journal.write(session, at, who, "not examined", order.number, {"why": why})
    settle(session, order, at)


def give(session: Session, delivery_id: int, order: OrderRow, at: datetime, who: str) -> None:
    """Give a delivery that was put aside to an order; it becomes its next round."""
    row = session.get(DeliveryRow, delivery_id)
    if row is None:
        raise BookError(f"delivery {delivery_id}: is not in the book")
    if row.state != "aside":
        raise BookError(f"delivery {delivery_id}: belongs to an order already")
    order.round += 1
    row.order_id, row.round, row.state = order.id, order.round, "arrived"
    session.flush()
    journal.write(
        session, at, who, "given to order", order.number, {"delivery": row.id, "round": row.round}
    )
    settle(session, order, at)


def of_other_orders(session: Session, order: OrderRow) -> tuple[tuple[str, str, str, str], ...]:
    """Return which files are parts of other orders of the same record (its catalogue number):
    digest, order, part and side (empty where it has none)."""
    rows = session.execute(
        select(FileRow.digest, OrderRow.number, PartRow.name, PartRow.side)
        .join(PlacementRow, PlacementRow.file_id == FileRow.id)
        .join(PartRow, PartRow.id == PlacementRow.part_id)
        .join(OrderRow, OrderRow.id == PartRow.order_id)
        .where(
            OrderRow.catalogue == order.catalogue,
            OrderRow.id != order.id,
            PlacementRow.withdrawn.is_(False),
            PlacementRow.page.is_(None),
        )
    )
    return tuple((digest, number, name, side or "") for digest, number, name, side in rows)


def unfinished(session: Session) -> tuple[tuple[int, str, str], ...]:
    """Return id, order number and state of deliveries that are still to be placed or examined."""
    rows = session.execute(
        select(DeliveryRow.id, OrderRow.number, DeliveryRow.state)
        .join(OrderRow, OrderRow.id == DeliveryRow.order_id)
        .where(DeliveryRow.state.in_(("arrived", "placed")))
        .order_by(DeliveryRow.id)
    )
    return tuple((number, order, state) for number, order, state in rows)


def _with_order(session: Session, delivery_id: int) -> tuple[DeliveryRow, OrderRow]:
    row = session.get(DeliveryRow, delivery_id)
    if row is None:
        raise BookError(f"delivery {delivery_id}: is not in the book")
    order = None if row.order_id is None else session.get(OrderRow, row.order_id)
    if order is None:
        raise BookError(f"delivery {delivery_id}: belongs to no order yet")
    return row, order
