"""The tables. Rows never leave this room: see `records`.

Nothing is deleted and no row says less than before: what changes is where an order stands and
which of its findings are still there. `migrations/` makes the same tables step by step; a test
holds the two together.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, ForeignKey, Index, Integer, String, Text, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

_WHEN = String(27)
_SHA = String(64)
_ID = BigInteger().with_variant(Integer, "sqlite")


class Base(DeclarativeBase):
    """What all tables have in common: a number of their own."""

    id: Mapped[int] = mapped_column(_ID, primary_key=True)


class BookRow(Base):
    """The book itself: one row. `key` is also written in the folder, so that no book is ever
    opened with another's files."""

    __tablename__ = "book"

    key: Mapped[str] = mapped_column(String(32))
    made_at: Mapped[str] = mapped_column(_WHEN)


class PersonRow(Base):
    """Somebody who decides. `role` is one of `records.Role`."""

    __tablename__ = "person"

    name: Mapped[str] = mapped_column(Text, unique=True)
    role: Mapped[str] = mapped_column(String(16))
    since: Mapped[str] = mapped_column(_WHEN)


class OrderRow(Base):
    """An order; `head` is its `[order]` table as JSON.

    The columns behind `due` are worked out at each step from the rest, so that the board of ten
    thousand orders is one query.
    """

    __tablename__ = "orders"

    number: Mapped[str] = mapped_column(Text, unique=True)
    client: Mapped[str] = mapped_column(Text)
    title: Mapped[str] = mapped_column(Text)
    catalogue: Mapped[str] = mapped_column(Text)
    barcode: Mapped[str | None] = mapped_column(Text)
    head: Mapped[str] = mapped_column(Text)
    made_at: Mapped[str] = mapped_column(_WHEN)
    due: Mapped[str | None] = mapped_column(String(10))
    round: Mapped[int] = mapped_column(Integer, default=0)
    parts: Mapped[int] = mapped_column(Integer, default=0)
    received: Mapped[int] = mapped_column(Integer, default=0)
    clear: Mapped[int] = mapped_column(Integer, default=0)
    open: Mapped[int] = mapped_column(Integer, default=0)
    waiting_for: Mapped[str] = mapped_column(String(8))
    waiting_why: Mapped[str] = mapped_column(Text)
    waiting_since: Mapped[str] = mapped_column(_WHEN)

    __table_args__ = (Index("orders_waiting", "waiting_for", "due"),)


class PartRow(Base):
    """A part of an order; `data` is its `[[part]]` table as JSON, `spec_digest` the kept TOML of
    a spec of the client's or plant's own. One that was taken off the order is `dropped`."""

    __tablename__ = "part"

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    position: Mapped[int] = mapped_column(Integer)
    name: Mapped[str] = mapped_column(Text)
    side: Mapped[str | None] = mapped_column(String(1))
    data: Mapped[str] = mapped_column(Text)
    spec_digest: Mapped[str | None] = mapped_column(_SHA)
    dropped: Mapped[bool] = mapped_column(default=False)
    verdict: Mapped[str | None] = mapped_column(String(8))

    __table_args__ = (UniqueConstraint("order_id", "name"),)


class ContentRow(Base):
    """A file in the folder, by its SHA-256."""

    __tablename__ = "content"

    digest: Mapped[str] = mapped_column(_SHA, unique=True)
    bytes: Mapped[int] = mapped_column(BigInteger)
    kept_at: Mapped[str] = mapped_column(_WHEN)


class DeliveryRow(Base):
    """Files that came together; without an order they are put aside.

    `state` is 'arrived', 'placed' (matched to parts), 'examined' or 'aside'; `round` counts an
    order's deliveries from 1.
    """

    __tablename__ = "delivery"

    order_id: Mapped[int | None] = mapped_column(ForeignKey("orders.id"), index=True)
    round: Mapped[int | None] = mapped_column(Integer)
    state: Mapped[str] = mapped_column(String(8), index=True)
    came_at: Mapped[str] = mapped_column(_WHEN)
    sender: Mapped[str | None] = mapped_column(Text)
    way: Mapped[str] = mapped_column(Text)
    note: Mapped[str] = mapped_column(Text, default="")

    __table_args__ = (UniqueConstraint("order_id", "round"),)


