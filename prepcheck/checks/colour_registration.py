"""The colour of every plate, meant for marks outside the art."""

from collections.abc import Iterator, Sequence

from prepcheck.art.model import ALL_INKS
from prepcheck.findings import Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import kept, on_art
from prepcheck.sheets.uses import KINDS, marks_with, uses_of
from prepcheck.words import count

CHECK = "colour.registration"
_SOURCE = "ISO 32000-2, 8.6.6.4 (Separation All); limiting it to marks is common practice"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Registration colour is on marks only",
        FoundAt.PRINTING,
        (Severity.STOP,),
        "The registration colour prints solid on every plate at once. It is meant for crop and "
        "register marks; type or areas in it take four inks or more, never dry, and show coloured "
        "edges.",
        _SOURCE,
        codes=("registration",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[int]:
    content = sheet.content
    named = ALL_INKS in content.inks
    on_all = uses_of(content, lambda colour: marks_with(colour, ALL_INKS))
    used = list(on_all) if named else []
    marks = [
        Mark(use.box, KINDS[use.kind][0], rank=-use.box.area)
        for use in used
        if on_art(exam, sheet, use.box)
    ]
    if marks:
        yield exam.finding(
            CHECK,
            "registration",
            Severity.STOP,
            f"{count(len(marks), 'object')} in the art painted in the registration colour, "
            "which prints on every plate.",
            "Please recolour these objects, black only where black is meant.",
            source=_SOURCE,
            page=sheet.number,
            measured=float(len(marks)),
            required=0.0,
            unit="objects",
            marks=kept(marks),
        )
    return len(used) - len(marks)


def conclude(exam: Exam, outside: Sequence[int]) -> Iterator[Said]:
    marks = sum(outside)
    why = f"{count(marks, 'mark')} outside the art" if marks else "not used"
    yield Clear(CHECK, why, 0.0, 0.0, "objects")
