"""How much ink lies where: plates in cells, areas and places of what is found in them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, FloatArray, Grid
from prepcheck.measure.components import label
from prepcheck.outline import Outline
from prepcheck.press.separate.plates import Plates
from prepcheck.press.view import ByteArray

CELL_MM = 0.5
"""Side of a cell as nearly as whole pixels allow; what is smaller is no area of ink."""
_NEXT = 9
"""A cell and those next to it."""
_PLACES_AT_ONCE = 1 << 16
"""Cells whose places are worked out together: distances take ten times the memory of one number."""
FULL = 255
"""A solid plate in `Plates.data`."""

Mask = NDArray[np.bool_]
Float = NDArray[np.float32]


class Region(NamedTuple):
    """A connected place: its box and area, and its greatest and least value."""

    box: Box
    area: float
    most: float
    least: float


@dataclass(frozen=True, eq=False)
class Cells:
    """Plates averaged over cells; ink in percent of a solid plate.

    `amounts` (inks, rows, columns) are means to within 0.2 % each; `distance` (rows, columns) is
    how far a cell's centre lies outside the trim in mm, and `in_hole` whether it is drilled away.
    `size` is the number of pixels along a side.
    """

    plates: Plates
    grid: Grid
    size: int
    amounts: Float
    distance: FloatArray
    in_hole: Mask

    @classmethod
    def of(cls, plates: Plates, outline: Outline) -> Cells:
        """Return the cells of plates for a piece of an outline."""
        fine = plates.grid
        size = max(1, round(CELL_MM / fine.pitch))
        reduced = [reduce(plate, size) for plate in plates.data]
        height, width = reduced[0].shape
        grid = Grid(width, height, fine.pitch * size, fine.left, fine.top)
        distance, in_hole = np.empty((height, width)), np.zeros((height, width), bool)
        x, y = grid.centres()
        at_once = max(1, _PLACES_AT_ONCE // width)
        for first in range(0, height, at_once):
            rows = slice(first, first + at_once)
            across, down = x[None, :], y[rows, None]
            distance[rows] = outline.distance_at(across, down)
            hole = outline.hole_distance_at(across, down)
            if hole is not None:
                in_hole[rows] = hole < 0
        amounts = np.stack(reduced).astype(np.float32) * np.float32(100 / FULL)
        return cls(plates, grid, size, amounts, distance, in_hole)

    @property
    def cell_mm2(self) -> float:
        return self.grid.pitch**2

    @cached_property
    def total(self) -> Float:
        """All inks added up (rows, columns)."""
        total: Float = self.amounts.sum(axis=0)
        return total

    @cached_property
    def fine_total(self) -> NDArray[np.uint16]:
        """All inks added up for each pixel, 255 a solid plate."""
        return self.plates.total()

    @cached_property
    def face(self) -> Mask:
        """Cells within the trim and outside the hole."""
        return (self.distance <= 0) & ~self.in_hole

    def within(self, bleed_mm: float) -> Mask:
        """Return the cells that are printed: within the trim or the bleed."""
        return self.distance <= bleed_mm

    def amount(self, ink: str) -> Float:
        """Return one plate (rows, columns); bare where there is none of that name."""
        if ink not in self.plates.inks:
            return np.zeros(self.total.shape, np.float32)
        found: Float = self.amounts[self.plates.inks.index(ink)]
        return found

    def not_in_inks(self, bleed_mm: float) -> float:
        """Return the area in mm² of paint that has no ink amounts."""
        seen = self.plates.not_in_inks
        if seen is None:
            return 0.0
        painted = self.share(seen > 2)
        return float(painted.sum(where=self.within(bleed_mm))) * self.cell_mm2

    def share(self, mask: Mask) -> Float:
        """Return the share 0..1 of each cell that a mask over the pixels holds."""
        found: Float = reduce(mask.view(np.uint8) * np.uint8(FULL), self.size).astype(np.float32)
        return found / np.float32(FULL)

    def regions(self, mask: Mask, weight: Float | None = None, value: Float | None = None) -> (
        list[Region]
    ):  # fmt: skip
        """Return the connected places (corners touch) of a mask over the cells, largest first.

        `weight` (0..1) is how much of each cell counts as area; `value` is what `most` and
        `least` are taken of.
        """
        rows, columns = np.nonzero(mask)
        if not len(rows):
            return []
        joined = np.ones(mask.shape[0], bool)
        joined[-1] = False
        numbers = label(mask, joined)[rows, columns]
        count = int(numbers.max()) + 1
        area = np.bincount(numbers, None if weight is None else weight[rows, columns], count)
        values = np.zeros(len(rows), np.float32) if value is None else value[rows, columns]
        most = _extreme(np.maximum, numbers, values, count, -np.inf)
        least = _extreme(np.minimum, numbers, values, count, np.inf)
        c0 = _extreme(np.minimum, numbers, columns, count, mask.shape[1])
        c1 = _extreme(np.maximum, numbers, columns, count, -1) + 1
        r0 = _extreme(np.minimum, numbers, rows, count, mask.shape[0])
        r1 = _extreme(np.maximum, numbers, rows, count, -1) + 1
        corners = self.grid.places(np.stack((c0, r1, c1, r0), -1).reshape(-1, 2, 2)).reshape(-1, 4)
        return [
            Region(
                Box(*map(float, corners[n])),
                float(area[n]) * self.cell_mm2,
                float(most[n]),
                float(least[n]),
            )
            for n in np.argsort(-area, kind="stable")
        ]

    def window_mean(self, amounts: Float, area_mm2: float) -> FloatArray:
        """Return the mean round each cell over a square window of about `area_mm2`.

        What the window holds beyond the array counts as bare.
        """
        return self.window_means(amounts, (area_mm2,))[0]

    def window_means(self, amounts: Float, areas_mm2: Sequence[float]) -> list[FloatArray]:
        """Return `window_mean` for windows of several areas, for which all is added up once."""
        sides = [max(1, round(area**0.5 / self.grid.pitch)) for area in areas_mm2]
        room, rows, columns = max(sides), *amounts.shape
        padded = np.zeros((rows + 2 * room, columns + 2 * room))
        padded[room : room + rows, room : room + columns] = amounts
        sums = padded.cumsum(axis=0, out=padded).cumsum(axis=1, out=padded)
        found = []
        for side in sides:
            first = room - 1 - side // 2
            upper, lower = (slice(first + by, first + by + rows) for by in (0, side))
            left, right = (slice(first + by, first + by + columns) for by in (0, side))
            window: FloatArray = sums[lower, right] - sums[upper, right]
            window -= sums[lower, left]
            window += sums[upper, left]
            window /= side**2
            found.append(window)
        return found


def _extreme(
    pick: np.ufunc,
    numbers: NDArray[np.int64],
    values: NDArray[np.generic],
    count: int,
    first: float,
) -> FloatArray:
    best: FloatArray = np.full(count, first, np.float64)
    pick.at(best, numbers, values)
    return best


def reduce(plate: ByteArray, size: int) -> ByteArray:
    """Return means over blocks of size × size pixels; the last ones may be smaller."""
    if size == 1:
        return plate
    return np.asarray(Image.fromarray(np.ascontiguousarray(plate)).reduce(size))


def grown(mask: Mask) -> Mask:
    """Return a mask with the cells next to it, corners included."""
    tall = mask.copy()
    tall[1:] |= mask[:-1]
    tall[:-1] |= mask[1:]
    wide = tall.copy()
    wide[:, 1:] |= tall[:, :-1]
    wide[:, :-1] |= tall[:, 1:]
    return wide


class Over(NamedTuple):
    """Where the total lies above a limit: places, and the greatest total of any cell."""

    regions: tuple[Region, ...]
    greatest: float


def total_over(cells: Cells, printed: Mask, limit: float, window_mm2: float) -> Over:
    """Return the places larger than `window_mm2` whose total lies above `limit` (percent).

    A cell is over where the mean of the window round it is, or of the cells next to it: a bar
    narrower than the window counts too, and grain does not. At the rim of a place the pixels are
    counted, so that its area does not depend on where the cells lie.
    """
    greatest = float(cells.total.max(initial=0.0, where=printed))
    fine = cells.fine_total > limit * FULL / 100
    if not fine.any():
        return Over((), greatest)
    total = np.where(printed, cells.total, np.float32(0))
    mean, beside = cells.window_means(total, (window_mm2, _NEXT * cells.cell_mm2))
    core = (mean > limit) | (beside > limit)
    weight = np.where(mean > limit, np.float32(1), cells.share(fine))
    place = grown(grown(core)) & printed & (weight > 0)
    regions = cells.regions(place, weight, cells.total)
    return Over(tuple(r for r in regions if r.area > window_mm2), greatest)


class Carried(NamedTuple):
    """What one plate carries: coverage of the face in percent, ink in mm², and where."""

    ink: str
    coverage: float
    area: float
    box: Box | None


def carried(cells: Cells, printed: Mask) -> list[Carried]:
    """Return what each plate carries; `area` counts tints as the solid they add up to.

    Cells under 0.5 % count as bare.
    """
    found = []
    face = max(int(cells.face.sum()), 1)
    for ink, amounts in zip(cells.plates.inks, cells.amounts, strict=True):
        inked = np.where(printed & (amounts >= 0.5), amounts, np.float32(0))
        area = float(inked.sum(dtype=np.float64)) / 100 * cells.cell_mm2
        coverage = float(inked.sum(dtype=np.float64, where=cells.face)) / face
        found.append(Carried(ink, coverage, area, _box_of(cells.grid, inked > 0)))
    return found


def _box_of(grid: Grid, mask: Mask) -> Box | None:
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not len(rows):
        return None
    corners = np.array(((columns[0], rows[-1] + 1), (columns[-1] + 1, rows[0])), np.float64)
    (x0, y0), (x1, y1) = grid.places(corners)
    return Box(float(x0), float(y0), float(x1), float(y1))


def amounts_at(plates: Plates, places: FloatArray) -> Float:
    """Return the ink in percent at places (n, 2) in mm, as (places, inks); places off the plates
    are left out."""
    return amounts_on(plates, places)[0]


def amounts_on(plates: Plates, places: FloatArray) -> tuple[Float, Mask]:
    """Return what `amounts_at` does, and which places (n,) lie on the plates."""
    pixels = np.floor(plates.grid.pixels(places)).astype(int)
    height, width = plates.data.shape[1:]
    inside: Mask = np.all((pixels >= 0) & (pixels < (width, height)), axis=-1)
    columns, rows = pixels[inside].T
    found: Float = plates.data[:, rows, columns].T.astype(np.float32) * np.float32(100 / FULL)
    return found, inside
