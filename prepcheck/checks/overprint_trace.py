"""Objects that overprint and so vanish, or let through what they seem to cover."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import compress
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import ALL_INKS, PROCESS_INKS, Paint, SpaceFamily
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.ink import Mask
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.inks import Patch, Screen, patch, ring
from prepcheck.sheets.overprinting import (
    AROUND_MM,
    BRIGHT,
    LEAST_PIXELS,
    SEEN,
    SHARE,
    Overprinting,
    screen_of,
    showing_through,
)
from prepcheck.sheets.surroundings import are_on_art, kept, paints_of
from prepcheck.words import count

WHITE = "overprint.white"
LOST = "overprint.lost"

_INKED = 15.0
"""Percent of ink where something white on screen has vanished."""
_WHITE_SHARE = 0.3
_DARK = 0.15
"""Lightness up to which a colour is meant to overprint."""
_EVEN = 6.0
"""Percent by which the inks of an even ground may differ."""
_SAME = 2.0
"""Percent by which the inks may differ where an object left no trace."""
_TONES = 32
"""Width of the steps that screen colours are sorted into."""
_STANDS_OUT = 0.2
"""Share of an object's pixels in a colour that its ground has less of."""

DECLARATIONS = (
    Declaration(
        WHITE,
        "White does not overprint",
        FoundAt.PRINTING,
        (Severity.STOP,),
        "White is where no ink is. Set to overprint it takes no ink away, and what shows white on "
        "screen is not there in print: a title, a barcode's ground, a price.",
        "ISO 32000-2, 8.6.7 and 11.7.4.3: an overprinting colour leaves the plates alone that it "
        "gives no ink; published guides of record plants: white must not overprint",
        codes=("white",),
    ),
    Declaration(
        LOST,
        "Nothing is lost or changed by overprinting",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "An overprinting object changes only the plates it has ink for. One in an ink that lies "
        "there already leaves no trace, and one in process colours lets a spot under it show "
        "through, though the screen shows it covering.",
        "ISO 32000-2, 8.6.7 and 11.7.4.3",
        codes=("lost", "spot-through"),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    judged, found = 0, set()
    for sheet in exam.sheets:
        every = [*_overprinting(sheet)]
        objects = [*compress(every, are_on_art(exam, sheet, [one.box for one in every]).tolist())]
        judged += len(objects)
        for finding in _said(exam, sheet, *_lost(sheet, objects), showing_through(sheet, objects)):
            found.add(finding.check)
            yield finding
    for check in {WHITE, LOST} - found:
        if judged:
            yield Clear(check, f"{count(judged, 'object')} set to overprint, none of them lost")
        else:
            yield NotApplicable(check, "nothing is set to overprint but dark colours, if any")


def _lost(
    sheet: Sheet, objects: list[Overprinting]
) -> tuple[list[Overprinting], list[Overprinting]]:
    """Return the white objects that vanish, and the coloured ones that leave no trace.

    The plates tell which may have; how the page looks on screen, which ones are missed.
    """
    each = ((one, _ground(sheet, one)) for one in objects)
    may_be = [(one, ground) for one, ground in each if _may_be_lost(sheet, one, ground)]
    if not may_be:
        return [], []
    screen = screen_of(sheet, [one for one, _ in may_be])
    lost = [one for one, ground in may_be if _missed(sheet, one, ground, screen)]
    return [one for one in lost if one.white], [one for one in lost if not one.white]


def _said(
    exam: Exam,
    sheet: Sheet,
    vanished: list[Overprinting],
    traceless: list[Overprinting],
    through: dict[str, list[Overprinting]],
) -> Iterator[Finding]:
    if vanished:
        yield exam.finding(
            WHITE,
            "white",
            Severity.STOP,
            f"{count(len(vanished), 'white object')} set to overprint: white on screen, not "
            "there in print.",
            "Please take overprint off everything white.",
            source="ISO 32000-2, 11.7.4.3",
            page=sheet.number,
            measured=float(len(vanished)),
            required=0.0,
            unit="objects",
            marks=_marks(vanished),
        )
    if traceless:
        yield exam.finding(
            LOST,
            "lost",
            Severity.QUERY,
            f"{count(len(traceless), 'object')} set to overprint, seen on screen but on no "
            "plate: the ink lies there already.",
            "Please take overprint off, or choose a colour that differs from the ground.",
            source="ISO 32000-2, 11.7.4.3",
            page=sheet.number,
            measured=float(len(traceless)),
            required=0.0,
            unit="objects",
            marks=_marks(traceless),
        )
    for spot, objects in through.items():
        yield exam.finding(
            LOST,
            "spot-through",
            Severity.QUERY,
            f"The spot {spot} shows through {count(len(objects), 'object')} in process colours "
            "set to overprint.",
            "Please take overprint off, or tell us that the mix is meant.",
            source="ISO 32000-2, 11.7.4.3",
            page=sheet.number,
            measured=float(len(objects)),
            required=0.0,
            unit="objects",
            subject=spot,
            marks=_marks(objects),
        )


def _marks(objects: list[Overprinting]) -> tuple[Mark, ...]:
    return kept(Mark(one.box, one.word, rank=-one.box.area) for one in objects)


def _overprinting(sheet: Sheet) -> Iterator[Overprinting]:
    """Yield each paint that overprints, but for dark ones and what is almost clear."""
    content = sheet.content
    for run in content.texts:
        box = run.box
        for paint in paints_of(run):
            if box is not None and _counts(paint):
                parts = tuple(Box.around(glyph) for glyph in run.glyphs)
                yield Overprinting("type", box, parts, paint)
    for path in content.paths:
        for one in (path.fill, path.stroke):
            if one is not None and _counts(one):
                yield Overprinting("shape", path.box, (path.box,), one)
            elif one is not None and _fades(one):
                yield Overprinting("fade", path.box, (path.box,), None)
    for image in content.images:
        if image.visible is None:
            continue
        if image.is_mask:
            if image.paint is not None and _counts(image.paint):
                yield Overprinting("picture", image.visible, (image.visible,), image.paint)
        elif image.overprint and image.space.kind in ("cmyk", "grey"):
            yield Overprinting("picture", image.visible, (image.visible,), None)


def _counts(paint: Paint) -> bool:
    lit = paint.opacity > 0.5 and paint.pattern is None
    return paint.overprint and lit and paint.lightness > _DARK


def _fades(paint: Paint) -> bool:
    """Say whether a paint is an overprinting fade in process colours."""
    process = paint.space.kind in ("cmyk", "grey")
    return paint.overprint and paint.opacity > 0.5 and paint.pattern == "shading" and process


def _may_be_lost(sheet: Sheet, one: Overprinting, ground: _Ground | None) -> bool:
    """Say whether the plates carry what they would if the object were not there."""
    if one.white:
        return bool((patch(sheet, one.parts).total >= _INKED).any())
    return ground is not None and bool(_same(patch(sheet, one.parts), ground).any())


class _Ground(NamedTuple):
    """What lies round an object on the plates that it changes (indices), in percent (plates,)."""

    plates: list[int]
    inks: FloatArray


def _ground(sheet: Sheet, one: Overprinting) -> _Ground | None:
    """Return what lies round an object; None where it changes, or on plates left alone."""
    plates = [] if one.paint is None else _changed(one.paint, sheet.plates.inks)
    if not plates:
        return None
    around = patch(sheet, ring(one.box, AROUND_MM)).inks[:, plates]
    if not len(around):
        return None
    low, ground, high = _shares(np.sort(around, axis=0).astype(np.float64), (0.1, 0.5, 0.9))
    return None if (high - low).max() > _EVEN else _Ground(plates, ground)


def _shares(ordered: FloatArray, shares: tuple[float, ...]) -> list[FloatArray]:
    """Return what so many of rising values (n, plates) lie below, between two by their distance,
    as `numpy.percentile` has it, which takes its time for few."""
    places = [share * (len(ordered) - 1) for share in shares]
    lows = [int(place) for place in places]
    return [
        ordered[low] + (ordered[min(low + 1, len(ordered) - 1)] - ordered[low]) * (place - low)
        for low, place in zip(lows, places, strict=True)
    ]


def _changed(paint: Paint, inks: tuple[str, ...]) -> list[int]:
    """Return the plates that an overprinting paint changes (ISO 32000-2, Table 147)."""
    space = paint.space
    if space.family in (SpaceFamily.SEPARATION, SpaceFamily.DEVICE_N):
        names = set(inks) if ALL_INKS in space.colorants else set(space.colorants)
    elif space.family is SpaceFamily.CMYK and paint.overprint_mode == 1:
        names = {ink for ink, amount in paint.inks if amount > 0}
    else:
        names = set(PROCESS_INKS)
    return [index for index, ink in enumerate(inks) if ink in names]


def _same(found: Patch, ground: _Ground) -> Mask:
    same: Mask = np.abs(found.inks[:, ground.plates] - ground.inks).max(axis=1) <= _SAME
    return same


def _missed(sheet: Sheet, one: Overprinting, ground: _Ground | None, screen: Screen) -> bool:
    """Say whether an object is seen on screen where the plates do not have it."""
    found, around = patch(sheet, one.parts), patch(sheet, ring(one.box, AROUND_MM))
    rgb = screen.at(found.where)
    bright = rgb.min(axis=1) >= BRIGHT
    if one.white and int(bright.sum()) >= LEAST_PIXELS:
        usual = float(np.median(around.total)) if len(around.inks) else 0.0
        gone = found.total[bright] >= max(_INKED, usual / 2)
    elif ground is None:
        return False
    else:
        gone = _same(found, ground)[_standing_out(rgb, screen.at(around.where))]
        if len(gone) < LEAST_PIXELS:
            return False
    return float(gone.mean()) >= (_WHITE_SHARE if one.white else SHARE)


def _standing_out(rgb: NDArray[np.int16], around: NDArray[np.int16]) -> Mask:
    """Say which pixels of an object differ from what lies round it, by their screen colours.

    On an even ground that is all that differ: fine type has no pixel in its full colour. Else it
    is those in the one colour that the ground has least of.
    """
    middle = np.median(around, axis=0)
    seen: Mask = np.abs(rgb - middle).max(axis=1) >= SEEN
    if float((np.abs(around - middle).max(axis=1) >= SEEN).mean()) <= 1 - SHARE:
        return seen
    tones = 256 // _TONES
    own, other = ((one // _TONES) @ (tones * tones, tones, 1) for one in (rgb, around))
    shares = [np.bincount(one, minlength=tones**3) / len(one) for one in (own, other)]
    more = shares[0] - shares[1]
    standing: Mask = (own == more.argmax()) & bool(more.max() >= _STANDS_OUT)
    return standing
