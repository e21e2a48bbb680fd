"""How much of a piece each plate covers: what a proof states and what ink is quoted by."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, Grid
from prepcheck.outline import Outline
from prepcheck.press.separate.plates import Plates
from prepcheck.press.view import ByteArray

SOLID = 255
PRINTED = 3
"""Ink from which a pixel counts as printed: 1 % of a solid, in 255ths, rounded up."""
_BLOCK = 32
"""Pixels along a side of the squares that are looked at whole, away from the trim."""

Share = NDArray[np.float32]
_Amount = ByteArray | NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Coverage:
    """What one plate carries.

    `percent` is the mean tone of the finished face: what lies within the trim, without the hole.
    `solid_mm2` is the ink on it as the area of solid that it adds up to, `sheet_mm2` the same with
    the bleed and what will be drilled away: what ink is quoted by. `printed_mm2` is the area of
    the face that has any of the ink, from 1 % on.
    """

    ink: str
    percent: float
    solid_mm2: float
    sheet_mm2: float
    printed_mm2: float


@dataclass(frozen=True, eq=False)
class Extent:
    """Which pixels belong to a piece: shares 0..1 (rows, columns) of the face and the sheet.

    The face is what lies within the trim, without the hole; the sheet is trim and bleed.
    """

    face: Share
    sheet: Share
    pixel_mm2: float

    @classmethod
    def of(cls, outline: Outline, grid: Grid, bleed_mm: float) -> Extent:
        """Return the extent of a piece on a grid."""
        face = share_inside(outline, grid)
        sheet = share_inside(outline, grid, bleed_mm)
        if outline.hole is not None:
            rows, columns = grid.window(Box.around(outline.hole.points()).grown(grid.pitch))
            xs, ys = grid.centres()
            distance = outline.hole_distance_at(xs[None, columns], ys[rows, None])
            if distance is not None:
                face[rows, columns] *= np.clip(0.5 + distance / grid.pitch, 0.0, 1.0)
        return cls(face, sheet, grid.pitch**2)

    @property
    def face_mm2(self) -> float:
        """The area of the finished face, as far as it lies on the grid."""
        return _sum(self.face) * self.pixel_mm2


def coverage(plates: Plates, extent: Extent) -> tuple[Coverage, ...]:
    """Return what each plate carries, in the order of the plates.

    Pixels on the trim count with the share of them that lies inside.
    """
    pixel, whole = extent.pixel_mm2, max(_sum(extent.face), 1e-9)
    found = []
    for ink, plate in zip(plates.inks, plates.data, strict=True):
        solid = _sum(extent.face, plate) / SOLID
        sheet = _sum(extent.sheet, plate) / SOLID
        printed = _sum(extent.face, plate >= PRINTED)
        found.append(
            Coverage(ink, 100 * solid / whole, solid * pixel, sheet * pixel, printed * pixel)
        )
    return tuple(found)


def share_inside(outline: Outline, grid: Grid, grown_mm: float = 0.0) -> Share:
    """Return the share 0..1 of each pixel (rows, columns) that lies inside the trim.

    `grown_mm` moves the trim outwards. Squares far from the trim are decided by their middle.
    """
    xs, ys = grid.centres()
    rows, columns = (np.arange(0, size, _BLOCK) for size in (grid.height, grid.width))
    half = (_BLOCK - 1) / 2 * grid.pitch
    middles = outline.distance_at(xs[None, columns] + half, ys[rows, None] - half) - grown_mm
    reach = (_BLOCK / 2 + 1) * 2**0.5 * grid.pitch
    whole = (middles < -reach).astype(np.float32)
    near = np.argwhere(np.abs(middles) <= reach)
    steps = np.arange(_BLOCK)
    x = xs[0] + (near[:, 1, None] * _BLOCK + steps)[:, None, :] * grid.pitch
    y = ys[0] - (near[:, 0, None] * _BLOCK + steps)[:, :, None] * grid.pitch
    shares = np.clip(0.5 - (outline.distance_at(x, y) - grown_mm) / grid.pitch, 0.0, 1.0)
    out = np.repeat(np.repeat(whole, _BLOCK, axis=0), _BLOCK, axis=1)
    for (row, column), share in zip(near * _BLOCK, shares, strict=True):
        out[row : row + _BLOCK, column : column + _BLOCK] = share
    return out[: grid.height, : grid.width]


def _sum(share: Share, amount: _Amount | None = None) -> float:
    """Add up `share` times `amount`, a band of rows at a time."""
    total = 0.0
    for first in range(0, len(share), _BLOCK):
        band = share[first : first + _BLOCK]
        if amount is None:
            total += float(band.sum(dtype=np.float64))
        else:
            total += float(np.vdot(band, amount[first : first + _BLOCK].astype(np.float32)))
    return total
