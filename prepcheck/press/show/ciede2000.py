"""The colour difference CIEDE2000 (ISO/CIE 11664-6)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray


def ciede2000(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the difference (...) of two sets of L*, a*, b* (..., 3), all weights 1.

    Source: G. Sharma, W. Wu, E. N. Dalal, Color Research and Application 30 (2005), 21-30.
    """
    one, other = np.broadcast_arrays(first, second)
    if one.ndim < 2:
        return _difference(one, other)
    found = np.empty(one.shape[:-1])
    step = max(1, _AT_A_TIME * len(one) // max(1, found.size))
    for start in range(0, len(one), step):
        own = slice(start, start + step)
        found[own] = _difference(one[own], other[own])
    return found


def reaches(first: FloatArray, second: FloatArray, least: float) -> NDArray[np.bool_]:
    """Say where `ciede2000` is at least so much (...): told by bounds first, which most looks keep
    within or lie beyond, in a quarter of the time.

    The weights are 1 at least and that of lightness 1.75 at the most, a* is stretched to 1.5 of
    itself at the most, and the turn of blues adds at most sin 60° of what chroma and hue give.
    """
    one, other = np.broadcast_arrays(first, second)
    light, a, b = np.moveaxis(np.square(other - one), -1, 0)
    turned = 1 + _SIN60
    found: NDArray[np.bool_] = light >= (_HEAVIEST * least) ** 2 * (1 + _ROUNDING)
    near = light + turned * (1.5**2 * a + b) < least**2 * (1 - _ROUNDING)
    rest = ~(found | near)
    found[rest] = ciede2000(one[rest], other[rest]) >= least
    return found


def _difference(first: FloatArray, second: FloatArray) -> FloatArray:
    l1, a1, b1 = np.moveaxis(np.asarray(first, np.float64), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(second, np.float64), -1, 0)
    mean_chroma7 = _seventh((_length(a1, b1) + _length(a2, b2)) / 2)
    stretch = 1.5 - 0.5 * np.sqrt(mean_chroma7 / (mean_chroma7 + 25.0**7))
    a1, a2 = a1 * stretch, a2 * stretch
    c1, c2 = _length(a1, b1), _length(a2, b2)
    h1, h2 = _hue(a1, b1), _hue(a2, b2)

    both, further = h1 + h2, h2 - h1
    product = c1 * c2
    grey = product == 0
    # The shorter way round; exactly opposite hues go the way that Sharma's formulas take.
    turn = np.where(further > 180, further - 360, np.where(further < -180, further + 360, further))
    turn = np.where(grey, 0.0, turn)
    mean_hue = both / 2
    wide = (np.abs(further) > 180) & ~grey
    mean_hue = np.where(wide, mean_hue + np.where(both < 360, 180, -180), mean_hue)
    mean_hue = np.where(grey, both, mean_hue)

    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    # Cosines of multiples of an angle from its own, each of which would take as long.
    angle = np.radians(mean_hue)
    cos1, sin1 = np.cos(angle), np.sin(angle)
    cos2, sin2 = cos1 * cos1 - sin1 * sin1, 2 * sin1 * cos1
    cos3, sin3 = cos2 * cos1 - sin2 * sin1, sin2 * cos1 + cos2 * sin1
    cos4, sin4 = cos2 * cos2 - sin2 * sin2, 2 * sin2 * cos2
    t = (
        1
        - 0.17 * (cos1 * _COS[30] + sin1 * _SIN[30])
        + 0.24 * cos2
        + 0.32 * (cos3 * _COS[6] - sin3 * _SIN[6])
        - 0.20 * (cos4 * _COS[63] + sin4 * _SIN[63])
    )
    off_middle = (light - 50) * (light - 50)
    s_l = 1 + 0.015 * off_middle / np.sqrt(20 + off_middle)
    s_c, s_h = 1 + 0.045 * chroma, 1 + 0.015 * chroma * t
    chroma7, from_blue = _seventh(chroma), (mean_hue - 275) / 25
    rotation = (
        -2
        * np.sqrt(chroma7 / (chroma7 + 25.0**7))
        * np.sin(np.radians(60 * np.exp(-from_blue * from_blue)))
    )
    d_l = (l2 - l1) / s_l
    d_c = (c2 - c1) / s_c
    d_h = 2 * np.sqrt(product) * np.sin(np.radians(turn / 2)) / s_h
    difference: FloatArray = np.sqrt(d_l * d_l + d_c * d_c + d_h * d_h + rotation * d_c * d_h)
    return difference


_AT_A_TIME = 1 << 14
"""Differences worked out at once, so that what they take stays in the processor's cache."""
_HEAVIEST = 1.75
"""The weight of lightness at 0 and 100 is 1.747."""
_SIN60 = 0.8661
_ROUNDING = 1e-6
_COS, _SIN = ({n: float(of(np.radians(n))) for n in (6, 30, 63)} for of in (np.cos, np.sin))


def _length(a: FloatArray, b: FloatArray) -> FloatArray:
    """Return the length of (a, b): `numpy.hypot` takes eight times as long."""
    length: FloatArray = np.sqrt(a * a + b * b)
    return length


def _seventh(value: FloatArray) -> FloatArray:
    cube = value * value * value
    return cube * cube * value


def _hue(a: FloatArray, b: FloatArray) -> FloatArray:
    """Return an angle in degrees, from 0 to below 360."""
    angle = np.degrees(np.arctan2(b, a))
    return np.where(angle < 0, angle + 360, angle)
