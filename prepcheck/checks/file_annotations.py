"""Annotations on the art."""

from collections.abc import Iterator, Sequence

from prepcheck.art.model import ArtKind
from prepcheck.findings import Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import NO_PDF, kept, on_art
from prepcheck.words import count

CHECK = "file.annotations"
_SOURCE = "ISO 15930 (PDF/X): annotations lie outside the bleed; ISO 32000-2, 12.5"
_ALLOWED = frozenset({"Popup", "PrinterMark", "TrapNet"})
_NAMES = {
    "Text": "note", "FreeText": "note", "Highlight": "highlight", "Stamp": "stamp", "Link": "link",
    "Ink": "drawing", "Widget": "form field", "FileAttachment": "attachment",
}  # fmt: skip
"""What kinds of annotation are called; others by the format's own names."""
"""Subtypes that belong to another annotation or to print production itself."""

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "No annotations on the art",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "Notes, stamps and highlights may print, or vanish, depending on a setting; a correction "
        "that was written as a note is never carried out by itself.",
        _SOURCE,
        codes=("on-art",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[int]:
    marks = []
    printing = 0
    for annotation in sheet.page.annotations:
        box = sheet.placement.to_piece.box(annotation.box)
        if annotation.subtype in _ALLOWED:
            continue
        if annotation.prints or on_art(exam, sheet, box):
            printing += annotation.prints
            marks.append(
                Mark(
                    box,
                    _NAMES.get(annotation.subtype, annotation.subtype),
                    rank=-float(annotation.prints),
                )
            )
    if marks:
        notes = count(len(marks), "annotation")
        prints = "not set to print"
        if printing:
            prints = f"{printing} of them set to print" if len(marks) > 1 else "set to print"
        yield exam.finding(
            CHECK,
            "on-art",
            Severity.QUERY,
            f"{notes} on the art, {prints}.",
            "Please work the notes into the art or delete them, and export again.",
            source=_SOURCE,
            page=sheet.number,
            measured=float(len(marks)),
            required=0.0,
            unit="annotations",
            marks=kept(marks),
        )
    return len(sheet.page.annotations)


def conclude(exam: Exam, seen: Sequence[int]) -> Iterator[Said]:
    if exam.artwork.kind is not ArtKind.PDF:
        yield NotApplicable(CHECK, NO_PDF)
        return
    number = sum(seen)
    why = f"{count(number, 'annotation')}, none on the art" if number else "no annotations"
    yield Clear(CHECK, why, 0.0, 0.0, "annotations")
