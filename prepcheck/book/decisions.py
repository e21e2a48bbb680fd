"""People, what they decide, questions and answers, letters, and the client's sign-off."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from prepcheck.book import journal
from prepcheck.book.deliveries import know
from prepcheck.book.findings import finding_row
from prepcheck.book.models import (
    DecisionRow,
    FindingRow,
    JournalRow,
    LetterRow,
    OrderRow,
    PersonRow,
    QuestionRow,
    SignOffRow,
)
from prepcheck.book.records import Decide, Person, Role
from prepcheck.book.standing import settle
from prepcheck.book.store import Kept
from prepcheck.book.stored import storable
from prepcheck.book.when import moment, stamp
from prepcheck.errors import BookError
from prepcheck.faults import hint

CHOICES = ("approved", "with-changes", "file-follows")
"""What a client can say on signing off."""


def add_person(session: Session, name: str, role: Role, at: datetime, who: str) -> None:
    """Enter a person, or give one that is there another role."""
    name = storable(name.strip())
    if not name:
        raise BookError("a person needs a name")
    row = session.scalars(select(PersonRow).where(PersonRow.name == name)).first()
    if row is not None and row.role == role.value:
        return
    if row is None:
        session.add(PersonRow(name=name, role=role.value, since=stamp(at)))
    else:
        row.role = role.value
    journal.write(session, at, who, "person", None, {"name": name, "role": role.value})


def people(session: Session) -> tuple[Person, ...]:
    """Return all people by name."""
    rows = session.scalars(select(PersonRow).order_by(PersonRow.name))
    return tuple(Person(row.name, Role(row.role), moment(row.since)) for row in rows)


def person(session: Session, name: str) -> Person:
    """Return a person. Raises BookError, with the name that was likely meant."""
    known = {one.name: one for one in people(session)}
    if name in known:
        return known[name]
    if not known:
        raise BookError(
            f"{name}: is not in the book, nor is anybody yet; "
            f"`prepcheck book person '{name}' --role approver` enters them"
        )
    raise BookError(
        f"{name}: is not in the book; {hint(name, known)}, or enter them: "
        f"`prepcheck book person '{name}' --role intake`"
    )


def decide(
    session: Session,
    order: OrderRow,
    numbers: Sequence[int],
    kind: Decide,
    why: str,
    by: str,
    at: datetime,
    *,
    stands: Sequence[str] | None = None,
    seen: int | None = None,
) -> None:
    """Record a decision about findings, all or none.

    `stands` are the digests of the findings as the person saw them, where they may have changed
    meanwhile, and `seen` the number of the journal's latest entry then. Raises BookError for a
    finding that is not there, has changed or was decided by another since, without a reason, or
    where the person's role does not allow it.
    """
    one = person(session, by)
    if not why.strip():
        raise BookError("a decision needs a reason; say it with --why")
    rows = [finding_row(session, order, number) for number in dict.fromkeys(numbers)]
    lines = [] if seen is None else _decided_since(session, order, rows, seen)
    for index, row in enumerate(rows):
        if row.state != "there":
            lines.append(f"finding {row.number}: is cured since round {row.cured_round}")
        elif stands is not None and stands[index] != row.stand:
            lines.append(f"finding {row.number}: has changed meanwhile: {row.message}")
        elif kind is Decide.ACCEPT and row.severity == "stop" and not one.role.may_pass_stops:
            lines.append(
                f"finding {row.number}: is a stop, which {by} ({one.role.value}) may not accept; "
                "ask an approver"
            )
        elif kind is Decide.ACCEPT and row.severity == "note":
            lines.append(f"finding {row.number}: is a note and needs no decision")
    if lines:
        raise BookError(*(f"order {order.number}: {line}; nothing was recorded" for line in lines))
    for row in rows:
        _decide_one(session, order, row, kind, why, one, at)
    journal.write(
        session, at, by, kind.value, order.number,
        {
            "findings": [[row.number, row.check, row.stand] for row in rows],
            "why": why, "role": one.role.value,
        },
    )  # fmt: skip
    settle(session, order, at)


_DONE = {"accept": "let it pass", "refuse": "refused it", "ask": "asked the client"}


def _decided_since(
    session: Session, order: OrderRow, rows: Sequence[FindingRow], seen: int
) -> list[str]:
    """Return, a line each, what has been decided of findings since somebody looked."""
    later = session.scalars(
        select(JournalRow)
        .where(
            JournalRow.order_number == order.number, JournalRow.id > seen,
            JournalRow.act.in_(tuple(_DONE)),
        )
        .order_by(JournalRow.id)
    )  # fmt: skip
    lines = []
    for entry in later:
        data = json.loads(entry.data)
        decided = {finding[0] for finding in data["findings"]}
        lines += [
            f"finding {row.number}: {entry.who} has {_DONE[entry.act]} meanwhile: {data['why']}"
            for row in rows
            if row.number in decided
        ]
    return lines


def _decide_one(
    session: Session,
    order: OrderRow,
    row: FindingRow,
    kind: Decide,
    why: str,
    one: Person,
    at: datetime,
) -> None:
    decision = DecisionRow(
        finding_id=row.id, kind=kind.value, why=storable(why), by=one.name, role=one.role.value,
        at=stamp(at), round=order.round, stand=row.stand,
    )  # fmt: skip
    session.add(decision)
    session.flush()
    row.decision_id = decision.id
    if kind is Decide.ASK:
        session.add(
            QuestionRow(
                order_id=order.id, finding_id=row.id, text=storable(why), asked_by=one.name,
                asked_at=stamp(at),
            )
        )  # fmt: skip


def ask(session: Session, order: OrderRow, text: str, by: str, at: datetime) -> None:
    """Record a question to the client about the order as a whole."""
    one = person(session, by)
    session.add(
        QuestionRow(
            order_id=order.id, finding_id=None, text=storable(text), asked_by=one.name,
            asked_at=stamp(at),
        )
    )  # fmt: skip
    journal.write(session, at, by, "asked", order.number, {"text": text})
    settle(session, order, at)


def answer(
    session: Session, order: OrderRow, finding: int | None, text: str, sender: str, at: datetime
) -> None:
    """Record the client's answer about a finding, or about the order (None).

    It goes with the latest question that is open; where nothing was asked, with a finding itself.
    """
    if not text.strip():
        raise BookError("an answer needs words")
    row = None if finding is None else finding_row(session, order, finding)
    about = QuestionRow.finding_id.is_(None) if row is None else QuestionRow.finding_id == row.id
    question = session.scalars(
        select(QuestionRow)
        .where(QuestionRow.order_id == order.id, about, QuestionRow.answer.is_(None))
        .order_by(QuestionRow.id.desc())
    ).first()
    if question is None:
        question = QuestionRow(
            order_id=order.id, finding_id=None if row is None else row.id, text="",
            asked_by="", asked_at=stamp(at),
        )  # fmt: skip
        session.add(question)
    question.answer, question.answered_by = storable(text), storable(sender)
    question.answered_at = stamp(at)
    session.flush()
    journal.write(
        session, at, sender, "answered", order.number,
        {"question": question.id, "finding": finding, "text": text},
    )  # fmt: skip
    settle(session, order, at)


def letter(session: Session, order: OrderRow, text: Kept, by: str, at: datetime) -> None:
    """Record that a letter was written for the order's round; the same text only once."""
    last = session.scalars(
        select(LetterRow).where(LetterRow.order_id == order.id).order_by(LetterRow.id.desc())
    ).first()
    if last is not None and (last.round, last.digest) == (order.round, text.digest):
        return
    know(session, [text], at)
    session.add(
        LetterRow(
            order_id=order.id, round=order.round, at=stamp(at), by=storable(by), digest=text.digest
        )
    )
    journal.write(
        session, at, by, "letter", order.number, {"round": order.round, "text": text.digest}
    )
    settle(session, order, at)


