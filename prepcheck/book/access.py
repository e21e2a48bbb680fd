"""Who may come to the book by the desk: people by password, clients by link, programs by token.

What opens a door is never in the book, only its SHA-256 (of random tokens, of 128 bits and more)
or a password hash that was made elsewhere.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from prepcheck.book import decisions, journal
from prepcheck.book.book import Book
from prepcheck.book.connect import rows_of
from prepcheck.book.models import (
    AccountRow,
    LinkRow,
    OrderRow,
    PersonRow,
    ProgramRow,
    SessionRow,
)
from prepcheck.book.orders import order_row
from prepcheck.book.records import Person, Role
from prepcheck.book.stored import storable
from prepcheck.book.when import moment, stamp
from prepcheck.errors import BookError

_TOKEN_BYTES = 32
_LINK_BYTES = 16


@dataclass(frozen=True, slots=True)
class Visit:
    """A person who is logged in; `secret` stands in each form they send."""

    id: int
    person: Person
    secret: str


@dataclass(frozen=True, slots=True)
class Link:
    """A client's link to one order, without what opens it. It is `open` until its time is up or
    somebody revokes it."""

    id: int
    order: str
    for_whom: str
    made_by: str
    made_at: datetime
    until: datetime
    revoked_at: datetime | None
    open: bool


@dataclass(frozen=True, slots=True)
class Program:
    """Another program that may ask the desk."""

    name: str
    made_by: str
    made_at: datetime
    revoked_at: datetime | None


@dataclass(frozen=True)
class Access:
    """The doors of an open book; each method is one step, as the book's own are."""

    book: Book

    # People

    def set_password(self, name: str, role: Role | None, hashed: str, who: str) -> None:
        """Give a person a password (its hash), and enter them with a role where one is given.

        Whoever was logged in as them is no longer. Raises BookError for somebody who is not there.
        """
        at = self.book.clock()
        with self.book.database.writing() as session:
            if role is not None:
                decisions.add_person(session, name, role, at, who)
            one = _person_row(session, name)
            account = session.scalars(
                select(AccountRow).where(AccountRow.person_id == one.id)
            ).first()
            if account is None:
                session.add(AccountRow(person_id=one.id, password=hashed, set_at=stamp(at)))
            else:
                account.password, account.set_at = hashed, stamp(at)
            _end_sessions(session, one.id)
            journal.write(session, at, who, "password set", None, {"name": one.name})

    def password_of(self, name: str) -> str | None:
        """Return the hash of a person's password; None where there is no such person or none."""
        with self.book.database.reading() as session:
            return session.scalar(
                select(AccountRow.password)
                .join(PersonRow, PersonRow.id == AccountRow.person_id)
                .where(PersonRow.name == storable(name.strip()))
            )

    def has_admin(self) -> bool:
        """Say whether an admin can log in."""
        with self.book.database.reading() as session:
            found = session.scalar(
                select(AccountRow.id)
                .join(PersonRow, PersonRow.id == AccountRow.person_id)
                .where(PersonRow.role == Role.ADMIN.value)
                .limit(1)
            )
            return found is not None

    def with_password(self) -> frozenset[str]:
        """Return the names of those who can log in."""
        with self.book.database.reading() as session:
            return frozenset(
                session.scalars(
                    select(PersonRow.name).join(AccountRow, AccountRow.person_id == PersonRow.id)
                )
            )

    def log_in(self, name: str, lasts: timedelta) -> str:
        """Begin a session and return its token, which is kept nowhere else."""
        at = self.book.clock()
        token = secrets.token_hex(_TOKEN_BYTES)
        with self.book.database.writing() as session:
            one = _person_row(session, name)
            session.add(
                SessionRow(
                    token=digest_of(token), person_id=one.id, secret=secrets.token_hex(32),
                    began_at=stamp(at), until=stamp(at + lasts), ended=False,
                )
            )  # fmt: skip
            journal.write(session, at, one.name, "logged in", None, {})
        return token

    def visit(self, token: str) -> Visit | None:
        """Return who is logged in by a token; None where nobody is any more."""
        # Asked with each page and each picture, so in plain SQL.
        with self.book.database.reading() as session:
            found = rows_of(session)(
                "SELECT session.id, session.secret, person.name, person.role, person.since "
                "FROM session JOIN person ON person.id = session.person_id "
                "WHERE session.token = %s AND NOT session.ended AND session.until > %s",
                (digest_of(token), stamp(self.book.clock())),
            )
        if not found:
            return None
        id_, secret, name, role, since = found[0]
        return Visit(id_, Person(name, Role(role), moment(since)), secret)

    def log_out(self, visit: Visit) -> None:
        """End a session."""
        with self.book.database.writing() as session:
            row = session.get(SessionRow, visit.id)
            if row is not None and not row.ended:
                row.ended = True
                at = self.book.clock()
                journal.write(session, at, visit.person.name, "logged out", None, {})

    # Clients

    def make_link(self, order: str, for_whom: str, lasts: timedelta, who: str) -> str:
        """Make a client's link to an order; return its token, which is kept nowhere else."""
        at = self.book.clock()
        token = secrets.token_hex(_LINK_BYTES)
        with self.book.database.writing() as session:
            row = order_row(session, order)
            link = LinkRow(
                order_id=row.id, token=digest_of(token), for_whom=storable(for_whom.strip()),
                made_by=storable(who), made_at=stamp(at), until=stamp(at + lasts), revoked_at=None,
            )  # fmt: skip
            session.add(link)
            session.flush()
            journal.write(
                session, at, who, "link made", row.number,
                {"link": link.id, "for": link.for_whom, "until": link.until},
            )  # fmt: skip
        return token

    def link(self, token: str) -> Link | None:
        """Return the link with a token while it is open; else None."""
        with self.book.database.reading() as session:
            row = session.execute(
                select(LinkRow, OrderRow.number)
                .join(OrderRow, OrderRow.id == LinkRow.order_id)
                .where(LinkRow.token == digest_of(token))
            ).first()
            found = None if row is None else _link(row[0], row[1], self.book.clock())
        return found if found is not None and found.open else None

    def links(self, order: str) -> tuple[Link, ...]:
        """Return all links that were made to an order."""
        with self.book.database.reading() as session:
            row = order_row(session, order)
            links = session.scalars(
                select(LinkRow).where(LinkRow.order_id == row.id).order_by(LinkRow.id)
            )
            return tuple(_link(link, row.number, self.book.clock()) for link in links)

    def revoke_link(self, order: str, link: int, who: str) -> None:
        """Close a link of an order for good. Raises BookError where the order has no such link."""
        at = self.book.clock()
        with self.book.database.writing() as session:
            row = session.get(LinkRow, link)
            if row is None or row.order_id != order_row(session, order).id:
                raise BookError(f"order {order}: has no such link")
            if row.revoked_at is None:
                row.revoked_at = stamp(at)
                journal.write(session, at, who, "link revoked", order, {"link": link})

    # Programs

    def add_program(self, name: str, who: str) -> str:
        """Let another program ask the desk; return its token, which is kept nowhere else."""
        at = self.book.clock()
        token = secrets.token_hex(_TOKEN_BYTES)
        name = storable(name.strip())
        with self.book.database.writing() as session:
            if not name:
                raise BookError("a program needs a name")
            if session.scalar(select(ProgramRow.id).where(ProgramRow.name == name)) is not None:
                raise BookError(f"{name}: there is a program of this name already; name it anew")
            session.add(
                ProgramRow(
                    name=name, token=digest_of(token), made_by=storable(who), made_at=stamp(at),
                    revoked_at=None,
                )
            )  # fmt: skip
            journal.write(session, at, who, "program", None, {"name": name})
        return token

    def program(self, token: str) -> str | None:
        """Return the name of the program with a token; None where there is none any more."""
        with self.book.database.reading() as session:
            return session.scalar(
                select(ProgramRow.name).where(
                    ProgramRow.token == digest_of(token), ProgramRow.revoked_at.is_(None)
                )
            )

    def programs(self) -> tuple[Program, ...]:
        """Return all programs by name."""
        with self.book.database.reading() as session:
            rows = session.scalars(select(ProgramRow).order_by(ProgramRow.name))
            return tuple(
                Program(row.name, row.made_by, moment(row.made_at), _moment(row.revoked_at))
                for row in rows
            )

    def revoke_program(self, name: str, who: str) -> None:
        """Let a program ask no more."""
        at = self.book.clock()
        with self.book.database.writing() as session:
            row = session.scalars(select(ProgramRow).where(ProgramRow.name == name)).first()
            if row is None:
                raise BookError(f"{name}: there is no program of this name")
            if row.revoked_at is None:
                row.revoked_at = stamp(at)
                journal.write(session, at, who, "program revoked", None, {"name": name})


def digest_of(token: str) -> str:
    """Return what a token is known by in the book: its SHA-256."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def _person_row(session: Session, name: str) -> PersonRow:
    name = storable(name.strip())
    row = session.scalars(select(PersonRow).where(PersonRow.name == name)).first()
    if row is None:
        raise BookError(f"{name}: is not in the book; enter them with a role")
    return row


def _end_sessions(session: Session, person: int) -> None:
    rows = session.scalars(
        select(SessionRow).where(SessionRow.person_id == person, SessionRow.ended.is_(False))
    )
    for row in rows:
        row.ended = True


def _link(row: LinkRow, number: str, now: datetime) -> Link:
    revoked = _moment(row.revoked_at)
    until = moment(row.until)
    return Link(
        row.id, number, row.for_whom, row.made_by, moment(row.made_at), until, revoked,
        revoked is None and now < until,
    )  # fmt: skip


def _moment(text: str | None) -> datetime | None:
    return None if text is None else moment(text)
