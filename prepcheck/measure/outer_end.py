"""Where art with bare places in it ends: along a line, or only in its own gaps.

A photograph with clouds, a pattern of dots or stripes is bare in places, inside the trim and
outside alike. Its bleed is short only where all of it stops along one line that runs with the
trim, as a cut or a mask leaves it; where one of its gaps meets the trim, nothing is missing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, distinct
from prepcheck.measure.fine_end import fine_ends
from prepcheck.measure.reach import (
    HALO_MM,
    HALO_SHARE,
    HARD_PIXELS,
    INK_PERCENT,
    SMALL_MM,
    SMEARED_MM,
    SPECK_MM,
    STEP_MM,
    InkReach,
    counted,
    is_hard,
)
from prepcheck.measure.sampling import along_rays, runs
from prepcheck.measure.trim_line import (
    ABOVE,
    BEHIND_MM,
    behind,
    comes_again,
    line_of,
    turning_of,
    windows,
)
from prepcheck.press.view import View

INSIDE_MM = (0.3, 8.0)
"""How far inside the trim art is looked at for gaps of its own."""
NEAR_MM = 8.0
"""Gaps this far along the trim tell of the art at a place."""
GAPS = 0.003
"""Share of bare paper there from which art counts as having gaps."""
RAY_MM = 0.06
"""Distance between samples along a ray."""
WINDOWS = ((20.0, 0.5), (10.0, 0.97))
"""Lengths along the trim, and the share of places whose ink must end on one line over them: a
rounded gap of 20 mm across stays within 0.12 mm of such a line for 5 mm."""
WHOLE = 0.85
"""Share of an object's places at the trim that end on one line where it was cut off there."""
EVEN_MM = 0.12
"""An object of less than `SMALL_MM` that was cut off reaches equally far by this."""
LEAST_INKED = 0.3
"""Share of a window that must be inked at the trim, and end on one line: the ends of two or three
islands in a large gap lie on some line by chance."""
WIDER_MM = 8.0
"""How far along the trim on both sides of an object art may tell whether it fades."""
FADING_MM = ((0.1, 1.5), (1.5, 4.0), (4.0, 8.0))
"""Depths behind an end whose amounts of ink are compared."""
FADED, FAINTER = 0.4, 0.65
"""Art of which less than these shares of ink is left in the first of them, against the last and
the middle one, has faded out by itself."""
BARE, FULL = 0.15, 0.6
"""Shares of ink along a line from which it counts as a gap, and as ink, of stripes."""


def ends_of_art(
    view: View, found: InkReach, wanted_mm: float
) -> tuple[InkReach, NDArray[np.bool_]]:
    """Return how far art reaches, and at which points of the trim (n,) that counts as its end.

    Where art has no gaps this is what `counted` says of `found`; where it has, the reach is that
    of its outermost ink.
    """
    counts = counted(found, wanted_mm)
    short = counts & (found.reach < wanted_mm)
    if not short.any():
        return found, counts
    holed = _holed(view, found)
    if not (holed & short).any():
        return found, counts
    outermost = _outermost(view, found)
    reach, plain = found.reach.copy(), counts
    counts = plain & ~(holed & short)
    for loop in distinct(found.boundary.loop):
        own = np.flatnonzero(found.boundary.loop == loop)
        for at, line in _whole_ends(found, own, outermost, wanted_mm):
            if not _is_stripe(view, found, at, line) and not _fades(
                view, found, *_wider(at, line, own)
            ):
                counts[at] = plain[at]
        on_line = _on_line(view, found, own, outermost[own], wanted_mm)
        at = own[on_line & holed[own] & found.inked[own]]
        reach[at] = np.clip(outermost[at], 0.0, found.searched_mm)
        counts[at] = True
        for at, end in fine_ends(view, found, own, wanted_mm):
            reach[at] = np.where(counts[at], np.minimum(reach[at], max(end, 0.0)), max(end, 0.0))
            counts[at] = True
    return replace(found, reach=reach), counts


def _holed(view: View, found: InkReach) -> NDArray[np.bool_]:
    """Say at which points (n,) of the trim the art just inside has bare places in it."""
    boundary = found.boundary
    distances = -np.arange(INSIDE_MM[0], INSIDE_MM[1], 0.15)
    ink = along_rays(view.ink, view.grid, boundary.points, boundary.normals, distances)
    bare = (ink < INK_PERCENT / 100 * 255).mean(axis=1)
    result = np.zeros(len(bare), bool)
    for loop in distinct(boundary.loop):
        own = np.flatnonzero(boundary.loop == loop)
        result[own] = (_about(bare[own], round(NEAR_MM / STEP_MM)) >= GAPS) | (
            bare[own].mean() >= GAPS
        )
    return result


