"""What a colour asks of each plate, and which plates it touches when it overprints.

Rules of overprinting: ISO 32000-2, 8.6.7 and Table 147 (11.7.4.3).
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import NamedTuple

from pypdf.generic import ArrayObject

from prepcheck.art.model import ALL_INKS, NO_INK, PROCESS_INKS, Space, SpaceFamily
from prepcheck.art.pdf.colour import DEVICE_GREY, ColourSpace, Inks, Rgb
from prepcheck.art.pdf.objects import as_name, items

SEEN_RGB = ("\0red", "\0green", "\0blue")
"""Stand-in plates for paint that has no ink amounts: what it takes away of each light."""
PROCESS = frozenset(PROCESS_INKS)
HUES = ("Hue", "Saturation", "Color")
"""Blend modes that leave black as it is below (ISO 32000-2, 11.3.5.3)."""
NON_SEPARABLE = (*HUES, "Luminosity")
NOT_WHITE_PRESERVING = ("Difference", "Exclusion")
"""Blend modes that spots take as Normal (11.7.4.2)."""


def blend_name(given: object) -> str:
    """Return the blend mode of a BM entry, the first of several (ISO 32000-2, 11.6.3)."""
    first = next(items(given), None) if isinstance(given, ArrayObject) else given
    return as_name(first) or "Normal"


class Scope(Enum):
    """Which plates a colour space speaks of."""

    DIRECT = "DeviceCMYK"
    PROCESS = "other spaces in process inks"
    CONVERTED = "spaces without ink amounts, turned into process inks"
    NAMED = "named colorants"
    ALL = "every plate"
    NONE = "no plate"
    SEEN = "spaces without ink amounts"


class Plateset(NamedTuple):
    """A set of plates, or all but a set."""

    names: frozenset[str]
    inverted: bool = False

    def holds(self, plate: str) -> bool:
        """Say whether a plate is in the set."""
        return (plate in self.names) is not self.inverted


EVERY = Plateset(frozenset(), inverted=True)
NOTHING = Plateset(frozenset())
CMY_SET = Plateset(PROCESS - {"Black"})
BLACK_SET = Plateset(frozenset({"Black"}))
PROCESS_SET = Plateset(PROCESS | frozenset(SEEN_RGB))


UNSEEN: Rgb = (0.0, 0.0, 0.0)


class Mix(NamedTuple):
    """A colour as the plates see it: the ink each gets (0..1) and its scope."""

    inks: Inks
    scope: Scope
    rgb: Rgb
    """How it looks, for what is not in process inks; else UNSEEN."""

    def amount(self, plate: str) -> float:
        """Return the ink 0..1 on a plate; 0 where the colour only knocks out."""
        if self.scope is Scope.SEEN:
            return 1.0 - self.rgb[SEEN_RGB.index(plate)] if plate in SEEN_RGB else 0.0
        for name, amount in self.inks:
            if name == plate or (name == ALL_INKS and plate not in SEEN_RGB):
                return amount
        return 0.0

    def painted(self, overprint: bool, mode: int) -> Plateset:
        """Return the plates that the colour changes; `mode` is OPM."""
        if self.scope is Scope.NONE:
            return NOTHING
        if self.scope is Scope.DIRECT and overprint and mode == 1:
            return Plateset(frozenset(name for name, amount in self.inks if amount > 0))
        names = (name for name, _ in self.inks)
        return scope_painted(self.scope, overprint, names)


def scope_painted(scope: Scope, overprint: bool, names: object) -> Plateset:
    """Return the plates that pictures, shadings and colours of a scope change."""
    if scope is Scope.NONE:
        return NOTHING
    if not overprint or scope is Scope.ALL:
        return EVERY
    return Plateset(frozenset(names)) if scope is Scope.NAMED else PROCESS_SET  # type: ignore[call-overload]


def mix_of(space: ColourSpace, components: Sequence[float]) -> Mix:
    """Return a colour's mix; missing components count as zero."""
    count = space.facts.components
    full = tuple(components[:count])
    if len(full) < count:
        full += (0.0,) * (count - len(full))
    scope = scope_of(space.facts)
    seen = scope not in (Scope.DIRECT, Scope.PROCESS, Scope.CONVERTED)
    return Mix(space.inks(full), scope, space.rgb(full) if seen else UNSEEN)


def scope_of(space: Space) -> Scope:
    """Return which plates a colour space speaks of."""
    match space.family:
        case SpaceFamily.CMYK:
            return Scope.DIRECT
        case SpaceFamily.SEPARATION | SpaceFamily.DEVICE_N:
            if ALL_INKS in space.colorants:
                return Scope.ALL
            return Scope.NONE if set(space.colorants) <= {NO_INK} else Scope.NAMED
        case SpaceFamily.INDEXED if space.base is not None:
            base = scope_of(space.base)
            return Scope.PROCESS if base is Scope.DIRECT else base
        case SpaceFamily.ICC if space.base is not None and space.kind == "cmyk":
            return Scope.PROCESS if space.components == 4 else Scope.CONVERTED
    return Scope.PROCESS if space.kind in ("cmyk", "grey") else Scope.SEEN


def space_plates(space: Space) -> tuple[str, ...]:
    """Return the plates that a space's components stand for, one each ("" for none).

    Only for spaces with ink amounts, Indexed taken as its base.
    """
    if space.family in (SpaceFamily.SEPARATION, SpaceFamily.DEVICE_N):
        return tuple("" if name == NO_INK else name for name in space.colorants)
    if space.family is SpaceFamily.INDEXED and space.base is not None:
        return space_plates(space.base)
    return PROCESS_INKS if space.kind == "cmyk" else PROCESS_INKS[3:]


BLACK = mix_of(DEVICE_GREY, (0.0,))
"""The colour that content starts with (ISO 32000-2, Table 51)."""
