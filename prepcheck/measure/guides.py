"""Guides of a template: thin lines that coincide with where the piece is cut, folded or drilled."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.geometry import Box, Circle, FloatArray, Segment, sample_loop, segment_distance
from prepcheck.measure.edges import LiveEdge, shows
from prepcheck.measure.sampling import along_rays
from prepcheck.outline import Outline
from prepcheck.press.view import View

COINCIDE_MM = 0.15
"""How far a line may lie off a guide's place and still coincide with it."""
NEARLY_ALL = 0.9
"""Share of a guide that a line must follow."""
THIN_MM = 0.4
"""Guides are drawn thin; a wider line is a frame that somebody designed."""
STEP_MM = 0.5
BESIDE_MM = (0.3, 0.6)
"""Where, from its middle, the ground on both sides of a thin line is looked at."""
RIDGE_PERCENT = 12.0
"""A line differs from the ground on both sides by this much lightness."""


CLOSE_BY = 0.8
"""Share of the difference that must be reached close beside a line for it to be thin."""


class Guide(NamedTuple):
    """The place of a guide: what it marks, and its line; open where `closed` is False, and the
    circle itself where it is one."""

    name: str
    points: FloatArray
    closed: bool
    circle: Circle | None = None

    def distance(self, points: FloatArray) -> FloatArray:
        """Return the distance in mm of places (..., 2) from the line."""
        if self.circle is not None:
            x, y, radius = self.circle
            return np.asarray(np.abs(np.hypot(points[..., 0] - x, points[..., 1] - y) - radius))
        ends = np.roll(self.points, -1, axis=0)
        starts = self.points if self.closed else self.points[:-1]
        return segment_distance(points, starts, ends if self.closed else ends[:-1])

    def walked(self) -> FloatArray:
        """Return places (n, 2) along the line, about STEP_MM apart."""
        if self.circle is not None:
            return self.circle.points(max(36, int(2 * np.pi * self.circle.radius / STEP_MM)))
        if self.closed:
            return sample_loop(self.points, STEP_MM)
        count = int(np.hypot(*(self.points[1] - self.points[0])) / STEP_MM) + 2
        share = np.linspace(0.0, 1.0, count)[1:-1, None]
        return np.asarray(self.points[0] * (1 - share) + self.points[1] * share)


class Found(NamedTuple):
    """A guide found in the art, and the layers it lies on (empty for one seen in a picture)."""

    guide: Guide
    layers: tuple[str | None, ...]


class Offset(NamedTuple):
    """A line at a distance from the trim (positive outwards) or from the hole's edge."""

    name: str
    mm: float


def guides_of(
    outline: Outline, at_trim: Sequence[Offset], at_hole: Sequence[Offset]
) -> tuple[Guide, ...]:
    """Return the places where a template may have its guides."""
    guides = [
        Guide(offset.name, contour.points, True, contour.circle)
        for offset in at_trim
        for contour in outline.contour(offset.mm)
    ]
    if len(outline.panels) > 1:
        guides += [
            Guide(f"{offset.name} of the {panel.name}", _corners(panel.box.grown(offset.mm)), True)
            for offset in at_trim
            if offset.mm <= 0
            for panel in outline.panels
            if min(panel.box.width, panel.box.height) > -2 * offset.mm
        ]
    guides += [_fold(fold) for fold in outline.folds]
    if outline.hole is not None:
        x, y, radius = outline.hole
        circles = ((offset.name, Circle(x, y, radius + offset.mm)) for offset in at_hole)
        guides += [Guide(name, circle.points(), True, circle) for name, circle in circles]
    return tuple(guides)


def _fold(fold: Segment) -> Guide:
    return Guide(f"fold {fold.name}", np.array((fold.start, fold.end), np.float64), False)


def _corners(box: Box) -> FloatArray:
    return np.array(box.corners, np.float64)


def drawn_guides(content: Content, guides: Sequence[Guide]) -> tuple[Found, ...]:
    """Return the guides that thin strokes follow nearly all the way."""
    traits = content.path_traits
    thin = (traits.stroke >= 0) & (traits.fill < 0) & (traits.stroke_mm <= THIN_MM)
    loops: list[tuple[FloatArray, str | None]] = []
    straight: list[tuple[FloatArray, str | None]] = []
    for index in np.flatnonzero(thin).tolist():
        path = content.paths[index]
        for line in path.lines():
            if len(line) == 2:
                straight.append((line, path.layer))
            elif len(line) > 2:
                loops.append((line, path.layer))
    found = []
    for guide in guides:
        layers = _by_loop(guide, loops) or _by_sides(guide, straight)
        if layers:
            found.append(Found(guide, layers))
    return tuple(found)


