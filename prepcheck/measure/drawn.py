"""The outlines of many drawn things as one array, so that they are measured together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import (
    BUTT_CAP,
    PROCESS_INKS,
    ROUND_CAP,
    SQUARE_CAP,
    Content,
    ImageItem,
    Paint,
)
from prepcheck.geometry import FloatArray, lengths_of

UNKNOWN = (0.0, 0.0, 0.0, 0.0)
"""The look of a line that has no one colour."""
ROUNDING_MM = 1e-6


class Lines(NamedTuple):
    """Open lines of at least two places, end to end in one array.

    `points` (n, 2) are their places in mm; `starts` (m,) says where each line begins in it,
    `half` (m,) is half its stroke width in mm, and `filled` (m,) whether it bounds a fill.
    `looks` (m, 4) is how its paint looks on screen, red, green and blue 0..1, then 1 where that is
    known and 0 where it is not, as of pictures and patterns. `caps` (m,) is how its ends look, as
    in `PathItem`; a line that closes counts as round. `mitres` (m,) is as in `PathItem`; 0 of the
    outline of a mitre, whose second place is the tip.
    """

    points: FloatArray
    starts: NDArray[np.int64]
    half: FloatArray
    filled: NDArray[np.bool_]
    looks: FloatArray
    caps: NDArray[np.uint8]
    mitres: FloatArray

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
        return Lines(
            self.points[places], starts, self.half[chosen], self.filled[chosen],
            self.looks[chosen], self.caps[chosen], self.mitres[chosen],
        )  # fmt: skip

    def joined(self, other: Lines) -> Lines:
        """Return these lines, then others."""
        starts = np.append(self.starts, other.starts + len(self.points))
        return Lines(
            np.concatenate((self.points, other.points)),
            starts,
            np.append(self.half, other.half),
            np.append(self.filled, other.filled),
            np.concatenate((self.looks, other.looks)),
            np.append(self.caps, other.caps),
            np.append(self.mitres, other.mitres),
        )

    def _steps(self, step_mm: float) -> tuple[FloatArray, FloatArray, NDArray[np.int64]]:
        """Return for each place (n,) the next one (n, 2), how far that is, 0 from the last of a
        line, and into how many steps of at most `step_mm` that way is cut."""
        last = np.zeros(len(self.points), bool)
        last[self.starts[1:] - 1] = True
        last[-1:] = True
        after = np.roll(self.points, -1, axis=0)
        ways = np.where(last, 0.0, lengths_of(after - self.points))
        return after, ways, np.maximum(1, np.ceil(ways / step_mm).astype(np.int64))

    def reach(self, room: FloatArray) -> FloatArray:
        """Return by how much the stroke comes nearer to something than its middle does at each
        place (n,), by the room of that (n,).

        It is half the width, but beside a flat end only what lies across the line, and at a square
        end a corner beyond it. Exact where the thing's own edge is straight.
        """
        line = self.line
        half = self.half[line]
        flat = (self.caps != ROUND_CAP) & (self.half > 0)
        if not flat.any():
            return half
        _, ways, _ = self._steps(np.inf)
        along = np.cumsum(ways) - ways
        last = self.starts + self.lengths - 1
        to_end = np.minimum(along - along[self.starts][line], along[last][line] - along)
        at = np.flatnonzero(flat[line] & (to_end < half))
        is_last = at == last[line[at]]
        beside, way = np.where(is_last, at - 1, at + 1), np.where(is_last, ways[at - 1], ways[at])
        slope = np.abs(room[beside] - room[at]) / np.maximum(way, ROUNDING_MM)
        slope = np.minimum(slope, 1.0)
        across = half[at] * np.sqrt(1 - slope**2)
        is_corner = (self.caps[line[at]] == SQUARE_CAP) & (to_end[at] == 0)
        reach = half.copy()
        reach[at] = np.where(self.caps[line[at]] == BUTT_CAP, across, half[at])
        reach[at[is_corner]] = (across + half[at] * slope)[is_corner]
        return reach

    def walked(self, step_mm: float) -> Lines:
        """Return the lines with places added so that no step is longer than `step_mm`."""
        points = self.points
        after, _, parts = self._steps(step_mm)
        before = np.cumsum(parts) - parts
        index = np.repeat(np.arange(len(points)), parts)
        share = ((np.arange(len(index)) - before[index]) / parts[index])[:, None]
        walked = points[index] * (1 - share) + after[index] * share
        return self._replace(points=walked, starts=before[self.starts])

    def walked_near(
        self, step_mm: float, room: Callable[[FloatArray], FloatArray], depth_mm: float
    ) -> Lines:
        """Return the lines as `walked` does, but of all places further off than `depth_mm` only
        some: each corner, and one at least of each row of such places.

        `room` gives the distance of places (..., 2) from something, which changes by no more than
        1 mm for each mm of the way; half the stroke is taken from it.
        """
        points = self.points
        after, ways, parts = self._steps(step_mm)
        before = np.cumsum(parts) - parts
        here = room(points)
        reach = depth_mm + self.half[self.line] + ROUNDING_MM
        # Stretches that may come near are halved until every place on them is known.
        part = np.flatnonzero(parts > 1)
        low, high = np.zeros(len(part), np.int64), parts[part]
        at_low, at_high = here[part], np.roll(here, -1)[part]
        numbers, kept = [np.arange(len(points))], [before]
        while True:
            way = (high - low) * (ways[part] / parts[part])
            near = (high - low > 1) & ((at_low + at_high - way) / 2 <= reach[part])
            if not near.any():
                break
            part, low, high = part[near], low[near], high[near]
            middle = (low + high) // 2
            share = (middle / parts[part])[:, None]
            at_middle = room(points[part] * (1 - share) + after[part] * share)
            numbers.append(part)
            kept.append(before[part] + middle)
            at_low, at_high = (
                np.concatenate((at_low[near], at_middle)),
                np.concatenate((at_middle, at_high[near])),
            )
            part = np.concatenate((part, part))
            low, high = np.concatenate((low, middle)), np.concatenate((middle, high))
        place, index = np.concatenate(kept), np.concatenate(numbers)
        order = np.argsort(place, kind="stable")
        place, index = place[order], index[order]
        share = ((place - before[index]) / parts[index])[:, None]
        walked = points[index] * (1 - share) + after[index] * share
        starts = np.searchsorted(place, before[self.starts])
        return self._replace(points=walked, starts=starts)


def lines_in(
    content: Content, chosen: NDArray[np.bool_], images: Sequence[ImageItem] = ()
) -> Lines:
    """Return the subpaths of the paths that a mask (n,) chooses, then the frames of pictures, as
    lines."""
    traits, outlines = content.path_traits, content.path_outlines
    long = np.diff(outlines.starts) >= 2
    points, starts, own = outlines.taken(np.flatnonzero(chosen[outlines.path] & long))
    first, last = starts[:-1], starts[1:] - 1
    closed = (points[first] == points[last]).all(axis=1)
    stroke, fill = traits.stroke[own], traits.fill[own]
    looks = np.array([*map(look_of, traits.paints), UNKNOWN], np.float64)
    frames = np.array([[*image.quad, image.quad.a] for image in images], np.float64)
    frame_at = len(points) + 5 * np.arange(len(images))
    return Lines(
        np.concatenate((points, frames.reshape(-1, 2))),
        np.concatenate((starts[:-1], frame_at)).astype(np.int64),
        np.append(np.where(stroke >= 0, traits.stroke_mm[own] / 2, 0.0), np.zeros(len(images))),
        np.append(fill >= 0, np.ones(len(images), bool)),
        np.concatenate(
            (looks[np.where(stroke >= 0, stroke, fill)], np.tile(looks[-1], (len(images), 1)))
        ),
        np.append(
            np.where(closed | (stroke < 0), ROUND_CAP, traits.cap[own]),
            np.full(len(images), ROUND_CAP),
        ).astype(np.uint8),
        np.append(np.where(stroke >= 0, traits.mitre[own], 1.0), np.ones(len(images))),
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
