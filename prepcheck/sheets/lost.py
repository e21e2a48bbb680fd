"""Which overprinting objects are lost: the screen shows them, the plates do not have them.

Of thousands of objects many are looked at together, since each look takes its time however small.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import ALL_INKS, PROCESS_INKS, Paint, SpaceFamily
from prepcheck.geometry import FloatArray, distinct
from prepcheck.measure.ink import FULL, Float, Mask
from prepcheck.sheets.exam import Sheet
from prepcheck.sheets.inks import Indices, Patches, Screen, patches, portions, ring
from prepcheck.sheets.overprinting import (
    AROUND_MM,
    BRIGHT,
    LEAST_PIXELS,
    SEEN,
    SHARE,
    Overprinting,
    screen_of,
)
from prepcheck.sheets.surroundings import in_order, medians

_INKED = 15.0
"""Percent of ink where something white on screen has vanished."""
_WHITE_SHARE = 0.3
_EVEN = 6.0
"""Percent by which the inks of an even ground may differ."""
_SAME = 2.0
"""Percent by which the inks may differ where an object left no trace."""
_TONES = 32
"""Width of the steps that screen colours are sorted into."""
_STANDS_OUT = 0.2
"""Share of an object's pixels in a colour that its ground has less of."""


def lost(
    sheet: Sheet, objects: Sequence[Overprinting]
) -> tuple[list[Overprinting], list[Overprinting]]:
    """Return the white objects that vanish, and the coloured ones that leave no trace.

    The plates tell which may have; how the page looks on screen, which ones are missed.
    """
    may_be = [one for kind in _alike(sheet, objects) for one in _may_be_lost(sheet, kind)]
    if not may_be:
        return [], []
    screen = screen_of(sheet, [one for _, one, _ in may_be])
    missed: set[int] = set()
    for alike in _by_ground(may_be):
        for part in portions(sheet, [one.parts for _, one, _ in alike]):
            missed |= _missed(sheet, alike[part], screen)
    found = [one for index, one in enumerate(objects) if index in missed]
    return [one for one in found if one.white], [one for one in found if not one.white]


class _Kind(NamedTuple):
    """Objects alike: their numbers, and the plates (indices) that each of them changes."""

    numbers: list[int]
    objects: list[Overprinting]
    plates: tuple[int, ...]
    white: bool


class _Ground(NamedTuple):
    """What lies round an object on the plates that it changes (indices), in percent (plates,)."""

    plates: tuple[int, ...]
    inks: FloatArray


Suspect = tuple[int, Overprinting, _Ground | None]
"""An object that may be lost: its number, and what lies round it, where that is even."""


def _alike(sheet: Sheet, objects: Sequence[Overprinting]) -> Iterator[_Kind]:
    """Yield objects by what they change."""
    kinds: dict[tuple[tuple[int, ...], bool], list[int]] = {}
    known: dict[int, tuple[tuple[int, ...], bool]] = {}
    for number, one in enumerate(objects):
        paint = one.paint
        if id(paint) not in known:
            known[id(paint)] = _changed(paint, sheet.plates.inks), one.white
        kinds.setdefault(known[id(paint)], []).append(number)
    for (plates, white), numbers in kinds.items():
        yield _Kind(numbers, [objects[n] for n in numbers], plates, white)


def _by_ground(may_be: Sequence[Suspect]) -> list[list[Suspect]]:
    """Return what may be lost by what it changes, if its ground is even, and by its colour."""
    kinds: dict[tuple[tuple[int, ...] | None, bool], list[Suspect]] = {}
    for suspect in may_be:
        _, one, ground = suspect
        kinds.setdefault((ground and ground.plates, one.white), []).append(suspect)
    return [*kinds.values()]


