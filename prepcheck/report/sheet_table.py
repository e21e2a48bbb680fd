"""What a press sheet holds and needs: a table for people, and JSON (schema `prepcheck-sheet/1`)."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass

from prepcheck.report.console import columns_of, wrapped
from prepcheck.report.json import rounded
from prepcheck.words import count

SCHEMA = "prepcheck-sheet/1"
WIDTH = 80
_COLUMNS = (("faces mm²", 14), ("sheet mm²", 14), ("run m²", 11))
_NAME = 31
_MEANING = (
    "Ink is the area of solid that it adds up to: on the finished faces of a sheet, on the sheet "
    "with bleeds and holes, and on all sheets. Marks are not counted."
)


@dataclass(frozen=True, slots=True)
class SheetOrder:
    """What the order says of itself."""

    number: str
    client: str
    title: str
    catalogue: str
    quantity: int | None


@dataclass(frozen=True, slots=True)
class SheetPaper:
    """The sheet, mm. The gripper edge is the foot; `grain` is the edge along the fibres."""

    name: str
    width_mm: float
    height_mm: float
    gripper_mm: float
    margin_mm: float
    gap_mm: float
    grain: str


@dataclass(frozen=True, slots=True)
class SheetLabel:
    """A label on the sheet. `stops` are the findings it is printed despite."""

    name: str
    side: str | None
    file: str
    page: int
    sha256: str
    verdict: str
    a_sheet: int
    stops: tuple[str, ...] = ()
    turn: float = 0.0
    """Degrees, anticlockwise."""


@dataclass(frozen=True, slots=True)
class SheetPosition:
    """A label's centre, mm from the sheet's lower left corner."""

    label: str
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class SheetInk:
    """Solid ink of one plate on a sheet: on the finished faces, and with bleeds and holes."""

    ink: str
    solid_mm2: float
    sheet_mm2: float


@dataclass(frozen=True, slots=True)
class SheetReport:
    """A press sheet of labels."""

    version: str
    made_on: str
    order: SheetOrder | None
    paper: SheetPaper
    spec: str
    trim_mm: float
    bleed_mm: float
    hole_mm: float | None
    rows: str
    holds: int
    square_rows_hold: int
    staggered_rows_hold: int
    turn: float | None
    """Degrees by which all labels are turned; None where they differ."""
    labels: tuple[SheetLabel, ...]
    positions: tuple[SheetPosition, ...]
    quantity: int | None
    overs_percent: float
    sheets: int | None
    arithmetic: str
    plates: tuple[SheetInk, ...]
    despite: str
    pdf: str
    pdf_sha256: str
    notes: tuple[str, ...] = ()


def sheet_json(report: SheetReport) -> str:
    """Return the report as JSON text, ending in a line feed; floats have three decimals."""
    data = {"schema": SCHEMA, **asdict(report)}
    return json.dumps(rounded(data), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def sheet_text(report: SheetReport) -> str:
    """Return the report as lines of at most 80 columns."""
    paper = report.paper
    named = f"{paper.name}, " if paper.name else ""
    lines = wrapped(
        f"Sheet {named}{paper.width_mm:g} × {paper.height_mm:g} mm: "
        f"{count(len(report.positions), 'label')} in {report.rows} rows",
        WIDTH,
    )
    lines += wrapped(_why(report), WIDTH)
    for label in report.labels:
        who = label.name if label.side is None else f"{label.name} (side {label.side})"
        turned = f", turned by {label.turn:g}°" if label.turn else ""
        said = f"{label.a_sheet} of {who}, {label.file}{turned}: {label.verdict}"
        lines += wrapped(said, WIDTH)
    lines += ["", *wrapped(_sheets(report), WIDTH), ""]
    lines.append(_row("plate", [title for title, _ in _COLUMNS]))
    lines.append(_row("-" * _NAME, ["-" * (width - 1) for _, width in _COLUMNS]))
    for plate in report.plates:
        run = "-" if report.sheets is None else f"{plate.sheet_mm2 * report.sheets / 1e6:,.2f}"
        first, *rest = wrapped(plate.ink, _NAME)
        lines.append(_row(first, [f"{plate.solid_mm2:,.1f}", f"{plate.sheet_mm2:,.1f}", run]))
        lines += rest
    lines += ["", *wrapped(_MEANING, WIDTH)]
    if report.despite:
        lines += wrapped(f"Printed despite a stop: {report.despite}", WIDTH)
    for note in report.notes:
        lines += wrapped(f"Note: {note}.", WIDTH)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _why(report: SheetReport) -> str:
    said = (
        f"Square rows hold {report.square_rows_hold}, staggered ones {report.staggered_rows_hold}."
    )
    empty = report.holds - len(report.positions)
    if empty:
        stay = "stays" if empty == 1 else "stay"
        said += f" {count(empty, 'place')} of {report.holds} {stay} empty, so that shares hold."
    return said


def _sheets(report: SheetReport) -> str:
    if report.sheets is None:
        return "Sheets to print: not known, since no quantity is; say --quantity."
    return f"Sheets to print: {report.arithmetic}."


def _row(name: str, cells: list[str]) -> str:
    row = name + " " * (_NAME - columns_of(name))
    for cell, (_, width) in zip(cells, _COLUMNS, strict=True):
        row += " " * max(1, width - columns_of(cell)) + cell
    return row
