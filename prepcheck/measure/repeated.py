"""Enlarging by repeating samples: where rows and columns change, and at which spacing."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.traces import JPEG_BLOCK, LEAST_FACTOR

LEAST_CAUGHT = 0.3
"""How much more of all change than by chance must fall on the columns where a spacing puts it, of
all there is."""
AS_GOOD = 0.75
"""A wider spacing is the true one where it catches this share of what the best one does."""
MOST_DRIFT = 2.0
"""Samples by which places of change may stray from an even spacing: rounding, and one that is
missing."""
LEAST_VARIED = 12
"""Different rows and columns of a tile that is no pattern."""
PHASES = 24
NEAR = 0.02
"""How far from a rough factor the true one may lie."""


def evenly_repeated(tiles: list[NDArray[np.uint8]]) -> float | None:
    """Return the mean spacing of columns and rows that are no copy of the one before, where copies
    are exact and evenly spaced; None where they are not."""
    spacings = []
    for tile in tiles:
        if not is_varied(tile):
            return None
        for axis in (0, 1):
            gaps = np.diff(np.flatnonzero(_steps(tile, axis) > 0))
            if gaps.size < JPEG_BLOCK:
                return None
            usual = float(gaps.mean())
            even = (gaps >= math.floor(usual)) & (gaps <= math.ceil(usual))
            # Places that are missing by chance drift away from an even spacing.
            drift = np.cumsum(gaps - usual)
            if usual < LEAST_FACTOR - 0.1 or even.mean() < 0.95 or np.ptp(drift) > MOST_DRIFT:
                return None
            spacings.append(usual)
    spread = max(spacings) - min(spacings)
    usual = float(np.median(spacings))
    return usual if spread < 0.1 * usual else None


def widest_spacing(tiles: list[NDArray[np.uint8]], rough: list[float]) -> float | None:
    """Return the widest of several rough spacings at which most change happens, as it does where
    samples were repeated, refined; None where none is."""
    lines = [_steps(tile, axis) for tile in tiles for axis in (0, 1)]
    found = []
    for spacing in rough:
        near = spacing * np.linspace(1 - NEAR, 1 + NEAR, 33)
        caught = np.mean([_caught(line, near) for line in lines], axis=0)
        beyond_chance = (caught - 1 / near) / (1 - 1 / near)
        best = int(beyond_chance.argmax())
        found.append((float(near[best]), float(beyond_chance[best])))
    most = max(caught for _, caught in found)
    if most < LEAST_CAUGHT:
        return None
    return max(spacing for spacing, caught in found if caught >= AS_GOOD * most)


def is_varied(tile: NDArray[np.uint8]) -> bool:
    """Say whether many rows and columns differ; those of stripes and chequers repeat for good."""
    return all(map(_differ, (tile, tile.T)))


def _differ(lines: NDArray[np.uint8]) -> bool:
    seen: set[bytes] = set()
    for line in lines:
        seen.add(line.tobytes())
        if len(seen) >= LEAST_VARIED:  # mostly the first few tell
            return True
    return False


def _steps(tile: NDArray[np.uint8], axis: int) -> FloatArray:
    """Return the mean step from each column (axis 0) or row to the next."""
    steps: FloatArray = np.abs(np.diff(tile.astype(np.int16), axis=1 - axis)).mean(axis=axis)
    return steps


def _caught(steps: FloatArray, spacings: FloatArray) -> FloatArray:
    """Return the greatest share of steps (n,) that each spacing catches, at its best phase."""
    places = np.arange(len(steps) + 1)
    phases = np.arange(PHASES)[None, :, None] / PHASES
    number = np.floor((places[None, None, :]) / spacings[:, None, None] + phases)
    caught = (np.diff(number, axis=2) > 0) @ steps
    most: FloatArray = caught.max(axis=1) / max(float(steps.sum()), 1e-9)
    return most
