"""How far ink runs on past the trim."""

from __future__ import annotations

from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import FloatArray, Point, distinct
from prepcheck.measure.sampling import along_rays, rays, runs, sample
from prepcheck.outline import Boundary, Outline
from prepcheck.press.view import View

STEP_MM = 0.25
"""Distance between the places on the trim that are looked at."""
INK_PERCENT = 3.0
"""Ink below this is bare paper: fainter tints break up on the press, and JPEG leaves as much."""
INSIDE_MM = 0.3
"""How far inside the trim ink must lie for the edge to be inked; a hairline on it does not."""
SPECK_MM = 0.3
"""A gap in the ink up to this long, with as much ink behind it, is a speck and no end."""
HARD_DROP = 0.55
"""Share of its amount that ink must lose within the last pixels to have an end; else it fades."""
HARD_PIXELS = 3
HARD_RATIO = 2.5
"""Ink that ends loses this many times more in its last pixels than in as many before them."""
HALO_SHARE, HALO_MM = 0.2, 1.5
"""Outside an edge lossy compression leaves at most this share of the ink before it, up to that far:
two blocks of 8 samples at 300 ppi, as JPEG with colours at half the resolution does."""
SMEARED_MM = 0.25
"""Over so much such an edge is smeared: two or three samples of a coarse picture."""
FADED_MM, GENTLY, FADED = (0.5, 1.0, 1.5), 0.85, 0.5
"""What is left before an end has faded there, and compression alone makes its last steps hard, if
at each of these depths behind there is more: the one before is no more than such a share of it, and
the first no more than that one of the last."""
STEEP = 0.6
"""An end that moves outwards by more than this per mm of trim is the side of a shape that crosses
the trim, not the end of the art; so it is on a curve by which a square clears a disc (at most
0.37 within 3 mm)."""
CROSSING = 0.2
"""The same for an end that runs all the way from bare edge to full bleed."""
SMALL_MM = 8.0
"""An object that meets the trim over less than this may be one of a pattern (dots, leaves)."""
ROUNDED_MM = 0.03
"""Such an object is rounded off, and its end is its own shape, where it reaches less far by this
at both sides than in between."""
JOIN_MM = 1.0
"""Short stretches this close together are one."""
LEAST_RUN_MM = 1.5
"""Stretches shorter than this are left out: a stray pixel, the side of a letter."""


@dataclass(frozen=True)
class InkReach:
    """Ink along the trim, for each point of `boundary` (n,).

    `inked` says whether there is ink just inside the edge; `reach` how far outwards in mm it
    runs on unbroken, at most `searched_mm`; `ends` whether it then ends as an edge (where it
    fades away, nothing is missing). `stops` is like `reach`, but negative for ink that stops
    just inside the trim. Where the edge is bare, both are 0.
    """

    boundary: Boundary
    inked: NDArray[np.bool_]
    reach: FloatArray
    ends: NDArray[np.bool_]
    stops: FloatArray
    searched_mm: float

    @property
    def inked_share(self) -> float:
        """Share of the trim that is inked, 0 to 1."""
        return float(self.inked.mean())


@dataclass(frozen=True)
class ShortStretch:
    """A stretch of the trim where ink ends short.

    `path` follows the trim, `length_mm` along it; `degrees` is how far the outline turns along
    it (the arc on a disc, 0 along a straight side); `least_mm` is the shortest reach in it.
    `points` are the places of the boundary that it covers.
    """

    path: tuple[Point, ...]
    length_mm: float
    degrees: float
    least_mm: float
    points: NDArray[np.int64] = field(repr=False, compare=False)


