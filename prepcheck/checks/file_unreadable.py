"""Files that cannot be read, and damage that was mended on the way."""

from collections.abc import Iterator, Sequence

from prepcheck.findings import Severity
from prepcheck.said import Clear, Declaration, FoundAt, Said
from prepcheck.sheets.exam import Exam
from prepcheck.words import count

CHECK = "file.unreadable"
MOST_TOLD = 3
"""Troubles told of one page; more of them help nobody."""
_SOURCE = "ISO 32000-2 (PDF), TIFF 6.0 and ITU-T T.81 (JPEG) say what a sound file is"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "File can be read",
        FoundAt.INTAKE,
        (Severity.STOP, Severity.QUERY, Severity.NOTE),
        "A damaged or locked file, or one of a kind that plates cannot be made from, stops the "
        "job at the door. Where only some of it is damaged, something may be missing from the "
        "print without anybody noticing.",
        _SOURCE,
        codes=(
            "unread",
            "not-examined",
            "piece-not-told",
            "part-unread",
            "not-at-the-start",
            "mended",
        ),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    lost: dict[int | None, list[str]] = {}
    for page, troubles in (
        (None, exam.artwork.troubles),
        *((sheet.number, sheet.content.troubles) for sheet in exam.sheets),
    ):
        if troubles:
            lost.setdefault(page, []).extend(dict.fromkeys(troubles))
    for page, told in lost.items():
        yield exam.finding(
            CHECK,
            "part-unread",
            Severity.QUERY,
            f"Part of the file could not be read: {_told(told)}",
            "Please look at the proof to see whether anything is missing, and save the file again "
            "if so.",
            source=_SOURCE,
            page=page,
            subject=_told(told),
        )
    stray = exam.artwork.document.stray_bytes
    if stray:
        yield exam.finding(
            CHECK,
            "not-at-the-start",
            Severity.QUERY,
            f"The file does not begin as a PDF: {count(stray, 'byte')} of something else stand "
            "before it, so it may be wrapped in another file, and what was checked may not be all "
            "of it.",
            "Please send the PDF itself, saved afresh, or tell us that the proof shows all of it.",
            source=_SOURCE,
            measured=float(stray),
            required=0.0,
            unit="bytes",
        )
    mended = tuple(dict.fromkeys(exam.artwork.document.troubles))
    if mended:
        yield exam.finding(
            CHECK,
            "mended",
            Severity.NOTE,
            f"Damage was mended on reading: {_told(mended)}",
            "Nothing need be done if the proof looks right; saving the file again would cure it.",
            source=_SOURCE,
        )
    if not lost and not mended and not stray:
        yield Clear(CHECK, f"{exam.artwork.kind} read without trouble")


def _told(troubles: Sequence[str]) -> str:
    """Return troubles as one text: the first few, and how many more there are."""
    more = len(troubles) - MOST_TOLD
    told = "; ".join(trouble.rstrip(".") for trouble in troubles[:MOST_TOLD])
    return f"{told}; and {more} more." if more > 0 else f"{told}."