def _changed(paint: Paint | None, inks: tuple[str, ...]) -> tuple[int, ...]:
    """Return the plates that an overprinting paint changes (ISO 32000-2, Table 147)."""
    if paint is None:
        return ()
    space = paint.space
    if space.family in (SpaceFamily.SEPARATION, SpaceFamily.DEVICE_N):
        names = set(inks) if ALL_INKS in space.colorants else set(space.colorants)
    elif space.family is SpaceFamily.CMYK and paint.overprint_mode == 1:
        names = {ink for ink, amount in paint.inks if amount > 0}
    else:
        names = set(PROCESS_INKS)
    return tuple(index for index, ink in enumerate(inks) if ink in names)


def _may_be_lost(sheet: Sheet, kind: _Kind) -> Iterator[Suspect]:
    """Yield the objects of which the plates carry what they would without them, each with its
    ground; None where that changes, or lies on plates left alone."""
    parts = [one.parts for one in kind.objects]
    for some in portions(sheet, parts):
        objects, boxes, count = kind.objects[some], parts[some], len(parts[some])
        even, grounds = np.zeros(count, np.bool_), np.zeros((count, len(kind.plates)))
        if kind.plates:
            rings = [ring(one.box, AROUND_MM) for one in objects]
            even, grounds = _grounds(patches(sheet, rings, kind.plates), count)
        if kind.white:
            found = patches(sheet, boxes)
            held = found.inks.sum(axis=1) >= _INKED
        else:
            may_be = even & ~_differ_from(objects, grounds, sheet.plates.inks, kind.plates)
            if not may_be.any():
                continue
            own = zip(boxes, may_be.tolist(), strict=True)
            found = patches(sheet, [each if may else () for each, may in own], kind.plates)
            held = _same(found.inks, grounds[found.owner])
        for at in distinct(found.owner[held]).tolist():
            ground = _Ground(kind.plates, grounds[at]) if even[at] else None
            yield kind.numbers[some][at], objects[at], ground


def _differ_from(
    objects: Sequence[Overprinting],
    grounds: FloatArray,
    inks: tuple[str, ...],
    plates: tuple[int, ...],
) -> Mask:
    """Say which objects are painted with another amount of an ink than lies round them, on the
    plates that they change (indices); `grounds` (objects, plates) in percent.

    Such an object leaves a trace wherever it is seen, whatever lay under it.
    """
    steps: dict[int, list[tuple[float, float]]] = {}
    for one in objects:
        if one.paint is not None and id(one.paint) not in steps:
            own, opacity = dict(one.paint.inks), one.paint.opacity
            steps[id(one.paint)] = [(own.get(inks[plate], np.nan), opacity) for plate in plates]
    none = [(np.nan, 1.0)] * len(plates)
    paint = np.array([steps.get(id(one.paint), none) for one in objects]).reshape(*grounds.shape, 2)
    step = np.abs(100 * paint[..., 0] - grounds) * paint[..., 1]
    differ: Mask = (step > 2 * _SAME).any(axis=1)
    return differ


def _grounds(around: Patches, count: int) -> tuple[Mask, FloatArray]:
    """Return which of so many objects have an even ground, and its inks (count, inks)."""
    length = np.bincount(around.owner, minlength=count)
    some = np.flatnonzero(length)
    first, length = (np.cumsum(length) - length)[some], length[some]
    even, grounds = np.zeros(count, np.bool_), np.zeros((count, around.inks.shape[1]))
    even[some] = True
    for column, values in enumerate(around.inks.T):
        amounts = np.rint(values * np.float32(FULL / 100)).astype(np.uint8)  # as in the plates
        ordered = (in_order(amounts, around.owner) * np.float32(100 / FULL)).astype(np.float64)
        low, middle, high = (_share(ordered, first, length, share) for share in (0.1, 0.5, 0.9))
        even[some] &= high - low <= _EVEN
        grounds[some, column] = middle
    return even, grounds


def _share(ordered: FloatArray, first: Indices, length: Indices, share: float) -> FloatArray:
    """Return what such a share of rising values lies below, in each stretch of them, between two
    by their distance, as `numpy.percentile` has it."""
    place = share * (length - 1)
    low = place.astype(np.intp)
    under, over = ordered[first + low], ordered[first + np.minimum(low + 1, length - 1)]
    found: FloatArray = under + (over - under) * (place - low)
    return found