def ink_reach(view: View, outline: Outline, search_mm: float) -> InkReach:
    """Measure how far ink runs on outwards from the trim, up to `search_mm`."""
    boundary = outline.boundary(STEP_MM)
    pitch = view.grid.pitch
    threshold = INK_PERCENT / 100 * 255
    step = min(pitch / 3, 0.03)
    distances = np.arange(-INSIDE_MM - 2 * HARD_PIXELS * pitch, search_mm + step, step)
    first = int(np.searchsorted(distances, -INSIDE_MM))
    edge = rays(boundary.points, boundary.normals, distances[first : first + 1])
    inked = sample(view.ink, view.grid, edge)[:, 0] >= threshold
    ink = along_rays(
        view.ink, view.grid, boundary.points[inked], boundary.normals[inked], distances
    )
    there = ink >= threshold
    there[:, :first] = True
    speck, back = max(1, round(SPECK_MM / step)), round(HARD_PIXELS * pitch / step)
    end = _first_end(there, speck)
    found = end < len(distances)
    end = np.minimum(end, len(distances) - 1)
    hard = found & is_hard(ink, end, back)
    soft = np.flatnonzero(found & ~hard)
    if len(soft):
        own = ink[soft]
        strong = own >= np.maximum(threshold, HALO_SHARE * own[:, first, None])
        strong[:, :first] = True
        before = np.minimum(_first_end(strong, speck), len(distances) - 1)
        smeared = max(back, round(SMEARED_MM / step))
        halo = (end[soft] - before <= HALO_MM / step) & is_hard(own, before, smeared)
        end[soft[halo]], hard[soft[halo]] = before[halo], True
    level = ink[np.arange(len(ink)), np.maximum(end - back, 0)]
    at = np.flatnonzero(inked)[hard]
    behind = (distances[end[hard], None] - FADED_MM)[..., None] * boundary.normals[at, None]
    before = sample(view.ink, view.grid, boundary.points[at, None] + behind)
    hard[hard] = ~_is_faded(np.column_stack((level[hard], before)))
    ends, stops = np.zeros(len(inked), bool), np.zeros(len(inked))
    ends[inked] = hard
    stops[inked] = np.where(found, _half_way(ink, distances, end, level, back), search_mm)
    return InkReach(boundary, inked, np.clip(stops, 0.0, search_mm), ends, stops, search_mm)