class FileRow(Base):
    """A file of a delivery, by the name it came under.

    `note` says why it could not be placed, or what is asked about it; `asked` that a person must
    say which part it is for.
    """

    __tablename__ = "file"

    delivery_id: Mapped[int] = mapped_column(ForeignKey("delivery.id"), index=True)
    name: Mapped[str] = mapped_column(Text)
    digest: Mapped[str] = mapped_column(ForeignKey("content.digest"), index=True)
    note: Mapped[str] = mapped_column(Text, default="")
    asked: Mapped[bool] = mapped_column(default=False)


class PlacementRow(Base):
    """A file taken as a part of its order, or one page of it; `why` in words a person can read.

    The latest that is not `withdrawn` says what a part's file is.
    """

    __tablename__ = "placement"

    file_id: Mapped[int] = mapped_column(ForeignKey("file.id"), index=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("part.id"), index=True)
    page: Mapped[int | None] = mapped_column(Integer)
    why: Mapped[str] = mapped_column(Text)
    by: Mapped[str | None] = mapped_column(Text)
    at: Mapped[str] = mapped_column(_WHEN)
    withdrawn: Mapped[bool] = mapped_column(default=False)


class ExaminationRow(Base):
    """An order as it stood after a round, examined whole: once a round and placing.

    `result` is the kept `Result` as JSON, `report` and `proof` the kept outputs.
    """

    __tablename__ = "examination"

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    round: Mapped[int] = mapped_column(Integer)
    turn: Mapped[int] = mapped_column(Integer)
    at: Mapped[str] = mapped_column(_WHEN)
    version: Mapped[str] = mapped_column(Text)
    verdict: Mapped[str] = mapped_column(String(8))
    crashed: Mapped[bool] = mapped_column()
    result: Mapped[str] = mapped_column(ForeignKey("content.digest"))
    report: Mapped[str] = mapped_column(ForeignKey("content.digest"))
    proof: Mapped[str | None] = mapped_column(ForeignKey("content.digest"))

    __table_args__ = (UniqueConstraint("order_id", "round", "turn"),)


class ExaminedRow(Base):
    """One part within an examination: which bytes, by which spec as resolved; `crashed` where a
    check failed on it, None where that was not kept yet."""

    __tablename__ = "examined"

    examination_id: Mapped[int] = mapped_column(ForeignKey("examination.id"), index=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("part.id"), index=True)
    digest: Mapped[str] = mapped_column(ForeignKey("content.digest"))
    page: Mapped[int | None] = mapped_column(Integer)
    spec: Mapped[str | None] = mapped_column(Text)
    spec_digest: Mapped[str | None] = mapped_column(_SHA)
    verdict: Mapped[str] = mapped_column(String(8))
    crashed: Mapped[bool | None] = mapped_column()


class FindingRow(Base):
    """One finding through all rounds; `number` is its own within the order.

    `state` is 'there' or 'cured'. `stand` is what the latest sighting says, by digest: a decision
    holds for what it was made on, and no longer once that has changed.
    """

    __tablename__ = "finding"

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    part_id: Mapped[int | None] = mapped_column(ForeignKey("part.id"))
    number: Mapped[int] = mapped_column(Integer)
    check: Mapped[str] = mapped_column("check_name", Text)
    severity: Mapped[str] = mapped_column(String(8))
    state: Mapped[str] = mapped_column(String(8))
    page: Mapped[int | None] = mapped_column(Integer)
    message: Mapped[str] = mapped_column(Text)
    fix: Mapped[str] = mapped_column(Text)
    stand: Mapped[str] = mapped_column(_SHA)
    first_round: Mapped[int] = mapped_column(Integer)
    last_round: Mapped[int] = mapped_column(Integer)
    cured_round: Mapped[int | None] = mapped_column(Integer)
    decision_id: Mapped[int | None] = mapped_column(_ID)
    """The decision in force, if any."""

    __table_args__ = (UniqueConstraint("order_id", "number"),)


