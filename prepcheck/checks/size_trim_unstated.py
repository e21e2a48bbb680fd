"""size.trim-unstated: no TrimBox, so a rule had to find the trim."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Mark, Severity
from prepcheck.measure.trim import TrimRule
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.margins import odd_margin
from prepcheck.words import size

UNSTATED = "size.trim-unstated"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        UNSTATED,
        "Trim is stated in the file",
        FoundAt.INTAKE,
        (Severity.QUERY,),
        "The TrimBox tells everyone down the line where the cut falls. Without it the plant "
        "guesses, and a guess of 3 mm puts the hole beside the centre of the art.",
        "ISO 32000-2, 14.11.2 (page boundaries); ISO 15930 (PDF/X) asks for a TrimBox or ArtBox",
        codes=("unstated",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    yield _judge(exam, sheet)


def _judge(exam: Exam, sheet: Sheet) -> Said:
    placement = sheet.placement
    width, height = placement.size_mm
    if placement.found_by is TrimRule.TRIM_BOX:
        return Clear(UNSTATED, "the page has a TrimBox", str(placement.found_by))
    if exam.is_raster and placement.found_by in (TrimRule.PAGE_AND_BLEED, TrimRule.PAGE):
        return NotApplicable(
            UNSTATED,
            f"a {exam.artwork.kind} states no trim ({placement.found_by})",
        )
    if odd_margin(exam, sheet) is not None:
        return NotApplicable(UNSTATED, "which of two sizes is meant is asked for; see size.trim")
    lies = f"taken to be {size(width, height)} mm ({placement.found_by})"
    if exam.is_raster:
        message = f"A {exam.artwork.kind} states no trim; it is {lies}."
        fix = (
            "Please save the picture at true size with its resolution, at the trim and an even "
            "bleed."
        )
    else:
        message = f"The page has no usable TrimBox; the trim is {lies}."
        fix = "Please export the PDF with the trim of the piece as its TrimBox."
    return exam.finding(
        UNSTATED,
        "unstated",
        Severity.QUERY,
        message,
        fix,
        source=DECLARATIONS[0].source,
        page=sheet.number,
        measured=str(placement.found_by),
        required=str(TrimRule.TRIM_BOX),
        unit="",
        marks=(Mark(placement.to_piece.box(placement.trim), "trim taken to be here"),),
    )
