"""size.rotated: the page carries /Rotate, or the piece lies turned by 90 degrees."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, Said
from prepcheck.sheets.exam import Exam, Sheet

ROTATED = "size.rotated"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        ROTATED,
        "Page is the right way up",
        FoundAt.PLATES,
        (Severity.QUERY,),
        "Some programs heed a page's rotation and some do not. A turned label still fits its "
        "disc and a turned square sleeve its board, so nobody sees it before the first record.",
        "ISO 32000-2, Table 31 (Rotate)",
        codes=("rotated",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    for sheet in exam.sheets:
        yield _judge(exam, sheet)


def _judge(exam: Exam, sheet: Sheet) -> Said:
    rotate, turned = sheet.page.rotate, sheet.placement.turned
    if not rotate and not turned:
        return Clear(ROTATED, "the page is not rotated and lies the right way", 0.0, 0.0, "degrees")
    reasons = []
    if rotate:
        reasons.append(f"the page is shown rotated {rotate} degrees clockwise by the file")
    if turned:
        reasons.append("the piece lies on its side and fits only when turned by 90 degrees")
    message = " and ".join(reasons)
    return exam.finding(
        ROTATED,
        "rotated",
        Severity.QUERY,
        f"{message[0].upper()}{message[1:]}.",
        "Export the page upright, without rotation, and look at the proof for the way up.",
        source=DECLARATIONS[0].source,
        page=sheet.number,
        measured=float(turned or rotate),
        required=0.0,
        unit="degrees",
        marks=(Mark(sheet.outline.bounds, "way up?"),),
    )
