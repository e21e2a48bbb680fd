"""A run of type as it was found on a page, and the outlines of its glyphs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

from prepcheck.art.paint import Paint
from prepcheck.art.quads import corners_of
from prepcheck.geometry import Box, FloatArray, Quad


class Traced(Protocol):
    """What can give outlines: a font program."""

    def outline(self, glyph: str) -> tuple[FloatArray, ...]:
        """Return the closed curves (n, 2) of a glyph in ems; empty where there are none."""
        ...


class GlyphShape(NamedTuple):
    """The outline of a glyph, wherever it stands: `box` holds it, in ems."""

    font: Traced
    glyph: str
    box: tuple[float, float, float, float]


UNPAINTED = (3, 7)
"""Text render modes that paint nothing (ISO 32000-2, Table 104)."""


class TextRun(NamedTuple):
    """One shown string, or a part of it with one font, size and paint.

    `glyphs` holds one tight quad a glyph that marks (corners lower left, lower right, upper
    right, upper left in the glyph's own frame), with the clip applied.
    """

    text: str
    font: str
    size_pt: float
    """Nominal font size in points after all transforms, measured up the glyph."""
    glyphs: Sequence[Quad]
    fill: Paint | None
    stroke: Paint | None
    stroke_mm: float
    mode: int
    """Text render mode (ISO 32000-2, Table 104)."""
    layer: str | None
    tight: bool = True
    """False where no outlines were to be had and quads stand on the font's metrics."""
    shapes: tuple[GlyphShape | None, ...] = ()
    """The outline of each glyph, None where a clip cuts it or none is to be had; empty where that
    is so of all."""
    stretch: float = 1.0
    """Width against height of the em square after all transforms: 1 as the face was drawn, 0.8
    condensed by a fifth. 1 also where that cannot be told."""
    extent: Box | None = None
    """The box round all glyphs, where whoever placed them knows it."""
    about: bool = False
    """Whether the size was told from the height of the glyphs, as where procedures draw them."""

    @property
    def corners(self) -> FloatArray:
        """The corners of the glyphs (n, 4, 2) in mm, not to be written to."""
        return corners_of(self.glyphs)

    @property
    def marks_with(self) -> tuple[Paint, ...]:
        """The paints that it marks with."""
        return marking(self.mode, self.fill, self.stroke)

    @property
    def paints(self) -> bool:
        return self.mode not in UNPAINTED

    @property
    def box(self) -> Box | None:
        if self.extent is not None or not self.glyphs:
            return self.extent
        return Box.around(corner for quad in self.glyphs for corner in quad)


def marking(mode: int, fill: Paint | None, stroke: Paint | None) -> tuple[Paint, ...]:
    """Return the paints that type in a text render mode marks with."""
    return () if mode in UNPAINTED else tuple(one for one in (fill, stroke) if one is not None)
