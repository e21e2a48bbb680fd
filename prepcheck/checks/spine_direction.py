"""spine.direction: type on the spine that reads the other way than the shelf wants."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Finding, Severity
from prepcheck.measure.type_direction import opposite, shares_by_way
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.spines import (
    NO_SPINE,
    NO_TYPE,
    SpineType,
    line_marks,
    spine_types,
    spines_of,
)

DIRECTION = "spine.direction"
SOURCE = "common practice of record plants: a published guide sets spines from top to bottom"
ON_ITS_SIDE = "the page is turned, so which way up it is meant cannot be told"
HALF = 0.5
_WORDS = {
    "right": "from top to bottom",
    "left": "from bottom to top",
    "up": "upright",
    "down": "upside down",
}

DECLARATIONS = (
    Declaration(
        DIRECTION,
        "Spine reads the usual way",
        FoundAt.SALE,
        (Severity.QUERY,),
        "On a shelf all spines are read with the head bent the same way: from top to bottom, so "
        "that the record lying on its back can be read too. One that runs the other way was in "
        "most cases turned by mistake.",
        SOURCE,
        codes=("direction",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    if not spines_of(sheet):
        yield NotApplicable(DIRECTION, NO_SPINE)
        return
    if sheet.placement.turned:
        yield NotApplicable(DIRECTION, ON_ITS_SIDE)
        return
    found = spine_types(exam, sheet)
    if not found:
        yield NotApplicable(DIRECTION, NO_TYPE)
    for on_spine in found:
        if len(on_spine.glyphs):
            yield _judge(exam, sheet, on_spine)
        else:
            why = "type on the spine is outlined and cannot be read; look at the proof"
            yield NotApplicable(DIRECTION, why)


def _judge(exam: Exam, sheet: Sheet, on_spine: SpineType) -> Finding | Clear:
    shares = shares_by_way(on_spine.glyphs)
    wanted = on_spine.spine.reads
    wrong = shares.get(opposite(wanted), 0.0)
    # Seen the right way up, as the panel will stand when folded.
    turned = wanted == "left"
    way = max(shares, key=lambda key: shares[key])
    if wrong <= HALF:
        why = f"type on the {on_spine.spine.name} reads {_said(way, turned)}"
        return Clear(DIRECTION, why, _said(way, turned), _said(wanted, turned))
    return exam.finding(
        DIRECTION,
        "direction",
        Severity.QUERY,
        f"Type on the {on_spine.spine.name} reads {_said(way, turned)}; {_said(wanted, turned)} "
        "is usual.",
        "Please turn the type by half a turn, or confirm that it is meant so.",
        source=SOURCE,
        page=sheet.number,
        measured=_said(way, turned),
        required=_said(wanted, turned),
        unit="",
        subject=on_spine.spine.name,
        marks=line_marks(on_spine.lines, f"reads {_said(way, turned)}", 0.0),
    )


def _said(way: str, turned: bool) -> str:
    """Return a way in words; `turned` for a spine that stands on its head in the flat."""
    return _WORDS[opposite(way) if turned else way]
