"""The add-on of two or five digits to the right of an EAN-13 or a UPC."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from prepcheck.geometry import Box, FloatArray, Point, Quad
from prepcheck.measure.barcode.fit import common_height
from prepcheck.measure.barcode.quiet import Light, free_room
from prepcheck.measure.barcode.seek import BarcodeSighting
from prepcheck.measure.barcode.symbology import ADD_ON_MODULES, decode_add_on
from prepcheck.measure.barcode.upright import Upright

GAP_MODULES = (3.0, 20.0)
"""Between a symbol's last bar and its add-on, as far as bars are taken for one; 7 to 12 are
right."""
MIDDLE_MODULES = 36.0
"""From a symbol's last bar to the middle of what is looked at."""
_SPAN_OFF = 0.06
"""Share by which the width of an add-on may differ from that of its modules."""


class AddOn(NamedTuple):
    """An add-on whose bars were read. `quad` is the block of its bars in the piece's frame."""

    digits: str
    quad: Quad
    gap_mm: float
    """From the last bar of the symbol to the first of the add-on."""
    height_mm: float
    """Of the shortest bar."""
    quiet_mm: float
    """Free room on the right of it."""


def beside(upright: Upright, ends: tuple[float, float], heights: tuple[float, float], x_mm: float,
           turn: float) -> BarcodeSighting:  # fmt: skip
    """Return where to look for the add-on of a symbol that was measured in an upright frame.

    The sighting is as long as an EAN-13, so that it is drawn as fine as the symbol was.
    """
    low, high = heights
    at = Point(ends[1] + MIDDLE_MODULES * x_mm, (low + high) / 2)
    return BarcodeSighting(upright.to_piece.at(*at), turn, 95 * x_mm, high - low)


def add_on_in(upright: Upright, x_mm: float, light: Light) -> AddOn | None:
    """Return the add-on in surroundings that were turned upright by `beside`; None without one."""
    for way in (upright, upright.negative()):
        found = _read(way, x_mm)
        if found is not None:
            return _measured(way, *found, x_mm, light)
    return None


def _measured(upright: Upright, digits: str, edges: FloatArray, x_mm: float, light: Light) -> AddOn:
    low, high = common_height(upright, edges)
    x, _ = upright.grid.centres()
    first, last = float(edges[0]), float(edges[-1])
    return AddOn(
        digits,
        upright.to_piece.quad(Box(first, low, last, high)),
        first + MIDDLE_MODULES * x_mm,
        high - low,
        free_room(upright, x - last, (low, high), x_mm, light),
    )


def _read(upright: Upright, x_mm: float) -> tuple[str, FloatArray] | None:
    edges, begins = upright.edges()
    modules = edges / x_mm + MIDDLE_MODULES
    for first in range(0 if begins else 1, len(edges), 2):
        if not GAP_MODULES[0] <= modules[first] <= GAP_MODULES[1]:
            continue
        for count, wide in ADD_ON_MODULES.items():
            chosen = edges[first : first + count + 1]
            if len(chosen) <= count:
                continue
            after = edges[first + count + 1 :]
            runs_on = len(after) > 0 and after[0] - chosen[-1] < 2 * x_mm
            span = (chosen[-1] - chosen[0]) / (wide * x_mm)
            if runs_on or abs(span - 1.0) > _SPAN_OFF:
                continue
            digits = decode_add_on(np.diff(chosen))
            if digits is not None:
                return digits, chosen
        return None
    return None
