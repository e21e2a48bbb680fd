"""What a board of many orders shows beside their lines, asked for at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select

from prepcheck.book import reading
from prepcheck.book.book import Book
from prepcheck.book.connect import rows_of
from prepcheck.book.models import (
    AskedReleaseRow,
    ExaminationRow,
    ExaminedRow,
    OrderRow,
    PartRow,
)
from prepcheck.book.orders import order_row
from prepcheck.book.reading import Rows, many
from prepcheck.book.records import OrderLine, Waiting
from prepcheck.book.stored import storable
from prepcheck.book.when import moment, stamp


@dataclass(frozen=True, slots=True)
class ExaminedAs:
    """What a part was examined as: the file, its page, the spec by name and by its kept TOML."""

    digest: str
    page: int | None
    spec: str | None
    spec_digest: str | None
    crashed: bool = False


@dataclass(frozen=True, slots=True)
class BoardPart:
    """A part on the board.

    `state` is the gravest that is open: 'stop' or 'query', else 'clear', but 'query' where a check
    failed on it; 'waiting' while its file is not examined, 'missing' while there is none. `looks`
    is None until it was examined.
    """

    name: str
    state: str
    looks: ExaminedAs | None


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

    def page(
        self,
        *,
        waiting_for: Waiting | None,
        due_by: date | None,
        like: str | None,
        first: int,
        most: int,
    ) -> tuple[tuple[OrderLine, ...], dict[Waiting, int], int]:
        """Return a page of the board, how many orders wait for whom whatever it was asked for of
        that, and how many deliveries are put aside; see `reading.board`."""
        with self.book.database.reading() as session:
            rows = rows_of(session)
            lines, tally = reading.board_and_tally(
                rows, waiting_for=waiting_for, due_by=due_by, like=like, first=first, most=most
            )
            ((aside,),) = rows("SELECT count(*) FROM delivery WHERE order_id IS NULL", ())
        return lines, tally, int(aside)

    def pieces(self, numbers: Sequence[str]) -> dict[str, tuple[BoardPart, ...]]:
        """Return the parts of orders, by the orders' numbers."""
        if not numbers:
            return {}
        with self.book.database.reading() as session:
            rows = rows_of(session)
            named = [storable(number) for number in numbers]
            parts = rows(
                "SELECT orders.number, orders.id, part.id, part.name FROM orders "
                f"JOIN part ON part.order_id = orders.id WHERE orders.number IN {many(named)} "
                "AND NOT part.dropped ORDER BY part.order_id, part.position",
                named,
            )
            orders = [*dict.fromkeys(order for _, order, _, _ in parts)]
            here = _files_here(rows, orders) if orders else {}
            looks = _looks(rows, orders) if orders else {}
            grave = _gravest(rows, orders) if orders else {}
        pieces: dict[str, list[BoardPart]] = {number: [] for number in numbers}
        for number, _, part, name in parts:
            own = looks.get(part)
            if own is not None and own.digest != here.get(part):
                own = None
            pieces[number].append(BoardPart(name, _state(part, here, own, grave), own))
        return {number: tuple(found) for number, found in pieces.items()}

    def earlier(self, number: str, part: str) -> tuple[tuple[int, ExaminedAs], ...]:
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
        found: dict[tuple[str, int | None], tuple[int, ExaminedAs]] = {}
        for round_, row in rows:
            looks = ExaminedAs(row.digest, row.page, row.spec, row.spec_digest)
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


def _state(part: int, here: dict[int, str], looks: ExaminedAs | None, grave: dict[int, str]) -> str:
    if part not in here:
        return "missing"
    if looks is None:
        return "waiting"
    return grave.get(part, "query" if looks.crashed else "clear")


def _files_here(rows: Rows, orders: Sequence[int]) -> dict[int, str]:
    """Return the digest of each part's file as it is now."""
    found = rows(
        "SELECT placement.part_id, file.digest FROM part "
        "JOIN placement ON placement.part_id = part.id "
        f"JOIN file ON file.id = placement.file_id WHERE part.order_id IN {many(orders)} "
        "AND NOT placement.withdrawn ORDER BY placement.id",
        orders,
    )
    return {row[0]: row[1] for row in found}


def _looks(rows: Rows, orders: Sequence[int]) -> dict[int, ExaminedAs]:
    """Return what each part was last examined as."""
    return {
        part: ExaminedAs(digest, page, spec, spec_digest, bool(crashed))
        for part, digest, page, spec, spec_digest, crashed in rows(
            "SELECT examined.part_id, examined.digest, examined.page, examined.spec, "
            "examined.spec_digest, examined.crashed FROM part "
            "JOIN examined ON examined.part_id = part.id "
            f"WHERE part.order_id IN {many(orders)} ORDER BY examined.id",
            orders,
        )
    }


def _gravest(rows: Rows, orders: Sequence[int]) -> dict[int, str]:
    """Return the gravest severity of each part's findings that keep it from plates."""
    grave: dict[int, str] = {}
    for part, severity in rows(
        "SELECT finding.part_id, finding.severity FROM finding "
        "LEFT JOIN decision ON decision.id = finding.decision_id "
        f"WHERE finding.order_id IN {many(orders)} AND finding.part_id IS NOT NULL "
        "AND finding.state = 'there' AND finding.severity <> 'note' "
        "AND (decision.kind IS NULL OR decision.kind <> 'accept')",
        orders,
    ):
        if grave.get(part) != "stop":
            grave[part] = "stop" if severity == "stop" else "query"
    return grave