def _about(values: FloatArray, half: int) -> FloatArray:
    """Return the means of a closed loop of values (n,) over as many on both sides."""
    half = min(half, (len(values) - 1) // 2)
    round_ = np.concatenate((values[len(values) - half :], values, values[:half]))
    total = np.r_[0.0, np.cumsum(round_)]
    return np.asarray((total[2 * half + 1 :] - total[: -2 * half - 1]) / (2 * half + 1))


def _outermost(view: View, found: InkReach) -> FloatArray:
    """Return how far out (n,) there is any ink from the trim on, whatever gaps lie before it; a
    halo that compression left behind the last is none."""
    boundary = found.boundary
    distances = np.arange(0.0, found.searched_mm + RAY_MM, RAY_MM)
    ink = along_rays(view.ink, view.grid, boundary.points, boundary.normals, distances)
    there = ink >= INK_PERCENT / 100 * 255
    last = _last(there)
    before = _last(there & (ink >= HALO_SHARE * ink.max(axis=1, keepdims=True)))
    back, smeared = (
        max(1, round(far / RAY_MM)) for far in (HARD_PIXELS * view.grid.pitch, SMEARED_MM)
    )
    halo = ~is_hard(ink, last, back) & is_hard(ink, before, max(back, smeared))
    last = np.where(halo & (last - before <= HALO_MM / RAY_MM), before, last)
    outer = np.minimum(last, len(distances) - 1)
    exact = np.where(np.abs(found.reach - distances[outer]) < 2 * RAY_MM, found.reach, np.nan)
    rough = np.maximum(distances[outer] - RAY_MM / 2, 0.0)
    return np.where(np.isnan(exact), rough, exact)


def _last(there: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Return in how many places of each row (n, m) the last ink lies, specks left out."""
    speck = max(1, round(SPECK_MM / RAY_MM))
    if there.shape[1] <= speck:
        return np.asarray(there.sum(axis=1))
    spans = np.lib.stride_tricks.sliding_window_view(there, speck, axis=1)
    solid: NDArray[np.bool_] = np.asarray(spans.all(axis=2), bool)
    last = solid.shape[1] - 1 - solid[:, ::-1].argmax(axis=1) + speck
    return np.asarray(np.where(solid.any(axis=1), last, 0))


def _on_line(
    view: View, found: InkReach, own: NDArray[np.intp], outermost: FloatArray, wanted_mm: float
) -> NDArray[np.bool_]:
    """Say for each point of a loop whether its ink ends on a line, short of what is wanted."""
    marked = np.zeros(len(own), bool)
    for at, along, turning, most in windows(found, own, WINDOWS):
        ends, inked = outermost[at], found.inked[own[at]]
        if (ends >= wanted_mm).mean() > ABOVE or inked.mean() < LEAST_INKED:
            continue
        on, line = line_of(ends, along, turning)
        on &= inked
        least = max(most * inked.sum(), LEAST_INKED * len(on))
        if on.sum() < least or _is_stripe(view, found, own[at], line):
            continue
        if not _fades(view, found, own[at], line):
            marked[at[on]] = True
    return marked


def _whole_ends(
    found: InkReach, own: NDArray[np.intp], outermost: FloatArray, wanted_mm: float
) -> Iterator[tuple[NDArray[np.intp], FloatArray]]:
    """Yield the points of objects between bare places that all end on one line, short; and it."""
    turning = turning_of(found, own)
    for run in runs(found.inked[own]):
        at = own[run.indices()]
        if len(at) == len(own) or (outermost[at] >= wanted_mm).any():
            continue
        middle = run.indices()[len(at) // 2]
        along = np.asarray((np.arange(len(at)) - len(at) // 2) * STEP_MM, np.float64)
        reach = found.stops[at]
        if len(at) * STEP_MM < SMALL_MM and np.ptp(reach) > EVEN_MM:
            continue
        on, line = line_of(reach, along, turning[middle])
        if on.mean() >= WHOLE:
            yield at, line


def _wider(
    at: NDArray[np.intp], line: FloatArray, own: NDArray[np.intp]
) -> tuple[NDArray[np.intp], FloatArray]:
    """Return the places of a loop on both sides of some, too, and the line carried on there."""
    more = round(WIDER_MM / STEP_MM)
    if len(at) + 2 * more > len(own):
        return at, line
    first = int(np.flatnonzero(own == at[0])[0])
    places = (first - more + np.arange(len(at) + 2 * more)) % len(own)
    return own[places], np.pad(line, more, mode="edge")


def _fades(view: View, found: InkReach, at: NDArray[np.intp], line: FloatArray) -> bool:
    """Say whether art grows fainter or sparser towards a line until almost nothing is left."""
    starts, inwards = behind(found, at, line)
    last, before, inside = (
        float(along_rays(view.ink, view.grid, starts, inwards, np.arange(*zone, 0.2)).mean())
        for zone in FADING_MM
    )
    return last < FADED * inside and last < FAINTER * before


def _is_stripe(view: View, found: InkReach, at: NDArray[np.intp], line: FloatArray) -> bool:
    """Say whether behind a line lies a gap that runs with it, and behind that more of the same."""
    depths = np.arange(0.2, BEHIND_MM, 0.2)
    starts, inwards = behind(found, at, line)
    ink = along_rays(view.ink, view.grid, starts, inwards, depths)
    share = (ink >= INK_PERCENT / 100 * 255).mean(axis=0)
    return comes_again(share, depths, BARE, FULL)
