"""What comes out of the book: frozen records, free of any database.

Times are aware, in UTC. Rounds, revisions and finding numbers count from 1; a finding's number is
its own within the order and never changes. Digests are SHA-256 as 64 hex digits.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class Role(StrEnum):
    """What a person may do: `intake` receives and asks, `approver` may let a stop pass and
    release, `admin` may do all and add people."""

    INTAKE = "intake"
    APPROVER = "approver"
    ADMIN = "admin"

    @property
    def may_pass_stops(self) -> bool:
        return self is not Role.INTAKE


class Waiting(StrEnum):
    """Who has the next step of an order."""

    CLIENT = "client"
    US = "us"
    PLANT = "plant"


class Decide(StrEnum):
    """What can be decided of a finding."""

    ACCEPT = "accept"
    REFUSE = "refuse"
    ASK = "ask"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who decides."""

    name: str
    role: Role
    since: datetime


@dataclass(frozen=True, slots=True)
class OrderLine:
    """An order as the board has it; `open` counts findings that keep it from plates."""

    number: str
    client: str
    title: str
    catalogue: str
    barcode: str | None
    due: date | None
    parts: int
    received: int
    clear: int
    open: int
    round: int
    waiting_for: Waiting
    waiting_why: str
    waiting_since: datetime


@dataclass(frozen=True, slots=True)
class FileLine:
    """A file of a delivery: `parts` it was taken as, or why not (`note`); `asked` where a person
    must say."""

    id: int
    name: str
    digest: str
    bytes: int
    parts: tuple[str, ...]
    note: str
    asked: bool


@dataclass(frozen=True, slots=True)
class Delivery:
    """Files that came together. `order` is None for what was put aside.

    `state` is 'arrived', 'placed', 'examined' or 'aside'.
    """

    id: int
    order: str | None
    round: int | None
    state: str
    came_at: datetime
    sender: str | None
    way: str
    files: tuple[FileLine, ...]


@dataclass(frozen=True, slots=True)
class PartLine:
    """A part of an order and what its file is now; `data` is its `[[part]]` table as JSON.

    `file` to `round` are None while nothing has come for it.
    """

    name: str
    side: str | None
    data: str
    spec_digest: str | None
    verdict: str | None
    file: str | None = None
    file_id: int | None = None
    digest: str | None = None
    page: int | None = None
    why: str | None = None
    round: int | None = None


@dataclass(frozen=True, slots=True)
class Decision:
    """What somebody decided. It is `in_force` until the finding changes or is decided anew."""

    finding: int
    kind: Decide
    why: str
    by: str
    role: Role
    at: datetime
    round: int
    in_force: bool


@dataclass(frozen=True, slots=True)
class FindingLine:
    """A finding through all rounds. `data` is the latest `Finding` as JSON (see `stored`).

    It is `open` while it is there, is no note, and nobody has accepted it.
    """

    number: int
    part: str | None
    check: str
    severity: str
    page: int | None
    message: str
    fix: str
    there: bool
    first_round: int
    last_round: int
    cured_round: int | None
    decision: Decision | None
    open: bool
    data: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """A question to the client and its answer."""

    id: int
    finding: int | None
    text: str
    asked_by: str
    asked_at: datetime
    answer: str | None
    answered_by: str | None
    answered_at: datetime | None


@dataclass(frozen=True, slots=True)
class Examination:
    """An order examined as it stood after a round; the digests are of kept files."""

    id: int
    round: int
    turn: int
    at: datetime
    version: str
    verdict: str
    crashed: bool
    result: str
    report: str
    proof: str | None


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter that was written for a round; `digest` is the kept text."""

    round: int
    at: datetime
    by: str
    digest: str


@dataclass(frozen=True, slots=True)
class SignOff:
    """The client's word on the proof with this digest."""

    round: int
    at: datetime
    name: str
    role: str
    choice: str
    remarks: str
    proof: str


@dataclass(frozen=True, slots=True)
class Release:
    """What went to plates; `manifest` and `proof` are digests of kept files."""

    revision: int
    round: int
    at: datetime
    by: str
    manifest: str
    proof: str


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """A line of the journal; `data` is JSON."""

    number: int
    at: datetime
    who: str
    act: str
    order: str | None
    data: str
    before: str
    digest: str


@dataclass(frozen=True, slots=True)
class Story:
    """All that is known of an order, each list in the order things happened."""

    line: OrderLine
    head: str
    parts: tuple[PartLine, ...]
    deliveries: tuple[Delivery, ...]
    examinations: tuple[Examination, ...]
    findings: tuple[FindingLine, ...]
    decisions: tuple[Decision, ...]
    questions: tuple[Question, ...]
    letters: tuple[Letter, ...]
    signoffs: tuple[SignOff, ...]
    releases: tuple[Release, ...]
    journal: tuple[JournalEntry, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        """The names of parts that nothing has come for."""
        return tuple(part.name for part in self.parts if part.digest is None)

    @property
    def open(self) -> tuple[FindingLine, ...]:
        """The findings that keep the order from plates, the gravest first."""
        return tuple(
            sorted((f for f in self.findings if f.open), key=lambda f: f.severity != "stop")
        )

    @property
    def examined(self) -> bool:
        """Whether the files as they are now have been looked at."""
        return bool(self.deliveries) and all(d.state == "examined" for d in self.deliveries[-1:])