class SightingRow(Base):
    """A finding as one examination had it; `data` is the `Finding` as JSON."""

    __tablename__ = "sighting"

    finding_id: Mapped[int] = mapped_column(ForeignKey("finding.id"), index=True)
    examination_id: Mapped[int] = mapped_column(ForeignKey("examination.id"), index=True)
    data: Mapped[str] = mapped_column(Text)

    __table_args__ = (UniqueConstraint("finding_id", "examination_id"),)


class DecisionRow(Base):
    """What somebody decided about a finding as it stood."""

    __tablename__ = "decision"

    finding_id: Mapped[int] = mapped_column(ForeignKey("finding.id"), index=True)
    kind: Mapped[str] = mapped_column(String(8))
    why: Mapped[str] = mapped_column(Text)
    by: Mapped[str] = mapped_column(Text)
    role: Mapped[str] = mapped_column(String(16))
    at: Mapped[str] = mapped_column(_WHEN)
    round: Mapped[int] = mapped_column(Integer)
    stand: Mapped[str] = mapped_column(_SHA)


class QuestionRow(Base):
    """A question to the client about a finding, or about the order, and what came back."""

    __tablename__ = "question"

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    finding_id: Mapped[int | None] = mapped_column(ForeignKey("finding.id"))
    text: Mapped[str] = mapped_column(Text)
    asked_by: Mapped[str] = mapped_column(Text)
    asked_at: Mapped[str] = mapped_column(_WHEN)
    answer: Mapped[str | None] = mapped_column(Text)
    answered_by: Mapped[str | None] = mapped_column(Text)
    answered_at: Mapped[str | None] = mapped_column(_WHEN)


class LetterRow(Base):
    """A letter written for a round; `digest` is the kept text."""

    __tablename__ = "letter"

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    round: Mapped[int] = mapped_column(Integer)
    at: Mapped[str] = mapped_column(_WHEN)
    by: Mapped[str] = mapped_column(Text)
    digest: Mapped[str] = mapped_column(ForeignKey("content.digest"))


class SignOffRow(Base):
    """The client's word on a proof: 'approved', 'with-changes' or 'file-follows'."""

    __tablename__ = "signoff"

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    round: Mapped[int] = mapped_column(Integer)
    at: Mapped[str] = mapped_column(_WHEN)
    name: Mapped[str] = mapped_column(Text)
    role: Mapped[str] = mapped_column(Text)
    choice: Mapped[str] = mapped_column(String(16))
    remarks: Mapped[str] = mapped_column(Text)
    proof: Mapped[str] = mapped_column(ForeignKey("content.digest"))


class ReleaseRow(Base):
    """What went to plates: `manifest` is the kept list of files, digest by digest."""

    __tablename__ = "release"

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    revision: Mapped[int] = mapped_column(Integer)
    round: Mapped[int] = mapped_column(Integer)
    at: Mapped[str] = mapped_column(_WHEN)
    by: Mapped[str] = mapped_column(Text)
    manifest: Mapped[str] = mapped_column(ForeignKey("content.digest"))
    proof: Mapped[str] = mapped_column(ForeignKey("content.digest"))

    __table_args__ = (UniqueConstraint("order_id", "revision"),)


class TakenRow(Base):
    """A file in a watched folder that is in the book, by how it lay there."""

    __tablename__ = "taken"

    key: Mapped[str] = mapped_column(_SHA, unique=True)
    path: Mapped[str] = mapped_column(Text)
    delivery_id: Mapped[int | None] = mapped_column(ForeignKey("delivery.id"))
    at: Mapped[str] = mapped_column(_WHEN)


