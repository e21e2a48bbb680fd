"""What a board of many orders shows beside their lines, asked for at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from prepcheck.book import reading
from prepcheck.book.book import Book
from prepcheck.book.connect import rows_of
from prepcheck.book.models import (
    AskedReleaseRow,
    ExaminationRow,
    ExaminedRow,
    FileRow,
    FindingRow,
    OrderRow,
    PartRow,
    PlacementRow,
)
from prepcheck.book.orders import order_row
from prepcheck.book.plain import storable
from prepcheck.book.records import Waiting
from prepcheck.book.standing import accepted_ids
from prepcheck.book.when import moment, stamp


@dataclass(frozen=True, slots=True)
class Looks:
    """What a part was examined as: the file, its page, the spec by name and by its kept TOML."""

    digest: str
    page: int | None
    spec: str | None
    spec_digest: str | None


@dataclass(frozen=True, slots=True)
class Piece:
    """A part on the board.

    `state` is the gravest that is open: 'stop' or 'query', else 'clear'; 'waiting' while its file
    is not examined, 'missing' while there is none. `looks` is None until it was examined.
    """

    name: str
    state: str
    looks: Looks | None


@dataclass(frozen=True, slots=True)
class AskedRelease:
    """A release that was asked for; `said` is what came of it once it is `done_at`."""

    id: int
    order: str
    asked_by: str
    asked_at: datetime
    done_at: datetime | None
    said: tuple[str, ...]


@dataclass(frozen=True)
class Overview:
    """Reads of an open book for a board, and the releases asked for there."""

    book: Book

    def tally(self, *, due_by: date | None = None, like: str | None = None) -> dict[Waiting, int]:
        """Return how many orders wait for whom, of those due by a day and like a text."""
        with self.book.database.reading() as session:
            return reading.tally(rows_of(session), due_by=due_by, like=like)

    def pieces(self, numbers: Sequence[str]) -> dict[str, tuple[Piece, ...]]:
        """Return the parts of orders, by the orders' numbers."""
        with self.book.database.reading() as session:
            rows = session.execute(
                select(OrderRow.number, PartRow)
                .join(OrderRow, OrderRow.id == PartRow.order_id)
                .where(OrderRow.number.in_(numbers), PartRow.dropped.is_(False))
                .order_by(PartRow.order_id, PartRow.position)
            ).all()
            ids = [part.id for _, part in rows]
            here = _files_here(session, ids)
            looks = _looks(session, ids)
            grave = _gravest(session, ids)
        pieces: dict[str, list[Piece]] = {number: [] for number in numbers}
        for number, part in rows:
            own = looks.get(part.id)
            if own is not None and own.digest != here.get(part.id):
                own = None
            pieces[number].append(Piece(part.name, _state(part.id, here, own, grave), own))
        return {number: tuple(found) for number, found in pieces.items()}

    def earlier(self, number: str, part: str) -> tuple[tuple[int, Looks], ...]:
        """Return what a part was examined as in earlier rounds, the latest first, each file once;
        what it is now is left out."""
        with self.book.database.reading() as session:
            rows = session.execute(
                select(ExaminationRow.round, ExaminedRow)
                .join(ExaminationRow, ExaminationRow.id == ExaminedRow.examination_id)
                .join(PartRow, PartRow.id == ExaminedRow.part_id)
                .join(OrderRow, OrderRow.id == PartRow.order_id)
                .where(OrderRow.number == number, PartRow.name == part)
                .order_by(ExaminedRow.id.desc())
            ).all()
        found: dict[tuple[str, int | None], tuple[int, Looks]] = {}
        for round_, row in rows:
            looks = Looks(row.digest, row.page, row.spec, row.spec_digest)
            found.setdefault((row.digest, row.page), (round_, looks))
        return tuple(found.values())[1:]

    def ask_release(self, number: str, who: str) -> int:
        """Note that somebody asks for a release; return its id, an earlier one's while that is
        not done."""
        at = self.book.clock()
        with self.book.database.writing() as session:
            from prepcheck.book import journal

            row = order_row(session, number)
            waiting = session.scalar(
                select(AskedReleaseRow.id).where(
                    AskedReleaseRow.order_id == row.id, AskedReleaseRow.done_at.is_(None)
                )
            )
            if waiting is not None:
                return waiting
            asked = AskedReleaseRow(
                order_id=row.id, asked_by=storable(who), asked_at=stamp(at), done_at=None, said=""
            )
            session.add(asked)
            session.flush()
            journal.write(session, at, who, "release asked for", row.number, {"asked": asked.id})
            return asked.id

    def asked_releases(self, number: str | None = None) -> tuple[AskedRelease, ...]:
        """Return what releases were asked for: of an order all, without one those not done."""
        asked = select(AskedReleaseRow, OrderRow.number).join(
            OrderRow, OrderRow.id == AskedReleaseRow.order_id
        )
        if number is None:
            asked = asked.where(AskedReleaseRow.done_at.is_(None))
        else:
            asked = asked.where(OrderRow.number == number)
        with self.book.database.reading() as session:
            rows = session.execute(asked.order_by(AskedReleaseRow.id)).all()
        return tuple(
            AskedRelease(
                row.id, order, row.asked_by, moment(row.asked_at),
                None if row.done_at is None else moment(row.done_at),
                tuple(filter(None, row.said.split("\n"))),
            )
            for row, order in rows
        )  # fmt: skip

    def release_done(self, asked: int, said: Sequence[str]) -> None:
        """Note what came of a release that was asked for."""
        at = self.book.clock()
        with self.book.database.writing() as session:
            row = session.get(AskedReleaseRow, asked)
            if row is not None and row.done_at is None:
                row.done_at, row.said = stamp(at), storable("\n".join(said))


def _state(part: int, here: dict[int, str], looks: Looks | None, grave: dict[int, str]) -> str:
    if part not in here:
        return "missing"
    if looks is None:
        return "waiting"
    return grave.get(part, "clear")


def _files_here(session: Session, parts: Sequence[int]) -> dict[int, str]:
    """Return the digest of each part's file as it is now."""
    rows = session.execute(
        select(PlacementRow.part_id, FileRow.digest)
        .join(FileRow, FileRow.id == PlacementRow.file_id)
        .where(PlacementRow.part_id.in_(parts), PlacementRow.withdrawn.is_(False))
        .order_by(PlacementRow.id)
    )
    return dict(rows.all())


def _looks(session: Session, parts: Sequence[int]) -> dict[int, Looks]:
    """Return what each part was last examined as."""
    rows = session.scalars(
        select(ExaminedRow).where(ExaminedRow.part_id.in_(parts)).order_by(ExaminedRow.id)
    )
    return {row.part_id: Looks(row.digest, row.page, row.spec, row.spec_digest) for row in rows}


def _gravest(session: Session, parts: Sequence[int]) -> dict[int, str]:
    """Return the gravest severity of each part's findings that keep it from plates."""
    findings = session.scalars(
        select(FindingRow).where(
            FindingRow.part_id.in_(parts), FindingRow.state == "there",
            FindingRow.severity != "note",
        )
    ).all()  # fmt: skip
    accepted = accepted_ids(session, findings)
    grave: dict[int, list[str]] = defaultdict(list)
    for row in findings:
        if row.id not in accepted and row.part_id is not None:
            grave[row.part_id].append(row.severity)
    return {part: "stop" if "stop" in found else "query" for part, found in grave.items()}
