"""Releases: what keeps an order from plates, and what went there."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from prepcheck.book import journal
from prepcheck.book.connect import rows_of
from prepcheck.book.decisions import person
from prepcheck.book.deliveries import know
from prepcheck.book.examinations import PartFile, part_files
from prepcheck.book.models import OrderRow, ReleaseRow
from prepcheck.book.reading import story
from prepcheck.book.records import Story
from prepcheck.book.standing import settle
from prepcheck.book.store import Kept
from prepcheck.book.when import stamp
from prepcheck.errors import BookError


def obstacles(known: Story, *, besides: bool = False) -> tuple[str, ...]:
    """Return, a line each, what keeps an order from being released; only what there is `besides`
    missing parts and open findings, where these are listed already."""
    lines = []
    if not known.parts:
        lines.append("the order has no parts")
    lines += [f"{name}: not received" for name in known.missing if not besides]
    for delivery in known.deliveries:
        if delivery.state != "examined":
            lines.append(f"round {delivery.round}: not examined yet")
        for file in delivery.files:
            if file.asked:
                which = "of some of its pages nobody" if file.parts else "nobody"
                they = "they are" if file.parts else "it is"
                lines.append(f"{file.name}: {which} has said which part {they} for")
    last = known.examinations[-1:]
    if last and last[0].crashed:
        lines.append(f"round {last[0].round}: a check failed; its result is incomplete")
    for finding in () if besides else known.open:
        whose = finding.part or "the order"
        lines.append(f"{finding.number}. {whose}: {finding.severity}: {finding.message}")
    for question in known.questions:
        if question.finding is None and question.answer is None:
            lines.append(f"not answered: {question.text}")
    said = known.signoffs[-1:]
    if said and said[0].round == known.line.round and said[0].choice != "approved":
        words = {
            "with-changes": "approved with changes",
            "file-follows": "a corrected file follows",
        }
        lines.append(f"the client's sign-off says: {words[said[0].choice]}")
    return tuple(lines)


def may_release(session: Session, name: str) -> None:
    """Raise BookError where a person may not release."""
    one = person(session, name)
    if not one.role.may_pass_stops:
        raise BookError(f"{name} ({one.role.value}) may not release; ask an approver")


def record_release(
    session: Session,
    order: OrderRow,
    files: frozenset[PartFile],
    revision: int,
    manifest: Kept,
    proof: Kept,
    by: str,
    at: datetime,
    beside: Iterable[Kept] = (),
) -> None:
    """Record what goes to plates; `beside` are further files that the manifest names.

    Raises BookError where something keeps the order from it, or its files, or the number of its
    revisions, are not what the manifest was made of.
    """
    may_release(session, by)
    against = obstacles(story(rows_of(session), order.number))
    if against:
        raise BookError(*(f"order {order.number}: {line}" for line in against))
    last = session.scalar(
        select(func.max(ReleaseRow.revision)).where(ReleaseRow.order_id == order.id)
    )
    if part_files(session, order.id) != files or revision != (last or 0) + 1:
        raise BookError(
            f"order {order.number}: has changed while it was being released; nothing was "
            "recorded, look at it and release it again"
        )
    know(session, [manifest, proof, *beside], at)
    session.add(
        ReleaseRow(
            order_id=order.id, revision=revision, round=order.round, at=stamp(at), by=by,
            manifest=manifest.digest, proof=proof.digest,
        )
    )  # fmt: skip
    journal.write(
        session, at, by, "released", order.number,
        {
            "revision": revision, "round": order.round, "manifest": manifest.digest,
            "proof": proof.digest, "files": sorted([f.part, f.digest, f.page or 0] for f in files),
        },
    )  # fmt: skip
    settle(session, order, at)
