"""Light gaps between dark boxes: lines that nobody drew, and that fill in like those drawn."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.geometry import Box, FloatArray, distinct

DARK, LIGHT = 0.45, 0.75
"""Lightness up to which boxes are dark, and from which what lies between them is light."""
LEAST_GAP_MM = 0.02
"""Boxes nearer than this are taken to meet."""
LEAST_LENGTH_MM, LEAST_SLENDERNESS = 1.0, 10.0
LEAST_BAR_MM = 0.25
"""Boxes narrower than this are lines themselves."""
MOST_BOXES = 4000


class Gap(NamedTuple):
    """A gap: its box in mm and its width."""

    box: Box
    width: float


def gaps_between(content: Content, most_mm: float) -> tuple[Gap, ...]:
    """Return the gaps up to so wide between dark upright boxes where the paper or something light
    is seen."""
    bars = _bars(content)
    if not 1 < len(bars) <= MOST_BOXES:
        return ()
    points, starts, path = content.path_outlines
    at = starts[:-1]
    every = np.hstack((np.minimum.reduceat(points, at), np.maximum.reduceat(points, at)))
    found = []
    for turned in (False, True):
        own = bars[:, (1, 0, 3, 2)] if turned else bars
        for box in _beside(own, most_mm):
            upright = Box(box.y0, box.x0, box.y1, box.x1) if turned else box
            if _is_light(content, upright, every, path):
                found.append(Gap(upright, min(upright.width, upright.height)))
    return tuple(found)


def _bars(content: Content) -> FloatArray:
    """Return the boxes (n, 4) that are filled with a dark paint."""
    points, starts, path = content.path_outlines
    traits = content.path_traits
    dark = np.array([p.lightness <= DARK and not p.pattern for p in traits.paints] + [False])
    count = np.diff(starts)
    maybe = np.flatnonzero((count == 5) & dark[traits.fill][path] & ~traits.clipped[path])
    if not len(maybe):
        return np.empty((0, 4))
    corners = points[starts[maybe][:, None] + np.arange(4)]
    sides = np.abs(np.roll(corners, -1, axis=1) - corners)
    upright = (sides.min(axis=2) < 1e-3).all(axis=1)
    boxes = np.hstack((corners.min(axis=1), corners.max(axis=1)))[upright]
    wide: FloatArray = boxes[(boxes[:, 2:] - boxes[:, :2]).min(axis=1) >= LEAST_BAR_MM]
    return wide


def _beside(bars: FloatArray, most_mm: float) -> list[Box]:
    """Return what lies between bars (n, 4) and those next to their right."""
    order = np.argsort(bars[:, 0], kind="stable")
    left = bars[order, 0]
    found = []
    for x1, low, high in zip(bars[:, 2].tolist(), bars[:, 1].tolist(), bars[:, 3].tolist(),
                             strict=True):  # fmt: skip
        first = int(np.searchsorted(left, x1 + LEAST_GAP_MM))
        end = int(np.searchsorted(left, x1 + most_mm))
        for at in order[first:end].tolist():
            box = Box(x1, max(low, float(bars[at, 1])), float(bars[at, 0]),
                      min(high, float(bars[at, 3])))  # fmt: skip
            long = box.y1 - box.y0
            if long >= max(LEAST_LENGTH_MM, LEAST_SLENDERNESS * box.width):
                found.append(box)
    return found


def _is_light(content: Content, gap: Box, boxes: FloatArray, path: NDArray[np.intp]) -> bool:
    """Say whether nothing dark or unknown is painted where a gap is, by the boxes (m, 4) of all
    subpaths and the path that each is of."""
    x, y = gap.centre
    if any(one.visible is not None and one.visible.overlap(gap) for one in content.images):
        return False
    if any(one.box.overlap(gap) for one in content.shadings):
        return False
    traits = content.path_traits
    over = (boxes[:, 0] <= x) & (x <= boxes[:, 2]) & (boxes[:, 1] <= y) & (y <= boxes[:, 3])
    for at in distinct(path[over]).tolist():
        for number in (traits.fill[at], traits.stroke[at]):
            paint = traits.paints[number] if number >= 0 else None
            if paint is not None and (paint.lightness < LIGHT or paint.pattern):
                return False
    return True
