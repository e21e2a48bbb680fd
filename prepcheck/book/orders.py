"""Orders entered, and what the book knows of them read back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session

from prepcheck.book import journal
from prepcheck.book.deliveries import deliveries_of
from prepcheck.book.findings import decisions_of, findings_of
from prepcheck.book.models import (
    DeliveryRow,
    ExaminationRow,
    FileRow,
    JournalRow,
    LetterRow,
    OrderRow,
    PartRow,
    QuestionRow,
    ReleaseRow,
    SignOffRow,
)
from prepcheck.book.plain import storable
from prepcheck.book.records import (
    Examination,
    Letter,
    OrderLine,
    PartLine,
    Question,
    Release,
    SignOff,
    Story,
    Waiting,
)
from prepcheck.book.standing import files_now, settle
from prepcheck.book.when import moment, stamp
from prepcheck.errors import BookError

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
    row.head = storable(head.model_dump_json())
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
        own.data = storable(part.model_dump_json(exclude_defaults=True))
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
        raise BookError(f"order {number}: is not in the book; `prepcheck orders` lists what is")
    return row


def is_like(text: str) -> ColumnElement[bool]:
    """Return the condition that an order has a text in its number, names or catalogue number, or
    as its barcode."""
    where = (OrderRow.number, OrderRow.client, OrderRow.title, OrderRow.catalogue)
    return or_(*(c.icontains(text, autoescape=True) for c in where), OrderRow.barcode == text)


def board(
    session: Session,
    *,
    waiting_for: Waiting | None = None,
    due_by: date | None = None,
    like: str | None = None,
    first: int = 0,
    most: int | None = None,
) -> tuple[OrderLine, ...]:
    """Return orders as the board has them: by due date, those without one last, then by number.

    `like` is looked for in number, client, title and catalogue number, and as the barcode;
    `first` counts from 0.
    """
    asked: Any = select(*_LINE)
    if waiting_for is not None:
        asked = asked.where(OrderRow.waiting_for == waiting_for.value)
    if due_by is not None:
        asked = asked.where(OrderRow.due <= due_by.isoformat())
    if like:
        asked = asked.where(is_like(like))
    asked = asked.order_by(OrderRow.due.is_(None), OrderRow.due, OrderRow.number).offset(first)
    rows = session.execute(asked if most is None else asked.limit(most))
    return tuple(_line(tuple(row)) for row in rows)


_LINE = (
    OrderRow.number, OrderRow.client, OrderRow.title, OrderRow.catalogue, OrderRow.barcode,
    OrderRow.due, OrderRow.parts, OrderRow.received, OrderRow.clear, OrderRow.open,
    OrderRow.round, OrderRow.waiting_for, OrderRow.waiting_why, OrderRow.waiting_since,
)  # fmt: skip


def _line(row: Sequence[Any]) -> OrderLine:
    number, client, title, catalogue, barcode, due, *counts, waiting, why, since = row
    day = None if due is None else date.fromisoformat(str(due))
    parts, received, clear, still_open, rounds = counts
    return OrderLine(
        number, client, title, catalogue, barcode, day, parts, received, clear, still_open, rounds,
        Waiting(waiting), why, moment(since),
    )  # fmt: skip


def story(session: Session, number: str) -> Story:
    """Return all that is known of an order. Raises BookError."""
    row = order_row(session, number)
    line = _line(tuple(session.execute(select(*_LINE).where(OrderRow.id == row.id)).one()))
    entries = session.scalars(
        select(JournalRow).where(JournalRow.order_number == number).order_by(JournalRow.id)
    )
    exams = session.scalars(
        select(ExaminationRow).where(ExaminationRow.order_id == row.id).order_by(ExaminationRow.id)
    )
    questions = session.scalars(
        select(QuestionRow).where(QuestionRow.order_id == row.id).order_by(QuestionRow.id)
    )
    letters = session.scalars(
        select(LetterRow).where(LetterRow.order_id == row.id).order_by(LetterRow.id)
    )
    signoffs = session.scalars(
        select(SignOffRow).where(SignOffRow.order_id == row.id).order_by(SignOffRow.id)
    )
    releases = session.scalars(
        select(ReleaseRow).where(ReleaseRow.order_id == row.id).order_by(ReleaseRow.revision)
    )
    return Story(
        line=line,
        head=row.head,
        parts=parts_of(session, row.id),
        deliveries=deliveries_of(session, DeliveryRow.order_id == row.id),
        examinations=tuple(examination_of(exam) for exam in exams),
        findings=findings_of(session, row.id),
        decisions=decisions_of(session, row.id),
        questions=tuple(_question(session, question) for question in questions),
        letters=tuple(Letter(x.round, moment(x.at), x.by, x.digest) for x in letters),
        signoffs=tuple(
            SignOff(x.round, moment(x.at), x.name, x.role, x.choice, x.remarks, x.proof)
            for x in signoffs
        ),
        releases=tuple(
            Release(x.revision, x.round, moment(x.at), x.by, x.manifest, x.proof) for x in releases
        ),
        journal=tuple(journal.entry_of(entry) for entry in entries),
    )


def parts_of(session: Session, order_id: int) -> tuple[PartLine, ...]:
    """Return an order's parts as ordered, each with the file it has now."""
    parts = session.scalars(
        select(PartRow)
        .where(PartRow.order_id == order_id, PartRow.dropped.is_(False))
        .order_by(PartRow.position)
    ).all()
    here = files_now(session, order_id)
    files: dict[int, tuple[FileRow, int | None]] = {}
    found = session.execute(
        select(FileRow, DeliveryRow.round)
        .join(DeliveryRow, DeliveryRow.id == FileRow.delivery_id)
        .where(DeliveryRow.order_id == order_id)
    )
    for file, number in found:
        files[file.id] = (file, number)
    lines = []
    for part in parts:
        line = PartLine(part.name, part.side, part.data, part.spec_digest, part.verdict)
        placed = here.get(part.id)
        if placed is not None:
            file, number = files[placed.file_id]
            line = PartLine(
                part.name, part.side, part.data, part.spec_digest, part.verdict, file.name,
                file.id, file.digest, placed.page, placed.why, number,
            )  # fmt: skip
        lines.append(line)
    return tuple(lines)


def examination_of(row: ExaminationRow) -> Examination:
    """Return a row as a record."""
    return Examination(
        row.id, row.round, row.turn, moment(row.at), row.version, row.verdict, row.crashed,
        row.result, row.report, row.proof,
    )  # fmt: skip


def _question(session: Session, row: QuestionRow) -> Question:
    from prepcheck.book.models import FindingRow

    number = None
    if row.finding_id is not None:
        number = session.scalar(select(FindingRow.number).where(FindingRow.id == row.finding_id))
    return Question(
        row.id, number, row.text, row.asked_by, moment(row.asked_at), row.answer, row.answered_by,
        None if row.answered_at is None else moment(row.answered_at),
    )  # fmt: skip