def is_hard(ink: NDArray[np.float32], end: NDArray[np.int64], back: int) -> NDArray[np.bool_]:
    """Say for each row of ink (n, m) whether it loses most of it within so many samples of where it
    ends (n,)."""
    rows, last = np.arange(len(ink)), ink.shape[1] - 1
    before, level = (ink[rows, np.clip(end - n * back, 0, last)] for n in (2, 1))
    drop = level - ink[rows, np.minimum(end + back // 2, last)]
    return np.asarray((drop >= HARD_DROP * level) & (drop >= HARD_RATIO * (before - level)))


def _is_faded(ink: FloatArray) -> NDArray[np.bool_]:
    """Say for each row of ink (n, depths) at growing depths behind an end whether it fades."""
    gently = (ink[:, :-1] <= GENTLY * ink[:, 1:]).all(axis=1)
    return np.asarray(gently & (ink[:, 0] <= FADED * ink[:, -1]))


def _first_end(there: NDArray[np.bool_], speck: int) -> NDArray[np.int64]:
    """Return for each row the first sample without ink, specks bridged; the length if none."""
    end = _next(there, np.zeros(len(there), np.int64), False)
    rows = np.arange(len(there))
    while len(rows):
        again = _next(there[rows], end[rows], True)
        after = _next(there[rows], again, False)
        speckled = (again < there.shape[1]) & (again - end[rows] <= speck)
        speckled &= after - again >= speck
        rows = rows[speckled]
        end[rows] = after[speckled]
    return end


def _next(there: NDArray[np.bool_], start: NDArray[np.int64], wanted: bool) -> NDArray[np.int64]:
    """Return for each row the first sample from `start` on that is as wanted, else the length."""
    length = there.shape[1]
    fits = (there == wanted) & (np.arange(length) >= start[:, None])
    return np.asarray(np.where(fits.any(axis=1), fits.argmax(axis=1), length), np.int64)


def _half_way(
    ink: NDArray[np.float32],
    distances: FloatArray,
    end: NDArray[np.int64],
    level: NDArray[np.float32],
    back: int,
) -> FloatArray:
    """Return where ink crosses half its amount on its way to the end, between the samples."""
    rows = np.arange(len(ink))
    place = distances[end].astype(np.float64)
    open_rows = np.ones(len(ink), bool)
    for offset in range(back + 1):
        at = np.maximum(end - offset, 1)
        high, low = ink[rows, at - 1], ink[rows, at]
        crosses = open_rows & (high >= level / 2) & (low < level / 2)
        fall = np.where(crosses, high - low, 1)
        share = np.where(crosses, (high - level / 2) / fall, 0)
        spot = distances[at - 1] + share * (distances[at] - distances[at - 1])
        place = np.where(crosses, spot, place)
        open_rows &= ~crosses
    return place


def counted(found: InkReach, wanted_mm: float) -> NDArray[np.bool_]:
    """Say for each point of the trim whether its reach counts as the end of the art.

    Left out are ends of shapes that cross the trim: where the reach changes steeply along the
    trim, runs between bare edge and full bleed that are not nearly parallel to it, and small
    objects that are rounded off there.
    """
    counts = found.inked & found.ends
    counts |= found.inked & (found.reach >= found.searched_mm)
    for loop in distinct(found.boundary.loop):
        own = np.flatnonzero(found.boundary.loop == loop)
        reach = np.minimum(found.reach[own], wanted_mm)
        short = counts[own] & (reach < wanted_mm)
        slope = _slope(np.where(found.inked[own], reach, 0.0))
        keep = ~(short & (slope > STEEP))
        for run in runs(short):
            if _crosses(run.indices(), reach, found.inked[own], wanted_mm):
                keep[run.indices()] = False
        for run in runs(found.inked[own]):
            if _rounded_off(found.stops[own][run.indices()]):
                keep[run.indices()] = False
        counts[own] &= keep
    return counts


def _slope(reach: FloatArray) -> FloatArray:
    """Return how fast the reach changes along a loop: the smaller of both sides, so that one
    jump does not count for its neighbours."""
    left = np.abs(reach - np.roll(reach, 2)) / (2 * STEP_MM)
    right = np.abs(np.roll(reach, -2) - reach) / (2 * STEP_MM)
    return np.minimum(left, right)


def _crosses(
    indices: NDArray[np.int64], reach: FloatArray, inked: NDArray[np.bool_], wanted_mm: float
) -> bool:
    count = len(reach)
    if len(indices) == count:
        return False
    before, after = (indices[0] - 1) % count, (indices[-1] + 1) % count
    for bare, full, run in ((before, after, indices), (after, before, indices[::-1])):
        if inked[bare] or not inked[full] or reach[full] < wanted_mm:
            continue
        rise = np.diff(reach[run])
        climbs = bool((rise >= -0.05).all()) and reach[run[0]] < wanted_mm / 3
        return climbs and wanted_mm / (len(run) * STEP_MM) > CROSSING
    return False


def _rounded_off(stops: FloatArray) -> bool:
    """Say whether where an object stops, along all it meets of the trim, shows it rounded off."""
    count = len(stops)
    if not 3 <= count <= SMALL_MM / STEP_MM:
        return False
    aside = round((count - 1) / 8)  # the very corners of a straight end look rounded, too
    sides = max(stops[aside], stops[-1 - aside])
    return bool(stops[aside : count - aside].max() - sides >= ROUNDED_MM)


def stretches(found: InkReach, mask: NDArray[np.bool_]) -> tuple[ShortStretch, ...]:
    """Return the stretches of the trim where `mask` (n,) holds, shortest reach first."""
    result = []
    for loop in distinct(found.boundary.loop):
        own = np.flatnonzero(found.boundary.loop == loop)
        points, normals = found.boundary.points[own], found.boundary.normals[own]
        spacing = _spacing(found.boundary, own)
        join, least = round(JOIN_MM / spacing), round(LEAST_RUN_MM / spacing)
        for run in runs(mask[own], join=join, least=least):
            at = run.indices()
            marked = at[mask[own][at]]
            if len(marked) < least:
                continue
            result.append(
                ShortStretch(
                    tuple(Point(float(x), float(y)) for x, y in points[at]),
                    len(at) * spacing,
                    _turning(normals[at]),
                    float(found.reach[own][marked].min()),
                    own[at],
                )
            )
    return tuple(sorted(result, key=lambda s: (s.least_mm, -s.length_mm, s.path[0])))


def _spacing(boundary: Boundary, own: NDArray[np.int64]) -> float:
    """Return the distance between neighbouring points of a loop, on average."""
    along = boundary.along[own]
    return float((along[-1] - along[0]) / max(1, len(own) - 1))


def _turning(normals: FloatArray) -> float:
    """Return by how many degrees the outline turns over a run of points, ends included.

    0 where it does not turn evenly, as on the straight sides of a sleeve.
    """
    before, after = normals[:-1], normals[1:]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turns = np.arcsin(np.clip(cross, -1.0, 1.0))
    if not len(turns) or turns.min() <= 0 or np.ptp(turns) > 1e-6:
        return 0.0
    return float(np.degrees(turns.sum() * (len(normals) / len(turns))))