class AccountRow(Base):
    """A person's password for the desk, as its argon2 hash."""

    __tablename__ = "account"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), unique=True)
    password: Mapped[str] = mapped_column(Text)
    set_at: Mapped[str] = mapped_column(_WHEN)


class SessionRow(Base):
    """Somebody logged in. `token` is the SHA-256 of what the browser holds; `secret` stands in
    each form, so that nobody else's page can send one."""

    __tablename__ = "session"

    token: Mapped[str] = mapped_column(_SHA, unique=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    secret: Mapped[str] = mapped_column(_SHA)
    began_at: Mapped[str] = mapped_column(_WHEN)
    until: Mapped[str] = mapped_column(_WHEN)
    ended: Mapped[bool] = mapped_column(default=False)


class LinkRow(Base):
    """A client's way to one order without an account; `token` is the SHA-256 of the link's."""

    __tablename__ = "link"

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    token: Mapped[str] = mapped_column(_SHA, unique=True)
    for_whom: Mapped[str] = mapped_column(Text)
    made_by: Mapped[str] = mapped_column(Text)
    made_at: Mapped[str] = mapped_column(_WHEN)
    until: Mapped[str] = mapped_column(_WHEN)
    revoked_at: Mapped[str | None] = mapped_column(_WHEN)


class ProgramRow(Base):
    """Another program that may ask the desk; `token` is the SHA-256 of what it shows."""

    __tablename__ = "program"

    name: Mapped[str] = mapped_column(Text, unique=True)
    token: Mapped[str] = mapped_column(_SHA, unique=True)
    made_by: Mapped[str] = mapped_column(Text)
    made_at: Mapped[str] = mapped_column(_WHEN)
    revoked_at: Mapped[str | None] = mapped_column(_WHEN)


class AskedReleaseRow(Base):
    """A release that somebody asked for at the desk, done in the background; `said` is what came
    of it, a line each."""

    __tablename__ = "asked_release"

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    asked_by: Mapped[str] = mapped_column(Text)
    asked_at: Mapped[str] = mapped_column(_WHEN)
    done_at: Mapped[str | None] = mapped_column(_WHEN)
    said: Mapped[str] = mapped_column(Text, default="")


class ListenerRow(Base):
    """An address that is told of each verdict `after` an examination; `secret` signs what it is
    told, so it stands here itself."""

    __tablename__ = "listener"

    address: Mapped[str] = mapped_column(Text)
    secret: Mapped[str] = mapped_column(_SHA)
    after: Mapped[int] = mapped_column(_ID)
    made_by: Mapped[str] = mapped_column(Text)
    made_at: Mapped[str] = mapped_column(_WHEN)
    revoked_at: Mapped[str | None] = mapped_column(_WHEN)


class CallRow(Base):
    """A verdict told to an address, or to be told at `next_at` (None when it is done with)."""

    __tablename__ = "call"

    listener_id: Mapped[int] = mapped_column(ForeignKey("listener.id"))
    examination_id: Mapped[int] = mapped_column(ForeignKey("examination.id"))
    tries: Mapped[int] = mapped_column(Integer)
    next_at: Mapped[str | None] = mapped_column(_WHEN, index=True)
    said: Mapped[str] = mapped_column(Text)

    __table_args__ = (UniqueConstraint("listener_id", "examination_id"),)


class JournalRow(Base):
    """Who did what when. `id` counts from 1 without a gap; `before` is the digest of the entry
    before, and `digest` of this one."""

    __tablename__ = "journal"

    at: Mapped[str] = mapped_column(_WHEN)
    who: Mapped[str] = mapped_column(Text)
    act: Mapped[str] = mapped_column(String(32))
    order_number: Mapped[str | None] = mapped_column(Text, index=True)
    data: Mapped[str] = mapped_column(Text)
    before: Mapped[str] = mapped_column(_SHA)
    digest: Mapped[str] = mapped_column(_SHA)
