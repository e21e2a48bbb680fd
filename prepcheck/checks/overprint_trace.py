"""Objects that overprint and so vanish, or let through what they seem to cover."""

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import PROCESS_INKS, Paint
from prepcheck.checks._art import kept, on_art, paints_of
from prepcheck.checks._base import Clear, Declaration, Exam, FoundAt, NotApplicable, Said, Sheet
from prepcheck.checks._ink import Patch, Screen, patch, ring
from prepcheck.checks._wording import count
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.ink import Mask

WHITE = "overprint.white"
LOST = "overprint.lost"

_PAPER = 0.03
"""Ink up to which a colour is taken for paper's."""
_BRIGHT = 245
"""Least of red, green and blue of what is white on screen."""
_INKED = 15.0
"""Percent of ink where something white on screen has vanished."""
_LEAST_PIXELS = 4
_WHITE_SHARE = 0.3
_SHARE = 0.8
"""Share of the pixels seen on screen that must be missing on the plates; beside a white object
there may be other white."""
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

    @property
    def white(self) -> bool:
        """Whether it is painted in the colour of bare paper."""
        if self.paint is None:
            return False
        if not self.paint.inks:
            return min(self.paint.rgb) >= 1 - _PAPER
        return all(amount <= _PAPER for _, amount in self.paint.inks)


def examine(exam: Exam) -> Iterator[Said]:
    judged, found = 0, set()
    for sheet in exam.sheets:
        objects = [one for one in _overprinting(sheet) if on_art(exam, sheet, one.box)]
        judged += len(objects)
        for finding in _said(sheet, *_lost(sheet, objects), _showing_through(sheet, objects)):
            found.add(finding.check)
            yield finding
    for check in {WHITE, LOST} - found:
        if judged:
            yield Clear(check, f"{count(judged, 'object')} set to overprint, none of them lost")
        else:
            yield NotApplicable(check, "nothing is set to overprint but dark colours, if any")


def _lost(sheet: Sheet, objects: list[_Object]) -> tuple[list[_Object], list[_Object]]:
    """Return the white objects that vanish, and the coloured ones that leave no trace.

    The plates tell which may have; how the page looks on screen, which ones are missed.
    """
    may_be = [one for one in objects if _may_be_lost(sheet, one)]
    if not may_be:
        return [], []
    every = may_be[0].box
    for one in may_be[1:]:
        every = every.union(one.box)
    screen = Screen.of(sheet, every.grown(2 * _AROUND_MM))
    lost = [one for one in may_be if _missed(sheet, one, screen)]
    return [one for one in lost if one.white], [one for one in lost if not one.white]


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
            f"{count(len(vanished), 'white object')} set to overprint: white on screen, not "
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
            f"{count(len(traceless), 'object')} set to overprint, seen on screen but on no "
            "plate: the ink lies there already.",
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
            f"The spot {spot} shows through {count(len(objects), 'object')} in process colours "
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
    """Yield each paint that overprints, but for dark ones and what is almost clear."""
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
    lit = paint.opacity > 0.5 and paint.pattern is None
    return paint.overprint and lit and paint.lightness > _DARK


def _may_be_lost(sheet: Sheet, one: _Object) -> bool:
    """Say whether the plates carry what they would if the object were not there."""
    if one.paint is None:
        return False
    found = patch(sheet, one.parts)
    if one.white:
        return bool((found.total >= _INKED).any())
    ground = _even_ground(sheet, one)
    return ground is not None and bool(_same(found, ground).any())


def _even_ground(sheet: Sheet, one: _Object) -> FloatArray | None:
    """Return the inks round an object in percent (inks,); None where they change."""
    around = patch(sheet, ring(one.box, _AROUND_MM))
    if not len(around.inks):
        return None
    low, ground, high = np.percentile(around.inks, (10, 50, 90), axis=0)
    return None if (high - low).max() > _EVEN else ground


def _same(found: Patch, ground: FloatArray) -> Mask:
    same: Mask = np.abs(found.inks - ground).max(axis=1) <= _SAME
    return same


def _missed(sheet: Sheet, one: _Object, screen: Screen) -> bool:
    """Say whether an object is seen on screen where the plates do not have it."""
    found, around = patch(sheet, one.parts), patch(sheet, ring(one.box, _AROUND_MM))
    rgb = screen.at(found.where)
    bright = rgb.min(axis=1) >= _BRIGHT
    if one.white and int(bright.sum()) >= _LEAST_PIXELS:
        ground = float(np.median(around.total)) if len(around.inks) else 0.0
        gone = found.total[bright] >= max(_INKED, ground / 2)
    elif not len(around.inks):
        return False
    else:
        # Fine type has no pixel in its full colour, but some that differ from its ground.
        step = np.abs(rgb - np.median(screen.at(around.where), axis=0)).max(axis=1)
        gone = _same(found, np.median(around.inks, axis=0))[step >= _SEEN]
        if len(gone) < _LEAST_PIXELS:
            return False
    return float(gone.mean()) >= (_WHITE_SHARE if one.white else _SHARE)


def _showing_through(sheet: Sheet, objects: list[_Object]) -> dict[str, list[_Object]]:
    """Return the spots that lie under objects of process colours."""
    inks = sheet.plates.inks
    spots = [ink for ink in inks if ink not in PROCESS_INKS]
    through: dict[str, list[_Object]] = defaultdict(list)
    for one in objects if spots else ():
        amounts = {} if one.paint is None else dict(one.paint.inks)
        if one.white or any(ink not in PROCESS_INKS for ink in amounts):
            continue
        found = patch(sheet, one.parts)
        own = found.inks[:, : len(PROCESS_INKS)].max(axis=1) >= _SPOT
        for ink, amount in amounts.items():
            if amount > 0:
                own &= found.inks[:, inks.index(ink)] >= 90 * amount
        if int(own.sum()) < _LEAST_PIXELS:
            continue
        for spot in spots:
            if float((found.inks[own, inks.index(spot)] >= _SPOT).mean()) >= 0.5:
                through[spot].append(one)
    return through
