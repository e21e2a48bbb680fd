"""Distances of type from the trim and the hole."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import TypeTable
from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, Circle, FloatArray, distinct
from prepcheck.outline import Outline
from prepcheck.press.view import View

SEEN_PERCENT = 6.0
"""Lightness or colour must change by this much, of the full range, for a thing to be seen."""
EDGE_STEP_MM = 0.1
"""Distance between the places on a glyph's edge that are measured."""
_AT_ONCE = 10_000
"""Glyphs that are measured together: of many, arrays take much memory."""


@dataclass(frozen=True)
class Glyphs:
    """The glyphs of all type that prints: corners (n, 4, 2) in mm, each one's text run, and its
    place in that."""

    corners: FloatArray
    runs: TypeTable
    run: NDArray[np.int64]
    place: NDArray[np.int64]

    def box(self, index: int) -> Box:
        """Return the upright box round a glyph."""
        return Box.around((float(x), float(y)) for x, y in self.corners[index])


def printed_glyphs(texts: TypeTable) -> Glyphs:
    """Return every glyph that is painted; invisible type has no distance to keep."""
    runs = texts.taken(np.flatnonzero(texts.paints & (texts.counts > 0)))
    run = runs.glyphs.owners
    return Glyphs(runs.glyphs.corners, runs, run, np.arange(len(run)) - runs.glyphs.first[run])


def trim_clearances(corners: FloatArray, outline: Outline, near_mm: float) -> FloatArray:
    """Return how far inside the trim each glyph (n, 4, 2) stays, in mm.

    Negative where the trim cuts it; infinite where all of it lies outside the trim. Exact within
    `near_mm` of the trim, by the nearest corner beyond.
    """
    if not len(corners):
        return np.empty(0)
    distance = outline.signed_distance(corners)
    furthest, nearest = distance.max(axis=1), distance.min(axis=1)
    reach = np.hypot(*(corners.max(axis=1) - corners.min(axis=1)).T)
    near = furthest > -near_mm - reach
    if outline.convex:
        # No side reaches further out than its ends; it may only reach further in.
        near &= nearest >= 0
    _along_sides(corners, outline, np.flatnonzero(near), nearest, furthest)
    return np.where(nearest >= 0, np.inf, -furthest)


def _along_sides(
    corners: FloatArray,
    outline: Outline,
    near: NDArray[np.intp],
    nearest: FloatArray,
    furthest: FloatArray,
) -> None:
    """Take the sides of some glyphs into their least and their greatest distance (n,), in place."""
    sides = np.roll(corners[near], -1, axis=1) - corners[near]
    longest = np.hypot(sides[..., 0], sides[..., 1]).max(axis=1)
    steps = np.maximum(1, np.ceil(longest / EDGE_STEP_MM)).astype(np.intp)
    for count in distinct(steps).tolist():
        alike = np.flatnonzero(steps == count)
        share = (np.arange(count) / count)[:, None]
        for some in np.array_split(alike, len(alike) // _AT_ONCE + 1):
            own = near[some]
            places = corners[own, :, None] + share * sides[some, :, None]
            edge = outline.signed_distance(places).reshape(len(places), -1)
            furthest[own] = np.maximum(furthest[own], edge.max(axis=1))
            nearest[own] = np.minimum(nearest[own], edge.min(axis=1))


def hole_clearances(corners: FloatArray, hole: Circle) -> FloatArray:
    """Return the distance in mm of each glyph (n, 4, 2) from the hole's edge.

    Negative where the hole cuts it or holds it.
    """
    batches = np.array_split(corners, len(corners) // _AT_ONCE + 1)
    return np.concatenate([_hole_clearances(some, hole) for some in batches])


def _hole_clearances(corners: FloatArray, hole: Circle) -> FloatArray:
    starts = corners - np.array((hole.x, hole.y))
    lines = np.roll(starts, -1, axis=1) - starts
    length = np.maximum((lines**2).sum(axis=2), 1e-12)
    share = np.clip(-(starts * lines).sum(axis=2) / length, 0.0, 1.0)
    foot = starts + share[..., None] * lines
    distance = np.hypot(foot[..., 0], foot[..., 1]).min(axis=1) - hole.radius
    cross = lines[..., 0] * -starts[..., 1] + lines[..., 1] * starts[..., 0]
    around = (cross > 0).all(axis=1) | (cross < 0).all(axis=1)
    return np.where(around, -hole.radius, distance)


def is_seen(view: View, box: Box) -> bool:
    """Say whether something shows in a box: light, colour or ink changes in it or at its sides.

    Outside the view everything counts as seen.
    """
    rows, columns = view.grid.window(box.grown(1.5 * view.grid.pitch))
    area = view.rgb[rows, columns]
    if not area.size:
        return True
    flat = area.reshape(-1, 3)
    spread = flat.max(axis=0).astype(np.int64) - flat.min(axis=0)
    ink = view.ink[rows, columns]
    most = max(int(spread.max()), int(ink.max()) - int(ink.min()))
    return most >= SEEN_PERCENT / 100 * 255
