"""What is wanted of a press sheet, what its worker is given to do, and what it answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from pathlib import Path

from prepcheck.labelsheet.paper import Paper
from prepcheck.report.sheet_table import SheetOrder, SheetReport
from prepcheck.run.plate_use import PlatesUsed
from prepcheck.run.settings import Settings
from prepcheck.spec.model import Spec

_NONE_STATED: Mapping[str, int] = {}
_NONE_TURNED: Mapping[str, float] = {}


@dataclass(frozen=True)
class Wish:
    """What is wanted of a sheet. Labels are turned by `turn` degrees, or as `turns` says of them;
    `despite` is the reason to print art that must be corrected."""

    paper: Paper
    gap_mm: float = 2.0
    turn: float = 0.0
    turns: Mapping[str, float] = field(default_factory=lambda: _NONE_TURNED)
    shares: Mapping[str, int] = field(default_factory=lambda: _NONE_STATED)
    quantity: int | None = None
    overs_percent: Fraction = Fraction(0)
    despite: str = ""
    made_on: date = field(default_factory=date.today)


@dataclass(frozen=True)
class LabelTask:
    """A label to be placed: its name on the sheet, its file and page, and what was found."""

    name: str
    side: str | None
    file: str
    path: Path
    page: int | None
    spec: Spec
    verdict: str
    stops: tuple[str, ...]
    used: PlatesUsed | None = None
    """What its plates carry; None where that is still to be found out."""


@dataclass(frozen=True)
class SheetTask:
    """A sheet to be written into `folder`, by names that begin with `stem`."""

    labels: tuple[LabelTask, ...]
    wish: Wish
    order: SheetOrder | None
    folder: Path
    stem: str
    settings: Settings


@dataclass(frozen=True)
class SheetAnswer:
    """The report, or the kind of fault and its lines."""

    report: SheetReport | None = None
    fault: str = ""
    lines: tuple[str, ...] = ()
