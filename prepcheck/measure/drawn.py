"""The outlines of many drawn things as one array, so that they are measured together."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import PROCESS_INKS, ImageItem, Paint, PathItem
from prepcheck.geometry import FloatArray

UNKNOWN = (0.0, 0.0, 0.0, 0.0)
"""The look of a line that has no one colour."""


class Lines(NamedTuple):
    """Open lines of at least two places, end to end in one array.

    `points` (n, 2) are their places in mm; `starts` (m,) says where each line begins in it,
    `half` (m,) is half its stroke width in mm, and `filled` (m,) whether it bounds a fill.
    `looks` (m, 4) is how its paint looks on screen, red, green and blue 0..1, then 1 where that is
    known and 0 where it is not, as of pictures and patterns.
    """

    points: FloatArray
    starts: NDArray[np.int64]
    half: FloatArray
    filled: NDArray[np.bool_]
    looks: FloatArray

    @property
    def lengths(self) -> NDArray[np.int64]:
        """The number of places of each line (m,)."""
        return np.diff(self.starts, append=len(self.points))

    @property
    def line(self) -> NDArray[np.int64]:
        """The line that each place is of (n,)."""
        return np.repeat(np.arange(len(self.starts)), self.lengths)

    @property
    def boxes(self) -> FloatArray:
        """The box round the places of each line (m, 4)."""
        if not len(self.starts):
            return np.empty((0, 4))
        low, high = (pick.reduceat(self.points, self.starts) for pick in (np.minimum, np.maximum))
        return np.concatenate((low, high), axis=1)

    def take(self, chosen: NDArray[np.int64]) -> Lines:
        """Return some of the lines by number, in that order."""
        lengths = self.lengths[chosen]
        starts = np.cumsum(lengths) - lengths
        places = np.arange(int(lengths.sum())) + np.repeat(self.starts[chosen] - starts, lengths)
        own = (self.half[chosen], self.filled[chosen], self.looks[chosen])
        return Lines(self.points[places], starts, *own)

    def walked(self, step_mm: float) -> Lines:
        """Return the lines with places added so that no step is longer than `step_mm`."""
        points, last = self.points, np.zeros(len(self.points), bool)
        last[self.starts[1:] - 1] = True
        last[-1:] = True
        after = np.roll(points, -1, axis=0)
        steps = np.where(last, 0.0, np.hypot(*(after - points).T))
        parts = np.maximum(1, np.ceil(steps / step_mm).astype(np.int64))
        before = np.cumsum(parts) - parts
        index = np.repeat(np.arange(len(points)), parts)
        share = ((np.arange(len(index)) - before[index]) / parts[index])[:, None]
        walked = points[index] * (1 - share) + after[index] * share
        return Lines(walked, before[self.starts], self.half, self.filled, self.looks)


def lines_of(paths: Iterable[PathItem], images: Iterable[ImageItem] = ()) -> Lines:
    """Return the subpaths of paths, then the frames of pictures, as lines."""
    runs: list[tuple[float, ...]] = []
    half: list[float] = []
    filled: list[bool] = []
    looks: list[tuple[float, ...]] = []
    for item in paths:
        own = [run for run in item.segments if len(run) >= 4]
        runs += own
        looks += [look_of(item.fill if item.stroke is None else item.stroke)] * len(own)
        half += [item.stroke_mm / 2 if item.stroke is not None else 0.0] * len(own)
        filled += [item.fill is not None] * len(own)
    frames = [tuple(chain(*image.quad, image.quad.a)) for image in images]
    runs += frames
    half += [0.0] * len(frames)
    filled += [True] * len(frames)
    looks += [UNKNOWN] * len(frames)
    lengths = np.array([len(run) // 2 for run in runs], np.int64)
    flat = np.fromiter(chain.from_iterable(runs), np.float64, 2 * int(lengths.sum()))
    starts = np.cumsum(lengths) - lengths
    return Lines(
        flat.reshape(-1, 2),
        starts,
        np.array(half, np.float64),
        np.array(filled, bool),
        np.array(looks, np.float64).reshape(-1, 4),
    )


def look_of(paint: Paint | None) -> tuple[float, ...]:
    """Return how a paint looks in the plain mix of inks, as in `Lines.looks`."""
    if paint is None or paint.pattern:
        return UNKNOWN
    if not paint.inks:
        return (*paint.rgb, 1.0)
    amounts = dict(paint.inks)
    rest = 1.0
    for ink, amount in amounts.items():
        if ink not in PROCESS_INKS[:3]:
            rest *= 1.0 - amount
    return (*(rest * (1.0 - amounts.get(ink, 0.0)) for ink in PROCESS_INKS[:3]), 1.0)