def _by_loop(
    guide: Guide, loops: Sequence[tuple[FloatArray, str | None]]
) -> tuple[str | None, ...]:
    if not guide.closed:
        return ()
    low, high = guide.points.min(axis=0), guide.points.max(axis=0)
    layers = []
    for line, layer in loops:
        if np.abs(line.min(axis=0) - low).max() > COINCIDE_MM:
            continue
        if np.abs(line.max(axis=0) - high).max() > COINCIDE_MM:
            continue
        on_guide = guide.distance(sample_loop(line, STEP_MM)) <= COINCIDE_MM
        own = Guide("", line, False)
        covered = own.distance(guide.walked()) <= COINCIDE_MM
        if on_guide.mean() >= NEARLY_ALL and covered.mean() >= NEARLY_ALL:
            layers.append(layer)
    return tuple(layers)


def _by_sides(
    guide: Guide, straight: Sequence[tuple[FloatArray, str | None]]
) -> tuple[str | None, ...]:
    """Look for straight strokes that cover each side of an angular guide."""
    corners = guide.points
    if not straight or len(corners) > 24:
        return ()
    ends = np.roll(corners, -1, axis=0)
    pairs = list(zip(corners, ends, strict=True))[: None if guide.closed else -1]
    lines = np.array([line for line, _ in straight])
    layers: list[str | None] = []
    for start, end in pairs:
        length = float(np.hypot(*(end - start)))
        along, across = (end - start) / length, np.array((-1, 1)) * (end - start)[::-1] / length
        off = np.abs((lines - start) @ across).max(axis=1)
        at = (lines - start) @ along
        covered = np.minimum(at.max(axis=1), length) - np.maximum(at.min(axis=1), 0.0)
        fits = np.flatnonzero((off <= COINCIDE_MM) & (covered >= NEARLY_ALL * length))
        if not len(fits):
            return ()
        layers += [straight[index][1] for index in fits.tolist()]
    return tuple(layers)


def pictured_guides(view: View, guides: Sequence[Guide]) -> tuple[Found, ...]:
    """Return the guides that a thin line in the picture follows nearly all the way."""
    return tuple(Found(guide, ()) for guide in guides if _ridge(view, guide) >= NEARLY_ALL)


def guide_shows(view: View, guide: Guide) -> bool:
    """Say whether something shows along most of a guide."""
    return float(shows(view, guide.walked()).mean()) >= 0.5


def _ridge(view: View, guide: Guide) -> float:
    """Return the share of a guide along which a thin line lies on it."""
    points = guide.walked()
    lines = np.roll(points, -1, axis=0) - points
    if not guide.closed:
        lines[-1] = lines[-2]
    length = np.hypot(lines[:, 0], lines[:, 1])
    normals = np.column_stack((-lines[:, 1], lines[:, 0])) / length[:, None]
    near, far = BESIDE_MM
    offsets = np.arange(-far - COINCIDE_MM, far + COINCIDE_MM + 0.01, 0.05)
    light = along_rays(view.lightness, view.grid, points, normals, offsets)
    rise = RIDGE_PERCENT / 100 * 255
    best = 0.0
    for shift in (-0.1, 0.0, 0.1):
        off = np.abs(offsets - shift)
        middle = light[:, off <= 0.06]
        beside, ground = (light[:, (off >= least) & (off <= far)] for least in (near, far - 0.1))
        darker = _stands_out(beside.min(axis=1), ground.min(axis=1), middle.min(axis=1), rise)
        lighter = _stands_out(-beside.max(axis=1), -ground.max(axis=1), -middle.max(axis=1), rise)
        best = max(best, float(darker.mean()), float(lighter.mean()))
    return best


def _stands_out(
    beside: NDArray[np.float32],
    ground: NDArray[np.float32],
    middle: NDArray[np.float32],
    rise: float,
) -> NDArray[np.bool_]:
    """Say where a line is darker than the ground, which begins close beside it."""
    return np.asarray((ground - middle >= rise) & (beside - middle >= CLOSE_BY * (ground - middle)))


def follows(edge: LiveEdge, guides: Iterable[Found]) -> bool:
    """Say whether a live edge is nothing but a guide that was found."""
    points = np.array(edge.path)
    return any(
        bool((found.guide.distance(points) <= COINCIDE_MM + THIN_MM).all()) for found in guides
    )
