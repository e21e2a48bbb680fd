"""spine.too-narrow: type that is larger than the spine has room for."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.spines import NO_SPINE, NO_TYPE, SpineType, spine_types, spines_of
from prepcheck.sheets.thresholds import short_of
from prepcheck.spec.model import TOLERANCE_MM
from prepcheck.words import mm

NARROW = "spine.too-narrow"
LEAST = "clearance.fold.least_mm"

DECLARATIONS = (
    Declaration(
        NARROW,
        "Type fits the spine",
        FoundAt.FOLDING,
        (Severity.STOP,),
        "A spine is folded on both sides of its type. Type that leaves no room on either side "
        "cannot be centred: wherever the fold falls, it creases letters or turns them round the "
        "corner.",
        "common practice of record plants",
        codes=("type-tall",),
        limits=(LEAST,),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    limits = exam.spec.clearance.fold
    if not spines_of(sheet):
        yield NotApplicable(NARROW, NO_SPINE)
        return
    if limits is None:
        yield NotApplicable(NARROW, "the spec asks for no room beside folds")
        return
    found = spine_types(exam, sheet)
    if not found:
        yield NotApplicable(NARROW, NO_TYPE)
    for on_spine in found:
        yield _judge(exam, sheet, on_spine, limits.least_mm)


def _judge(exam: Exam, sheet: Sheet, on_spine: SpineType, least: float) -> Finding | Clear:
    room = max(on_spine.width - 2 * least, 0.0)
    largest = max(on_spine.size(line.box) for line in on_spine.lines)
    name = on_spine.spine.name
    if not short_of(room, largest, TOLERANCE_MM):
        why = f"the largest type on the {name} is {mm(largest)} tall, with room for {mm(room)}"
        return Clear(NARROW, why, round(largest, 2), round(room, 2), "mm")
    marks = tuple(
        Mark(line.box, _label(line.text, size), value=round(size, 2), rank=-round(size, 3))
        for line in on_spine.lines
        for size in (on_spine.size(line.box),)
        if short_of(room, size, TOLERANCE_MM)
    )
    return exam.finding(
        NARROW,
        "type-tall",
        Severity.STOP,
        f"{on_spine.what} on the {name} is {mm(largest)} tall; a spine of {mm(on_spine.width)} "
        f"with {mm(least)} clear of each fold has room for {mm(room)}.",
        f"Please set the type smaller, at most {mm(room)} from the top of the tallest letter to "
        "the foot of the lowest.",
        limit=LEAST,
        page=sheet.number,
        measured=round(largest, 2),
        required=round(room, 2),
        unit="mm",
        subject=on_spine.spine.name,
        marks=marks,
    )


def _label(text: str, size: float) -> str:
    return f"'{text}' {mm(size)}" if text else mm(size)
