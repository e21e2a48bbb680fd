"""Which painted paths are lines, and how wide they are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple, overload

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content, Paint, PathColumns, PathItem
from prepcheck.geometry import FloatArray, lengths_of

LEAST_LENGTH_MM = 1.0
"""Filled slivers shorter than this are parts of letters, not lines."""
LEAST_SLENDERNESS = 10.0
"""Length over width from which a filled box is a line."""
MOST_COORDINATES = 24
"""A box has four corners; writers repeat some, but not more often than this."""


class StrokedLine(NamedTuple):
    """A line: its width in mm and its paint."""

    width: float
    paint: Paint


class DrawnLines(Sequence[tuple[PathItem, StrokedLine]]):
    """Paths that are lines, each with its stroke; both are made when they are asked for, since a
    page may have a million."""

    def __init__(
        self,
        content: Content,
        rows: NDArray[np.intp],
        widths: FloatArray,
        paints: NDArray[np.intp],
    ) -> None:
        """`rows` (m,) number the paths of the content, `paints` (m,) those of its traits; `widths`
        (m,) are in mm."""
        self.content, self.rows, self.widths, self.paints = content, rows, widths, paints

    def some(self, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> DrawnLines:
        """Return those that a mask or numbers choose, in the order of these."""
        return DrawnLines(self.content, self.rows[chosen], self.widths[chosen], self.paints[chosen])

    @property
    def boxes(self) -> FloatArray:
        """The boxes of their paths (m, 4) in mm."""
        return self.content.path_boxes[self.rows]

    def __len__(self) -> int:
        return len(self.rows)

    def __iter__(self) -> Iterator[tuple[PathItem, StrokedLine]]:
        paths = self.content.paths
        made = (
            paths.each(self.rows)
            if isinstance(paths, PathColumns)
            else map(paths.__getitem__, self.rows.tolist())
        )
        paints = map(self.content.path_traits.paints.__getitem__, self.paints.tolist())
        return zip(made, map(StrokedLine, self.widths.tolist(), paints), strict=True)

    @overload
    def __getitem__(self, index: int) -> tuple[PathItem, StrokedLine]: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[tuple[PathItem, StrokedLine], ...]: ...
    def __getitem__(
        self, index: int | slice
    ) -> tuple[PathItem, StrokedLine] | tuple[tuple[PathItem, StrokedLine], ...]:
        if isinstance(index, slice):
            return tuple(self[at] for at in range(*index.indices(len(self))))
        paint = self.content.path_traits.paints[int(self.paints[index])]
        path = self.content.paths[int(self.rows[index])]
        return path, StrokedLine(float(self.widths[index]), paint)


def drawn_lines(content: Content) -> DrawnLines:
    """Return the paths that are lines, each with its stroke, in painting order."""
    traits = content.path_traits
    # Which pairs of a fill and a stroke are lines, none being the last of the paints.
    count = len(traits.paints) + 1
    pairs, which = np.unique(
        traits.fill % count * count + traits.stroke % count, return_inverse=True
    )
    of_pair = np.zeros(len(pairs), np.bool_)
    paints = (*traits.paints, None)
    for at, pair in enumerate(pairs.tolist()):
        fill, stroke = paints[pair // count], paints[pair % count]
        of_pair[at] = stroke is not None and _lines_with(fill, stroke)
    lines = of_pair[which]
    widths, paint = traits.stroke_mm.copy(), traits.stroke.copy()
    for index in np.flatnonzero(_slender(content)).tolist():
        width = _sliver(content.paths[index])
        if width is not None:
            lines[index], widths[index], paint[index] = True, width, traits.fill[index]
    rows = np.flatnonzero(lines)
    return DrawnLines(content, rows, widths[rows], paint[rows])


def _lines_with(fill: Paint | None, stroke: Paint) -> bool:
    """Say whether strokes are lines: those in the colour of the fill only thicken the fill."""
    return stroke.opacity > 0 and (fill is None or not _alike(fill, stroke))


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
    sides = np.append(lengths_of(np.diff(points, axis=0)), 0)
    longest = np.maximum.reduceat(sides, spans)[::2]
    shortest = np.minimum.reduceat(np.where(sides > 0, sides, np.inf), spans)[::2]
    slender[path[own]] = (longest >= LEAST_LENGTH_MM) & (longest >= LEAST_SLENDERNESS * shortest)
    return slender


def _sliver(item: PathItem) -> float | None:
    """Return the width in mm of the line that a filled path of one run is; None of another."""
    if item.fill is None or item.fill.opacity <= 0:
        return None
    flat = item.segments[0]
    if len(flat) > MOST_COORDINATES or len(set(zip(flat[::2], flat[1::2], strict=True))) != 4:
        return None
    sides = np.hypot(*np.diff(item.lines()[0], axis=0).T)
    sides = sides[sides > 0]
    width, length = float(sides.min()), float(sides.max())
    if length < LEAST_LENGTH_MM or length < LEAST_SLENDERNESS * width:
        return None
    return width


def _alike(one: Paint, other: Paint) -> bool:
    return one.space == other.space and one.components == other.components
