"""hole.drawn: the hole blanked out, filled or outlined in the art."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Mark, Severity
from prepcheck.geometry import Box, Point
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import hole_in_art
from prepcheck.words import mm

DRAWN = "hole.drawn"

DECLARATIONS = (
    Declaration(
        DRAWN,
        "No hole is drawn in the art",
        FoundAt.CUTTING,
        (Severity.QUERY,),
        "The drill makes the hole. One that is blanked out or outlined in the art lies up to "
        "1.5 mm beside the drilled one, and shows as a white or dark crescent on every label.",
        "common practice of record plants: published guides ask not to draw the hole",
        codes=("drawn",),
        limits=("hole.diameter_mm",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    yield _judge(exam, sheet)


def _judge(exam: Exam, sheet: Sheet) -> Said:
    hole = sheet.outline.hole
    if hole is None:
        return NotApplicable(DRAWN, "the piece has no hole")
    drawn = hole_in_art(exam, sheet, hole)
    if drawn is None:
        return Clear(DRAWN, "no hole is drawn in the art")
    x, y, radius = drawn.circle
    diameter = round(2 * radius, 2)
    ring = tuple(Point(float(a), float(b)) for a, b in drawn.circle.points(73))
    return exam.finding(
        DRAWN,
        "drawn",
        Severity.QUERY,
        f"The hole is {drawn.how} in the art, {mm(diameter)} across. The one that is drilled, "
        f"{mm(2 * hole.radius)} across, lies beside it where the print is off.",
        "Please let the ground run right across the hole and take the drawn hole out.",
        source=exam.spec.source_of("hole.diameter_mm"),
        page=sheet.number,
        measured=diameter,
        required=None,
        unit="mm",
        marks=(Mark(Box.centred(diameter, diameter, (x, y)), f"hole {drawn.how}", ring, diameter),),
    )
