"""What overprints, and the spots that show through it though the screen shows it covering."""

from __future__ import annotations

from collections import defaultdict
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import PROCESS_INKS, Paint
from prepcheck.geometry import Box
from prepcheck.measure.ink import FULL, Mask, amounts_at
from prepcheck.sheets.exam import Sheet
from prepcheck.sheets.inks import Patch, Screen, patch

PAPER = 0.03
"""Ink up to which a colour is taken for paper's."""
BRIGHT = 245
"""Least of red, green and blue of what is white on screen."""
LEAST_PIXELS = 4
SHARE = 0.8
"""Share of the pixels seen on screen that must be missing on the plates; beside a white object
there may be other white."""
AROUND_MM = 0.6
SEEN = 20
"""Step of red, green or blue by which an object is seen on screen, of 255."""
_SPOT = 10.0
"""Percent of a spot, or of process inks, from which it counts."""
_ALIKE = 4.0
"""Percent by which the process inks of pixels may differ that should look the same on screen."""
_MOST_COMPARED = 300
"""Pixels of an object that are compared with as many others."""
_STEPS = (2, 4, 8, 16, 32)
"""Pixels from those of a spot at which others are looked at, in four directions."""
_MOST = 0.5
"""Share of an object's pixels from which a spot lies under most of it."""


class Overprinting(NamedTuple):
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
            return min(self.paint.rgb) >= 1 - PAPER
        return all(amount <= PAPER for _, amount in self.paint.inks)


def screen_of(sheet: Sheet, objects: list[Overprinting]) -> Screen:
    """Return how all objects and what lies round them look on screen."""
    every = objects[0].box
    for one in objects[1:]:
        every = every.union(one.box)
    return Screen.of(sheet, every.grown(2 * AROUND_MM))


class _Over(NamedTuple):
    """An object and a spot that lies under a part of it."""

    one: Overprinting
    spot: str
    found: Patch
    own: Mask
    """Pixels where the object's inks lie."""
    there: Mask
    """Pixels where the spot lies."""

    @classmethod
    def of(cls, sheet: Sheet, one: Overprinting, spot: str, found: Patch) -> _Over:
        inks = sheet.plates.inks
        own = found.inks[:, : len(PROCESS_INKS)].max(axis=1) >= _SPOT
        for ink, amount in () if one.paint is None else one.paint.inks:
            if amount > 0:
                own &= found.inks[:, inks.index(ink)] >= 90 * amount
        return cls(one, spot, found, own, found.inks[:, inks.index(spot)] >= _SPOT)

    @property
    def lies_under_most(self) -> bool:
        own = self.own
        return int(own.sum()) >= LEAST_PIXELS and float(self.there[own].mean()) >= _MOST


def showing_through(sheet: Sheet, objects: list[Overprinting]) -> dict[str, list[Overprinting]]:
    """Return the spots that lie under objects of process colours."""
    spots = [ink for ink in sheet.plates.inks if ink not in PROCESS_INKS]
    through: dict[str, list[Overprinting]] = defaultdict(list)
    perhaps = []
    for one in objects if spots else ():
        inks = () if one.paint is None else one.paint.inks
        if one.white or any(ink not in PROCESS_INKS for ink, _ in inks):
            continue
        found = patch(sheet, one.parts)
        for spot in spots:
            over = _Over.of(sheet, one, spot, found)
            if over.lies_under_most:
                through[spot].append(one)
                continue
            over = _Over.of(sheet, one, spot, found.joined(_near(sheet, one, spot)))
            if int(over.there.sum()) >= LEAST_PIXELS and _is_seen(sheet, over):
                perhaps.append(over)
    if perhaps:
        screen = screen_of(sheet, [over.one for over in perhaps])
        for over in perhaps:
            if _covered_on_screen(over, screen):
                through[over.spot].append(over.one)
    return through


def _near(sheet: Sheet, one: Overprinting, spot: str) -> Patch:
    """Return pixels of a spot within an object's box, and pixels at growing distances of them.

    A large object is looked at too thinly for what is small under it.
    """
    grid, plate = sheet.plates.grid, sheet.plates.plate(spot)
    rows, columns = grid.window(one.box)
    corner = np.array((rows.start, columns.start))
    inked = corner + np.argwhere(plate[rows, columns] >= _SPOT * FULL / 100)
    some = inked[:: max(1, len(inked) // _MOST_COMPARED)]
    steps = np.array(
        [(y * n, x * n) for n in _STEPS for y, x in ((0, 1), (1, 0), (0, -1), (-1, 0))]
    )
    near = np.concatenate((some, (some[:, None] + steps).reshape(-1, 2)))
    inside = (near >= corner) & (near < (rows.stop, columns.stop))
    where = grid.places(near[inside.all(axis=1)][:, ::-1] + 0.5)
    return Patch(amounts_at(sheet.plates, where), where)


def _covered_on_screen(over: _Over, screen: Screen) -> bool:
    """Say whether a spot under a part of an object is not to be seen on screen.

    Where the object covers it there, the screen shows what it shows of the same process inks
    beside the spot, or the white of a picture; a spot that lies on top is seen.
    """
    found, own, there = over.found, over.own, over.there
    rgb, process = screen.at(found.where), found.inks[:, : len(PROCESS_INKS)]
    bare = process.max(axis=1) < _SPOT
    white = there & bare & (rgb.min(axis=1) >= BRIGHT)
    if over.one.paint is None and int(white.sum()) >= LEAST_PIXELS:
        return True
    under, beside = (_some(mask) for mask in (own & there, own & ~there))
    if min(len(under), len(beside)) < LEAST_PIXELS:
        return False
    apart = np.abs(process[under][:, None] - process[beside][None]).max(axis=2)
    alike = apart.min(axis=1) <= _ALIKE
    step = np.abs(rgb[under] - rgb[beside][apart.argmin(axis=1)]).max(axis=1)[alike]
    covered = step < SEEN
    return int(covered.sum()) >= LEAST_PIXELS and float(covered.mean()) >= SHARE


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
    return max(abs(a - b) for a, b in zip(step, look.steps[0], strict=True)) * 255 >= SEEN
