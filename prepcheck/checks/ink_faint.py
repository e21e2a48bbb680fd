"""Tints too faint to print."""

from collections.abc import Iterator

from prepcheck.checks._art import kept
from prepcheck.checks._base import Clear, Declaration, Exam, FoundAt, NotApplicable, Said
from prepcheck.checks._ink import has_ink, printed, unknown
from prepcheck.checks._wording import count
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.measure.ink import Region, faint_regions

CHECK = "ink.faint"
_FLAT = 0.6
"""Percent by which the cells of an even tint may differ."""

DECLARATIONS = (
    Declaration(
        CHECK,
        "Faint tints",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "The smallest dots are lost between plate and paper, and which of them is a matter of "
        "luck: a tint of 2 % prints as bare paper or as patches, and a fade that runs out below "
        "that ends in a hard edge instead.",
        "common practice of plants: published guides warn of tints under 5 and 10 %",
        limits=("ink.least_tint_percent", "ink.least_tint_mm2"),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    least, area = exam.spec.ink.least_tint_percent, exam.spec.ink.least_tint_mm2
    if least is None or area is None:
        yield NotApplicable(CHECK, "the spec sets no limit")
        return
    found = False
    for sheet in exam.sheets:
        regions = faint_regions(sheet.cells, printed(exam, sheet), least, area)
        if not regions:
            continue
        found = True
        tints = sum(_flat(region) for region in regions)
        kinds = [count(tints, "even tint")] if tints else []
        kinds += [count(len(regions) - tints, "fade's end", "fades' ends")] * (tints < len(regions))
        faintest = min(region.most for region in regions)
        yield Finding(
            CHECK,
            Severity.QUERY,
            f"{' and '.join(kinds)} under {least:g} % over "
            f"{sum(region.area for region in regions):,.0f} mm²: dots as small as that do not "
            "hold.",
            f"Please make tints {least:g} % or more, better 10 %, and let fades end at that or in "
            "a clean edge.",
            exam.spec.source_of("ink.least_tint_percent"),
            page=sheet.number,
            measured=round(faintest, 1),
            required=least,
            unit="%",
            where=kept(
                Mark(
                    r.box,
                    f"{r.most:.0f} %" if _flat(r) else "end of a fade",
                    value=round(r.most, 1),
                    rank=-r.area,
                )
                for r in regions
            ),
        )
    if found:
        return
    if has_ink(exam):
        yield Clear(CHECK, f"no tint under {least:g} % over {area:g} mm² or more")
    else:
        yield NotApplicable(CHECK, f"nothing is painted in inks{unknown(exam)}")


def _flat(region: Region) -> bool:
    return region.most - region.least <= _FLAT
