"""spine.off-centre: type on the spine that does not stand in its middle."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Finding, Severity
from prepcheck.measure.folds import folds_of
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.spines import NO_SPINE, NO_TYPE, SpineType, line_marks, spine_types, spines_of
from prepcheck.sheets.thresholds import judge_least
from prepcheck.spec.model import TOLERANCE_MM
from prepcheck.spec.sleeve import SpineRules
from prepcheck.words import mm

OFF = "spine.off-centre"
MEASURE = "spine_off_centre_mm"
WANTED, MOST = "spine.off_centre.wanted_mm", "spine.off_centre.most_mm"

DECLARATIONS = (
    Declaration(
        OFF,
        "Type stands in the middle of the spine",
        FoundAt.FOLDING,
        (Severity.STOP, Severity.QUERY),
        "The fold wanders by up to a millimetre. Type that stands off the middle of a narrow "
        "spine to begin with slides round the corner on part of the run, and the row of records "
        "on the shelf shows it.",
        "common practice of record plants",
        codes=("off-centre",),
        limits=(WANTED, MOST),
        measures=(MEASURE,),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    rules, worst = exam.spec.spine, None
    if not spines_of(sheet):
        yield NotApplicable(OFF, NO_SPINE)
    elif rules is None:
        yield NotApplicable(OFF, "the spec says nothing of the spine")
    else:
        found = [(on_spine, _off(on_spine)) for on_spine in spine_types(exam, sheet)]
        if found:
            worst = round(max(abs(off) for _, off in found), 2)
        else:
            yield NotApplicable(OFF, NO_TYPE)
        for on_spine, off in found:
            yield _judge(exam, sheet, on_spine, off, rules)
    yield Measured(MEASURE, worst, "most")


def _off(on_spine: SpineType) -> float:
    """Return how far the middle of the type lies off the spine's, towards larger coordinates."""
    return on_spine.box.centre[on_spine.axis] - on_spine.spine.box.centre[on_spine.axis]


def _judge(
    exam: Exam, sheet: Sheet, on_spine: SpineType, off: float, rules: SpineRules
) -> Finding | Clear:
    wanted, most = rules.off_centre.wanted_mm, rules.off_centre.most_mm
    name = on_spine.spine.name
    severity = judge_least(-abs(off), -most, -wanted, TOLERANCE_MM)
    if severity is None:
        where = f"{mm(abs(off))} off the middle" if abs(off) >= TOLERANCE_MM else "in the middle"
        why = f"{on_spine.what.lower()} stands {where} of the {name}"
        return Clear(OFF, why, round(abs(off), 2), wanted, "mm")
    stops = severity is Severity.STOP
    limit = most if stops else wanted
    sides = _sides(sheet, on_spine)
    here, there = (sides[1], sides[0]) if off > 0 else sides
    return exam.finding(
        OFF,
        "off-centre",
        severity,
        f"{on_spine.what} on the {name} stands {mm(abs(off))} off its middle, towards the {here}; "
        f"at most {mm(limit)} is {'allowed' if stops else 'wanted'}.",
        f"Please move what stands on the {name} {mm(abs(off))} towards the {there}.",
        limit=MOST if stops else WANTED,
        page=sheet.number,
        measured=round(abs(off), 2),
        subject=on_spine.spine.name,
        marks=line_marks(on_spine.lines, f"off the middle by {mm(abs(off))}", abs(off)),
    )


def _sides(sheet: Sheet, on_spine: SpineType) -> tuple[str, str]:
    """Return the names of what lies on the sides of smaller and of larger coordinates."""
    before, after = ("left", "right") if on_spine.axis == 0 else ("bottom", "top")
    for fold in folds_of(sheet.outline):
        if fold.axis != on_spine.axis:
            continue
        if fold.after.name == on_spine.spine.name:
            before = fold.before.name
        if fold.before.name == on_spine.spine.name:
            after = fold.after.name
    return before, after
