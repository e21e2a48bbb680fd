"""Guides of another template, and lines that only look like guides because art has many such."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, segment_distances
from prepcheck.measure.guides import COINCIDE_MM, FoundGuide, Guide
from prepcheck.measure.ridges import (
    CONTROLS_MM,
    DARKER,
    DASHED,
    SOLID,
    WANDERS_MM,
    Along,
    LookPlanes,
    line_seen,
)
from prepcheck.measure.sampling import median
from prepcheck.outline import Outline

NEAR_MM = 2.0
"""How far inside the trim another template's trim may lie; art keeps further away."""
STEP_MM = 0.1
FAMILY_MM = 12.0
"""How far on both sides of a guide like lines are looked for."""
FAMILY = 3
"""So many like lines beside a guide, or two at even steps, are an ornament that it is one of."""
EVEN_MM = 0.2
AS_MUCH = 0.7
"""A like line is seen along this share of what is seen of the guide."""
ALIKE_LEVELS = 60.0
"""How far the colours of like lines may differ, of 255."""


class Stray(NamedTuple):
    """A line that runs all round at a distance from the trim in mm, positive outside."""

    guide: Guide
    off_mm: float


def stray_lines(
    looks: LookPlanes, outline: Outline, known: Sequence[Guide], outwards_mm: float
) -> tuple[Stray, ...]:
    """Return thin lines that are seen to run all along the trim, near it but on no known guide.

    They are looked for from NEAR_MM inside to `outwards_mm` outside.
    """
    contours = outline.contour(0.0)
    if len(contours) != 1:
        return ()
    trim = Guide("trim", contours[0].points, True, contours[0].circle)
    places, normals = trim.walked(), _outwards(outline, trim)
    along = Along(looks, places, normals, outwards_mm + max(CONTROLS_MM))
    if along.is_even:
        return ()
    offsets = np.arange(-NEAR_MM, outwards_mm + STEP_MM / 2, STEP_MM)
    lines = _Lines.of(known)
    free = [
        off
        for off in offsets.tolist()
        if abs(off) > 2 * COINCIDE_MM and not lines.run_along(places + off * normals)
    ]
    shares = {off: max(float(mask.mean()) for mask in along.seen(off)) for off in free}
    found: list[Stray] = []
    for off in sorted(shares, key=lambda off: -shares[off]):
        if shares[off] < DASHED:
            break
        if any(abs(off - stray.off_mm) < 4 * WANDERS_MM for stray in found):
            continue
        if line_seen(along, off, _none_known) is None:
            continue
        # Several neighbouring offsets show a line equally well; it lies in their middle.
        alike = [o for o in shares if abs(o - off) < 4 * WANDERS_MM and shares[o] >= shares[off]]
        off = float(np.mean(alike))
        contour = outline.contour(off)[0]
        found.append(Stray(Guide("trim", contour.points, True, contour.circle), off))
    return tuple(sorted(found, key=lambda stray: abs(stray.off_mm)))


def _none_known(offsets: FloatArray) -> NDArray[np.bool_]:
    """Say that a line counts like any other, whatever offset it lies at."""
    return np.zeros(len(offsets), bool)


def _outwards(outline: Outline, trim: Guide) -> FloatArray:
    normals = trim.normals()
    outside = outline.signed_distance(trim.walked() + 0.05 * normals)
    return normals if median(outside) > 0 else -normals


