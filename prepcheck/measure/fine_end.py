"""Where fine textures end: dots, grain, cross-hatching, each of whose parts is far smaller than the
bleed.

Of these only a part of the places on the trim meets any ink, and the ends along single rays lie
anywhere within a dot and a gap. What tells is how much ink lies at each depth along a stretch of
the trim: a texture that runs on has as much outside as inside, one that was cut has none from one
depth on.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.reach import HALO_MM, HALO_SHARE, INK_PERCENT, STEP_MM, InkReach
from prepcheck.measure.sampling import along_rays, median
from prepcheck.press.view import View

DEPTH_MM = 8.0
"""How far inside the trim the texture must be the same."""
RAY_MM = 0.06
"""Distance between samples along a ray."""
STRETCHES_MM = (20.0, 10.0)
"""Lengths along the trim over which ink is added up."""
COARSEST_MM = 4.0
"""A texture with fewer than one piece of ink in this, along the trim or across it, is not fine."""
NONE = 0.004
"""Share of a stretch that may be inked where there is no ink: a stray sample."""
STRAY = 0.05
"""The same as a share of what is inked inside the trim: stray specks, and what JPEG leaves."""
ZONE_MM = 1.0
"""Depth over which the amount of ink is compared."""
STEADY = 0.8
"""Share of the amount of ink that a texture has at any depth, of what its trend has there."""
FADED = 0.35
"""Where the trend has less than this share of its most ink at the end, the texture fades out."""
EMPTIER = 3.0
"""How many times deeper than any gap within the texture the bare paper behind its end must be."""
AT_TRIM_MM = 0.15
"""A texture that ends further inside than this ends by itself."""


def fine_ends(
    view: View, found: InkReach, own: NDArray[np.intp], wanted_mm: float
) -> Iterator[tuple[NDArray[np.intp], float]]:
    """Yield stretches of a loop `own` of the trim along which a fine texture ends short of what is
    wanted, as places of the boundary (n,), and how far out its last ink lies in mm."""
    boundary = found.boundary
    distances = np.arange(-DEPTH_MM, found.searched_mm + RAY_MM, RAY_MM)
    ink = along_rays(view.ink, view.grid, boundary.points[own], boundary.normals[own], distances)
    for size_mm in STRETCHES_MM:
        count = round(size_mm / STEP_MM)
        if count > len(own):
            continue
        for first in range(0, len(own), max(1, count // 10)):
            at = (first + np.arange(count)) % len(own)
            end = _end_of(ink[at], distances, wanted_mm)
            if end is not None:
                yield own[at], end


def _end_of(ink: NDArray[np.float32], distances: FloatArray, wanted_mm: float) -> float | None:
    """Return where a fine texture ends short, of ink along rays (n, m); None for anything else."""
    there = ink >= INK_PERCENT / 100 * 255
    inked = _inked(there, distances)
    if not len(inked) or not -AT_TRIM_MM <= distances[inked[-1]] < wanted_mm + HALO_MM:
        return None
    if (end := _ends_at(inked, there, ink, distances, wanted_mm)) is not None:
        return end
    there &= ink >= HALO_SHARE * float(ink[there].mean())
    before = _inked(there, distances)
    if not len(before) or not 0 < distances[inked[-1]] - distances[before[-1]] <= HALO_MM:
        return None
    return _ends_at(before, there, ink, distances, wanted_mm)


def _inked(there: NDArray[np.bool_], distances: FloatArray) -> NDArray[np.intp]:
    """Return at which of the distances (m,) there is ink (n, m), stray specks left out."""
    share = there.mean(axis=0)
    usual = float(share[distances < -AT_TRIM_MM].mean())
    return np.flatnonzero(share > max(NONE, STRAY * usual))


def _ends_at(
    inked: NDArray[np.intp],
    there: NDArray[np.bool_],
    ink: NDArray[np.float32],
    distances: FloatArray,
    wanted_mm: float,
) -> float | None:
    """Return where a texture ends that lies `there` (n, m), if it does at its last distance."""
    last = int(inked[-1])
    if not -AT_TRIM_MM <= distances[last] < wanted_mm:
        return None
    empty = float(distances[-1] - distances[last])
    gap = float(np.diff(inked, prepend=-1).max() - 1) * RAY_MM
    if EMPTIER * gap > empty:
        return None
    zone = round(ZONE_MM / RAY_MM)
    total = np.r_[0.0, np.cumsum(ink[:, : last + 1].mean(axis=0))]
    amounts = (total[zone:] - total[:-zone]) / zone
    trend = _trend(amounts)
    if trend[-1] < FADED * trend.max() or (amounts < trend - (1 - STEADY) * median(amounts)).any():
        return None
    inside = there[:, : last + 1]
    across = _pieces(inside).mean() / (inside.shape[1] * RAY_MM)
    along = _pieces(inside.T).mean() / (len(there) * STEP_MM)
    return float(distances[last]) if min(across, along) * COARSEST_MM >= 1 else None


def _trend(amounts: FloatArray) -> FloatArray:
    """Return the straight line through amounts (n,) at even steps."""
    at = np.arange(len(amounts)) - (len(amounts) - 1) / 2
    slope = (at @ amounts) / (at @ at)
    return np.asarray(amounts.mean() + slope * at)


def _pieces(there: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Return how many pieces of ink begin in each row."""
    return np.asarray((there[:, 1:] & ~there[:, :-1]).sum(axis=1))
