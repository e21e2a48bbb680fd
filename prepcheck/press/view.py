"""A page as arrays over a pixel grid in the piece's frame: what the measures work on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import Grid

ByteArray = NDArray[np.uint8]


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
