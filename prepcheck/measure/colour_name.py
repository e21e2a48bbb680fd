"""Plain words for a look, so that a sentence can tell two apart."""

from __future__ import annotations

import math

from prepcheck.geometry import FloatArray

NEUTRAL_CHROMA = 10.0
"""Chroma up to which a look has no hue worth a word."""
PALE_CHROMA = 45.0
_HUES = (
    (25.0, "pink-red"), (50.0, "red"), (75.0, "orange"), (110.0, "yellow"), (165.0, "green"),
    (215.0, "blue-green"), (308.0, "blue"), (330.0, "violet"), (360.0, "pink"),
)  # fmt: skip
"""Upper ends of the CIE L*a*b* hue angles, in degrees, that these words are used for; the ends
are from memory."""


def colour_name(lab: FloatArray) -> str:
    """Return words such as 'dark blue' for L*, a*, b* (3,)."""
    lightness, a, b = (float(value) for value in lab)
    chroma, hue = math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360
    if chroma <= NEUTRAL_CHROMA:
        if lightness < 20:
            return "black"
        if lightness > 93:
            return "white"
        return f"{'dark ' if lightness < 40 else 'pale ' if lightness > 75 else ''}grey"
    name = next(word for end, word in _HUES if hue <= end)
    if name in ("red", "orange") and lightness < 40:
        name = "brown" if name == "orange" else name
    pale = lightness > 75 and chroma < PALE_CHROMA
    return f"{'dark ' if lightness < 40 else 'pale ' if pale else ''}{name}"
