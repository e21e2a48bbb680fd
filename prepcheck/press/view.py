"""A page as arrays over a pixel grid in the piece's frame: what the measures work on."""

from __future__ import annotations

import math
from functools import cached_property, reduce
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import FloatArray, Grid

ByteArray = NDArray[np.uint8]
_Number = TypeVar("_Number", bound=np.number)

_SQUARE = 16
"""Pixels along the sides of the squares of which it is kept whether they look even."""


@dataclass(frozen=True)
class View:
    """A rendered page.

    `ink` (rows, columns) is the greatest amount of any ink, 0 bare paper to 255 solid;
    `lightness` (rows, columns) is how light it looks, 0 black to 255 white; `rgb`
    (rows, columns, 3) is how it looks on screen. `grid` says where the pixels lie in mm.
    """

    ink: ByteArray
    lightness: ByteArray
    rgb: ByteArray
    grid: Grid

    def even(self, points: FloatArray, reach_mm: float) -> NDArray[np.bool_]:
        """Say which places (n, 2) in mm have nothing but one and the same `rgb` within a reach in
        any direction, so that nothing is seen there; not all that have are told, and none near or
        outside the edge of the view."""
        around = math.ceil((reach_mm / self.grid.pitch + 1.0) / _SQUARE)
        if around not in self._even:
            low, high = self._squares
            least, most = _spread(low, around, np.minimum), _spread(high, around, np.maximum)
            self._even[around] = np.asarray((least == most).all(axis=2), bool)
        even = self._even[around]
        columns, rows = np.floor(self.grid.pixels(points) / _SQUARE).astype(np.intp).T
        found: NDArray[np.bool_] = (
            (rows >= 0) & (rows < even.shape[0]) & (columns >= 0) & (columns < even.shape[1])
        )
        found[found] = even[rows[found], columns[found]]
        return found

    @cached_property
    def _even(self) -> dict[int, NDArray[np.bool_]]:
        """Which squares look even with those up to so many away: guides ask 20 times for the same
        reach, which takes a label 10 ms of its 200, and spots in a jacket 20."""
        return {}

    @cached_property
    def _squares(self) -> tuple[ByteArray, ByteArray]:
        """The least and the greatest red, green and blue of each square (rows, columns, 3), those
        cut by the right and lower edges left out."""
        height, width = (count // _SQUARE for count in self.rgb.shape[:2])
        whole = self.rgb[: height * _SQUARE, : width * _SQUARE]
        bands = whole.reshape(height, _SQUARE, -1)
        shape = height, width, _SQUARE, 3
        return (
            bands.min(axis=1).reshape(shape).min(axis=2),
            bands.max(axis=1).reshape(shape).max(axis=2),
        )


def over_colours(of: np.ufunc, pixels: NDArray[_Number]) -> NDArray[_Number]:
    """Return the least, the greatest or the sum of the colours of each pixel (rows, columns,
    colours), as `of.reduce(pixels, axis=2)` does in many times the time."""
    found: NDArray[_Number] = reduce(of, np.moveaxis(pixels, 2, 0))
    return found


def _spread(values: ByteArray, by: int, of: np.ufunc) -> ByteArray:
    """Return of each square (rows, columns, 3) the least or greatest of those up to `by` away;
    what lies outside is darkest and lightest at once."""
    fill = 0 if of is np.minimum else 255
    room = np.pad(values, ((by, by), (by, by), (0, 0)), constant_values=fill)
    height, width = values.shape[:2]
    across = of.reduce([room[:, step : step + width] for step in range(2 * by + 1)])
    found: ByteArray = of.reduce([across[step : step + height] for step in range(2 * by + 1)])
    return found
