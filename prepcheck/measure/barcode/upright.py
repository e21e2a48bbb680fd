"""A barcode turned upright: how much of a bar each pixel is, and where the bars' edges lie."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box, FloatArray, Grid
from prepcheck.measure.barcode.seek import BarcodeSighting
from prepcheck.press.separate.plates import Plates
from prepcheck.units import MM_PER_INCH

Separate = Callable[[Affine, Box, float], Plates]
"""Makes the plates of a box in mm, in the frame that a map from the piece's frame leads to."""

SAMPLES_A_MODULE = 10
LEAST_PPI, MOST_PPI = 400.0, 1600.0
QUIET_LOOK = 16
"""Modules beyond the first and the last bar that are looked at."""
TALLEST_SHARE = 0.75
"""Height of a symbol over its length: 22.85 / 31.35 mm for an EAN-13."""
BAND_MM = 1.0
"""Half the height of the band that edges are read in."""
_NOISE = 0.1
"""How far over the half-way line a bar or space must reach to count as one."""


@dataclass(frozen=True, eq=False)
class Upright:
    """A symbol's surroundings with the bars upright and their block's centre at the origin.

    `amounts` (rows, columns, channels) are plates, 0..1; three channels of missing red, green
    and blue follow where there is paint without ink amounts. `bar` (rows, columns) is how much
    of a bar a pixel is, 0 space to 1 bar.
    """

    plates: Plates
    amounts: NDArray[np.float32]
    bar: NDArray[np.float32]
    to_piece: Affine

    @property
    def grid(self) -> Grid:
        return self.plates.grid

    @cached_property
    def middle(self) -> int:
        return self.grid.height // 2

    def band(self, y_mm: float = 0.0, half_mm: float = BAND_MM) -> slice:
        """Return the rows within `half_mm` of a height."""
        rows, _ = self.grid.window(Box(0.0, y_mm - half_mm, 0.0, y_mm + half_mm))
        return rows

    def negative(self) -> Upright:
        """Return the same with bars and spaces exchanged."""
        return replace(self, bar=1.0 - self.bar)

    def edges(self, y_mm: float = 0.0, half_mm: float = BAND_MM) -> tuple[FloatArray, bool]:
        """Return where bars and spaces meet in mm, left to right, and whether the first is the
        beginning of a bar."""
        profile = self.bar[self.band(y_mm, half_mm)].mean(axis=0).astype(np.float64)
        places, begins = crossings(profile)
        return self.grid.left + (places + 0.5) * self.grid.pitch, begins


def turned_upright(sighting: BarcodeSighting, separate: Separate, to_piece: Affine) -> Upright:
    """Render the surroundings of a sighting with its bars upright.

    `to_piece` leads from the page to the piece's frame, in which the sighting is.
    """
    x, y = sighting.centre
    to_upright = Affine.move(-x, -y).then(Affine.turn(-sighting.turn))
    module = sighting.length_mm / 95
    half_width = sighting.length_mm * 0.55 + QUIET_LOOK * module
    half_height = max(sighting.height_mm * 0.6, sighting.length_mm * TALLEST_SHARE) + 2.0
    box = Box.centred(2 * half_width, 2 * half_height)
    ppi = min(max(MM_PER_INCH * SAMPLES_A_MODULE / module, LEAST_PPI), MOST_PPI)
    plates = separate(to_piece.then(to_upright), box, ppi)
    amounts = _amounts(plates)
    band = slice(plates.grid.height // 2 - 4, plates.grid.height // 2 + 5)
    _, columns = plates.grid.window(Box(-sighting.length_mm / 2, 0, sighting.length_mm / 2, 0))
    line = amounts[band].mean(axis=0)
    axis, space, bar = _two_tones(line[columns])
    span = float((bar - space) @ axis)
    share = (amounts @ axis - np.float32(space @ axis)) / np.float32(span or 1.0)
    return Upright(plates, amounts, share.astype(np.float32), to_upright.inverse())


def _amounts(plates: Plates) -> NDArray[np.float32]:
    channels = list(plates.data)
    if plates.seen is not None:
        channels += [255 - plates.seen[:, :, band] for band in range(3)]
    return np.stack(channels, axis=-1).astype(np.float32) / np.float32(255)


def _two_tones(
    line: NDArray[np.float32],
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
    """Return the direction in which a line of pixels (n, channels) varies most, and what spaces
    and bars carry. The tone with more ink is taken for the bars."""
    middle = line.mean(axis=0)
    _, vectors = np.linalg.eigh((line - middle).T @ (line - middle))
    axis = vectors[:, -1].astype(np.float32)
    if axis.sum() < 0:
        axis = -axis
    along = line @ axis
    low, high = np.percentile(along, (2, 98))
    space = np.median(line[along <= low + 0.15 * (high - low)], axis=0)
    bar = np.median(line[along >= high - 0.15 * (high - low)], axis=0)
    return axis, space.astype(np.float32), bar.astype(np.float32)


def crossings(profile: FloatArray) -> tuple[FloatArray, bool]:
    """Return where a profile (n,) crosses one half, in fractional samples, and whether the first
    crossing goes up. What does not reach `_NOISE` past the half is no crossing."""
    state = np.zeros(len(profile), np.int8)
    state[profile > 0.5 + _NOISE] = 1
    state[profile < 0.5 - _NOISE] = -1
    known = np.flatnonzero(state)
    if len(known) < 2:
        return np.empty(0), True
    turns = np.flatnonzero(state[known][1:] != state[known][:-1])
    places = []
    for turn in turns.tolist():
        first, last = int(known[turn]), int(known[turn + 1])
        stretch = profile[first : last + 1] - 0.5
        step = int(np.flatnonzero(np.sign(stretch[1:]) != np.sign(stretch[0]))[0])
        before, after = float(stretch[step]), float(stretch[step + 1])
        places.append(first + step + before / (before - after))
    return np.array(places), bool(len(turns)) and int(state[known[turns[0]]]) == -1
