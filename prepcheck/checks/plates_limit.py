"""Where the plates made here may differ from those of the press."""

from collections.abc import Iterator, Sequence

from prepcheck.errors import CrashError
from prepcheck.findings import Severity
from prepcheck.said import Clear, Declaration, FoundAt, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet

CHECK = "plates.limit"

NEEDS_VIEW = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Plates show all that the file holds",
        FoundAt.PLATES,
        (Severity.QUERY, Severity.NOTE),
        "The plates shown and measured here follow ISO 32000-2 but for a few rare constructions. "
        "Where a file uses one, or an object had to be left out because it cannot be read, what "
        "is said of ink there may not hold, and somebody has to look.",
        "ISO 32000-2, 11.4 and 11.7",
        codes=("left-out", "limit"),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[None]:
    if sheet.plates.failed:
        raise CrashError(sheet.plates.failed)
    for trouble in sheet.plates.troubles:
        yield exam.finding(
            CHECK,
            "left-out",
            Severity.QUERY,
            f"Left out of the plates: {trouble.rstrip('.')}.",
            "Please export the file again, or look at this object on a proof made from the plates.",
            source="ISO 32000-2, 8.10 and 8.9",
            page=sheet.number,
            subject=trouble,
        )
    for limit in sheet.plates.limits:
        yield exam.finding(
            CHECK,
            "limit",
            Severity.NOTE,
            f"{limit[:1].upper()}{limit[1:].rstrip('.')}.",
            "Please look at this place on a proof made from the plates, or export the file "
            "with transparency flattened and without transfer functions.",
            source="ISO 32000-2, 10.5, 11.4.6 and 11.7.4",
            page=sheet.number,
            subject=limit,
        )


def conclude(exam: Exam, seen: Sequence[None]) -> Iterator[Said]:
    yield Clear(CHECK, "nothing in the way of following the file")
