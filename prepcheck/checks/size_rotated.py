"""size.rotated: the page carries /Rotate, or the piece lies turned by 90 degrees."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from prepcheck.findings import Mark, Severity
from prepcheck.outline import Outline
from prepcheck.said import Clear, Declaration, FoundAt, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.words import capital

ROTATED = "size.rotated"

NEEDS_PLATES = False
SQUARE_MM = 1.0
"""Sides that differ by less than this are of one length."""

DECLARATIONS = (
    Declaration(
        ROTATED,
        "Page is the right way up",
        FoundAt.PLATES,
        (Severity.QUERY,),
        "Some programs heed a page's rotation and some do not. A turned label still fits its "
        "disc and a turned square sleeve its board, so nobody sees it before the first record. A "
        "picture may say the like (orientation, as cameras store it): it is read here as it says, "
        "and asked about where the piece would come out otherwise.",
        "ISO 32000-2, Table 31 (Rotate); TIFF 6.0 and Exif, tag 274 (Orientation)",
        codes=("rotated",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    yield _judge(exam, sheet)


def _judge(exam: Exam, sheet: Sheet) -> Said:
    rotate, turned = sheet.page.rotate, sheet.placement.turned
    stored = _stored(exam, sheet.outline)
    if not rotate and not turned and stored is None:
        return Clear(ROTATED, "the page is not rotated and lies the right way", 0.0, 0.0, "degrees")
    reasons = []
    if rotate:
        reasons.append(f"the page is shown rotated {rotate} degrees clockwise by the file")
    if turned:
        reasons.append("the piece lies on its side and fits only when turned by 90 degrees")
    if stored is not None:
        reasons.append(f"the picture is stored {stored.how} and says so (orientation)")
    return exam.finding(
        ROTATED,
        "rotated",
        Severity.QUERY,
        f"{capital(' and '.join(reasons))}.",
        "Please save the picture the right way up, without an orientation, and look at the proof "
        "for the way up."
        if stored is not None
        else "Please export the page upright, without rotation, and look at the proof for the "
        "way up.",
        source=DECLARATIONS[0].source,
        page=sheet.number,
        measured=float(turned or rotate or (stored.degrees if stored is not None else 0)),
        required=0.0,
        unit="degrees",
        marks=(Mark(sheet.outline.bounds, "way up?"),),
    )


class _Stored(NamedTuple):
    """How a picture is stored: in words, and by how many degrees it is to be turned clockwise."""

    how: str
    degrees: int


_ORIENTATIONS = {
    2: _Stored("mirrored", 0),
    3: _Stored("on its head", 180),
    4: _Stored("mirrored and on its head", 180),
    5: _Stored("mirrored and on its side", 90),
    6: _Stored("on its side", 90),
    7: _Stored("mirrored and on its side", 270),
    8: _Stored("on its side", 270),
}
"""By the value of the tag (TIFF 6.0, tag 274)."""


def _stored(exam: Exam, outline: Outline) -> _Stored | None:
    """Return how a picture is stored that would come out otherwise where that is not heeded."""
    raster = exam.artwork.raster
    found = None if raster is None else _ORIENTATIONS.get(raster.orientation)
    if found is None or "mirrored" in found.how:
        return found
    return None if _is_alike(outline, found.degrees) else found


def _is_alike(outline: Outline, degrees: int) -> bool:
    """Say whether a piece is the same when turned: a round one, or one panel as wide as high."""
    bounds = outline.bounds
    square = abs(bounds.width - bounds.height) <= SQUARE_MM
    return len(outline.panels) == 1 and (square or degrees == 180)
