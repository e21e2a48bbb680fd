"""Objects that overprint and so vanish, or let through what they seem to cover."""

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import PROCESS_INKS, Paint
from prepcheck.checks._art import counted, kept, on_art, paints_of
from prepcheck.checks._base import Clear, Declaration, Exam, FoundAt, NotApplicable, Said, Sheet
from prepcheck.checks._ink import patch, ring
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box

WHITE = "overprint.white"
LOST = "overprint.lost"

_PAPER = 0.03
"""Ink up to which a colour is taken for paper's."""
_BRIGHT = 245
"""Least of red, green and blue of what is white on screen."""
_BRIGHTER = 38
"""How much brighter fine type must be than its ground on screen, of 255."""
_INKED = 15.0
"""Percent of ink where something white on screen has vanished."""
_LEAST_PIXELS = 4
_LEAST_SHARE = 0.3
_DARK = 0.15
"""Lightness up to which a colour is meant to overprint."""
_AROUND_MM = 0.6
_EVEN = 6.0
"""Percent by which the inks of an even ground may differ."""
_SAME = 2.0
"""Percent by which the inks may differ where an object left no trace."""
_SEEN = 20
"""Step of red, green or blue by which an object is seen on screen, of 255."""
_SPOT = 10.0

DECLARATIONS = (
    Declaration(
        WHITE,
        "White that overprints",
        FoundAt.PRINTING,
        (Severity.STOP,),
        "White is where no ink is. Set to overprint it takes no ink away, and what shows white on "
        "screen is not there in print: a title, a barcode's ground, a price.",
        "ISO 32000-2, 8.6.7 and 11.7.4.3: an overprinting colour leaves the plates alone that it "
        "gives no ink; published guides of record plants: white must not overprint",
    ),
    Declaration(
        LOST,
        "Lost or changed by overprinting",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "An overprinting object changes only the plates it has ink for. One in an ink that lies "
        "there already leaves no trace, and one in process colours lets a spot under it show "
        "through, though the screen shows it covering.",
        "ISO 32000-2, 8.6.7 and 11.7.4.3",
    ),
)


class _Object(NamedTuple):
    """Something that overprints: what it is, where, and what it is painted with."""

    word: str
    box: Box
    parts: tuple[Box, ...]
    paint: Paint | None
    """None for a picture in process colours."""


def examine(exam: Exam) -> Iterator[Said]:
    judged, white, lost = 0, False, False
    for sheet in exam.sheets:
        vanished: list[_Object] = []
        traceless: list[_Object] = []
        through: dict[str, list[_Object]] = defaultdict(list)
        for one in _overprinting(sheet):
            if not on_art(exam, sheet, one.box):
                continue
            judged += 1
            if one.paint is not None and _is_white(one.paint):
                if _vanishes(sheet, one):
                    vanished.append(one)
                continue
            if one.paint is not None and one.paint.lightness <= _DARK:
                continue
            if _leaves_no_trace(sheet, one):
                traceless.append(one)
                continue
            for spot in _showing_through(sheet, one):
                through[spot].append(one)
        white = white or bool(vanished)
        lost = lost or bool(traceless or through)
        yield from _said(sheet, vanished, traceless, through)
    why = f"{counted(judged, 'object')} set to overprint" if judged else ""
    for check, found in ((WHITE, white), (LOST, lost)):
        if not judged:
            yield NotApplicable(check, "nothing is set to overprint but dark colours, if any")
        elif not found:
            yield Clear(check, f"{why}, none of them lost")


def _said(
    sheet: Sheet,
    vanished: list[_Object],
    traceless: list[_Object],
    through: dict[str, list[_Object]],
) -> Iterator[Finding]:
    if vanished:
        yield Finding(
            WHITE,
            Severity.STOP,
            f"{counted(len(vanished), 'white object')} set to overprint: white on screen, not "
            "there in print.",
            "Please take overprint off everything white.",
            "ISO 32000-2, 11.7.4.3",
            page=sheet.number,
            measured=float(len(vanished)),
            required=0.0,
            unit="objects",
            where=_marks(vanished),
        )
    if traceless:
        yield Finding(
            LOST,
            Severity.QUERY,
            f"{counted(len(traceless), 'object')} set to overprint that leave no trace on any "
            "plate: seen on screen, not there in print.",
            "Please take overprint off, or choose a colour that differs from the ground.",
            "ISO 32000-2, 11.7.4.3",
            page=sheet.number,
            measured=float(len(traceless)),
            required=0.0,
            unit="objects",
            where=_marks(traceless),
        )
    for spot, objects in through.items():
        yield Finding(
            LOST,
            Severity.QUERY,
            f"The spot {spot} shows through {counted(len(objects), 'object')} in process colours "
            "set to overprint.",
            "Please take overprint off, or tell us that the mix is meant.",
            "ISO 32000-2, 11.7.4.3",
            page=sheet.number,
            measured=float(len(objects)),
            required=0.0,
            unit="objects",
            where=_marks(objects),
        )


