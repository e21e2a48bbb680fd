"""What a check declares of itself and what it may say.

A check is a module in `checks/` with `DECLARATIONS` and `examine(exam)`, or, where it looks at each
page of a part by itself, `examine_sheet(exam, sheet)`. They yield
`Finding`, `Clear`, `NotApplicable` and `Measured` values; for every identifier declared it must
say something, since silence is an error. It does no I/O, logs nothing and changes nothing.
Where pages add up, `examine_sheet` returns what is to be added, and `conclude(exam, seen)` says
what comes of all of them; what is clear or not applicable is said where no page had a finding.
`NEEDS_PLATES = False` says that it judges by what was read and never looks at how that prints, so
that it can run while the plates are being painted; `NEEDS_VIEW = False` that it looks at the plates
alone, so that it can run while the view is made of them.
"""

from __future__ import annotations

from collections.abc import Generator
from enum import StrEnum
from typing import Literal, TypeVar

from prepcheck.findings import Finding, Severity, Value
from prepcheck.frozen import dataclass


class FoundAt(StrEnum):
    """When in production the fault would be found without us, and what it costs by then."""

    INTAKE = "at the intake desk, when the file is opened: a mail and a day"
    PLATES = "when plates are made: the slot on the printing press"
    PRINTING = "on the printed sheet: paper, plates and the slot"
    CUTTING = "when labels are drilled and cut or sleeves punched: the printed stack"
    FOLDING = "when sleeves are creased, folded and glued: the printed sheets"
    PRESSING = "in the record press: labels, records and the slot"
    SALE = "by the buyer or at the till: the run"


@dataclass(frozen=True, slots=True)
class Declaration:
    """What a check looks for and why; `prepcheck explain` prints it."""

    identifier: str
    title: str
    found_at: FoundAt
    severities: tuple[Severity, ...]
    rationale: str
    source: str
    codes: tuple[str, ...]
    """The kinds of fault it tells apart; every finding carries one of them."""
    limits: tuple[str, ...] = ()
    """Dotted keys of the spec's limits it judges by."""
    measures: tuple[str, ...] = ()
    """Names of the measures it reports, unit in the name."""


@dataclass(frozen=True, slots=True)
class Clear:
    """Nothing wrong, with what was measured; of several pages the one nearest to its limit is
    shown."""

    check: str
    why: str
    measured: Value | None = None
    required: Value | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class NotApplicable:
    """Nothing to judge, with the reason; `untold` where there was something, and it could not be
    told what of it."""

    check: str
    why: str
    untold: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """A number for the report's `measured` table; of those of several pages the one to `keep`."""

    name: str
    value: Value | tuple[str, ...] | None
    keep: Literal["least", "most", "last"] = "last"


Said = Finding | Clear | NotApplicable | Measured

T = TypeVar("T")
PageSaid = Generator[Said, None, T]
"""What is said of a page, and what it returns to be added up over the pages of a piece."""


@dataclass(frozen=True, slots=True)
class Missing:
    """A piece the order needs and does not have, by the name people know it by."""

    name: str


@dataclass(frozen=True, slots=True)
class Explained:
    """What a check found on a part alone is part of a mistake of the order, and told there."""

    part: str
    check: str
    by: str
    code: str = ""
    """The kind of fault, where the check may have found others besides."""


OrderSaid = Finding | Clear | NotApplicable | Missing | Explained
