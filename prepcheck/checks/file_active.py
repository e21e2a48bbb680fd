"""Scripts, forms, embedded files and media."""

from collections.abc import Iterator

from prepcheck.art.model import ArtKind
from prepcheck.findings import Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.surroundings import NO_PDF
from prepcheck.words import count, listed

CHECK = "file.active"
_SOURCE = "ISO 15930 (PDF/X) allows no scripts, forms or media; ISO 32000-2, 12.6 and 12.7"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "No scripts, forms or embedded files",
        FoundAt.PLATES,
        (Severity.STOP,),
        "A printing file holds ink on paper and nothing else. Scripts and form fields may change "
        "what is printed, and plate makers refuse files that carry programs or attachments.",
        _SOURCE,
        codes=("active",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    if exam.artwork.kind is not ArtKind.PDF:
        yield NotApplicable(CHECK, NO_PDF)
        return
    facts = exam.artwork.document
    held = [
        *(f"a script ({where})" for where in facts.scripts),
        *([count(facts.form_fields, "form field")] if facts.form_fields else []),
        *(f"the embedded file '{name}'" for name in facts.embedded_files),
        *(f"media ({where})" for where in facts.media),
    ]
    if held:
        yield exam.finding(
            CHECK,
            "active",
            Severity.STOP,
            f"The PDF carries {listed(held)}.",
            "Please export a plain PDF for print, without forms, scripts or attachments.",
            source=_SOURCE,
            measured=listed(held),
            required="none",
        )
    else:
        yield Clear(CHECK, "no scripts, forms, embedded files or media")
