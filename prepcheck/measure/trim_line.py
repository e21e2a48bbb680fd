"""Lines that run with the trim, on which art ends or changes: found by stretches of the trim."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.reach import STEP_MM, InkReach

OFF_MM = 0.2
"""What ends up to this before a line, or half as far past it, ends on it."""
ABOVE = 0.05
"""Share of the places that may pass a line on which the rest ends."""
STEEPEST = 0.4
"""How much such a line may close on the trim: a square clears a disc by at most 0.37."""
SLANT = 0.02
BESIDE_MM = 10.0
"""How far behind a line the next change may lie for the two to be a motif's."""
OVERLAPPING = 12
"""So many stretches of the trim overlap each other."""
BEHIND_MM = 30.0
"""How far behind a line is looked for the same change again."""


class Window(NamedTuple):
    """A stretch of a loop of the trim: places in the loop `at` (n,), how far each lies from the
    middle in mm, how fast the outline turns there, and the share of places asked for."""

    at: NDArray[np.intp]
    along: FloatArray
    turning: float
    most: float


def windows(
    found: InkReach, own: NDArray[np.intp], sizes: Sequence[tuple[float, float]]
) -> Iterator[Window]:
    """Yield stretches of a loop `own` that overlap, for each of `sizes`: mm and a share."""
    turning = turning_of(found, own)
    for size_mm, most in sizes:
        half = round(size_mm / 2 / STEP_MM)
        if 2 * half + 1 > len(own):
            continue
        steps = np.arange(-half, half + 1)
        along = np.asarray(steps * STEP_MM, np.float64)
        for middle in range(0, len(own), max(1, 2 * half // OVERLAPPING)):
            yield Window((middle + steps) % len(own), along, float(turning[middle]), most)


def turning_of(found: InkReach, own: NDArray[np.intp]) -> FloatArray:
    """Return how fast the outline turns at each point of a loop, in radians per mm."""
    normals = found.boundary.normals[own]
    ahead = np.roll(normals, -1, axis=0)
    sine = normals[:, 0] * ahead[:, 1] - normals[:, 1] * ahead[:, 0]
    return np.asarray(np.arcsin(np.clip(sine, -1, 1)) / STEP_MM)


def line_of(
    ends: FloatArray, along: FloatArray, turning: float
) -> tuple[NDArray[np.bool_], FloatArray]:
    """Return which ends (n,) lie on the line that most of them lie on and few pass, and the line.

    Lines run like the trim or straight, at any slant that is not steep.
    """
    slants = np.arange(-STEEPEST, STEEPEST + SLANT, SLANT)
    bends = np.array((0.0, turning / 2)) if turning > 1e-4 else np.zeros(1)
    shape = (slants[:, None, None] * along + bends[None, :, None] * along**2).reshape(
        -1, len(along)
    )
    rest = ends - shape
    top = np.quantile(rest, 1 - ABOVE, axis=1)
    on = (rest >= top[:, None] - OFF_MM) & (rest <= top[:, None] + OFF_MM / 2)
    best = int(on.sum(axis=1).argmax())
    return on[best], shape[best] + top[best]


def behind(
    found: InkReach, at: NDArray[np.intp], line: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return places (n, 2) on a line and the way (n, 2) straight in from its middle: behind a
    straight line on a disc, ways square to the trim would close up."""
    points, normals = found.boundary.points[at], found.boundary.normals[at]
    inwards = np.broadcast_to(-normals[len(at) // 2], normals.shape)
    return points + line[:, None] * normals, inwards


def comes_again(share: FloatArray, depths: FloatArray, low: float, high: float) -> bool:
    """Say whether a share (m,) behind a line falls below `low` soon, and again after it rose above
    `high`: then the line is a motif's own, such as a stripe's."""
    above, falls, first = True, 0, 0.0
    for depth, value in zip(depths, share, strict=True):
        if above and value < low:
            above, falls = False, falls + 1
            first = first or float(depth)
        elif not above and value > high:
            above = True
    return falls >= 2 and first <= BESIDE_MM
