"""Objects that overprint and so vanish, or let through what they seem to cover."""

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import ALL_INKS, PROCESS_INKS, Paint, SpaceFamily
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
"""Percent of a spot, or of process inks, from which it counts."""
_ALIKE = 4.0
"""Percent by which the process inks of pixels may differ that should look the same on screen."""
_MOST_COMPARED = 300
"""Pixels of an object that are compared with as many others."""
_TONES = 32
"""Width of the steps that screen colours are sorted into."""
_STANDS_OUT = 0.2
"""Share of an object's pixels in a colour that its ground has less of."""

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
    """None for a picture or a fade in process colours."""

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
    screen = _screen(sheet, may_be)
    lost = [one for one in may_be if _missed(sheet, one, screen)]
    return [one for one in lost if one.white], [one for one in lost if not one.white]


def _screen(sheet: Sheet, objects: list[_Object]) -> Screen:
    """Return how all objects and what lies round them look on screen."""
    every = objects[0].box
    for one in objects[1:]:
        every = every.union(one.box)
    return Screen.of(sheet, every.grown(2 * _AROUND_MM))


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
            elif one is not None and _fades(one):
                yield _Object("fade", path.box, (path.box,), None)
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


def _fades(paint: Paint) -> bool:
    """Say whether a paint is an overprinting fade in process colours."""
    process = paint.space.kind in ("cmyk", "grey")
    return paint.overprint and paint.opacity > 0.5 and paint.pattern == "shading" and process


def _may_be_lost(sheet: Sheet, one: _Object) -> bool:
    """Say whether the plates carry what they would if the object were not there."""
    if one.paint is None:
        return False
    found = patch(sheet, one.parts)
    if one.white:
        return bool((found.total >= _INKED).any())
    ground = _ground(sheet, one)
    return ground is not None and bool(_same(found, ground).any())


class _Ground(NamedTuple):
    """What lies round an object on the plates that it changes (indices), in percent (plates,)."""

    plates: list[int]
    inks: FloatArray


def _ground(sheet: Sheet, one: _Object) -> _Ground | None:
    """Return what lies round an object; None where it changes, or on plates left alone."""
    around = patch(sheet, ring(one.box, _AROUND_MM))
    plates = [] if one.paint is None else _changed(one.paint, sheet.plates.inks)
    if not len(around.inks) or not plates:
        return None
    low, ground, high = np.percentile(around.inks[:, plates], (10, 50, 90), axis=0)
    return None if (high - low).max() > _EVEN else _Ground(plates, ground)


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


def _missed(sheet: Sheet, one: _Object, screen: Screen) -> bool:
    """Say whether an object is seen on screen where the plates do not have it."""
    found, around = patch(sheet, one.parts), patch(sheet, ring(one.box, _AROUND_MM))
    rgb = screen.at(found.where)
    bright = rgb.min(axis=1) >= _BRIGHT
    if one.white and int(bright.sum()) >= _LEAST_PIXELS:
        usual = float(np.median(around.total)) if len(around.inks) else 0.0
        gone = found.total[bright] >= max(_INKED, usual / 2)
    else:
        ground = _ground(sheet, one)
        if ground is None:
            return False
        gone = _same(found, ground)[_standing_out(rgb, screen.at(around.where))]
        if len(gone) < _LEAST_PIXELS:
            return False
    return float(gone.mean()) >= (_WHITE_SHARE if one.white else _SHARE)


