"""The book, opened: each method is one step, recorded whole or not at all."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import select

from prepcheck.book import (
    decisions,
    deliveries,
    examinations,
    findings,
    journal,
    orders,
    reading,
    releases,
    when,
)
from prepcheck.book.connect import Database, connect, rows_of, sqlite_url
from prepcheck.book.deliveries import Came, TakenAs, Unplaced
from prepcheck.book.examinations import ExaminedOrder, PartFile
from prepcheck.book.findings import Tally
from prepcheck.book.glance import KEY
from prepcheck.book.models import BookRow, FindingRow, JournalRow, OrderRow
from prepcheck.book.orders import NewOrder, order_row
from prepcheck.book.records import (
    Decide,
    Delivery,
    JournalEntry,
    OrderLine,
    Person,
    Role,
    Story,
    Waiting,
)
from prepcheck.book.store import Kept, Store
from prepcheck.book.stored import storable
from prepcheck.errors import BookError, OutputError

if TYPE_CHECKING:
    from prepcheck.book.verify import Verified
    from prepcheck.findings import Result

DEFAULT_FOLDER = Path("prepcheck-book")


@dataclass(frozen=True)
class Book:
    """An open book. Safe to use from several threads and several processes at once.

    Reads give frozen records (`records`); writes raise BookError, and then nothing was recorded.
    Orders go by number. `clock` gives the time, aware.
    """

    folder: Path
    database: Database
    store: Store
    clock: Callable[[], datetime] = field(default=when.now)

    def close(self) -> None:
        """Let go of the database."""
        self.database.close()

    # Files

    def keep(self, source: Path) -> Kept:
        """Keep a copy of a file; it is in the folder, but in no delivery yet."""
        return self.store.keep(source)

    def take(self, source: Path) -> Kept:
        """Keep a file itself, which nobody else writes to; see `Store.take`."""
        return self.store.take(source)

    def path(self, digest: str) -> Path:
        """Return where a kept file lies. It must never be written to."""
        return self.store.path(digest)

    @contextmanager
    def alone(self, name: str) -> Iterator[bool]:
        """Give True while nobody else on this folder holds the lock of this name.

        The lock goes with the process, however that ends.
        """
        from prepcheck.book.locks import held

        with held(self.folder / "locks", name) as got:
            yield got

    # Orders

    def enter(self, new: NewOrder, who: str) -> None:
        """Enter an order, or bring the one with its number up to date."""
        with self.database.writing() as session:
            orders.enter(session, new, self.clock(), who)

    def enter_new(self, new: Sequence[NewOrder], who: str) -> None:
        """Enter orders of which none is there yet, all of them or none."""
        with self.database.writing() as session:
            numbers = [storable(one.head.number) for one in new]
            known = session.scalars(select(OrderRow.number).where(OrderRow.number.in_(numbers)))
            there = sorted(known)
            if there:
                raise BookError(*(f"number: {one} is in the book already" for one in there))
            for one in new:
                orders.enter(session, one, self.clock(), who)

    def orders(
        self,
        *,
        waiting_for: Waiting | None = None,
        due_by: date | None = None,
        like: str | None = None,
        first: int = 0,
        most: int | None = None,
    ) -> tuple[OrderLine, ...]:
        """Return the board; see `reading.board`."""
        with self.database.reading() as session:
            return reading.board(
                rows_of(session),
                waiting_for=waiting_for,
                due_by=due_by,
                like=like,
                first=first,
                most=most,
            )

    def orders_named(self, numbers: Sequence[str]) -> frozenset[str]:
        """Return those of the numbers that are orders in the book."""
        with self.database.reading() as session:
            found = session.scalars(select(OrderRow.number).where(OrderRow.number.in_(numbers)))
            return frozenset(found)

    def story(self, number: str) -> Story:
        """Return all that is known of an order."""
        with self.database.reading() as session:
            return reading.story(rows_of(session), number)

    # Deliveries

    def arrive(
        self,
        files: Sequence[Came],
        order: str | None,
        who: str,
        *,
        sender: str | None = None,
        way: str = "by command",
    ) -> tuple[int, bool]:
        """Record a delivery of kept files; see `deliveries.arrive`."""
        with self.database.writing() as session:
            row = None if order is None else order_row(session, order)
            return deliveries.arrive(session, files, row, self.clock(), who, sender=sender, way=way)

    def place(
        self,
        delivery: int,
        placed: Sequence[TakenAs],
        unplaced: Sequence[Unplaced],
        who: str,
        *,
        by_hand: bool = False,
    ) -> None:
        """Record what a delivery's files were taken as; see `deliveries.place`."""
        with self.database.writing() as session:
            deliveries.place(
                session, delivery, placed, unplaced, self.clock(), who, by_hand=by_hand
            )

    def leave(self, file: int, why: str, who: str) -> None:
        """Record that a file is for no part."""
        with self.database.writing() as session:
            deliveries.leave(session, file, self.clock(), who, why)

    def give(self, delivery: int, order: str, who: str) -> None:
        """Give a delivery that was put aside to an order."""
        with self.database.writing() as session:
            deliveries.give(session, delivery, order_row(session, order), self.clock(), who)

    def unfinished(self) -> tuple[tuple[int, str, str], ...]:
        """Return id, order and state of deliveries still to be placed or examined."""
        with self.database.reading() as session:
            return deliveries.unfinished(session)

    def delivery(self, number: int) -> Delivery:
        """Return a delivery."""
        with self.database.reading() as session:
            found = reading.deliveries(rows_of(session), "delivery.id = %s", number)
        if not found:
            raise BookError(f"delivery {number}: is not in the book")
        return found[0]

    def aside(self) -> tuple[Delivery, ...]:
        """Return the deliveries that no order was found for."""
        with self.database.reading() as session:
            return reading.deliveries(rows_of(session), "delivery.order_id IS NULL")

    def of_other_orders(self, number: str) -> tuple[tuple[str, str, str, str], ...]:
        """Return what files are in other orders of a record; see `deliveries.of_other_orders`."""
        with self.database.reading() as session:
            return deliveries.of_other_orders(session, order_row(session, number))

    def taken(self, keys: Sequence[str]) -> frozenset[str]:
        """Return those keys of a watched folder's files that are in the book."""
        with self.database.reading() as session:
            return deliveries.taken_keys(session, keys)

    def arrive_each(
        self,
        groups: Sequence[tuple[str | None, Sequence[Came]]],
        who: str,
        *,
        sender: str | None = None,
        way: str = "by command",
    ) -> tuple[tuple[int, bool], ...]:
        """Record files that came together and are for several orders, all of them or none."""
        with self.database.writing() as session:
            rows = [None if number is None else order_row(session, number) for number, _ in groups]
            return tuple(
                deliveries.arrive(session, files, row, self.clock(), who, sender=sender, way=way)
                for row, (_, files) in zip(rows, groups, strict=True)
            )

    # Examinations

    def part_files(self, number: str) -> tuple[int, frozenset[PartFile]]:
        """Return an order's round, and what the files of its parts are now."""
        with self.database.reading() as session:
            row = order_row(session, number)
            return row.round, examinations.part_files(session, row.id)

    def numbers(self, number: str, result: Result, above: int = 0) -> dict[int, int]:
        """Return what numbers a result's findings have in the book; see `findings.numbers_of`."""
        with self.database.reading() as session:
            return findings.numbers_of(session, order_row(session, number), result, above)

    def record(self, number: str, looked: ExaminedOrder, who: str) -> Tally | None:
        """Record an examination; None where it is of no use any more."""
        with self.database.writing() as session:
            row = order_row(session, number)
            return examinations.record(session, row, looked, self.clock(), who)

    def nothing_to_examine(self, number: str, who: str) -> None:
        """Record that no part of an order has a file."""
        with self.database.writing() as session:
            row = order_row(session, number)
            examinations.nothing_to_examine(session, row, self.clock(), who)

    def trouble(self, number: str, why: str, who: str) -> None:
        """Record why an order could not be examined."""
        with self.database.writing() as session:
            deliveries.trouble(session, order_row(session, number), why, self.clock(), who)

    # Decisions

    def add_person(self, name: str, role: Role, who: str) -> None:
        """Enter a person, or give them another role."""
        with self.database.writing() as session:
            decisions.add_person(session, name, role, self.clock(), who)

    def people(self) -> tuple[Person, ...]:
        """Return all people by name."""
        with self.database.reading() as session:
            return decisions.people(session)

    def decide(
        self,
        number: str,
        findings: Sequence[int],
        kind: Decide,
        why: str,
        by: str,
        *,
        stands: Sequence[str] | None = None,
        seen: int | None = None,
    ) -> None:
        """Record a decision about findings; see `decisions.decide`."""
        with self.database.writing() as session:
            row = order_row(session, number)
            decisions.decide(
                session, row, findings, kind, why, by, self.clock(), stands=stands, seen=seen
            )

    def stands(self, number: str) -> dict[int, str]:
        """Return the digest of how each finding stands, for `decide` to hold it against."""
        with self.database.reading() as session:
            row = order_row(session, number)
            found = session.execute(
                select(FindingRow.number, FindingRow.stand).where(FindingRow.order_id == row.id)
            )
            return dict(found.all())

    def ask(self, number: str, text: str, by: str) -> None:
        """Record a question about the order as a whole."""
        with self.database.writing() as session:
            decisions.ask(session, order_row(session, number), text, by, self.clock())

    def answer(self, number: str, finding: int | None, text: str, sender: str) -> None:
        """Record the client's answer."""
        with self.database.writing() as session:
            row = order_row(session, number)
            decisions.answer(session, row, finding, text, sender, self.clock())

    def letter(self, number: str, text: bytes, by: str) -> None:
        """Record that a letter was written."""
        kept = self.store.keep_bytes(text)
        with self.database.writing() as session:
            decisions.letter(session, order_row(session, number), kept, by, self.clock())

    def sign_off(
        self,
        number: str,
        *,
        name: str,
        role: str,
        choice: str,
        remarks: str,
        proof: str,
        seen: int | None = None,
        way: str = "",
    ) -> None:
        """Record the client's word on the proof with this digest; see `decisions.sign_off`."""
        with self.database.writing() as session:
            row = order_row(session, number)
            decisions.sign_off(
                session, row, name, role, choice, remarks, proof, self.clock(), seen=seen, way=way
            )

    # Releases

    def may_release(self, name: str) -> None:
        """Raise BookError where a person may not release."""
        with self.database.reading() as session:
            releases.may_release(session, name)

    def release(
        self,
        number: str,
        files: frozenset[PartFile],
        revision: int,
        manifest: Kept,
        proof: Kept,
        by: str,
        beside: Iterable[Kept] = (),
    ) -> None:
        """Record what goes to plates; see `releases.record_release`."""
        with self.database.writing() as session:
            row = order_row(session, number)
            releases.record_release(
                session, row, files, revision, manifest, proof, by, self.clock(), beside
            )

    # The journal

    def note(self, who: str, act: str, order: str | None, data: dict[str, object]) -> None:
        """Add an entry of what was done beside the book, such as somebody logging in."""
        with self.database.writing() as session:
            journal.write(session, self.clock(), who, act, order, data)

    def journal(self, *, after: int = 0) -> Iterable[JournalEntry]:
        """Return the journal's entries with a number above `after`."""
        with self.database.reading() as session:
            rows = session.scalars(
                select(JournalRow).where(JournalRow.id > after).order_by(JournalRow.id)
            )
            return tuple(journal.entry_of(row) for row in rows)

    def verify(self, *, expect: str | None = None) -> Verified:
        """Prove that nothing was altered; see `verify.verify`."""
        from prepcheck.book.verify import verify

        with self.database.reading() as session:
            return verify(session, self.store, expect=expect)


