"""Objects that overprint and so vanish, or let through what they seem to cover."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import compress

import numpy as np

from prepcheck.art.model import Paint
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.inks import of_known_inks
from prepcheck.sheets.lost import lost
from prepcheck.sheets.overprinting import Overprinting, showing_through
from prepcheck.sheets.surroundings import are_on_art, kept
from prepcheck.words import count

WHITE = "overprint.white"
LOST = "overprint.lost"

_DARK = 0.15
"""Lightness up to which a colour is meant to overprint."""

DECLARATIONS = (
    Declaration(
        WHITE,
        "White does not overprint",
        FoundAt.PRINTING,
        (Severity.STOP,),
        "White is where no ink is. Set to overprint it takes no ink away, and what shows white on "
        "screen is not there in print: a title, a barcode's ground, a price.",
        "ISO 32000-2, 8.6.7 and 11.7.4.3: an overprinting colour leaves the plates alone that it "
        "gives no ink; published guides of record plants: white must not overprint",
        codes=("white",),
    ),
    Declaration(
        LOST,
        "Nothing is lost or changed by overprinting",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "An overprinting object changes only the plates it has ink for. One in an ink that lies "
        "there already leaves no trace, and one in process colours lets a spot under it show "
        "through, though the screen shows it covering.",
        "ISO 32000-2, 8.6.7 and 11.7.4.3",
        codes=("lost", "spot-through"),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[int]:
    every = [*_overprinting(sheet)]
    objects = [*compress(every, are_on_art(exam, sheet, [one.box for one in every]).tolist())]
    yield from _said(exam, sheet, *lost(sheet, objects), showing_through(sheet, objects))
    return len(objects)


@of_known_inks
def conclude(exam: Exam, judged: Sequence[int]) -> Iterator[Said]:
    for check in (WHITE, LOST):
        if objects := sum(judged):
            yield Clear(check, f"{count(objects, 'object')} set to overprint, none of them lost")
        else:
            yield NotApplicable(check, "nothing is set to overprint but dark colours, if any")


def _said(
    exam: Exam,
    sheet: Sheet,
    vanished: list[Overprinting],
    traceless: list[Overprinting],
    through: dict[str, list[Overprinting]],
) -> Iterator[Finding]:
    if vanished:
        yield exam.finding(
            WHITE,
            "white",
            Severity.STOP,
            f"{count(len(vanished), 'white object')} set to overprint: white on screen, not "
            "there in print.",
            "Please take overprint off everything white.",
            source="ISO 32000-2, 11.7.4.3",
            page=sheet.number,
            measured=float(len(vanished)),
            required=0.0,
            unit="objects",
            marks=_marks(vanished),
        )
    if traceless:
        yield exam.finding(
            LOST,
            "lost",
            Severity.QUERY,
            f"{count(len(traceless), 'object')} set to overprint, seen on screen but on no "
            "plate: the ink lies there already.",
            "Please take overprint off, or choose a colour that differs from the ground.",
            source="ISO 32000-2, 11.7.4.3",
            page=sheet.number,
            measured=float(len(traceless)),
            required=0.0,
            unit="objects",
            marks=_marks(traceless),
        )
    for spot, objects in through.items():
        yield exam.finding(
            LOST,
            "spot-through",
            Severity.QUERY,
            f"The spot {spot} shows through {count(len(objects), 'object')} in process colours "
            "set to overprint.",
            "Please take overprint off, or tell us that the mix is meant.",
            source="ISO 32000-2, 11.7.4.3",
            page=sheet.number,
            measured=float(len(objects)),
            required=0.0,
            unit="objects",
            subject=spot,
            marks=_marks(objects),
        )


def _marks(objects: list[Overprinting]) -> tuple[Mark, ...]:
    return kept(Mark(one.box, one.word, rank=-one.box.area) for one in objects)


def _overprinting(sheet: Sheet) -> Iterator[Overprinting]:
    """Yield each paint that overprints, but for dark ones and what is almost clear."""
    content = sheet.content
    runs = content.type_table
    type_in = [[*filter(_counts, style.marks_with)] for style in runs.styles]
    some = np.array([bool(paints) for paints in type_in], np.bool_)[runs.style]
    for row in np.flatnonzero(some & runs.placed).tolist():
        parts = tuple(Box.around(glyph) for glyph in runs[row].glyphs)
        for paint in type_in[runs.style[row]]:
            yield Overprinting("type", runs.box(row), parts, paint)
    traits = content.path_traits
    some = np.array([*(_counts(one) or _fades(one) for one in traits.paints), False])
    rows = np.flatnonzero(some[traits.fill] | some[traits.stroke])
    columns = (content.path_boxes[rows], traits.fill[rows], traits.stroke[rows])
    for corners, *numbers in zip(*(column.tolist() for column in columns), strict=True):
        box = Box(*corners)
        for one in (traits.paints[number] for number in numbers if number >= 0):
            if _counts(one):
                yield Overprinting("shape", box, (box,), one)
            elif _fades(one):
                yield Overprinting("fade", box, (box,), None)
    for image in content.images:
        if image.visible is None:
            continue
        if image.is_mask:
            if image.paint is not None and _counts(image.paint):
                yield Overprinting("picture", image.visible, (image.visible,), image.paint)
        elif image.overprint and image.space.kind in ("cmyk", "grey"):
            yield Overprinting("picture", image.visible, (image.visible,), None)


def _counts(paint: Paint) -> bool:
    lit = paint.opacity > 0.5 and paint.pattern is None
    return paint.overprint and lit and paint.lightness > _DARK


def _fades(paint: Paint) -> bool:
    """Say whether a paint is an overprinting fade in process colours."""
    process = paint.space.kind in ("cmyk", "grey")
    return paint.overprint and paint.opacity > 0.5 and paint.pattern == "shading" and process
