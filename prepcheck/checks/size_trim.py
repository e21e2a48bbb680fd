"""size.trim: the trimmed size against the spec, both axes."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.measure.trim import MOST_BLEED_MM, ROUNDING_MM, TrimRule
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.margins import odd_margin
from prepcheck.words import mm, size

TRIM = "size.trim"
LIMIT = "outline.trim_tolerance_mm"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        TRIM,
        "Trimmed size is right",
        FoundAt.CUTTING,
        (Severity.STOP, Severity.QUERY),
        "The plant cuts every piece to the size it has tools for. Art drawn for another size is "
        "cut into, or leaves bare paper round it, and a label too large for its recess in the "
        "record folds up in the press. Where only the size of the page tells, and it is neither "
        "the trim nor the trim with the wanted bleed, two sizes may be meant.",
        "common practice of record plants; the largest label area by JIS S8502-1973",
        codes=("size", "two-readings"),
        limits=("outline", LIMIT),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    yield _judge(exam, sheet)


def _judge(exam: Exam, sheet: Sheet) -> Said:
    placement, wanted = sheet.placement, sheet.outline.bounds
    width, height = placement.size_mm
    tolerance = exam.spec.outline.trim_tolerance_mm
    required = size(wanted.width, wanted.height)
    over = (width - wanted.width, height - wanted.height)
    within = max(abs(value) for value in over) <= tolerance + ROUNDING_MM
    margin = odd_margin(exam, sheet) if within else None
    if margin is not None:
        return _two_readings(exam, sheet, margin)
    if within and not placement.found_by.measures_size:
        why = f"the file states no size that could be judged ({placement.found_by})"
        return NotApplicable(TRIM, why)
    measured = size(width, height)
    enlarged = "" if placement.factor == 1 else f" once enlarged {placement.factor:.4g} times"
    if within:
        why = f"the trim measures {measured} mm{enlarged} ({placement.found_by})"
        return Clear(TRIM, why, measured, required, "mm")
    amounts = (
        f"{mm(abs(value))} too {words[value < 0]}"
        for value, words in zip(over, (("wide", "narrow"), ("high", "low")), strict=True)
        if abs(value) > tolerance + ROUNDING_MM
    )
    return exam.finding(
        TRIM,
        "size",
        Severity.STOP,
        f"The trim measures {measured} mm{enlarged} where {required} mm is cut: "
        f"{' and '.join(amounts)}.",
        _advice(placement.found_by, over, required),
        limit=LIMIT,
        page=sheet.number,
        measured=measured,
        required=required,
        unit="mm",
        marks=(Mark(placement.to_piece.box(placement.trim), f"{measured} mm"),),
    )


def _two_readings(exam: Exam, sheet: Sheet, margin: float) -> Finding:
    placement, wanted, bleed = sheet.placement, sheet.outline.bounds, exam.spec.bleed.wanted_mm
    width, height = placement.size_mm
    other = size(width + 2 * (margin - bleed), height + 2 * (margin - bleed))
    whole = size(width + 2 * margin, height + 2 * margin)
    required = size(wanted.width, wanted.height)
    sent = size(wanted.width + 2 * bleed, wanted.height + 2 * bleed)
    return exam.finding(
        TRIM,
        "two-readings",
        Severity.QUERY,
        f"The page measures {whole} mm and states no trim: that is {other} mm with {mm(bleed)} of "
        f"bleed, or {required} mm with {mm(margin)}. The second was taken.",
        f"Please say which is meant; art for {required} mm measures {sent} mm with {mm(bleed)} of "
        f"bleed on each side{'' if exam.is_raster else ', and has a TrimBox'}.",
        limit=LIMIT,
        page=sheet.number,
        measured=whole,
        required=sent,
        unit="mm",
        marks=(Mark(placement.to_piece.box(placement.trim), f"{required} mm?"),),
    )


def _advice(rule: TrimRule, over: tuple[float, float], required: str) -> str:
    bleed = sum(over) / 4
    even = abs(over[0] - over[1]) <= 2 * ROUNDING_MM
    if rule is TrimRule.TRIM_BOX and even and 0 < bleed <= MOST_BLEED_MM:
        return (
            f"Please set the TrimBox to {required} mm and leave the art as it is if it holds "
            f"{mm(bleed)} of bleed on each side; else redraw the art to size."
        )
    return f"Please redraw the art for a trim of {required} mm and set the TrimBox to it."
