"""What a font program is to the fonts that use it, whatever kind it is of."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping

from prepcheck.art.damage import is_ours
from prepcheck.errors import ObjectError
from prepcheck.geometry import Affine, FloatArray

Bounds = tuple[float, float, float, float]
"""Left, bottom, right, top in ems."""

NOTDEF = ".notdef"


class DamagedFontError(ObjectError):
    """A font program that cannot be read."""


class FontProgram(ABC):
    """A font program: glyphs by name or number, and the ink box of each."""

    encoding: Mapping[int, str]
    """Its own encoding: code to glyph name."""

    def __init__(self) -> None:
        self._bounds: dict[str, Bounds | None] = {}
        self._outlines: dict[str, tuple[FloatArray, ...]] = {}

    @abstractmethod
    def draw(self, glyph: str) -> tuple[Bounds | None, Affine]:
        """Return a glyph's box in its own units, and the map to ems; raises whatever it likes."""

    @abstractmethod
    def trace(self, glyph: str) -> tuple[tuple[FloatArray, ...], Affine]:
        """Return a glyph's closed curves, flattened, in its own units, and the map to ems; raises
        whatever it likes."""

    @abstractmethod
    def has(self, glyph: str) -> bool:
        """Say whether there is a glyph of that name."""

    @abstractmethod
    def by_number(self, number: int) -> str:
        """Return the name of the glyph with a number (CID or glyph index)."""

    def by_code(self, code: int, name: str | None, symbolic: bool) -> str:
        """Return the glyph a simple font shows for a code; raises DamagedFontError."""
        return name if name is not None and self.has(name) else NOTDEF

    def bounds(self, glyph: str) -> Bounds | None:
        """Return where a glyph's ink lies; None when it has none or there is no such glyph.

        Raises DamagedFontError."""
        if not self.has(glyph):
            return None
        if glyph not in self._bounds:
            try:
                box, units = self.draw(glyph)
            except Exception as error:  # the library raises anything on damaged outlines
                if is_ours(error):
                    raise
                raise DamagedFontError(f"the outline of {glyph} is damaged") from error
            self._bounds[glyph] = None if box is None else _mapped(box, units)
        return self._bounds[glyph]

    def outline(self, glyph: str) -> tuple[FloatArray, ...]:
        """Return the closed curves (n, 2) of a glyph in ems, flattened; empty where they fail."""
        if glyph not in self._outlines:
            try:
                curves, units = self.trace(glyph)
            except Exception as error:  # the library raises anything on damaged outlines
                if is_ours(error):
                    raise
                curves, units = (), Affine.identity()
            self._outlines[glyph] = tuple(units.places(curve) for curve in curves)
        return self._outlines[glyph]


def _mapped(box: Bounds, units: Affine) -> Bounds:
    xs, ys = zip(*(units.at(x, y) for x in (box[0], box[2]) for y in (box[1], box[3])), strict=True)
    return min(xs), min(ys), max(xs), max(ys)
