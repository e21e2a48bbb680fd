"""The look of a template: spots, lines and type. Lines in mm, type in points."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from prepcheck.proof import theme
from prepcheck.proof.theme import BODY, BODY_SOFT, FIGURE, HEADING, LABEL, SMALL, Palette, TextStyle
from prepcheck.spec.places import Step


class ProcessShares(NamedTuple):
    """What stands in for a spot on screen, as shares of the four process inks."""

    cyan: float
    magenta: float
    yellow: float
    black: float

    @property
    def rgb(self) -> tuple[int, int, int]:
        """The same as sRGB by the plain rule of complements, for drawings without inks."""
        return (
            round(255 * (1 - self.cyan) * (1 - self.black)),
            round(255 * (1 - self.magenta) * (1 - self.black)),
            round(255 * (1 - self.yellow) * (1 - self.black)),
        )


SPOTS = {
    Step.CUT: ProcessShares(1.0, 0.75, 0.2, 0.35),
    Step.HOLE: ProcessShares(0.05, 0.9, 0.85, 0.15),
    Step.FOLD: ProcessShares(0.6, 0.85, 0.0, 0.05),
    Step.GLUE: ProcessShares(0.0, 0.4, 1.0, 0.1),
    Step.INK_FREE: ProcessShares(0.0, 0.65, 1.0, 0.25),
    Step.BLEED: ProcessShares(0.9, 0.15, 0.4, 0.2),
    Step.SAFE: ProcessShares(0.65, 0.0, 0.95, 0.3),
    Step.BARCODE: ProcessShares(0.8, 0.5, 0.1, 0.15),
    Step.DIMENSIONS: ProcessShares(0.35, 0.25, 0.25, 0.45),
    Step.LEGEND: ProcessShares(0.5, 0.35, 0.25, 0.75),
}


class GuidePattern(NamedTuple):
    """How a guide is drawn; guides differ in more than colour."""

    weight_mm: float
    dash_mm: tuple[float, ...] = ()


LINES = {
    Step.CUT: GuidePattern(0.25),
    Step.HOLE: GuidePattern(0.25),
    Step.FOLD: GuidePattern(0.25, (3.2, 0.9, 0.5, 0.9)),
    Step.GLUE: GuidePattern(0.2, (1.0, 1.0)),
    Step.INK_FREE: GuidePattern(0.2, (0.5, 0.5)),
    Step.BLEED: GuidePattern(0.2, (2.4, 0.9)),
    Step.SAFE: GuidePattern(0.2, (0.9, 0.7)),
    Step.BARCODE: GuidePattern(0.2, (1.6, 0.6, 0.4, 0.6)),
}
HAIR_MM = 0.1
"""Weight of dimension lines and rules."""

SOFT = 0.62
"""Tint of type that stands back."""
FAINT = 0.3
"""Tint of the names that stand within the piece."""

TITLE = replace(HEADING, ink=Palette.TEXT)
SUBTITLE = BODY
HEAD = LABEL
STRONG = theme.STRONG
RUNNING = BODY
SOURCE = replace(SMALL, size=6.2, leading=7.6)
MEASURE = BODY_SOFT
PANEL = FIGURE


def scaled(style: TextStyle, scale: float) -> TextStyle:
    """Return a style enlarged."""
    return replace(
        style,
        size=style.size * scale,
        leading=style.leading * scale,
        tracking=style.tracking * scale,
    )
