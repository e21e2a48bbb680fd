"""Addresses of other programs that are told of each verdict, and how far that has come."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from urllib.parse import urlsplit

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from prepcheck.book import journal
from prepcheck.book.book import Book
from prepcheck.book.models import CallRow, ExaminationRow, ListenerRow, OrderRow
from prepcheck.book.stored import storable
from prepcheck.book.when import stamp
from prepcheck.errors import BookError

MOST_TRIES = 10
_FIRST, _LONGEST = timedelta(seconds=30), timedelta(hours=6)


@dataclass(frozen=True, slots=True)
class Call:
    """A verdict to be told: to whom, signed with what secret, and of what."""

    id: int
    address: str
    secret: str
    order: str
    round: int
    turn: int
    verdict: str
    examined_at: str
    waiting_for: str
    tries: int


@dataclass(frozen=True)
class Listeners:
    """The addresses an open book tells; each method is one step."""

    book: Book

    def add(self, address: str, who: str) -> str:
        """Tell an address of each verdict from now on; return the secret its calls are signed
        with. Raises BookError for what is no address, or one that is told already."""
        parts = urlsplit(address)
        if parts.scheme not in ("http", "https") or not parts.hostname or parts.username:
            raise BookError(f"{address}: is no address; write it as https://host/path")
        secret = secrets.token_hex(32)
        at = self.book.clock()
        with self.book.database.writing() as session:
            if self._open(session, address) is not None:
                raise BookError(f"{address}: is told already")
            after = session.scalar(select(func.max(ExaminationRow.id))) or 0
            session.add(
                ListenerRow(
                    address=storable(address), secret=secret, after=after, made_by=storable(who),
                    made_at=stamp(at), revoked_at=None,
                )
            )  # fmt: skip
            journal.write(session, at, who, "listener", None, {"address": address})
        return secret

    def revoke(self, address: str, who: str) -> None:
        """Tell an address nothing more. Raises BookError where it is not told."""
        at = self.book.clock()
        with self.book.database.writing() as session:
            row = self._open(session, address)
            if row is None:
                raise BookError(f"{address}: is not told of anything")
            row.revoked_at = stamp(at)
            journal.write(session, at, who, "listener revoked", None, {"address": address})

    def due(self, most: int = 20) -> tuple[Call, ...]:
        """Return what is to be told now, what was examined first coming first."""
        now = stamp(self.book.clock())
        if self._untold():
            with self.book.database.writing() as session:
                for listener, examination in self._new(session):
                    session.add(
                        CallRow(
                            listener_id=listener, examination_id=examination, tries=0,
                            next_at=now, said="",
                        )
                    )  # fmt: skip
        with self.book.database.reading() as session:
            rows = session.execute(
                select(CallRow, ListenerRow, ExaminationRow, OrderRow)
                .join(ListenerRow, ListenerRow.id == CallRow.listener_id)
                .join(ExaminationRow, ExaminationRow.id == CallRow.examination_id)
                .join(OrderRow, OrderRow.id == ExaminationRow.order_id)
                .where(CallRow.next_at <= now, ListenerRow.revoked_at.is_(None))
                .order_by(CallRow.examination_id, CallRow.id)
                .limit(most)
            ).all()
        return tuple(
            Call(
                call.id, listener.address, listener.secret, order.number, exam.round, exam.turn,
                exam.verdict, exam.at, order.waiting_for, call.tries,
            )
            for call, listener, exam, order in rows
        )  # fmt: skip

    def told(self, call: Call, said: str, *, done: bool) -> None:
        """Note what came of a call; one that failed is made again, later each time, and at last
        given up."""
        at = self.book.clock()
        with self.book.database.writing() as session:
            row = session.get(CallRow, call.id)
            if row is None:
                return
            row.tries, row.said = row.tries + 1, storable(said[:500])
            given_up = row.tries >= MOST_TRIES
            wait = min(_FIRST * 4 ** (row.tries - 1), _LONGEST)
            row.next_at = None if done or given_up else stamp(at + wait)
            if given_up and not done:
                journal.write(
                    session, at, "desk", "not told", call.order,
                    {"address": call.address, "why": said[:500], "tries": row.tries},
                )  # fmt: skip

    def _untold(self) -> bool:
        with self.book.database.reading() as session:
            return bool(self._new(session))

    def _new(self, session: Session) -> Sequence[tuple[int, int]]:
        rows = session.execute(
            select(ListenerRow.id, ExaminationRow.id)
            .join(ExaminationRow, ExaminationRow.id > ListenerRow.after)
            .outerjoin(
                CallRow,
                (CallRow.listener_id == ListenerRow.id)
                & (CallRow.examination_id == ExaminationRow.id),
            )
            .where(ListenerRow.revoked_at.is_(None), CallRow.id.is_(None))
            .order_by(ExaminationRow.id)
            .limit(1_000)
        )
        return [(listener, examination) for listener, examination in rows]

    def _open(self, session: Session, address: str) -> ListenerRow | None:
        return session.scalars(
            select(ListenerRow).where(
                ListenerRow.address == storable(address), ListenerRow.revoked_at.is_(None)
            )
        ).first()
