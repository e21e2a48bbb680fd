"""The contract between those who judge (`checks`) and those who show (`proof`, `report`).

Places are in mm in the piece's frame: origin at the centre of the trimmed piece, x right, y up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from enum import StrEnum

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, Point

NOT_EXAMINED, NOT_RECEIVED = "not-examined", "not-received"
"""Codes of what is found where no check could look: prepcheck itself failed on the file, of which
nothing is asked; the file has not come."""
Value = int | float | str
"""What was measured or required: a number in the finding's unit, or words."""


def unit_behind(shown: str, unit: str) -> str:
    """Return a unit as it stands behind a number as shown: '1 page', '2 pages', '1 mm'."""
    return unit[:-1] if shown == "1" and len(unit) > 3 and unit.endswith("s") else unit


class Severity(StrEnum):
    """How grave a finding is."""

    STOP = "stop"
    QUERY = "query"
    NOTE = "note"

    @property
    def weight(self) -> int:
        return {"note": 1, "query": 2, "stop": 3}[self.value]


class Verdict(StrEnum):
    """What becomes of a part or an order; what was not examined whole is never clear."""

    CLEAR = "clear"
    QUERY = "query"
    STOP = "stop"

    @property
    def weight(self) -> int:
        return {"clear": 0, "query": 2, "stop": 3}[self.value]

    @classmethod
    def worst(cls, verdicts: Iterable[Verdict]) -> Verdict:
        """Return the gravest verdict; clear when there is none."""
        return max(verdicts, key=lambda verdict: verdict.weight, default=cls.CLEAR)

    @classmethod
    def of(cls, severities: Iterable[Severity], crashed: bool = False) -> Verdict:
        """Return the verdict that findings of these severities lead to; notes stay clear. Where a
        check failed a person has to look, so that nothing is clear there."""
        levels = {severity.value for severity in severities} | ({"query"} if crashed else set())
        return next((cls(level) for level in ("stop", "query") if level in levels), cls.CLEAR)


