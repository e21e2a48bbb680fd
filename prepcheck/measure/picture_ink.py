"""The ink that a picture asks for, from its samples rather than from a softened render."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Samples
from prepcheck.geometry import Affine, Box, Quad
from prepcheck.press.separate.picture_copies import decoded_samples


class PictureInk(NamedTuple):
    """Total ink in percent: the greatest over an area, and the mean."""

    greatest: float
    mean: float


def picture_ink(samples: Samples, quad: Quad, box: Box, area_mm2: float) -> PictureInk | None:
    """Return the ink of the part of a placed picture within `box`.

    `greatest` is the total that samples worth `area_mm2` reach or pass. None where the picture
    has no ink amounts or no part in the box.
    """
    decoded = decoded_samples(samples)
    rows, columns = decoded.data.shape[:2]
    plates = [plate for plate in decoded.plates if plate]
    window = _under(quad, box, rows, columns)
    if not plates or window is None:
        return None
    part = decoded._replace(data=decoded.data[window])
    total: NDArray[np.uint16] = np.zeros(part.data.shape[:2], np.uint16)
    for plate in plates:
        amounts = part.ink(plate)
        if amounts is not None:
            total += amounts
    sample_mm2 = _area(quad) / (rows * columns)
    count = min(max(1, round(area_mm2 / sample_mm2)), total.size)
    greatest = np.partition(total, total.size - count, axis=None)[total.size - count]
    return PictureInk(float(greatest) / 2.55, float(total.mean()) / 2.55)


def _under(quad: Quad, box: Box, rows: int, columns: int) -> tuple[slice, slice] | None:
    (x, y), (x1, y1), _, (x3, y3) = quad
    square = Affine(x1 - x, y1 - y, x3 - x, y3 - y, x, y)
    u0, v0, u1, v1 = square.inverse().box(box)
    low = (max(0, int(np.floor((1 - v1) * rows))), max(0, int(np.floor(u0 * columns))))
    high = (min(rows, int(np.ceil((1 - v0) * rows))), min(columns, int(np.ceil(u1 * columns))))
    if low[0] >= high[0] or low[1] >= high[1]:
        return None
    return slice(low[0], high[0]), slice(low[1], high[1])


def _area(quad: Quad) -> float:
    (x, y), (x1, y1), _, (x3, y3) = quad
    return abs((x1 - x) * (y3 - y) - (y1 - y) * (x3 - x))
