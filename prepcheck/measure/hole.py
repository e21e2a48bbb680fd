"""A hole that somebody drew: blanked out, filled or outlined."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.geometry import Circle, FloatArray
from prepcheck.measure.edges import shows
from prepcheck.measure.reach import INK_PERCENT
from prepcheck.measure.sampling import rays, sample
from prepcheck.press.view import View

ALIKE_MM = 1.0
ALIKE_SHARE = 0.1
"""A drawn circle is meant for the hole where its radius differs by no more than this in mm, or
by this share of a large hole's radius."""
ROUND_MM = 0.15
"""How far from round a circle may be."""
CENTRE_MM = 0.5
"""How far off the hole's centre it may lie."""
NEARLY_ALL = 0.9
LEAST_CORNERS = 8
OUTLINED = "outlined"


class DrawnHole(NamedTuple):
    """A hole in the art: its circle in mm, and how it is drawn."""

    circle: Circle
    how: str


def drawn_hole(content: Content, view: View, hole: Circle) -> DrawnHole | None:
    """Return the hole that is drawn in the art, the nearest in size; None when there is none."""
    found = [*_circles(content, view, hole)]
    if not found and (bare := _bare_disc(view, hole)) is not None:
        found = [bare]
    return min(found, key=lambda drawn: abs(drawn.circle.radius - hole.radius), default=None)


def _alike(radius: float, hole: Circle) -> bool:
    return abs(radius - hole.radius) <= _spread(hole)


def _spread(hole: Circle) -> float:
    return max(ALIKE_MM, ALIKE_SHARE * hole.radius)


def _circles(content: Content, view: View, hole: Circle) -> Iterable[DrawnHole]:
    """Yield the drawn circles that are about as large as the hole and lie about where it does."""
    points, starts, path = content.path_outlines
    for run in _may_be(points, starts, hole).tolist():
        own = points[starts[run] : starts[run + 1]]
        low, high = own.min(axis=0), own.max(axis=0)
        x, y = (low + high) / 2
        circle = Circle(float(x), float(y), float((high - low).mean() / 2))
        if not _is_round(own, circle) or shows(view, circle.points(72)).mean() < NEARLY_ALL:
            continue
        fill = content.paths[int(path[run])].fill
        if fill is None:
            yield DrawnHole(circle, OUTLINED)
        else:
            light = fill.ink_count == 0 and min(fill.rgb) >= 1 - INK_PERCENT / 100
            yield DrawnHole(circle, "blanked out" if light else "filled in")


def _may_be(points: FloatArray, starts: NDArray[np.intp], hole: Circle) -> NDArray[np.intp]:
    """Return which subpaths (see `Outlines`) are of the hole's size and lie about where it does."""
    some = np.flatnonzero(np.diff(starts))
    if not len(some):
        return some
    low = np.minimum.reduceat(points, starts[some])
    high = np.maximum.reduceat(points, starts[some])
    off = (low + high) / 2 - (hole.x, hole.y)
    near = np.hypot(off[:, 0], off[:, 1]) <= CENTRE_MM
    alike = np.abs((high - low).mean(axis=1) / 2 - hole.radius) <= _spread(hole)
    return np.asarray(some[near & alike & (np.diff(starts)[some] >= LEAST_CORNERS)])


def _is_round(points: FloatArray, circle: Circle) -> bool:
    off = np.hypot(points[:, 0] - circle.x, points[:, 1] - circle.y) - circle.radius
    angles = np.sort(np.arctan2(points[:, 1] - circle.y, points[:, 0] - circle.x))
    gaps = np.diff(angles, append=angles[0] + 2 * np.pi)
    return bool(np.abs(off).max() <= ROUND_MM and gaps.max() < 1.0)


def _bare_disc(view: View, hole: Circle) -> DrawnHole | None:
    """Look for a disc of bare paper with an inked edge about where the hole's edge is."""
    step = min(view.grid.pitch / 3, 0.03)
    spread = _spread(hole)
    radii = np.arange(0.0, hole.radius + spread + 0.5, step)
    normals = Circle(0.0, 0.0, 1.0).points(360)
    centre = np.tile(np.array((hole.x, hole.y)), (len(normals), 1))
    ink = sample(view.ink, view.grid, rays(centre, normals, radii))
    inked = ink >= INK_PERCENT / 100 * 255
    within = radii < hole.radius - spread - 0.1
    if not within.any() or inked[:, within].any(axis=1).mean() > 1 - NEARLY_ALL:
        return None
    reached = inked.any(axis=1)
    if reached.mean() < NEARLY_ALL:
        return None
    behind = np.minimum(np.argmax(inked, axis=1) + int(0.3 / step), len(radii) - 1)
    half = ink[np.arange(len(ink)), behind] / 2
    edge = radii[np.argmax(ink >= half[:, None], axis=1)]
    radius = float(np.median(edge[reached]))
    round_enough = (np.abs(edge - radius) <= ROUND_MM).mean() >= NEARLY_ALL
    if not _alike(radius, hole) or not round_enough:
        return None
    return DrawnHole(Circle(hole.x, hole.y, radius), "blanked out")
