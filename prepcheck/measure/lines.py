"""Which painted paths are lines, and how wide they are."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content, Paint, PathItem

LEAST_LENGTH_MM = 1.0
"""Filled slivers shorter than this are parts of letters, not lines."""
LEAST_SLENDERNESS = 10.0
"""Length over width from which a filled box is a line."""
MOST_COORDINATES = 24
"""A box has four corners; writers repeat some, but not more often than this."""


class Stroke(NamedTuple):
    """A line: its width in mm and its paint."""

    width: float
    paint: Paint


def drawn_lines(content: Content) -> tuple[tuple[PathItem, Stroke], ...]:
    """Return the paths that are lines, each with its stroke, in painting order."""
    maybe = np.flatnonzero((content.path_traits.stroke >= 0) | _slender(content)).tolist()
    paths = (content.paths[index] for index in maybe)
    return tuple((path, line) for path in paths if (line := as_line(path)) is not None)


def _slender(content: Content) -> NDArray[np.bool_]:
    """Say which paths that are only filled may be lines by the lengths of their sides (n,)."""
    traits = content.path_traits
    filled = (traits.stroke < 0) & (traits.fill >= 0) & ~traits.clipped & (traits.runs == 1)
    slender: NDArray[np.bool_] = np.zeros(len(filled), bool)
    if not filled.any():
        return slender
    points, starts, path = content.path_outlines
    own = filled[path] & (np.diff(starts) > 1)
    # From the first to before the last corner of each: what lies between two is reduced in vain.
    spans = np.stack((starts[:-1][own], starts[1:][own] - 1), axis=1).reshape(-1)
    sides = np.append(np.hypot(*np.diff(points, axis=0).T), 0)
    longest = np.maximum.reduceat(sides, spans)[::2]
    shortest = np.minimum.reduceat(np.where(sides > 0, sides, np.inf), spans)[::2]
    slender[path[own]] = (longest >= LEAST_LENGTH_MM) & (longest >= LEAST_SLENDERNESS * shortest)
    return slender


def as_line(item: PathItem) -> Stroke | None:
    """Return the line that a path is, None for one that is none.

    A stroke in the colour of the fill only thickens the fill.
    """
    if item.stroke is not None:
        if item.stroke.opacity <= 0 or (item.fill is not None and _alike(item.fill, item.stroke)):
            return None
        return Stroke(item.stroke_mm, item.stroke)
    if item.fill is None or item.fill.opacity <= 0 or item.clipped or len(item.segments) != 1:
        return None
    flat = item.segments[0]
    if len(flat) > MOST_COORDINATES or len(set(zip(flat[::2], flat[1::2], strict=True))) != 4:
        return None
    sides = np.hypot(*np.diff(item.lines()[0], axis=0).T)
    sides = sides[sides > 0]
    width, length = float(sides.min()), float(sides.max())
    if length < LEAST_LENGTH_MM or length < LEAST_SLENDERNESS * width:
        return None
    return Stroke(width, item.fill)


def _alike(one: Paint, other: Paint) -> bool:
    return one.space == other.space and one.components == other.components
