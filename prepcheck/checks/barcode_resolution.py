"""barcode.resolution: bars without a sharp edge: coarse pictures, enlarged ones, several inks."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from prepcheck.art.model import ImageItem
from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Box, FloatArray
from prepcheck.said import Clear, Declaration, FoundAt, Said
from prepcheck.sheets.barcodes import (
    OnSheet,
    mark_of,
    named,
    nothing_to_judge,
    rules_of,
    symbols_of,
)
from prepcheck.sheets.exam import Exam
from prepcheck.spec.model import TOLERANCE_PPI
from prepcheck.units import MM_PER_INCH
from prepcheck.words import listed

CHECK = "barcode.resolution"
LIMIT = "barcode.picture_wanted_ppi"
LEAST_INK = 0.1
"""Share of an ink that bars carry more than spaces, from which the ink builds the bars."""
LEAST_DRAWN = 12
"""Narrow paths or letters on the bars from which they count as drawn, not as a picture."""
WIDEST_MODULES = 5.0
"""A bar is four modules wide at most; one more for what it may have gained."""
SURE = 1.4
"""How much finer than its edges a picture must be stored to be called enlarged."""
_INKS_SOURCE = "common practice of printers: build bars of one ink, so that nothing can be out of \
register"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Bars are sharp and in one ink",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "Bars want edges true to a few hundredths of a millimetre. In a picture they fall on the "
        "nearest pixel or become a grey fringe, and several inks never lie exactly over each "
        "other.",
        "common practice of printers: bars drawn, in one ink",
        codes=("coarse", "inks"),
        limits=(LIMIT,),
        measures=(),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    found = symbols_of(exam)
    if not found:
        yield nothing_to_judge(CHECK, exam)
    for one in found:
        findings = [*_coarse(exam, one), *_inks(exam, one)]
        yield from findings
        if not findings:
            what = "drawn" if _picture(one) is None else "a picture of enough pixels"
            yield Clear(CHECK, f"{named(one.symbol)} is {what}, in one ink")


def _coarse(exam: Exam, one: OnSheet) -> Iterator[Finding]:
    sheet, symbol = one
    picture = _picture(one)
    if picture is None:
        return
    wanted = rules_of(exam).picture_wanted_ppi
    stored = min(picture.ppi)
    true = MM_PER_INCH / symbol.blur_mm if symbol.blur_mm else stored
    if stored < wanted - TOLERANCE_PPI:
        ppi = round(stored, 1)
        said = f"{named(symbol)} is a picture of {ppi:.0f} ppi; {wanted:.0f} ppi is wanted."
    elif SURE * true < min(stored, wanted * SURE):
        ppi = round(true, -1)
        said = (
            f"{named(symbol)} is an enlarged picture: it has {stored:.0f} ppi, but its edges are "
            f"those of one of about {ppi:.0f} ppi."
        )
    else:
        return
    yield exam.finding(
        CHECK,
        "coarse",
        Severity.QUERY,
        said,
        "Please place the barcode as drawn bars (vector art), not as a picture.",
        limit=LIMIT,
        page=sheet.number,
        measured=ppi,
        marks=(mark_of(symbol, f"{ppi:.0f} ppi", ppi),),
    )


def _inks(exam: Exam, one: OnSheet) -> Iterator[Finding]:
    sheet, symbol = one
    building = [
        name
        for name, amount in symbol.bar_inks.items()
        if amount - symbol.space_inks.get(name, 0.0) >= LEAST_INK
    ]
    if symbol.not_in_inks:
        said = "is painted in a colour without ink amounts, which is printed in several inks"
        measured = "no ink amounts"
    elif len(building) > 1:
        said = f"is built of {listed(building)}, which are never exactly in register"
        measured = listed(building)
    else:
        return
    yield exam.finding(
        CHECK,
        "inks",
        Severity.QUERY,
        f"{named(symbol)} {said}.",
        "Please set the bars in black alone (0/0/0/100), overprinting or on a ground without "
        "black.",
        source=_INKS_SOURCE,
        page=sheet.number,
        measured=measured,
        required="one ink",
        marks=(mark_of(symbol, measured),),
    )


def _picture(one: OnSheet) -> ImageItem | None:
    """Return the picture that the bars are part of; None where they are drawn."""
    sheet, symbol = one
    box = symbol.quad.box
    held = [
        item
        for item in sheet.content.images
        if item.visible is not None
        and (common := item.visible.overlap(box)) is not None
        and common.area >= 0.5 * box.area
    ]
    return held[-1] if held and _drawn(one, box) < LEAST_DRAWN else None


def _drawn(one: OnSheet, box: Box) -> int:
    """Return how many narrow shapes lie on the bars."""
    symbol, content = one.symbol, one.sheet.content
    (ax, ay), (bx, by), _, _ = symbol.quad
    along: FloatArray = np.array((bx - ax, by - ay)) / symbol.width_mm
    widest = WIDEST_MODULES * symbol.x_mm
    count = 0
    for path in content.paths:
        if path.box.overlap(box) is None or not box.grown(box.height).holds(path.box):
            continue
        for line in path.lines():
            count += float(np.ptp(line @ along)) <= widest and _on(line.mean(axis=0), box)
    # The digits below the bars do not count, nor does the first one beside them.
    middles = content.type_table.glyphs.corners.mean(axis=1)
    inside = (middles >= box[:2]) & (middles <= box[2:])
    return count + 2 * int(inside.all(axis=1).sum())


def _on(point: FloatArray, box: Box) -> bool:
    x, y = point
    return bool(box.x0 <= x <= box.x1 and box.y0 <= y <= box.y1)
