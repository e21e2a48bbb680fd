"""Files that cannot be read, and damage that was mended on the way."""

from collections.abc import Iterator

from prepcheck.checks._base import Clear, Declaration, Exam, FoundAt, Said
from prepcheck.findings import Finding, Severity

CHECK = "file.unreadable"
_SOURCE = "ISO 32000-2 (PDF), TIFF 6.0 and ITU-T T.81 (JPEG) say what a sound file is"

DECLARATIONS = (
    Declaration(
        CHECK,
        "File cannot be read",
        FoundAt.INTAKE,
        (Severity.STOP, Severity.QUERY, Severity.NOTE),
        "A damaged or locked file, or one of a kind that plates cannot be made from, stops the "
        "job at the door. Where only some of it is damaged, something may be missing from the "
        "print without anybody noticing.",
        _SOURCE,
    ),
)


def unreadable(reason: str) -> Finding:
    """Return the finding on a file that could not be examined; `reason` is one sentence."""
    return Finding(
        CHECK,
        Severity.STOP,
        reason,
        "Please save the artwork again as a PDF without a password, open it once to see that it "
        "is whole, and send us that file.",
        _SOURCE,
    )


def examine(exam: Exam) -> Iterator[Said]:
    lost: list[tuple[int | None, str]] = [(None, trouble) for trouble in exam.artwork.troubles]
    lost += [(s.number, trouble) for s in exam.sheets for trouble in s.content.troubles]
    for page, trouble in dict.fromkeys(lost):
        yield Finding(
            CHECK,
            Severity.QUERY,
            f"Part of the file could not be read: {trouble}",
            "Please look at the proof to see whether anything is missing, and save the file again "
            "if so.",
            _SOURCE,
            page=page,
        )
    for trouble in dict.fromkeys(exam.artwork.document.troubles):
        yield Finding(
            CHECK,
            Severity.NOTE,
            f"Damage was mended on reading: {trouble}",
            "Nothing to do if the proof looks right; saving the file again would cure it.",
            _SOURCE,
        )
    if not lost and not exam.artwork.document.troubles:
        yield Clear(CHECK, f"{exam.artwork.kind} read without trouble")
