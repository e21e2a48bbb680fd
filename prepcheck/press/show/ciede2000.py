"""The colour difference CIEDE2000 (ISO/CIE 11664-6)."""

from __future__ import annotations

import numpy as np

from prepcheck.geometry import FloatArray


def ciede2000(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the difference (...) of two sets of L*, a*, b* (..., 3), all weights 1.

    Source: G. Sharma, W. Wu, E. N. Dalal, Color Research and Application 30 (2005), 21-30.
    """
    l1, a1, b1 = np.moveaxis(np.asarray(first, np.float64), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(second, np.float64), -1, 0)
    mean_chroma7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(mean_chroma7 / (mean_chroma7 + 25.0**7))
    c1, c2 = np.hypot(a1 * stretch, b1), np.hypot(a2 * stretch, b2)
    h1 = np.degrees(np.arctan2(b1, a1 * stretch)) % 360
    h2 = np.degrees(np.arctan2(b2, a2 * stretch)) % 360

    grey = c1 * c2 == 0
    turn = (h2 - h1 + 180) % 360 - 180
    # Exactly opposite hues go the way round that Sharma's formulas take.
    turn = np.where((turn == -180) & (h2 - h1 > 0), 180.0, turn)
    turn = np.where(grey, 0.0, turn)
    wide = np.abs(h1 - h2) > 180
    mean_hue = np.where(wide, (h1 + h2 + np.where(h1 + h2 < 360, 360, -360)) / 2, (h1 + h2) / 2)
    mean_hue = np.where(grey, h1 + h2, mean_hue)

    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    t = (
        1
        - 0.17 * np.cos(np.radians(mean_hue - 30))
        + 0.24 * np.cos(np.radians(2 * mean_hue))
        + 0.32 * np.cos(np.radians(3 * mean_hue + 6))
        - 0.20 * np.cos(np.radians(4 * mean_hue - 63))
    )
    s_l = 1 + 0.015 * (light - 50) ** 2 / np.sqrt(20 + (light - 50) ** 2)
    s_c, s_h = 1 + 0.045 * chroma, 1 + 0.015 * chroma * t
    rotation = (
        -2
        * np.sqrt(chroma**7 / (chroma**7 + 25.0**7))
        * np.sin(np.radians(60 * np.exp(-(((mean_hue - 275) / 25) ** 2))))
    )
    d_l = (l2 - l1) / s_l
    d_c = (c2 - c1) / s_c
    d_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2)) / s_h
    difference: FloatArray = np.sqrt(d_l**2 + d_c**2 + d_h**2 + rotation * d_c * d_h)
    return difference
