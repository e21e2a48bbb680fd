"""Type whose font is not in the file."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np

from prepcheck.findings import Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import MOST_MARKS, kept
from prepcheck.words import count, listed

CHECK = "text.unembedded"
_SOURCE = "ISO 15930 (PDF/X): fonts embedded; plants ask for embedded or outlined type"
_FIX = "Please export again with all fonts embedded, or turn the type into outlines."
_UNUSED = "Nothing need be done, as nothing that prints is set in it; PDF/X has all fonts embedded."

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Fonts are embedded",
        FoundAt.PRINTING,
        (Severity.STOP, Severity.NOTE),
        "Where a font is not in the file, another one is put in its place: letters change their "
        "shape and width, lines run over, special signs turn into boxes.",
        _SOURCE,
        codes=("unembedded",),
    ),
)


def bare_name(font: str) -> str:
    """Return a font's name without slash and subset prefix (six capitals and a plus sign)."""
    name = font.removeprefix("/")
    prefix, plus, rest = name.partition("+")
    return rest if plus and len(prefix) == 6 and prefix.isalpha() and prefix.isupper() else name


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[int]:
    missing = {
        bare_name(font.name)
        for font in sheet.page.fonts
        if not font.embedded and font.subtype != "Type3"
    }
    places: dict[str, list[Mark]] = defaultdict(list)
    runs = sheet.content.type_table
    names_of = [bare_name(style.font) for style in runs.styles]
    lacks = np.array([name in missing for name in names_of], np.bool_)[runs.style]
    rows = np.flatnonzero(lacks & runs.paints & runs.placed)
    # Of all that is set in missing fonts the uppermost are shown, and no more are told apart.
    top = np.lexsort((runs.boxes[rows, 0], -runs.boxes[rows, 3]))
    for row in rows[top].tolist():
        name = names_of[runs.style[row]]
        if len(places[name]) < MOST_MARKS:
            places[name].append(Mark(runs.box(row), name))
    for severity, names in (
        (Severity.STOP, sorted(missing & places.keys())),
        (Severity.NOTE, sorted(missing - places.keys())),
    ):
        if not names:
            continue
        used = severity is Severity.STOP
        yield exam.finding(
            CHECK,
            "unembedded",
            severity,
            f"{count(len(names), 'font')} not embedded"
            f"{'' if used else ' (no type seen in it)'}: {listed(names)}.",
            _FIX if used else _UNUSED,
            source=_SOURCE,
            page=sheet.number,
            measured=listed(names),
            required="embedded",
            marks=kept(mark for name in names for mark in places[name]) if used else (),
        )
    return len(sheet.page.fonts)


def conclude(exam: Exam, named: Sequence[int]) -> Iterator[Said]:
    if fonts := sum(named):
        yield Clear(CHECK, f"{count(fonts, 'font')}, {'all ' if fonts > 1 else ''}embedded")
    else:
        yield NotApplicable(CHECK, "no live type")