def _standing_out(rgb: NDArray[np.int16], around: NDArray[np.int16]) -> Mask:
    """Say which pixels of an object differ from what lies round it, by their screen colours.

    On an even ground that is all that differ: fine type has no pixel in its full colour. Else it
    is those in the one colour that the ground has least of.
    """
    middle = np.median(around, axis=0)
    seen: Mask = np.abs(rgb - middle).max(axis=1) >= _SEEN
    if float((np.abs(around - middle).max(axis=1) >= _SEEN).mean()) <= 1 - _SHARE:
        return seen
    tones = 256 // _TONES
    own, other = ((one // _TONES) @ (tones * tones, tones, 1) for one in (rgb, around))
    shares = [np.bincount(one, minlength=tones**3) / len(one) for one in (own, other)]
    more = shares[0] - shares[1]
    standing: Mask = (own == more.argmax()) & bool(more.max() >= _STANDS_OUT)
    return standing


class _Over(NamedTuple):
    """An object and a spot that lies under a part of it."""

    one: _Object
    spot: str
    found: Patch
    own: Mask
    """Pixels where the object's inks lie."""
    there: Mask
    """Pixels where the spot lies."""


def _showing_through(sheet: Sheet, objects: list[_Object]) -> dict[str, list[_Object]]:
    """Return the spots that lie under objects of process colours."""
    through: dict[str, list[_Object]] = defaultdict(list)
    perhaps = []
    for over in _over_spots(sheet, objects):
        own = over.own
        if int(own.sum()) >= _LEAST_PIXELS and float(over.there[own].mean()) >= 0.5:
            through[over.spot].append(over.one)
        elif _is_seen(sheet, over):
            perhaps.append(over)
    if perhaps:
        screen = _screen(sheet, [over.one for over in perhaps])
        for over in perhaps:
            if _covered_on_screen(over, screen):
                through[over.spot].append(over.one)
    return through


def _over_spots(sheet: Sheet, objects: list[_Object]) -> Iterator[_Over]:
    inks = sheet.plates.inks
    spots = [ink for ink in inks if ink not in PROCESS_INKS]
    for one in objects if spots else ():
        amounts = {} if one.paint is None else dict(one.paint.inks)
        if one.white or any(ink not in PROCESS_INKS for ink in amounts):
            continue
        found = patch(sheet, one.parts)
        own = found.inks[:, : len(PROCESS_INKS)].max(axis=1) >= _SPOT
        for ink, amount in amounts.items():
            if amount > 0:
                own &= found.inks[:, inks.index(ink)] >= 90 * amount
        for spot in spots:
            there = found.inks[:, inks.index(spot)] >= _SPOT
            if int(there.sum()) >= _LEAST_PIXELS:
                yield _Over(one, spot, found, own, there)


def _covered_on_screen(over: _Over, screen: Screen) -> bool:
    """Say whether a spot under a part of an object is not to be seen on screen.

    Where the object covers it there, the screen shows what it shows of the same process inks
    beside the spot, or the white of a picture; a spot that lies on top is seen.
    """
    found, own, there = over.found, over.own, over.there
    rgb, process = screen.at(found.where), found.inks[:, : len(PROCESS_INKS)]
    bare = process.max(axis=1) < _SPOT
    white = there & bare & (rgb.min(axis=1) >= _BRIGHT)
    if over.one.paint is None and int(white.sum()) >= _LEAST_PIXELS:
        return True
    under, beside = (_some(mask) for mask in (own & there, own & ~there))
    if min(len(under), len(beside)) < _LEAST_PIXELS:
        return False
    apart = np.abs(process[under][:, None] - process[beside][None]).max(axis=2)
    alike = apart.min(axis=1) <= _ALIKE
    step = np.abs(rgb[under] - rgb[beside][apart.argmin(axis=1)]).max(axis=1)[alike]
    covered = step < _SEEN
    return int(covered.sum()) >= _LEAST_PIXELS and float(covered.mean()) >= _SHARE


def _some(mask: Mask) -> NDArray[np.intp]:
    """Return where a mask holds, evenly thinned."""
    places = np.flatnonzero(mask)
    return places[:: max(1, len(places) // _MOST_COMPARED)]


def _is_seen(sheet: Sheet, over: _Over) -> bool:
    """Say whether a spot's tint differs from paper on screen: a varnish may not."""
    look = sheet.plates.looks.get(over.spot)
    if look is None:
        return True
    percent = float(np.median(over.found.inks[over.there, sheet.plates.inks.index(over.spot)]))
    step = look.steps[round(percent / 100 * (len(look.steps) - 1))]
    return max(abs(a - b) for a, b in zip(step, look.steps[0], strict=True)) * 255 >= _SEEN
