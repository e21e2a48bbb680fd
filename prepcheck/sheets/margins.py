"""The margin that a page has round a trim that nobody stated."""

from __future__ import annotations

from prepcheck.measure.trim import ROUNDING_MM, TrimRule
from prepcheck.sheets.exam import Exam, Sheet

WIDEST_MM = 15.0
"""A page with a wider margin is a sheet that the piece was laid on, and tells no size."""


def odd_margin(exam: Exam, sheet: Sheet) -> float | None:
    """Return the even margin in mm round the trim of a page that states none, where it is another
    than the wanted bleed by more than the trim may be off: then two sizes may be meant."""
    margin = _margin(exam, sheet)
    if margin is None:
        return None
    odd = 2 * abs(margin - exam.spec.bleed.wanted_mm)
    return margin if odd > exam.spec.outline.trim_tolerance_mm + ROUNDING_MM else None


def _margin(exam: Exam, sheet: Sheet) -> float | None:
    """Return the even margin in mm; None where the trim is stated, or of another scale, and where
    it is not even, or too wide for any bleed."""
    placement = sheet.placement
    if placement.factor != 1:
        return None
    if placement.found_by is TrimRule.PAGE_AND_BLEED:
        return placement.bleed_mm
    if placement.found_by is not TrimRule.BEST_FIT:
        return None
    page, trim = sheet.page.boxes.crop or sheet.page.boxes.media, placement.trim
    across, up = (page.width - trim.width) / 2, (page.height - trim.height) / 2
    even = 2 * abs(across - up) <= exam.spec.outline.trim_tolerance_mm + ROUNDING_MM
    return (across + up) / 2 if even and 0 < min(across, up) <= WIDEST_MM else None
