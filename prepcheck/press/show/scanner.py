"""Ink as a barcode scanner sees it: the red light that print gives back.

Scanners read with red light, in which magenta, red and yellow ink look like paper. The linear red
of sRGB (IEC 61966-2-1), after a Bradford adaptation from D50 to D65, stands in for it: figures in
X, Y, Z cannot give the true reflectance at 660 nm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import PROCESS_INKS
from prepcheck.art.pdf.content.spots import SpotLook
from prepcheck.geometry import FloatArray
from prepcheck.press.show.condition import D50, PrintCondition

_BRADFORD = np.array(
    ((0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296))
)
"""Cone response matrix of the Bradford adaptation (ICC.1:2022, annex E)."""
_D65 = np.array((95.047, 100.0, 108.883))
_SRGB_RED = np.array((3.2406, -1.5372, -0.4986)) / 100
"""X, Y, Z (D65, white Y 100) to linear red (IEC 61966-2-1)."""
_RED_OF_XYZ: FloatArray = _SRGB_RED @ (
    np.linalg.inv(_BRADFORD) @ np.diag((_BRADFORD @ _D65) / (_BRADFORD @ D50)) @ _BRADFORD
)
_SRGB_KNEE, _SRGB_SLOPE, _SRGB_OFFSET, _SRGB_POWER = 0.04045, 12.92, 0.055, 2.4


def red_light(xyz: FloatArray) -> FloatArray:
    """Return the share of red light, 0..1, that colours X, Y, Z (..., 3) for D50 give back."""
    return np.clip(np.asarray(xyz, np.float64) @ _RED_OF_XYZ, 0.0, 1.0)


def red_of_srgb(rgb: FloatArray) -> FloatArray:
    """Return the linear red, 0..1, of sRGB (..., 3), 0..1."""
    red = np.asarray(rgb[..., 0], np.float64)
    curved = ((red + _SRGB_OFFSET) / (1 + _SRGB_OFFSET)) ** _SRGB_POWER
    return np.where(red <= _SRGB_KNEE, red / _SRGB_SLOPE, curved)


def red_reflectance(
    inks: Sequence[str],
    amounts: NDArray[np.float32] | FloatArray,
    condition: PrintCondition,
    seen: NDArray[np.float32] | FloatArray | None = None,
    looks: Mapping[str, SpotLook] | None = None,
) -> FloatArray:
    """Return the share of red light (...,), 0..1, that inks printed over each other give back.

    `amounts` (..., inks) are tints 0..1 of the named inks; `seen` (..., 3) is paint without ink
    amounts as sRGB 0..1 on white, taken as it looks. `looks` gives the stand-in colours of spots;
    a spot without one counts as black, since it might be.
    """
    tints = np.zeros((*amounts.shape[:-1], len(PROCESS_INKS)))
    for index, ink in enumerate(inks):
        if ink in PROCESS_INKS:
            tints[..., PROCESS_INKS.index(ink)] = amounts[..., index]
    share = red_light(condition.xyz(tints))
    for index, ink in enumerate(inks):
        if ink not in PROCESS_INKS:
            steps = _spot_steps((looks or {}).get(ink), condition)
            at = np.linspace(0.0, 1.0, len(steps))
            share = share * np.interp(amounts[..., index], at, steps)
    return share if seen is None else np.asarray(share * red_of_srgb(np.asarray(seen)))


def _spot_steps(look: SpotLook | None, condition: PrintCondition) -> FloatArray:
    """Return the share of the paper's red that a spot lets through, at even steps of its tint."""
    if look is None:
        return np.array((1.0, 0.0))
    steps = np.array(look.steps, np.float64)
    if not look.in_inks:
        return red_of_srgb(steps)
    through: FloatArray = red_light(condition.xyz(steps)) / red_light(condition.paper)
    return np.minimum(through, 1.0)
