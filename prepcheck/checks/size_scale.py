"""size.scale: art evidently drawn at another scale."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Mark, Severity
from prepcheck.measure.trim import TrimRule, scale_cause
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.words import size

SCALE = "size.scale"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        SCALE,
        "Art is drawn at true size",
        FoundAt.PLATES,
        (Severity.STOP,),
        "Plates are made at true size. Art drawn at half size, or with inches taken for "
        "centimetres, prints as a stamp in the middle of the sheet, and when it is enlarged its "
        "type, lines and pictures must be judged anew.",
        "common practice, no source",
        codes=("scale",),
        limits=("outline",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    yield _judge(exam, sheet)


def _judge(exam: Exam, sheet: Sheet) -> Said:
    placement, wanted = sheet.placement, sheet.outline.bounds
    if placement.found_by is TrimRule.PROPORTIONS or (
        exam.artwork.raster is not None and exam.artwork.raster.ppi is None
    ):
        return NotApplicable(SCALE, "the file states no resolution, so it has no scale")
    if placement.factor == 1:
        return Clear(SCALE, "drawn at true size", 1.0, 1.0, "times")
    drawn = size(placement.trim.width, placement.trim.height)
    required = size(wanted.width, wanted.height)
    factor = f"{placement.factor:.4g}"
    return exam.finding(
        SCALE,
        "scale",
        Severity.STOP,
        f"The trim is drawn {drawn} mm where {required} mm is cut: it fits when enlarged "
        f"{factor} times ({scale_cause(placement.factor)}). All else is judged at that size.",
        f"Please enlarge the whole document by {placement.factor * 100:.4g} % and save it at "
        "true size.",
        limit="outline",
        page=sheet.number,
        measured=placement.factor,
        required=1.0,
        unit="times",
        marks=(Mark(wanted, f"× {factor}"),),
    )
