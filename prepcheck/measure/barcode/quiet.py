"""Free room beside bars, as the scanner sees it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.barcode.upright import QUIET_LOOK, Upright
from prepcheck.press.show.condition import PrintCondition
from prepcheck.press.show.scanner import red_reflectance

BLOCKED = 0.25
"""Share of the difference between space and bar from which something in a quiet zone counts."""
LEAST_CONTRAST = 0.2
"""Difference between spaces and bars, of 1, from which red light tells them apart."""
ROWS_BLOCKED = 0.05
"""Share of the rows that must be blocked."""


class Light(NamedTuple):
    """What spaces and bars of a symbol reflect of red light, 0..1, printed to a condition."""

    condition: PrintCondition
    space: float
    bar: float


def reflectance(
    upright: Upright, condition: PrintCondition, amounts: NDArray[np.float32]
) -> FloatArray:
    """Return the share of red light, 0..1, that amounts (..., channels) give back."""
    plates, count = upright.plates, len(upright.plates.inks)
    seen = None if plates.seen is None else 1.0 - amounts[..., count:]
    return red_reflectance(plates.inks, amounts[..., :count], condition, seen, plates.looks)


def free_room(
    upright: Upright,
    beyond: FloatArray,
    heights: tuple[float, float],
    x_mm: float,
    light: Light,
) -> float:
    """Return the free room in mm beside a bar, looked for as far as `QUIET_LOOK` modules.

    `beyond` (columns,) is how far each column lies outside the bar.
    """
    low, high = heights
    rows, _ = upright.grid.window(Box(0.0, low, 0.0, high).grown(-upright.grid.pitch))
    look = QUIET_LOOK * x_mm
    columns = np.flatnonzero((beyond > 0.75 * x_mm) & (beyond <= look))
    columns = columns[np.argsort(beyond[columns])]
    every = max(1, (rows.stop - rows.start) // 120)
    strip = upright.amounts[rows.start : rows.stop : every][:, columns]
    red = reflectance(upright, light.condition, strip)
    space, bar = light.space, light.bar
    if space - bar >= LEAST_CONTRAST:
        blocked = space - red > BLOCKED * (space - bar)
    else:
        # Bars that red light does not see: what looks like them counts, and what is dark.
        alike = upright.bar[rows.start : rows.stop : every][:, columns]
        blocked = (alike > BLOCKED) | (space - red > BLOCKED * LEAST_CONTRAST)
    reach = np.where(blocked.any(axis=1), blocked.argmax(axis=1), len(columns))
    at = int(np.quantile(reach, ROWS_BLOCKED, method="lower"))
    if at == len(columns):
        return look
    # The edge lies where the share passes one half, between two pixels.
    near = float(beyond[columns[at]])
    return max(near - upright.grid.pitch / 2, 0.0)
