"""fold.colour-break: a change of colour on a fold that is off it, or has nothing to spare."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.measure.foldcolour import ColourChange
from prepcheck.measure.folds import Fold
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.fold_colours import FoldChange, fold_changes
from prepcheck.sheets.thresholds import short_of, worst_first
from prepcheck.spec.model import TOLERANCE_MM
from prepcheck.spec.sleeve import Folding
from prepcheck.words import count, in_places, mm

BREAK = "fold.colour-break"
MEASURE = "fold_colour_off_mm"
OFF, OVERLAP = "fold.colour_off_mm", "fold.colour_overlap_mm"

DECLARATIONS = (
    Declaration(
        BREAK,
        "Colours change where the fold is",
        FoundAt.FOLDING,
        (Severity.QUERY,),
        "Where a colour is meant to change on a fold, a line off the fold is seen on every copy. "
        "A solid that ends exactly on it beside bare paper shows a white line wherever the fold "
        "wanders, unless it runs on across the fold a little.",
        "common practice of printers",
        codes=("beside", "bare"),
        limits=(OFF, OVERLAP),
        measures=(MEASURE,),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    rules = exam.spec.fold
    off: list[float] = []
    if not sheet.outline.folds:
        yield NotApplicable(BREAK, "the piece has no fold")
    elif rules is None:
        yield NotApplicable(BREAK, "the spec says nothing of colour on folds")
    else:
        found = [item for item in fold_changes(exam, sheet) if item.change is not None]
        off += [abs(item.change.off_mm) for item in found if item.change is not None]
        yield from _judge(exam, sheet, found, rules)
    yield Measured(MEASURE, round(max(off), 2) if off else None, "most")


def _judge(
    exam: Exam, sheet: Sheet, found: list[FoldChange], rules: Folding
) -> Iterator[Finding | Clear | NotApplicable]:
    stray, bare = [], []
    for fold, change in found:
        if change is None:
            continue
        overlap = _overlap(change)
        if overlap is None:
            if short_of(rules.colour_off_mm, abs(change.off_mm), TOLERANCE_MM):
                stray.append((fold, change))
        elif short_of(rules.colour_overlap_mm + rules.tolerance_mm, overlap, TOLERANCE_MM):
            stray.append((fold, change))
        elif short_of(overlap, rules.colour_overlap_mm, TOLERANCE_MM):
            bare.append((fold, change))
    if stray:
        yield _stray_finding(exam, sheet, stray, rules)
    if bare:
        yield _bare_finding(exam, sheet, bare, rules)
    if stray or bare:
        return
    if found:
        worst = max(abs(item.change.off_mm) for item in found if item.change is not None)
        why = f"colour changes on {count(len(found), 'fold')}, at most {mm(worst)} off"
        yield Clear(BREAK, why, round(worst, 2), rules.colour_off_mm, "mm")
    else:
        yield NotApplicable(BREAK, "no colour changes along a fold")


def _overlap(change: ColourChange) -> float | None:
    """Return how far a solid runs on past the fold on to bare paper; None between two colours."""
    if change.bare_before == change.bare_after:
        return None
    return change.off_mm if change.bare_after else -change.off_mm


def _stray_finding(
    exam: Exam, sheet: Sheet, found: list[tuple[Fold, ColourChange]], rules: Folding
) -> Finding:
    fold, change = max(found, key=lambda item: abs(item[1].off_mm))
    off = abs(change.off_mm)
    towards = (fold.after if change.off_mm > 0 else fold.before).name
    return exam.finding(
        BREAK,
        "beside",
        Severity.QUERY,
        f"The colour changes {mm(off)} off {fold.words}, on the {towards}"
        f"{in_places(len(found), 'fold')}.",
        "Please move the change on to the fold, or confirm that it is meant to lie beside it.",
        limit=OFF,
        page=sheet.number,
        measured=round(off, 2),
        marks=worst_first(
            [_mark(item, f"{mm(abs(item.off_mm))} off the fold") for _, item in found]
        ),
    )


def _bare_finding(
    exam: Exam, sheet: Sheet, found: list[tuple[Fold, ColourChange]], rules: Folding
) -> Finding:
    fold, change = min(found, key=lambda item: _overlap(item[1]) or 0.0)
    overlap = _overlap(change) or 0.0
    solid = (fold.before if change.bare_after else fold.after).name
    if overlap < -TOLERANCE_MM:
        how = f"ends {mm(-overlap)} short of {fold.words}"
    elif overlap <= TOLERANCE_MM:
        overlap = 0.0
        how = f"ends exactly on {fold.words}, with no overlap"
    else:
        how = f"runs only {mm(overlap)} past {fold.words}"
    return exam.finding(
        BREAK,
        "bare",
        Severity.QUERY,
        f"The solid of the {solid} {how}: white will show where the fold wanders"
        f"{in_places(len(found), 'fold')}.",
        f"Please run the solid {mm(rules.colour_overlap_mm)} on across the fold, or confirm that "
        "a white line may show.",
        limit=OVERLAP,
        page=sheet.number,
        measured=round(overlap, 2),
        marks=worst_first([_mark(item, _bare_label(item)) for _, item in found]),
    )


def _bare_label(change: ColourChange) -> str:
    overlap = _overlap(change) or 0.0
    if abs(overlap) <= TOLERANCE_MM:
        return "no overlap"
    return f"overlap {mm(overlap)}" if overlap > 0 else f"{mm(-overlap)} short of the fold"


def _mark(change: ColourChange, label: str) -> Mark:
    box = Box.around(change.path)
    return Mark(box, label, change.path, round(change.off_mm, 2), -round(abs(change.off_mm), 3))
