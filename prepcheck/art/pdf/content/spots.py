"""How spots look where no ink is at hand: by the stand-in colour that the file gives them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import ALL_INKS, PROCESS_INKS
from prepcheck.art.pdf.colour import Colorants, ColourSpace, Indexed, PatternSpace
from prepcheck.art.pdf.content.mix import Scope, scope_of
from prepcheck.geometry import FloatArray

TINTS = 17
"""Tints from none to solid at which a spot's stand-in is asked for."""


class SpotLook(NamedTuple):
    """The stand-in of a spot at evenly spaced tints from none to solid.

    Each of `steps` is four process inks, or three of sRGB, 0..1.
    """

    in_inks: bool
    steps: tuple[tuple[float, ...], ...]


def at_all_tints(steps: FloatArray) -> FloatArray:
    """Return colours at evenly spaced tints (steps, n) at each of 256 (256, n), none to solid."""
    places = np.linspace(0.0, len(steps) - 1.0, 256)
    columns = [np.interp(places, np.arange(len(steps)), column) for column in steps.T]
    return np.stack(columns, axis=1)


def spot_looks(space: ColourSpace) -> Iterator[tuple[str, SpotLook]]:
    """Yield each spot that a colour space names with how it looks."""
    if isinstance(space, Indexed | PatternSpace) and space.base is not None:
        yield from spot_looks(space.base)
    if isinstance(space, Colorants):
        for index, plate in enumerate(space.plates):
            if plate is not None and plate not in PROCESS_INKS and plate != ALL_INKS:
                yield plate, _look(space, index)


def _look(space: Colorants, index: int) -> SpotLook:
    in_inks = scope_of(space.alternate.facts) in (Scope.DIRECT, Scope.PROCESS)
    steps: list[tuple[float, ...]] = []
    for step in range(TINTS):
        components = [0.0] * len(space.plates)
        components[index] = step / (TINTS - 1)
        colour = space.tint.at(*components)[: space.alternate.facts.components]
        if in_inks:
            amounts = dict(space.alternate.inks(colour))
            steps.append(tuple(amounts.get(ink, 0.0) for ink in PROCESS_INKS))
        else:
            steps.append(space.alternate.rgb(colour))
    return SpotLook(in_inks, tuple(steps))