def open_book(
    where: str | Path = DEFAULT_FOLDER,
    *,
    files: Path | None = None,
    make: bool = True,
    clock: Callable[[], datetime] = when.now,
) -> Book:
    """Open the book in a folder, or at a PostgreSQL address (then `files` is its folder).

    It is made where there is none, unless `make` is False. Raises BookError when it cannot be
    opened, and OutputError when the folder cannot be written.
    """
    text = str(where)
    if "://" in text:
        url, folder = text, files or DEFAULT_FOLDER
        place = _without_password(url)
    else:
        folder = Path(where)
        url, place = sqlite_url(folder), str(folder)
        if not make and not (folder / KEY).exists():
            raise BookError(f"{folder}: there is no book; `prepcheck book make` makes one")
    store = Store(folder / "files")
    if "://" in text:
        database = connect(url, place)
        store.make()
    else:
        store.make()
        database = connect(url, place)
    book = Book(folder, database, store, clock)
    try:
        _same_book(book, place)
    except BaseException:
        book.close()
        raise
    return book


def _same_book(book: Book, place: str) -> None:
    """See that the folder's files and the database belong together."""
    with book.database.reading() as session:
        key = session.scalar(select(BookRow.key))
    if key is None:
        with book.database.writing() as session:
            key = session.scalar(select(BookRow.key))
            if key is None:
                key = uuid.uuid4().hex
                at = book.clock()
                session.add(BookRow(key=key, made_at=when.stamp(at)))
                journal.write(session, at, "prepcheck", "book made", None, {"key": key})
    path = book.folder / KEY
    try:
        if not path.exists():
            from prepcheck.output import write_whole

            write_whole(path, f"{key}\n".encode())
        found = path.read_text().strip()
    except OSError as error:
        raise OutputError(f"{path}: cannot be read ({error.strerror or error})") from None
    if found != key:
        raise BookError(
            f"{place}: the files in {book.folder} belong to another book; name the folder that "
            "belongs to this database"
        )


def _without_password(url: str) -> str:
    """Return a PostgreSQL address as it may be shown. Raises BookError for any other."""
    from sqlalchemy import make_url
    from sqlalchemy.exc import ArgumentError

    try:
        known = make_url(url)
        if known.drivername == "postgresql+psycopg":
            return known.render_as_string(hide_password=True)
    except ArgumentError:
        pass
    raise BookError(
        "--book: is no address of a database; it looks like postgresql+psycopg://name@host/database"
    )
