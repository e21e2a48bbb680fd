"""size.off-centre: the TrimBox does not lie on the page's centre."""

from __future__ import annotations

import math
from collections.abc import Iterator

from prepcheck.findings import Mark, Severity
from prepcheck.geometry import Affine
from prepcheck.measure.trim import TrimRule, cut_lines
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.model import TOLERANCE_MM
from prepcheck.words import mm

OFF_CENTRE = "size.off-centre"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        OFF_CENTRE,
        "Trim lies on the page's centre",
        FoundAt.PLATES,
        (Severity.QUERY,),
        "Labels are laid out on the sheet by the centre of the page as often as by the TrimBox. "
        "Where the two differ, the hole is drilled beside the centre of the art.",
        "common practice, no source",
        codes=("off-centre",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    yield _judge(exam, sheet)


def _judge(exam: Exam, sheet: Sheet) -> Said:
    placement, boxes = sheet.placement, sheet.page.boxes
    if placement.found_by is not TrimRule.TRIM_BOX:
        return NotApplicable(OFF_CENTRE, "the page has no TrimBox")
    page = boxes.crop or boxes.media
    turn_and_scale = placement.to_piece._replace(e=0.0, f=0.0)
    right, up = turn_and_scale.at(
        placement.trim.centre.x - page.centre.x, placement.trim.centre.y - page.centre.y
    )
    off = math.hypot(right, up)
    if off <= TOLERANCE_MM:
        return Clear(OFF_CENTRE, "the TrimBox lies on the page's centre", round(off, 3), 0.0, "mm")
    if _is_cut_there(exam, sheet):
        why = "the cut lines on their processing-steps layer lie on the TrimBox"
        return Clear(OFF_CENTRE, why, round(off, 3), 0.0, "mm")
    where = " and ".join(
        f"{mm(abs(value))} {words[value < 0]}"
        for value, words in (
            (right, ("to the right of", "to the left of")),
            (up, ("above", "below")),
        )
        if abs(value) > TOLERANCE_MM / 2
    )
    centre = placement.to_piece.at(*page.centre)
    cross = Affine.move(*centre).box(sheet.outline.bounds)
    return exam.finding(
        OFF_CENTRE,
        "off-centre",
        Severity.QUERY,
        f"The TrimBox lies {where} the page's centre.",
        "Please centre the piece on the page, or tell the plant that the TrimBox is right.",
        source=DECLARATIONS[0].source,
        page=sheet.number,
        measured=round(off, 2),
        required=0.0,
        unit="mm",
        marks=(Mark(cross, "trim if the page's centre counts", value=round(off, 2)),),
    )


def _is_cut_there(exam: Exam, sheet: Sheet) -> bool:
    """Say whether cut lines of the file's own leave no doubt where the trim lies."""
    cut = cut_lines(sheet.content, exam.artwork.document.layers)
    if cut is None:
        return False
    trim = sheet.placement.to_piece.box(sheet.placement.trim)
    return cut.holds(trim, TOLERANCE_MM) and trim.holds(cut, TOLERANCE_MM)
