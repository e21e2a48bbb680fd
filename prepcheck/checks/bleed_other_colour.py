"""bleed.other-colour: the edge goes on past the trim in another colour."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box, distinct
from prepcheck.measure.colour_name import colour_name
from prepcheck.measure.continued import Continued, continued
from prepcheck.measure.reach import InkReach, ShortStretch, ink_reach, stretches
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.thresholds import worst_first
from prepcheck.spec.model import TOLERANCE_MM
from prepcheck.words import in_places, mm

CHECK = "bleed.other-colour"
LIMIT = "bleed.least_mm"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Bleed has the colour of the edge",
        FoundAt.CUTTING,
        (Severity.QUERY,),
        "Print lies up to 1.5 mm off the cut. Where the colour at the edge turns into another "
        "just outside, each piece shows a sliver of that other colour on one side.",
        "common practice, no source",
        codes=("changes",),
        limits=(LIMIT,),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    least = exam.spec.bleed.least_mm
    reach = ink_reach(sheet.view, sheet.outline, exam.spec.bleed.wanted_mm)
    if not reach.inked.any():
        yield NotApplicable(CHECK, "the edge is bare paper")
        return
    looks = continued(sheet.view, reach, exam.spec.bleed.wanted_mm)
    own = replace(reach, reach=looks.reach)
    short = stretches(own, looks.changes & (looks.reach < least - TOLERANCE_MM))
    if not short:
        yield Clear(CHECK, "the edge goes on in its own colour", None, least, "mm")
        return
    yield _finding(exam, sheet, own, looks, short)


def _finding(
    exam: Exam, sheet: Sheet, reach: InkReach, looks: Continued, found: tuple[ShortStretch, ...]
) -> Finding:
    nearest = round(found[0].least_mm, 2)
    points = np.concatenate([stretch.points for stretch in found])
    inside, beyond = (
        colour_name(np.median(lab[points], axis=0)) for lab in (looks.inside, looks.beyond)
    )
    if inside == beyond:
        inside, beyond = f"{inside} at the edge", "another tone of it"
    share = len(distinct(points)) / len(reach.reach)
    where = "at the trim" if nearest < TOLERANCE_MM else f"{mm(nearest)} past the trim"
    required = exam.spec.bleed.least_mm
    return exam.finding(
        CHECK,
        "changes",
        Severity.QUERY,
        f"The edge turns from {inside} into {beyond} {where}, on {100 * share:.0f} % of the edge"
        f"{in_places(len(found))}; a cut that lies off shows a sliver of it.",
        f"Please let the colour at the edge run on {mm(exam.spec.bleed.wanted_mm)} past the trim, "
        "or tell us that the change is meant.",
        limit=LIMIT,
        page=sheet.number,
        measured=nearest,
        required=required,
        marks=worst_first([_mark(stretch) for stretch in found]),
    )


def _mark(stretch: ShortStretch) -> Mark:
    value = round(stretch.least_mm, 2)
    long = f"{stretch.degrees:.0f}°" if stretch.degrees else f"{stretch.length_mm:.0f} mm"
    return Mark(
        Box.around(stretch.path), f"runs on {mm(value)} over {long}", stretch.path, value, value
    )
