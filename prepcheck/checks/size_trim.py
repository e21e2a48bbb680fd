"""size.trim: the trimmed size against the spec, both axes."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.measure.trim import MOST_BLEED_MM, ROUNDING_MM, TrimRule
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.words import mm, size

TRIM = "size.trim"
LIMIT = "outline.trim_tolerance_mm"
WIDEST_MM = 15.0
"""A page with a wider margin is a sheet that the piece was laid on, and tells no size."""

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
    margin = _margin(exam, sheet) if within else None
    if margin is not None and _has_two_readings(exam, margin):
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


def _margin(exam: Exam, sheet: Sheet) -> float | None:
    """Return the even margin in mm that a page has round the trim, where it states no trim; None
    where it is not even, or too wide for any bleed."""
    placement = sheet.placement
    if placement.found_by is TrimRule.PAGE_AND_BLEED:
        return placement.bleed_mm
    if placement.found_by is not TrimRule.BEST_FIT or placement.factor != 1:
        return None
    page, trim = sheet.page.boxes.crop or sheet.page.boxes.media, placement.trim
    across, up = (page.width - trim.width) / 2, (page.height - trim.height) / 2
    even = 2 * abs(across - up) <= exam.spec.outline.trim_tolerance_mm + ROUNDING_MM
    return (across + up) / 2 if even and 0 < min(across, up) <= WIDEST_MM else None


def _has_two_readings(exam: Exam, margin: float) -> bool:
    """Say whether a margin is another than the wanted bleed by more than the trim may be off."""
    odd = 2 * abs(margin - exam.spec.bleed.wanted_mm)
    return odd > exam.spec.outline.trim_tolerance_mm + ROUNDING_MM


def _two_readings(exam: Exam, sheet: Sheet, margin: float) -> Finding:
    placement, wanted, bleed = sheet.placement, sheet.outline.bounds, exam.spec.bleed.wanted_mm
    width, height = placement.size_mm
    other = size(width + 2 * (margin - bleed), height + 2 * (margin - bleed))
    whole = size(width + 2 * margin, height + 2 * margin)
    required = size(wanted.width, wanted.height)
    return exam.finding(
        TRIM,
        "two-readings",
        Severity.QUERY,
        f"The page measures {whole} mm and states no trim: that is {other} mm with {mm(bleed)} of "
        f"bleed, or {required} mm with {mm(margin)}. The second was taken.",
        f"Please say which is meant; art for {required} mm needs {mm(bleed)} of bleed on each side"
        + (" and a TrimBox." if not exam.is_raster else "."),
        limit=LIMIT,
        page=sheet.number,
        measured=whole,
        required=size(wanted.width + 2 * bleed, wanted.height + 2 * bleed),
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
