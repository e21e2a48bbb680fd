"""Where drawn things end beside a fold."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.frozen import dataclass
from prepcheck.geometry import FloatArray, Point
from prepcheck.measure.drawn import Lines, lines_in
from prepcheck.measure.edges import CHANCE, CHANCE_PLACES, LiveEdge, is_whole, kinds_of, places_seen
from prepcheck.measure.folds import Fold
from prepcheck.measure.mitres import boxes_with_mitres, mitres_of
from prepcheck.measure.tips import LONG_MM, with_tips
from prepcheck.press.view import View

LONG = 0.5
"""An edge that follows a fold for this share of it is a change of colour on the fold, no end of
an object."""
MOST_POINTS = 50
"""Places kept of one edge."""
STEP_MM = 0.25
"""Distance between the places on an edge that are looked at, beside its corners."""
_PLACES_AT_ONCE = 300_000
"""Places on lines that are looked at together, near enough: each may take half a kilobyte."""
AT_END_MM = 0.4
"""Places of a line this near to where it ends tell whether that end is seen."""


@dataclass(frozen=True, eq=False)
class Ends:
    """Where drawn things end near a fold, for each of n ends.

    `off_mm` (n,) is how far beyond the fold, `nearest` (n, 2) the place that lies nearest to it,
    `extent_mm` (n,) for how long the end runs along it, `half_mm` (n,) half the stroke's width.
    `points` (m, 2) are places of all ends in order, `starts` (n,) says where each begins in it,
    `kinds` (n,) what each is the end of, as in `LiveEdge`.
    """

    off_mm: FloatArray
    nearest: FloatArray
    extent_mm: FloatArray
    half_mm: FloatArray
    points: FloatArray
    starts: NDArray[np.int64]
    kinds: NDArray[np.str_]

    def __len__(self) -> int:
        return len(self.off_mm)

    @property
    def clearance_mm(self) -> FloatArray:
        """How far from the fold each lies (n,), whatever the side."""
        return np.abs(self.off_mm)

    @property
    def boxes(self) -> FloatArray:
        """The box round the places of each end (n, 4)."""
        if not len(self):
            return np.empty((0, 4))
        low, high = (pick.reduceat(self.points, self.starts) for pick in (np.minimum, np.maximum))
        return np.concatenate((low, high), axis=1)

    def where(self, kept: NDArray[np.bool_]) -> Ends:
        """Return the ends that a mask (n,) keeps."""
        lengths = np.diff(self.starts, append=len(self.points))
        starts = np.cumsum(lengths[kept]) - lengths[kept]
        points = self.points[np.repeat(kept, lengths)]
        own = (self.off_mm, self.nearest, self.extent_mm, self.half_mm)
        off, nearest, extent, half = (values[kept] for values in own)
        return Ends(off, nearest, extent, half, points, starts, self.kinds[kept])

    def edges(self) -> Iterator[LiveEdge]:
        """Yield each end by itself."""
        if not len(self):
            return
        places = np.split(self.points, self.starts[1:])
        columns = (self.clearance_mm, self.nearest, self.extent_mm, self.kinds)
        for clearance, nearest, extent, kind, own in zip(
            *map(np.ndarray.tolist, columns), places, strict=True
        ):
            path = tuple(map(Point, *own.T.tolist()))
            yield LiveEdge(clearance, Point(*nearest), path, extent, kind)


def ends_near(content: Content, fold: Fold, near_mm: float, view: View) -> Ends:
    """Return the drawn things that end within `near_mm` of a fold, on either side of it.

    What runs across and comes out far enough has no end there; an edge that follows the fold is
    a change of colour on it, and so is a rule along it. Ends that do not show are left out.
    """
    lines = _lines_near(content, fold, near_mm)
    ends, whose = _drawn_ends(lines, fold, near_mm)
    return ends.where(_shown(lines, fold, ends, whose, view)) if len(ends) else ends


def _shown(
    lines: Lines, fold: Fold, ends: Ends, whose: NDArray[np.int64], view: View
) -> NDArray[np.bool_]:
    """Say which ends (n,) are seen, each the end of line `whose` (n,); of very many, a portion of
    the lines at a time."""
    boxes = lines.boxes
    places = lines.lengths + (boxes[:, 2:] - boxes[:, :2]).sum(axis=1) / STEP_MM
    chosen, own = np.unique(whose, return_inverse=True)
    portion = (np.cumsum(places[chosen]) // _PLACES_AT_ONCE)[own]
    shown = np.zeros(len(ends), bool)
    for number in np.unique(portion):
        mine = portion == number
        shown[mine] = _shown_together(lines, fold, ends.where(mine), whose[mine], view)
    return shown


def _shown_together(
    lines: Lines, fold: Fold, ends: Ends, whose: NDArray[np.int64], view: View
) -> NDArray[np.bool_]:
    """Say what `_shown` does of ends (n,) and all of their lines at once."""
    chosen, own = np.unique(whose, return_inverse=True)
    walked = lines.take(chosen).walked(STEP_MM)
    line, off = walked.line, fold.across(walked.points)
    along = walked.points[:, 1 - fold.axis]
    held = (along >= fold.low) & (along <= fold.high)
    low, high = np.full(len(chosen), np.nan), np.full(len(chosen), np.nan)
    at_low = ends.off_mm <= _middle(walked, fold)[own]
    low[own[at_low]], high[own[~at_low]] = ends.off_mm[at_low], ends.off_mm[~at_low]
    from_low = np.abs(off - walked.reach(off) - low[line])
    from_high = np.abs(off + walked.reach(-off) - high[line])
    near_low, near_high = held & (from_low <= AT_END_MM), held & (from_high <= AT_END_MM)
    seen = places_seen(walked, near_low | near_high, view)
    # Of what is filled and not seen at its end, a sharp tip may be.
    unseen = np.zeros(len(chosen), bool)
    for near in (near_low, near_high):
        there, told = (np.bincount(line[of], minlength=len(chosen)) for of in (near, near & seen))
        unseen |= (there > 0) & (told == 0)
    sharp = unseen & walked.filled & (walked.half == 0)
    if sharp.any():
        at_tips = sharp[line] & held & (np.fmin(from_low, from_high) <= LONG_MM)
        seen = with_tips(walked, at_tips, places_seen(walked, at_tips, view) | seen)
    shown = np.zeros(len(ends), bool)
    for mine, near in ((at_low, near_low), (~at_low, near_high)):
        total = np.bincount(line[near], minlength=len(chosen))
        count = np.bincount(line[near & seen], minlength=len(chosen))
        sure = (count >= CHANCE_PLACES) | ((count > 0) & (count >= CHANCE * total))
        shown[mine] = sure[own[mine]]
    return shown


def _middle(lines: Lines, fold: Fold) -> FloatArray:
    """Return where the middle of each line lies across a fold (m,)."""
    boxes = lines.boxes
    return np.asarray((boxes[:, fold.axis] + boxes[:, 2 + fold.axis]) / 2 - fold.at)


def _lines_near(content: Content, fold: Fold, near_mm: float) -> Lines:
    """Return the outlines that come near a fold."""
    near = _meeting(boxes_with_mitres(content), fold, near_mm) & ~content.path_traits.clipped
    images = [image for image in content.images if not image.is_mask and is_whole(image)]
    lines = lines_in(content, near, images)
    lines = _with_tips(lines, fold)
    # A square cap's corner lies furthest from where its line ends.
    reach = near_mm + 2**0.5 * lines.half
    return lines.take(np.flatnonzero(_meeting(lines.boxes, fold, reach)))


def _with_tips(lines: Lines, fold: Fold) -> Lines:
    """Return lines with those of their mitres that reach further across a fold than they do."""
    mitres, of = mitres_of(lines)
    if not len(of):
        return lines
    off = fold.across(lines.points)
    low, high = (pick.reduceat(off, lines.starts) for pick in (np.minimum, np.maximum))
    tips = fold.across(mitres.points[mitres.starts + 1])
    past = (tips < (low - lines.half)[of]) | (tips > (high + lines.half)[of])
    return lines.joined(mitres.take(np.flatnonzero(past)))


def _meeting(boxes: FloatArray, fold: Fold, near_mm: float | FloatArray) -> NDArray[np.bool_]:
    """Say which boxes (n, 4) come within `near_mm` of a fold."""
    axis, along = fold.axis, 1 - fold.axis
    near = (boxes[:, axis] - near_mm <= fold.at) & (boxes[:, 2 + axis] + near_mm >= fold.at)
    beside = (boxes[:, along] <= fold.high) & (boxes[:, 2 + along] >= fold.low)
    return np.asarray(near & beside)


def _drawn_ends(lines: Lines, fold: Fold, near_mm: float) -> tuple[Ends, NDArray[np.int64]]:
    """Return where lines end near a fold, thin ones first, and the line each is the end of (n,);
    each line has up to two ends."""
    off, boxes = fold.across(lines.points), lines.boxes
    low = np.minimum.reduceat(off - lines.reach(off), lines.starts)
    high = np.maximum.reduceat(off + lines.reach(-off), lines.starts)
    both = np.stack((low, high), axis=1).reshape(-1)
    middle = np.stack((boxes[:, fold.axis], boxes[:, 2 + fold.axis]), axis=1).reshape(-1) - fold.at
    # Of a mitre only the tip is an end; where it begins its stroke goes on.
    tip = np.repeat(off[np.minimum(lines.starts + 1, len(off) - 1)], 2)
    real = np.repeat(lines.mitres > 0, 2) | (both == tip)
    chosen = np.flatnonzero((np.abs(both) < near_mm) & real)
    chosen = chosen[np.argsort(lines.half[chosen // 2], kind="stable")]
    end, own = both[chosen], lines.take(chosen // 2)
    outwards = end - middle[chosen]
    points, of = _near_parts(own, np.abs(fold.across(own.points) + outwards[own.line]) < near_mm)

    along = points[:, 1 - fold.axis]
    least, most = _least(along, of, len(end)), -_least(-along, of, len(end))
    extent = most - least
    beside = np.minimum(most, fold.high) - np.maximum(least, fold.low)
    held = (along >= fold.low) & (along <= fold.high)
    ends = (extent < LONG * fold.length) & (beside >= 0.5 * extent)
    ends &= np.bincount(of[held], minlength=len(end)) > 0
    points, of = points[held & ends[of]], (np.cumsum(ends) - 1)[of[held & ends[of]]]
    end, outwards, whose = end[ends], outwards[ends], chosen[ends] // 2

    lengths = np.bincount(of, minlength=len(end))
    starts = np.cumsum(lengths) - lengths
    miss = np.abs(fold.across(points) + outwards[of] - end[of])
    best = np.flatnonzero(miss == _least(miss, of, len(end))[of])
    first = best[np.unique(of[best], return_index=True)[1]]
    every = np.maximum(1, lengths // MOST_POINTS)
    kept = (np.arange(len(of)) - starts[of]) % every[of] == 0
    lengths = np.bincount(of[kept], minlength=len(end))
    starts = np.cumsum(lengths) - lengths
    half, kinds = own.half[ends], kinds_of(own)[ends]
    return Ends(end, points[first], extent[ends], half, points[kept], starts, kinds), whose


def _near_parts(lines: Lines, near: NDArray[np.bool_]) -> tuple[FloatArray, NDArray[np.int64]]:
    """Return the places of lines that are near (n,) and others between two such ones, and the
    line that each is of; the places of a line lie together, what was added behind its own."""
    line, points = lines.line, lines.points
    first = np.flatnonzero(near[:-1] & near[1:] & (line[:-1] == line[1:]))
    way = points[first + 1] - points[first]
    count = (np.hypot(*way.T) / STEP_MM).astype(np.int64)
    of = np.repeat(np.arange(len(first)), count)
    number = np.arange(1, len(of) + 1) - (np.cumsum(count) - count)[of]
    share = number * (1.0 / (count + 1))[of]
    added = points[first][of] + share[:, None] * way[of]
    whose = np.concatenate((line[near], line[first][of]))
    order = np.argsort(whose, kind="stable")
    return np.concatenate((points[near], added))[order], whose[order]


def _least(values: FloatArray, of: NDArray[np.int64], count: int) -> FloatArray:
    """Return the least value of each of `count` groups."""
    least: FloatArray = np.full(count, np.inf)
    np.minimum.at(least, of, values)
    return least