class _Lines(NamedTuple):
    """Many guides at once: the circles among them, and of the others the straight parts (n, 2),
    the place in them at which each guide starts (m,)."""

    circles: tuple[Guide, ...]
    starts: FloatArray
    ends: FloatArray
    first: NDArray[np.intp]

    @classmethod
    def of(cls, guides: Sequence[Guide]) -> _Lines:
        parts = [guide.segments() for guide in guides if guide.circle is None]
        counts = np.array([0, *(len(starts) for starts, _ in parts)], np.intp)
        none = np.empty((0, 2))
        return cls(
            tuple(guide for guide in guides if guide.circle is not None),
            np.concatenate([none, *(starts for starts, _ in parts)]),
            np.concatenate([none, *(ends for _, ends in parts)]),
            np.cumsum(counts)[:-1],
        )

    def run_along(self, places: FloatArray) -> bool:
        """Say whether one of the guides coincides with most of some places (k, 2) in a row."""
        some = places[:: max(1, len(places) // 60)]
        near = [guide.distance(some) <= 2 * COINCIDE_MM for guide in self.circles]
        if len(self.first):
            distances = segment_distances(some, self.starts, self.ends)
            close = np.minimum.reduceat(distances, self.first, axis=1) <= 2 * COINCIDE_MM
            near += [*close.T]
        return any(float(own.mean()) > 0.5 for own in near)


def without_ornaments(
    looks: LookPlanes, found: Sequence[FoundGuide], known: Sequence[Guide]
) -> tuple[FoundGuide, ...]:
    """Leave out lines that are one of many like ones in the art: rings about one centre, stripes
    that run with a fold."""
    return tuple(one for one in found if not is_ornament(looks, one.guide, known))


def is_ornament(looks: LookPlanes, guide: Guide, known: Sequence[Guide]) -> bool:
    """Say whether a line has like ones beside it where no guide runs."""
    places, normals = guide.walked(), guide.normals()
    along = Along(looks, places, normals, FAMILY_MM)
    (own, kind) = along.best(0.0)
    share = float(own.mean()) if len(own) else 0.0
    if share < DASHED:
        return False
    colour = _colour(along, own, 0.0, kind)
    beside: list[float] = []
    here: list[float] = []
    least = AS_MUCH * min(share, SOLID)
    first = -FAMILY_MM if guide.circle is None else max(-FAMILY_MM, 0.5 - guide.circle.radius)
    for off in np.arange(first, FAMILY_MM, STEP_MM).tolist():
        if not along.reaches(off):
            continue
        mask = along.seen_as(off, kind, least)
        like = float(mask.mean()) >= least
        if like and np.abs(_colour(along, mask, off, kind) - colour).max() <= ALIKE_LEVELS:
            (here if abs(off) < 4 * WANDERS_MM else beside).append(off)
    lines = _middles(beside)
    parts = _Lines.of(known)
    others = [off for off in lines if not parts.run_along(places + off * normals)]
    if len(others) != 2:
        return len(others) >= FAMILY
    # Some of a row of like lines may lie where guides would; a guide's other side is none of it.
    itself = _Lines.of([guide])
    row = [off for off in lines if not itself.run_along(places + off * normals)]
    own_off = float(np.mean(here)) if here else 0.0
    return _even(others, own_off) or _even(row, own_off)


def _middles(offsets: Sequence[float]) -> list[float]:
    """Return the middle of each run of neighbouring offsets."""
    groups: list[list[float]] = []
    for off in offsets:
        if groups and off - groups[-1][-1] < 2.5 * STEP_MM:
            groups[-1].append(off)
        else:
            groups.append([off])
    return [float(np.mean(group)) for group in groups]


def _even(others: Sequence[float], own: float) -> bool:
    """Say whether other lines and a line itself, by their offsets, stand at even steps."""
    steps = np.diff(sorted([*others, own]))
    return bool(np.ptp(steps) <= EVEN_MM)


def _colour(along: Along, mask: NDArray[np.bool_], offset: float, kind: int) -> FloatArray:
    """Return the median look of a line near an offset, where it is DARKER, or LIGHTER, most; a
    value a plane. Of a thin line little shows as far off its middle as it may wander."""
    rows = np.flatnonzero(np.abs(along.offsets - offset) <= 2 * WANDERS_MM)
    most = np.min if kind == DARKER else np.max
    return np.array([median(most(plane[rows][:, mask], axis=0)) for plane in along.light])
