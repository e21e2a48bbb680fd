"""What a file's plates carry: a table for people, and JSON (schema `prepcheck-plates/1`)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass

from prepcheck.report.console import columns_of, wrapped
from prepcheck.report.json import rounded

SCHEMA = "prepcheck-plates/1"
WIDTH = 80
_COLUMNS = (("tone %", 8), ("solid mm²", 11), ("quote mm²", 11), ("inked mm²", 11))
_NAME = 31
_MEANING = (
    "Tone is the mean over the finished face, solid the area of solid ink that it adds up to; "
    "quote is the same with the bleed and the hole, by which ink is reckoned; inked is the area "
    "of the face with any of the ink."
)


@dataclass(frozen=True, slots=True)
class PlateFacts:
    """One plate: its ink, the file it was written to, and what it carries.

    `percent` is the mean tone of the finished face, `solid_mm2` its ink as an area of solid,
    `sheet_mm2` the same with the bleed and the hole, `printed_mm2` the area with any of it.
    """

    ink: str
    file: str
    percent: float
    solid_mm2: float
    sheet_mm2: float
    printed_mm2: float


@dataclass(frozen=True, slots=True)
class InkFacts:
    """All inks added up, in percent of one solid plate; None where no limit is known."""

    greatest_percent: float
    mean_percent: float
    limit_percent: float | None
    over_mm2: float | None


@dataclass(frozen=True, slots=True)
class UnknownInk:
    """Paint that has no ink amounts (RGB, Lab): the file that shows it, and its area."""

    file: str
    mm2: float


@dataclass(frozen=True, slots=True)
class PlatesPage:
    """The plates of one page (1-based `number`).

    `face_mm2` is the area of the finished face; pixels of the plates are `pitch_mm` wide, and
    their upper left corner lies at `left_mm`, `top_mm` from the trimmed piece's centre, y up.
    """

    number: int
    trim_mm: tuple[float, float]
    trim_found_by: str
    face_mm2: float
    ppi: float
    pitch_mm: float
    left_mm: float
    top_mm: float
    width_px: int
    height_px: int
    plates: tuple[PlateFacts, ...]
    total: InkFacts
    ink_map: str
    not_in_inks: UnknownInk | None = None
    troubles: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    converted_by: str = ""
    """The output profile that RGB and Lab paint is counted by, in words; empty for none."""


@dataclass(frozen=True, slots=True)
class PlatesReport:
    """The plates of a file; `spec` is None where its pieces' size was not recognised."""

    version: str
    file: str
    sha256: str
    spec: str | None
    recognised_by: str
    pages: tuple[PlatesPage, ...]


def plates_json(report: PlatesReport) -> str:
    """Return the report as JSON text, ending in a line feed; floats have three decimals."""
    data = {"schema": SCHEMA, **asdict(report)}
    return json.dumps(rounded(data), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def plates_text(report: PlatesReport) -> str:
    """Return what the plates carry as lines of at most 80 columns."""
    lines = wrapped(report.file, WIDTH)
    known = f"{report.spec} ({report.recognised_by})" if report.spec else report.recognised_by
    lines += wrapped(known, WIDTH)
    for page in report.pages:
        lines += ["", *_page(page, len(report.pages) > 1)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _page(page: PlatesPage, is_one_of_several: bool) -> Iterator[str]:
    which = f"Page {page.number}: trim" if is_one_of_several else "Trim"
    width, height = page.trim_mm
    yield from wrapped(
        f"{which} {width:.1f} × {height:.1f} mm ({page.trim_found_by}), finished face "
        f"{page.face_mm2:,.0f} mm²; plates at {page.ppi:.0f} ppi",
        WIDTH,
    )
    yield ""
    yield _row("plate", [title for title, _ in _COLUMNS])
    yield _row("-" * _NAME, ["-" * (width - 1) for _, width in _COLUMNS])
    for plate in page.plates:
        cells = [
            f"{plate.percent:.1f}",
            f"{plate.solid_mm2:,.1f}",
            f"{plate.sheet_mm2:,.1f}",
            f"{plate.printed_mm2:,.1f}",
        ]
        first, *rest = wrapped(plate.ink, _NAME)
        yield _row(first, cells)
        yield from rest
    yield ""
    total = page.total
    limit = (
        "no limit known"
        if total.limit_percent is None
        else f"limit {total.limit_percent:g} %, {total.over_mm2 or 0.0:,.1f} mm² above it"
    )
    yield from wrapped(
        f"Total ink up to {total.greatest_percent:.0f} % ({limit}), {total.mean_percent:.0f} % on "
        "average.",
        WIDTH,
    )
    if page.not_in_inks is not None:
        yield from wrapped(
            f"{page.not_in_inks.mm2:,.0f} mm² are painted in RGB or Lab: their ink is not known "
            "and not counted.",
            WIDTH,
        )
    if page.converted_by:
        yield from wrapped(
            "Some colour is RGB or Lab in the file: its ink is what it comes to by "
            f"{page.converted_by}, not an amount in the file.",
            WIDTH,
        )
    for said in (*page.troubles, *page.limits):
        yield from wrapped(f"Note: {said}.", WIDTH)
    yield from wrapped(_MEANING, WIDTH)


def _row(name: str, cells: list[str]) -> str:
    row = name + " " * (_NAME - columns_of(name))
    for cell, (_, width) in zip(cells, _COLUMNS, strict=True):
        row += " " * max(1, width - columns_of(cell)) + cell
    return row
