"""Effective resolution of pictures."""

from collections.abc import Iterator, Sequence

from prepcheck.art.model import ImageItem
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.judged_pictures import is_one_bit, judged_pictures, wholes
from prepcheck.sheets.masks import coarse_masks
from prepcheck.sheets.surroundings import kept
from prepcheck.sheets.thresholds import judge_least
from prepcheck.spec.model import TOLERANCE_PPI, AtLeastPpi
from prepcheck.words import count

CHECK = "image.resolution"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Pictures have enough pixels",
        FoundAt.PRINTING,
        (Severity.STOP, Severity.QUERY),
        "A picture with too few pixels for its printed size looks soft or shows its pixels as "
        "steps. Fine on a screen at half the size, it cannot be mended after printing. One-bit "
        "pictures need more, since their edges have no tones to hide the steps, and so does the "
        "mask that a picture is cut out by: one coarser than its picture makes stairs where its "
        "edge is sharp and seen.",
        "twice the screen ruling of 60 lines/cm is 305 ppi, one and a half times 229 ppi: common "
        "practice; plants ask for 300 and refuse below 200",
        codes=("samples", "mask"),
        limits=(
            "images.continuous.least_ppi",
            "images.continuous.wanted_ppi",
            "images.one_bit.least_ppi",
            "images.one_bit.wanted_ppi",
        ),
        measures=("lowest_ppi",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[list[float]]:
    judged = [(item, min(item.ppi)) for item in judged_pictures(exam, sheet)]
    for one_bit in (False, True):
        table = "one_bit" if one_bit else "continuous"
        limit: AtLeastPpi = getattr(exam.spec.images, table)
        for severity, key in (
            (Severity.STOP, "least_ppi"),
            (Severity.QUERY, "wanted_ppi"),
        ):
            low = [
                (item, value)
                for item, value in judged
                if is_one_bit(item) == one_bit
                and judge_least(value, limit.least_ppi, limit.wanted_ppi, TOLERANCE_PPI) is severity
            ]
            if low:
                key = f"images.{table}.{key}"
                yield _finding(exam, sheet, severity, low, one_bit, key)
    yield from _masks(exam, sheet, [item for item, _ in judged])
    return [value for _, value in judged]


def conclude(exam: Exam, seen: Sequence[list[float]]) -> Iterator[Said]:
    values = [value for own in seen for value in own]
    if not values:
        yield Measured("lowest_ppi", None)
        yield NotApplicable(CHECK, "no pictures on the art")
        return
    lowest = round(min(values), 1)
    yield Measured("lowest_ppi", lowest)
    least = "the lowest at " if len(values) > 1 else ""
    why = f"{count(len(values), 'placed picture')}, {least}{lowest:.0f} ppi"
    yield Clear(CHECK, why, lowest, exam.spec.images.continuous.wanted_ppi, "ppi")


def _finding(
    exam: Exam,
    sheet: Sheet,
    severity: Severity,
    low: list[tuple[ImageItem, float]],
    one_bit: bool,
    limit: str,
) -> Finding:
    worst, required = min(value for _, value in low), exam.spec.limit(limit)
    parts = wholes([item for item, _ in low])
    ppi = {id(item): value for item, value in low}
    kind = "one-bit picture" if one_bit else "picture"
    range_ = _ppi(worst) if len(parts) == 1 else f"{_ppi(worst)} at the lowest"
    need = "the minimum" if severity is Severity.STOP else "wanted"
    return exam.finding(
        CHECK,
        "samples",
        severity,
        f"{count(len(parts), kind)} with too few pixels: {range_}; {required:.0f} ppi is {need}.",
        _fix(severity, exam.is_raster),
        limit=limit,
        page=sheet.number,
        measured=round(worst, 1),
        marks=kept(_mark(part, min(ppi[id(item)] for item in part)) for part in parts),
    )


def _fix(severity: Severity, one_picture: bool) -> str:
    send, what = ("send", "the art") if one_picture else ("place", "the picture")
    if severity is Severity.STOP:
        original = what if one_picture else "the original picture"
        return (
            f"Please {send} {original} in its full size; enlarging it in a program does not help."
        )
    return (
        f"If you have {what} in a larger size, please {send} that one; if not, tell us that a "
        "slightly soft print is fine."
    )


def _mark(part: Sequence[ImageItem], ppi: float) -> Mark:
    """Return the place of a picture, by its parts."""
    corners = (c for item in part if item.visible is not None for c in item.visible.corners)
    return Mark(Box.around(corners), _ppi(ppi), value=round(ppi, 1), rank=ppi)


def _ppi(value: float) -> str:
    return f"{value:.0f} ppi" if value >= 1 else "less than 1 ppi"


def _masks(exam: Exam, sheet: Sheet, items: list[ImageItem]) -> Iterator[Finding]:
    """Yield a query for masks whose steps show."""
    limit = "images.continuous.wanted_ppi"
    coarse = list(coarse_masks(sheet, items, exam.spec.images.continuous.wanted_ppi))
    if not coarse:
        return
    worst = min(mask.ppi for mask in coarse)
    yield exam.finding(
        CHECK,
        "mask",
        Severity.QUERY,
        f"{count(len(coarse), 'picture')} cut out by a mask that is coarser than the picture: "
        f"{worst:.0f} ppi; {exam.spec.images.continuous.wanted_ppi:.0f} ppi is wanted, or the edge "
        "shows as steps.",
        "Please cut the picture out at its full resolution, or by a path.",
        limit=limit,
        page=sheet.number,
        measured=round(worst, 1),
        marks=kept(
            Mark(
                mask.item.visible, f"mask {mask.ppi:.0f} ppi", value=round(mask.ppi, 1),
                rank=mask.ppi,
            )
            for mask in coarse
            if mask.item.visible is not None
        ),
    )  # fmt: skip
