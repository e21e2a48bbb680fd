"""Contrast of a symbol as a scanner sees it, graded by the steps of ISO/IEC 15416."""

from __future__ import annotations

from typing import Literal, NamedTuple

from prepcheck.geometry import FloatArray

Grade = Literal["A", "B", "C", "D", "F"]

SYMBOL_CONTRAST_STEPS: tuple[tuple[Grade, float], ...] = (
    ("A", 70.0),
    ("B", 55.0),
    ("C", 40.0),
    ("D", 20.0),
)
"""Least symbol contrast of a grade in percent: ISO/IEC 15416, as published tables give it."""
LEAST_EDGE_CONTRAST = 15.0
"""Least difference in percent between a bar and the space beside it; below it the grade is F."""
DARKEST_SHARE = 0.5
"""The darkest bar may reflect at most this share of what the lightest space does, else F."""


class Contrast(NamedTuple):
    """Reflectances are in percent of a perfect white."""

    symbol: float
    """Lightest less darkest, in percent; negative where the bars are lighter than the spaces."""
    edge: float
    """The least difference between a space and the bar beside it, in percent."""
    grade: Grade
    why: str
    """What decided the grade, in words."""


def grade_contrast(reflectance: FloatArray) -> Contrast:
    """Grade the reflectances (n,), 0..1, of a symbol's elements in turn.

    The first and the last are the quiet zones, so spaces have even places and bars odd ones.
    """
    percent = 100.0 * reflectance
    spaces, bars = percent[::2], percent[1::2]
    symbol = float(spaces.max() - bars.min())
    edge = float(min((spaces[:-1] - bars).min(), (spaces[1:] - bars).min()))
    grade: Grade = next((name for name, least in SYMBOL_CONTRAST_STEPS if symbol >= least), "F")
    why = "symbol contrast"
    if edge < LEAST_EDGE_CONTRAST and grade != "F":
        grade, why = "F", "a bar that hardly differs from the space beside it"
    if float(bars.min()) > DARKEST_SHARE * float(spaces.max()) and grade != "F":
        grade, why = "F", "bars that reflect more than half of what the ground does"
    return Contrast(symbol, edge, grade, why)
