"""bleed.box: the bleed that the page declares, and how its boxes lie in each other."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Mark, Severity
from prepcheck.geometry import Box
from prepcheck.measure.outer_end import ends_of_art
from prepcheck.measure.reach import ink_reach
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.model import TOLERANCE_MM, Spec
from prepcheck.words import listed, mm

BOX = "bleed.box"

DECLARATIONS = (
    Declaration(
        BOX,
        "Page boxes nest and leave the bleed",
        FoundAt.PLATES,
        (Severity.QUERY,),
        "Layout programs clip a page to its BleedBox. Where that is smaller than the ink, good "
        "bleed is thrown away on the way to the plate; where boxes do not lie within each other, "
        "nobody can say which of them is meant.",
        "ISO 32000-2, 14.11.2 (page boundaries); ISO 15930 (PDF/X) on their nesting",
        codes=("nesting", "margin"),
        limits=("bleed.wanted_mm",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    boxes = sheet.page.boxes
    if exam.is_raster:
        yield NotApplicable(BOX, f"a {exam.artwork.kind} has no page boxes")
        return
    nesting = _nesting(sheet)
    margin, name = _declared(sheet)
    wanted = exam.spec.bleed.wanted_mm
    thrown_away = margin < wanted - TOLERANCE_MM and _reaches_past(sheet, exam.spec, margin)
    if nesting:
        yield exam.finding(
            BOX,
            "nesting",
            Severity.QUERY,
            f"The page boxes do not lie within each other: {listed(nesting)}.",
            "Please set TrimBox within BleedBox within MediaBox, and take the CropBox out.",
            source=DECLARATIONS[0].source,
            page=sheet.number,
            marks=_marks(sheet),
        )
    if thrown_away:
        yield exam.finding(
            BOX,
            "margin",
            Severity.QUERY,
            f"The {name} leaves {mm(margin)} of bleed although ink runs on past it; "
            f"{mm(wanted)} is wanted.",
            f"Please export again with a BleedBox {mm(wanted)} outside the trim.",
            limit="bleed.wanted_mm",
            page=sheet.number,
            measured=round(margin, 2),
            marks=_marks(sheet),
        )
    if not nesting and not thrown_away:
        stated = "BleedBox" if boxes.bleed else "page without a BleedBox"
        why = f"the {stated} leaves {mm(margin)} round the trim and the boxes nest"
        yield Clear(BOX, why, round(margin, 2), wanted, "mm")


def _declared(sheet: Sheet) -> tuple[float, str]:
    """Return the least margin in mm that the page leaves round the piece, and what sets it."""
    boxes = sheet.page.boxes
    stated = (("BleedBox", boxes.bleed), ("CropBox", boxes.crop), ("MediaBox", boxes.media))
    margins = [(_margin(sheet, box), name) for name, box in stated if box is not None]
    return min(margins, key=lambda pair: pair[0])


def _margin(sheet: Sheet, box: Box) -> float:
    trim, outer = sheet.outline.bounds, sheet.placement.to_piece.box(box)
    return min(trim.x0 - outer.x0, trim.y0 - outer.y0, outer.x1 - trim.x1, outer.y1 - trim.y1)


def _reaches_past(sheet: Sheet, spec: Spec, margin: float) -> bool:
    """Say whether ink runs on past the declared bleed wherever the edge is inked."""
    wanted = spec.bleed.wanted_mm
    reach, counts = ends_of_art(sheet.view, ink_reach(sheet.view, sheet.outline, wanted), wanted)
    return bool(counts.any()) and float(reach.reach[counts].min()) > margin + TOLERANCE_MM


def _nesting(sheet: Sheet) -> list[str]:
    boxes = sheet.page.boxes
    faults = [f"the {name} runs past the MediaBox" for name in boxes.cut]
    if boxes.trim and boxes.bleed and not boxes.bleed.holds(boxes.trim, TOLERANCE_MM):
        faults.append("the BleedBox cuts into the TrimBox")
    if boxes.crop and boxes.trim and not boxes.crop.holds(boxes.trim, TOLERANCE_MM):
        faults.append("the CropBox cuts into the TrimBox")
    elif boxes.crop and boxes.bleed and not boxes.crop.holds(boxes.bleed, TOLERANCE_MM):
        faults.append("the CropBox cuts into the BleedBox")
    return faults


def _marks(sheet: Sheet) -> tuple[Mark, ...]:
    boxes, to_piece = sheet.page.boxes, sheet.placement.to_piece
    named = (("BleedBox", boxes.bleed), ("CropBox", boxes.crop))
    marks = tuple(Mark(to_piece.box(box), name) for name, box in named if box is not None)
    return marks or (Mark(to_piece.box(boxes.media), "MediaBox"),)
