"""Encryption."""

from collections.abc import Iterator

from prepcheck.art.model import ArtKind
from prepcheck.findings import Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.surroundings import NO_PDF

CHECK = "file.encrypted"
_SOURCE = "ISO 15930 (PDF/X) allows no encryption; ISO 32000-2, 7.6"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "File is not encrypted",
        FoundAt.PLATES,
        (Severity.STOP,),
        "An encrypted file may open on screen and still be refused where plates are made, because "
        "printing or changing it is not permitted.",
        _SOURCE,
        codes=("encrypted",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    if exam.artwork.kind is not ArtKind.PDF:
        yield NotApplicable(CHECK, NO_PDF)
    elif exam.artwork.document.encrypted:
        yield exam.finding(
            CHECK,
            "encrypted",
            Severity.STOP,
            "The PDF is encrypted, though it opens without a password.",
            "Please export it again with all security settings off.",
            source=_SOURCE,
            measured="encrypted",
            required="not encrypted",
        )
    else:
        yield Clear(CHECK, "not encrypted")