class Status(StrEnum):
    """What a check said about a part."""

    CLEAR = "clear"
    STOP = "stop"
    QUERY = "query"
    NOTE = "note"
    NOT_APPLICABLE = "not-applicable"
    CRASHED = "crashed"


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in mm and what is to be said of it.

    `box` always holds the place; `path` follows it more closely where the place is a line (the
    arc of a short bleed). `value` is what was measured there, in the finding's unit; the smaller
    `rank` is, the worse the place. In a finding of an order, `part` names the part whose frame
    the place is in, and `page` the page of that part; '' is every part the finding names.
    `subject` names what stands there, as it would in a sentence: the line '℗ 2026 …'.
    """

    box: Box
    label: str = ""
    path: tuple[Point, ...] = ()
    value: float | None = None
    rank: float = 0.0
    part: str = ""
    page: int | None = None
    subject: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to correct, decide or know, with every place it was found on one page.

    `code` names the kind of fault within its check, `subject` the thing it is about (an ink, a
    face, a part's text) and `limit` the dotted key of the spec's limit that judged it: programs
    tell findings apart by these, never by prose. `parts` names the parts that a finding of an
    order concerns; it counts in the verdict of each. `to_confirm` are texts that a person must
    look for at the places given, each to be ticked on the proof. `number` tells it apart in the
    whole result, from 1 (see `numbering`); 0 where it has none yet.
    """

    check: str
    severity: Severity
    message: str
    fix: str
    source: str
    page: int | None = None
    measured: Value | None = None
    required: Value | None = None
    unit: str = ""
    where: tuple[Mark, ...] = ()
    code: str = ""
    subject: str = ""
    limit: str = ""
    parts: tuple[str, ...] = ()
    to_confirm: tuple[str, ...] = ()
    number: int = 0

    def places_on(self, part: str) -> tuple[Mark, ...]:
        """Return the places of a finding of an order that lie on one of its parts."""
        return tuple(mark for mark in self.where if mark.part in ("", part))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one check said about one part: never silent, also when nothing was wrong.

    `title` says in a few words what the check makes sure of. `untold` says of a check that is not
    applicable that it looked and could not tell, so that a person should look.
    """

    check: str
    status: Status
    why: str
    measured: Value | None = None
    required: Value | None = None
    unit: str = ""
    title: str = ""
    untold: bool = False


@dataclass(frozen=True, slots=True)
class PartResult:
    """Everything said about one part.

    `trim_mm` is the trimmed width and height found in the file; `measured` maps a measure's name
    (unit in the name) to its value, None where there was nothing to measure. `of_order` are the
    findings of the order that name this part; they stand in `Result.findings` as well, once.
    """

    name: str
    file: str
    sha256: str
    bytes: int
    spec: str | None
    recognised_by: str
    pages: int
    trim_mm: tuple[float, float] | None
    trim_found_by: str | None
    outcomes: tuple[Outcome, ...]
    findings: tuple[Finding, ...]
    measured: Mapping[str, Value | tuple[str, ...] | None] = field(default_factory=dict)
    side: str | None = None
    of_order: tuple[Finding, ...] = ()
    received: bool = True
    """Whether its file is there. What was not received was not looked at: `file` is then the name
    the order gives it, or empty, and a finding asks for it."""
    kept_from: str = ""
    """Where the result is taken from when the file was not sent again: an earlier report, in
    words. Nothing of it can be shown."""

    @property
    def every(self) -> tuple[Finding, ...]:
        """Its own findings, then those of the order that concern it."""
        return (*self.findings, *self.of_order)

    @property
    def verdict(self) -> Verdict:
        return Verdict.of((finding.severity for finding in self.every), self.crashed)

    @property
    def crashed(self) -> bool:
        return any(outcome.status is Status.CRASHED for outcome in self.outcomes)


@dataclass(frozen=True, slots=True)
class OrderFacts:
    """What the order says of itself, as far as the proof and the report show it."""

    number: str | None = None
    client: str | None = None
    title: str | None = None
    catalogue: str | None = None
    format: str | None = None
    discs: int | None = None
    speed: str | None = None
    barcode: str | None = None
    quantity: int | None = None
    file: str | None = None


@dataclass(frozen=True, slots=True)
class Result:
    """The result of one order, or of loose art files checked together."""

    version: str
    order: OrderFacts | None
    parts: tuple[PartResult, ...]
    outcomes: tuple[Outcome, ...] = ()
    findings: tuple[Finding, ...] = ()
    missing: tuple[str, ...] = ()
    """Pieces the order needs and nobody sent, by the names people know them by."""
    spare: tuple[str, ...] = ()
    """Files that came with the order and that no part of it names."""

    @property
    def awaited(self) -> tuple[PartResult, ...]:
        """The parts of the order whose files have not come yet."""
        return tuple(part for part in self.parts if not part.received)

    @property
    def whole(self) -> str:
        """What a finding that names no single part is about, in words."""
        return "the files together" if self.order is None else "the order as a whole"

    @property
    def every(self) -> tuple[Finding, ...]:
        """Every finding once: those of the order, then those of the parts. All counts are of it."""
        return (*self.findings, *(finding for part in self.parts for finding in part.findings))

    @property
    def verdict(self) -> Verdict:
        own = Verdict.of((finding.severity for finding in self.findings), self.crashed)
        return Verdict.worst([own, *(part.verdict for part in self.parts)])

    @property
    def crashed(self) -> bool:
        own = any(outcome.status is Status.CRASHED for outcome in self.outcomes)
        return own or any(part.crashed for part in self.parts)


def shared_out(findings: Iterable[Finding], part: PartResult) -> PartResult:
    """Return a part with those findings of its order that name it."""
    own = tuple(finding for finding in findings if part.name in finding.parts)
    return replace(part, of_order=own)