def _marks(objects: list[_Object]) -> tuple[Mark, ...]:
    return kept(Mark(one.box, one.word, rank=-one.box.area) for one in objects)


def _overprinting(sheet: Sheet) -> Iterator[_Object]:
    """Yield each paint that overprints; what is almost clear is left out."""
    content = sheet.content
    for run in content.texts:
        box = run.box
        for paint in paints_of(run):
            if box is not None and _counts(paint):
                parts = tuple(Box.around(glyph) for glyph in run.glyphs)
                yield _Object("type", box, parts, paint)
    for path in content.paths:
        for one in (path.fill, path.stroke):
            if one is not None and _counts(one):
                yield _Object("shape", path.box, (path.box,), one)
    for image in content.images:
        if image.visible is None:
            continue
        if image.is_mask:
            if image.paint is not None and _counts(image.paint):
                yield _Object("picture", image.visible, (image.visible,), image.paint)
        elif image.overprint and image.space.kind in ("cmyk", "grey"):
            yield _Object("picture", image.visible, (image.visible,), None)


def _counts(paint: Paint) -> bool:
    return paint.overprint and paint.opacity > 0.5 and paint.pattern is None


def _is_white(paint: Paint) -> bool:
    if not paint.inks:
        return min(paint.rgb) >= 1 - _PAPER
    return all(amount <= _PAPER for _, amount in paint.inks)


def _vanishes(sheet: Sheet, one: _Object) -> bool:
    """Say whether what is white on screen carries ink on the plates."""
    found = patch(sheet, one.parts)
    bright = found.rgb.min(axis=1) >= _BRIGHT
    needed = _INKED
    if int(bright.sum()) < _LEAST_PIXELS:
        # Fine type is not white on screen at this resolution, only brighter than its ground.
        around = patch(sheet, ring(one.box, _AROUND_MM))
        if not len(around.rgb):
            return False
        bright = found.rgb.mean(axis=1) >= float(np.median(around.rgb.mean(axis=1))) + _BRIGHTER
        needed = max(_INKED, 0.85 * float(np.median(around.total)))
    inked = int((found.total[bright] >= needed).sum())
    return inked >= max(1, _LEAST_SHARE * int(bright.sum()))


def _leaves_no_trace(sheet: Sheet, one: _Object) -> bool:
    """Say whether an object on an even ground is seen on screen and missing on every plate."""
    if one.paint is None:
        return False
    around = patch(sheet, ring(one.box, _AROUND_MM))
    if not len(around.inks):
        return False
    low, ground, high = np.percentile(around.inks, (10, 50, 90), axis=0)
    if (high - low).max() > _EVEN:
        return False
    found = patch(sheet, one.parts)
    seen = np.abs(found.rgb - np.median(around.rgb, axis=0)).max(axis=1) >= _SEEN
    if int(seen.sum()) < _LEAST_PIXELS:
        return False
    same = np.abs(found.inks[seen] - ground).max(axis=1) <= _SAME
    return float(same.mean()) >= 0.8


def _showing_through(sheet: Sheet, one: _Object) -> Iterator[str]:
    """Yield the spots that lie under an object of process colours."""
    inks = sheet.plates.inks
    spots = [ink for ink in inks if ink not in PROCESS_INKS]
    amounts = {} if one.paint is None else dict(one.paint.inks)
    if not spots or any(ink not in PROCESS_INKS for ink in amounts):
        return
    found = patch(sheet, one.parts)
    own = found.inks[:, : len(PROCESS_INKS)].max(axis=1) >= _SPOT
    for ink, amount in amounts.items():
        if amount > 0:
            own &= found.inks[:, inks.index(ink)] >= 90 * amount
    if int(own.sum()) < _LEAST_PIXELS:
        return
    for spot in spots:
        if float((found.inks[own, inks.index(spot)] >= _SPOT).mean()) >= 0.5:
            yield spot
