"""Large black areas: black alone looks grey, and too rich a black gains nothing."""

from collections.abc import Iterator, Sequence

import numpy as np

from prepcheck.art.model import PROCESS_INKS
from prepcheck.findings import Severity
from prepcheck.measure.ink import FULL, Mask, Region, grown
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.inks import has_ink, nothing_in_inks, of_known_inks, places, printed
from prepcheck.sheets.paid import paid_keys
from prepcheck.sheets.surroundings import kept
from prepcheck.spec.model import TOLERANCE_PERCENT
from prepcheck.words import count

CHECK = "ink.black-solid"
_BLACK = 95.0
"""Percent of black from which a solid is a black one."""
_UNDER = 10.0
"""Percent of other inks in sum up to which black stands alone."""

NEEDS_VIEW = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Large black areas are well built",
        FoundAt.PRINTING,
        (Severity.NOTE,),
        "One layer of black ink over a large area looks a dark grey and shows every speck of "
        "dust; some cyan under it makes it deep. Beyond a certain sum more ink under the black "
        "only dries more slowly.",
        "published recipes of printers lie between 150 and 240 %; FOGRA39 and FOGRA29 "
        "characterisations",
        codes=("alone", "rich"),
        limits=("ink.black_solid_mm2", "ink.most_rich_black_percent"),
    ),
)


@of_known_inks
def conclude(exam: Exam, seen: Sequence[None]) -> Iterator[Said]:
    ink = exam.spec.ink
    if ink.black_solid_mm2 is None and ink.most_rich_black_percent is None:
        yield NotApplicable(CHECK, "the spec sets no limit")
    elif has_ink(exam):
        yield Clear(CHECK, "no large area in black alone, none in too rich a black")
    else:
        yield nothing_in_inks(CHECK, exam)


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[None]:
    ink, cells = exam.spec.ink, sheet.cells
    black = (cells.amount("Black") >= _BLACK) & printed(exam, sheet)
    rest = cells.total - cells.amount("Black")
    if ink.black_solid_mm2 is not None and _may_be_rich(exam):
        alone = _large(sheet, black & (rest <= _UNDER), ink.black_solid_mm2)
        if alone:
            area = sum(region.area for region in alone)
            yield exam.finding(
                CHECK,
                "alone",
                Severity.NOTE,
                f"{area:,.0f} mm² of solid in black alone, in {count(len(alone), 'place')}: it "
                "will look dark grey.",
                "Please put 40 to 60 % of cyan under the black if it is to look deep.",
                limit="ink.black_solid_mm2",
                page=sheet.number,
                measured=round(area, 1),
                marks=kept(places(alone)),
            )
    if ink.most_rich_black_percent is not None:
        # What lies above the limit of all inks is a stop of its own.
        rich = cells.total > ink.most_rich_black_percent + TOLERANCE_PERCENT
        rich &= cells.total <= ink.most_total_percent + TOLERANCE_PERCENT
        heavy = _large(sheet, black & rich, ink.window_mm2)
        if heavy:
            most = max(region.most for region in heavy)
            yield exam.finding(
                CHECK,
                "rich",
                Severity.NOTE,
                f"Black built of {most:.0f} % ink over "
                f"{sum(region.area for region in heavy):,.0f} mm²; more than "
                f"{ink.most_rich_black_percent:g} % makes it no deeper.",
                "Please take some of the colour under the black away.",
                limit="ink.most_rich_black_percent",
                page=sheet.number,
                measured=round(most, 1),
                marks=kept(places(heavy)),
            )


def _large(sheet: Sheet, mask: Mask, least_mm2: float) -> list[Region]:
    cells = sheet.cells
    if not mask.any():
        return []
    # Whole cells tell where; pixels of black tell how much lies at the rim.
    share = cells.share(cells.plates.plate("Black") >= round(_BLACK / 100 * FULL))
    found = cells.regions(
        grown(mask) & (share > 0), share, np.where(mask, cells.total, np.float32(0))
    )
    return [region for region in found if region.area > least_mm2]


def _may_be_rich(exam: Exam) -> bool:
    """Say whether there is an ink to put under the black, as far as the order tells."""
    paid = paid_keys(exam)
    return paid is None or any(ink.casefold() in paid for ink in PROCESS_INKS[:3])
