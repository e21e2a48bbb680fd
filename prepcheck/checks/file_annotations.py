"""Annotations on the art."""

from collections.abc import Iterator

from prepcheck.art.model import ArtKind
from prepcheck.findings import Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam
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


def examine(exam: Exam) -> Iterator[Said]:
    if exam.artwork.kind is not ArtKind.PDF:
        yield NotApplicable(CHECK, NO_PDF)
        return
    seen, found = 0, False
    for sheet in exam.sheets:
        marks = []
        printing = 0
        for annotation in sheet.page.annotations:
            seen += 1
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
            found = True
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
    if not found:
        yield Clear(
            CHECK,
            f"{count(seen, 'annotation')}, none on the art" if seen else "no annotations",
            0.0,
            0.0,
            "annotations",
        )