def sign_off(
    session: Session,
    order: OrderRow,
    name: str,
    role: str,
    choice: str,
    remarks: str,
    proof: str,
    at: datetime,
    *,
    seen: int | None = None,
    way: str = "",
) -> None:
    """Record the client's word on a proof, by the digest of what was seen.

    `seen` is the number of the journal's latest entry of the order as they saw it, `way` by what
    they came. Raises BookError where anything has happened to the order since.
    """
    if choice not in CHOICES:
        raise BookError(f"{choice!r} is no answer to a proof; it is one of {', '.join(CHOICES)}")
    if seen is not None:
        latest = session.scalar(
            select(func.max(JournalRow.id)).where(JournalRow.order_number == order.number)
        )
        if latest != seen:
            raise BookError(f"order {order.number}: has changed meanwhile; nothing was signed")
    session.add(
        SignOffRow(
            order_id=order.id, round=order.round, at=stamp(at), name=storable(name),
            role=storable(role), choice=choice, remarks=storable(remarks), proof=proof,
        )
    )  # fmt: skip
    journal.write(
        session, at, name, "signed off", order.number,
        {
            "round": order.round, "role": role, "choice": choice, "remarks": remarks,
            "proof": proof, **({"way": way} if way else {}),
        },
    )  # fmt: skip
    settle(session, order, at)