def _same(inks: Float, grounds: FloatArray) -> Mask:
    """Say which pixels (n, inks) carry what lies round their object (n, inks)."""
    same = np.ones(len(inks), np.bool_)
    for own, around in zip(inks.T, grounds.T, strict=True):
        same &= np.abs(own - around) <= _SAME
    return same


def _missed(sheet: Sheet, group: Sequence[Suspect], screen: Screen) -> set[int]:
    """Return which objects of one kind are seen on screen where the plates do not have them."""
    objects = [one for _, one, _ in group]
    count = len(objects)
    white, ground = objects[0].white, group[0][2]
    changed = None if white or ground is None else ground.plates
    around = patches(sheet, [ring(one.box, AROUND_MM) for one in objects], changed)
    found = patches(sheet, [one.parts for one in objects], changed)
    rgb = screen.under(found)
    gone = np.zeros(len(rgb), np.bool_)
    counted = np.zeros(len(rgb), np.bool_)
    bright = np.zeros(count, np.bool_)
    if white:
        shines = rgb.min(axis=1) >= BRIGHT
        bright = np.bincount(found.owner[shines], minlength=count) >= LEAST_PIXELS
        usual = np.nan_to_num(medians(around.inks.sum(axis=1), around.owner, count))
        counted = shines & bright[found.owner]
        gone = found.inks.sum(axis=1) >= np.maximum(_INKED, usual / 2)[found.owner]
    if ground is not None:
        grounds = np.array([own.inks for _, _, own in group if own is not None])
        rest = ~bright[found.owner]
        stands = _standing_out(rgb, found.owner, screen.under(around), around.owner, count)
        counted |= rest & stands
        own = found.inks if changed else found.inks[:, list(ground.plates)]
        gone = np.where(rest, _same(own, grounds[found.owner]), gone)
    pixels = np.bincount(found.owner[counted], minlength=count)
    share = np.bincount(found.owner[counted & gone], minlength=count) / np.maximum(pixels, 1)
    enough = pixels >= LEAST_PIXELS
    least = _WHITE_SHARE if white else SHARE
    return {group[at][0] for at in np.flatnonzero(enough & (share >= least)).tolist()}


def _standing_out(
    rgb: NDArray[np.int16],
    owner: Indices,
    around: NDArray[np.int16],
    beside: Indices,
    count: int,
) -> Mask:
    """Say which pixels (n, 3) of objects (n,) differ from what lies round those, by their screen
    colours.

    On an even ground that is all that differ: fine type has no pixel in its full colour. Else it
    is those in the one colour that the ground has least of.
    """
    middle = np.stack([medians(channel, beside, count) for channel in around.T], axis=1)
    seen = _differ(rgb, owner, middle)
    numbers = np.bincount(beside, minlength=count)
    lively = _differ(around, beside, middle)
    uneven = np.bincount(beside[lively], minlength=count) / np.maximum(numbers, 1) > 1 - SHARE
    tones = 256 // _TONES
    own, other = ((one // _TONES) @ (tones * tones, tones, 1) for one in (rgb, around))
    first, first_beside = (np.searchsorted(one, np.arange(count + 1)) for one in (owner, beside))
    for at in np.flatnonzero(uneven).tolist():
        part = slice(first[at], first[at + 1])
        near = other[first_beside[at] : first_beside[at + 1]]
        shares = [np.bincount(one, minlength=tones**3) / len(one) for one in (own[part], near)]
        more = shares[0] - shares[1]
        seen[part] = (own[part] == more.argmax()) & bool(more.max() >= _STANDS_OUT)
    return seen


def _differ(rgb: NDArray[np.int16], owner: Indices, middle: FloatArray) -> Mask:
    """Say which pixels (n, 3) differ from the middle (count, 3) of their owner (n,)."""
    seen: Mask = np.zeros(len(rgb), np.bool_)
    for channel in range(3):
        seen |= np.abs(rgb[:, channel] - middle[:, channel][owner]) >= SEEN
    return seen
