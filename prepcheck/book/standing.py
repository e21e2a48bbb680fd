"""Where an order stands: worked out after each step, and who has the next one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from prepcheck.book.models import (
    DecisionRow,
    DeliveryRow,
    ExaminationRow,
    ExaminedRow,
    FileRow,
    FindingRow,
    LetterRow,
    OrderRow,
    PartRow,
    PlacementRow,
    QuestionRow,
    ReleaseRow,
)
from prepcheck.book.records import Decide, Waiting
from prepcheck.book.when import stamp
from prepcheck.words import count


@dataclass(frozen=True, slots=True)
class Standing:
    """What decides who has the next step."""

    rounds: int
    unfinished: bool
    trouble: str
    asked: int
    missing: int
    open: int
    crashed: bool
    letter_sent: bool
    answered: bool
    released: int | None


def next_step(standing: Standing) -> tuple[Waiting, str]:
    """Return who has the next step, and why in a few words."""
    s = standing
    if s.released is not None:
        return Waiting.PLANT, f"released, revision {s.released}"
    if s.rounds == 0:
        return Waiting.CLIENT, "nothing received yet"
    if s.trouble:
        return Waiting.US, f"round {s.rounds} could not be examined: {s.trouble}"
    if s.unfinished:
        return Waiting.US, f"round {s.rounds} is to be examined"
    if s.asked:
        return Waiting.US, f"{count(s.asked, 'file')} to be placed"
    if s.crashed:
        return Waiting.US, "a check failed; to be looked at by hand"
    if s.open or s.missing:
        left = [count(s.open, "open finding")] if s.open else []
        left += [f"{count(s.missing, 'part')} missing"] if s.missing else []
        words = ", ".join(left)
        if s.answered:
            return Waiting.US, f"the client has answered; {words}"
        if s.letter_sent:
            return Waiting.CLIENT, words
        return Waiting.US, f"{words}; letter to be written"
    return Waiting.US, "nothing open; ready for release"


def settle(session: Session, order: OrderRow, at: datetime) -> None:
    """Bring an order's own columns up to date with what the step has written."""
    session.flush()
    parts = session.scalars(
        select(PartRow).where(PartRow.order_id == order.id, PartRow.dropped.is_(False))
    ).all()
    here = files_now(session, order.id)
    findings = session.scalars(
        select(FindingRow).where(FindingRow.order_id == order.id, FindingRow.state == "there")
    ).all()
    accepted = accepted_ids(session, findings)
    still_open = [f for f in findings if f.severity != "note" and f.id not in accepted]
    burdened = {f.part_id for f in still_open}
    crashed = _crashed(session, order)
    order.parts = len(parts)
    order.received = sum(part.id in here for part in parts)
    order.open = len(still_open)
    order.clear = sum(
        part.id in here and part.verdict is not None and part.id not in burdened | crashed
        for part in parts
    )
    standing = _standing(session, order)
    waiting, why = next_step(standing)
    if waiting.value != order.waiting_for:
        order.waiting_since = stamp(at)
    order.waiting_for, order.waiting_why = waiting.value, why


def _last_examination(session: Session, order: OrderRow) -> ExaminationRow | None:
    return session.scalars(
        select(ExaminationRow)
        .where(ExaminationRow.order_id == order.id)
        .order_by(ExaminationRow.id.desc())
        .limit(1)
    ).first()


def _crashed(session: Session, order: OrderRow) -> set[int]:
    """Return the ids of the parts that a check failed on when the order was last examined."""
    last = _last_examination(session, order)
    if last is None or not last.crashed:
        return set()
    rows = session.scalars(
        select(ExaminedRow.part_id).where(
            ExaminedRow.examination_id == last.id, ExaminedRow.crashed.is_(True)
        )
    )
    return set(rows)


def accepted_ids(session: Session, findings: Iterable[FindingRow]) -> set[int]:
    """Return the ids of those findings that somebody has accepted as they stand."""
    rows = {f.decision_id: f for f in findings if f.decision_id is not None}
    if not rows:
        return set()
    kinds = session.execute(
        select(DecisionRow.id, DecisionRow.kind).where(DecisionRow.id.in_(rows))
    )
    return {rows[number].id for number, kind in kinds if kind == Decide.ACCEPT.value}


def files_now(session: Session, order_id: int) -> dict[int, PlacementRow]:
    """Return for each part (by id) the placement that says what its file is."""
    rows = session.scalars(
        select(PlacementRow)
        .join(PartRow, PartRow.id == PlacementRow.part_id)
        .where(PartRow.order_id == order_id, PlacementRow.withdrawn.is_(False))
        .order_by(PlacementRow.id)
    )
    return {row.part_id: row for row in rows}


def _standing(session: Session, order: OrderRow) -> Standing:
    mine = DeliveryRow.order_id == order.id
    unfinished = session.scalar(
        select(func.count()).select_from(DeliveryRow).where(mine, DeliveryRow.state != "examined")
    )
    trouble = session.scalar(
        select(func.max(DeliveryRow.note)).where(mine, DeliveryRow.state == "placed")
    )
    asked = session.scalar(
        select(func.count())
        .select_from(FileRow)
        .join(DeliveryRow, DeliveryRow.id == FileRow.delivery_id)
        .where(mine, FileRow.asked)
    )
    last = _last_examination(session, order)
    letter = session.scalar(
        select(func.max(LetterRow.at)).where(
            LetterRow.order_id == order.id, LetterRow.round == order.round
        )
    )
    answer = session.scalar(
        select(func.max(QuestionRow.answered_at)).where(QuestionRow.order_id == order.id)
    )
    release = session.scalars(
        select(ReleaseRow)
        .where(ReleaseRow.order_id == order.id)
        .order_by(ReleaseRow.revision.desc())
        .limit(1)
    ).first()
    sent = letter is not None and (last is None or letter >= last.at)
    return Standing(
        rounds=order.round,
        unfinished=bool(unfinished),
        trouble=trouble or "",
        asked=asked or 0,
        missing=order.parts - order.received,
        open=order.open,
        crashed=last is not None and last.crashed,
        letter_sent=sent,
        answered=sent and answer is not None and letter is not None and answer > letter,
        released=release.revision
        if release is not None and release.round == order.round and not unfinished
        else None,
    )
