"""Whether an edge is seen: whether the look changes across it, and more than it does beside it.

Looks are CIE L*, a*, b* of the plain mix of a view's inks. A difference in lightness, in hue or
in colourfulness counts alike, as CIEDE2000 weighs them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, lengths_of
from prepcheck.measure.distinct import alike, alike_colours
from prepcheck.measure.sampling import along_rays, sample
from prepcheck.press.show.ciede2000 import ciede2000
from prepcheck.press.view import View

LIVE_DELTA_E = 8.0
"""CIEDE2000 across an edge from which it is seen to lie unevenly: some three times what is called
a close match in print (ISO 12647-2 allows 5 for solids); common practice, no source."""
STANDS_OUT = 1.5
"""An edge changes the look by this much more than the calmer of its two sides does in itself."""
OFF_MM = 0.12
"""How far from an edge its sides are looked at, at the least."""
LEAST_STEP = 6.0
"""A change of any of red, green and blue, 0..255, below which no look changes by the above."""
NEARER = 0.75
"""What lies inside an edge is nearer to its paint's own colour by this than what lies outside."""
RUN = 5
"""Places in a row of which most must show an edge; single ones are chance."""
MOST = 0.6

_D65 = np.array((95.047, 100.0, 108.883))
_TO_XYZ = np.array(((41.24, 35.76, 18.05), (21.26, 71.52, 7.22), (1.93, 11.92, 95.05)))
"""sRGB to X, Y, Z (IEC 61966-2-1)."""
_DARK = (6 / 29) ** 3
"""Share of the white up to which lightness is linear (ISO/CIE 11664-4)."""
_AT_A_TIME = 1 << 14
"""Looks worked out at once, so that what they take stays in the processor's cache."""
_PLACES_AT_A_TIME = 1 << 15
"""Places looked at together, which takes 400 bytes each."""


class Strokes(NamedTuple):
    """Places on edges, end to end: `points` (n, 2) in mm, unit `across` (n, 2), half the width of
    the stroke or 0 (n,), the edge each belongs to (n,), rising from 0, and whether its paint is
    known (m,) with its look `own` (m, 3) as sRGB 0..1, for each of m edges."""

    points: FloatArray
    across: FloatArray
    half: FloatArray
    edge: NDArray[np.intp]
    own: FloatArray
    known: NDArray[np.bool_]


def lab_of_srgb(rgb: NDArray[np.floating]) -> FloatArray:
    """Return L*, a*, b* (..., 3) for D65 of sRGB (..., 3), 0..255."""
    every = np.asarray(rgb).reshape(-1, 3)
    found = np.empty(every.shape)
    for start in range(0, len(every), _AT_A_TIME):
        own = slice(start, start + _AT_A_TIME)
        share = np.asarray(every[own], np.float64) / 255.0
        linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
        x, y, z = (_root(linear, row) for row in (_TO_XYZ / _D65[:, None]).tolist())
        found[own, 0] = 116 * y - 16
        found[own, 1] = 500 * (x - y)
        found[own, 2] = 200 * (y - z)
    return found.reshape(np.shape(rgb))


def _root(linear: FloatArray, row: Sequence[float]) -> FloatArray:
    """Return f(X / Xn) (n,), or that of Y or Z, of linear red, green and blue (n, 3) by their part
    in it (ISO/CIE 11664-4); a logarithm takes less time than a root."""
    share = row[0] * linear[:, 0] + row[1] * linear[:, 1] + row[2] * linear[:, 2]
    root = np.exp(np.log(np.maximum(share, _DARK)) / 3)
    return np.where(share > _DARK, root, share * (841 / 108) + 4 / 29)


def looks_at(view: View, points: FloatArray) -> FloatArray:
    """Return L*, a*, b* (..., 3) of places (..., 2) in mm; black outside the view."""
    return lab_of_srgb(sample(view.rgb, view.grid, points))


def looks_along(
    view: View, points: FloatArray, normals: FloatArray, distances: FloatArray
) -> FloatArray:
    """Return the looks (n, m, 3) of the places of `rays`, as `looks_at` does."""
    return lab_of_srgb(along_rays(view.rgb, view.grid, points, normals, distances))


def across_of(points: FloatArray, edge: NDArray[np.intp]) -> FloatArray:
    """Return the unit normal (n, 2), left of the way, at places along edges (see `Strokes`)."""
    if not len(points):
        return np.empty((0, 2))
    ways = np.zeros_like(points)
    step = points[1:] - points[:-1]
    length = lengths_of(step)[:, None]
    step = np.divide(step, length, out=np.zeros_like(step), where=length > 0)
    step[edge[1:] != edge[:-1]] = 0.0
    ways[:-1] += step
    ways[1:] += step
    length = lengths_of(ways)[:, None]
    ways = np.divide(ways, length, out=np.zeros_like(ways), where=length > 0)
    return np.column_stack((-ways[:, 1], ways[:, 0]))


def seen_places(view: View, strokes: Strokes, off_mm: float = OFF_MM) -> NDArray[np.bool_]:
    """Say at which places (n,) an edge is seen.

    It is where the look changes across it, where that is more than the look changes beside it
    anyway (as it does in a photograph that covers the edge), where the inner side is the one
    nearer to the edge's own colour, and where this holds for most of the places in a row. Its
    sides are looked at `off_mm` from it, or as near as the view's pixels allow.
    """
    return seen_in_each([(view, len(strokes.points))], strokes, off_mm)


def seen_in_each(
    views: Sequence[tuple[View, int]], strokes: Strokes, off_mm: float = OFF_MM
) -> NDArray[np.bool_]:
    """Say what `seen_places` does of places of which so many at a time lie in one view: each look
    at places takes its time however few they are."""
    count = len(strokes.points)
    changes, sides = np.zeros(count, bool), np.zeros((2, count), bool)
    for own, parts in _portions(views):
        some = strokes._replace(
            points=strokes.points[own], across=strokes.across[own], half=strokes.half[own],
            edge=strokes.edge[own],
        )  # fmt: skip
        changes[own], sides[:, own] = _sides_seen(parts, some, off_mm)
    at = np.flatnonzero(changes)
    shown = np.zeros(count, bool)
    if len(at):
        shown[at] = np.logical_or(*_in_rows(sides[:, at], strokes.edge[at], at))
    return shown


class _Part(NamedTuple):
    """Some places, one after the other, that lie in one view."""

    view: View
    first: int
    end: int


def _portions(views: Sequence[tuple[View, int]]) -> Iterator[tuple[slice, list[_Part]]]:
    """Yield places that are looked at together, and in which view each of them lies."""
    start = total = 0
    parts: list[_Part] = []
    for view, left in views:
        while left:
            more = min(left, _PLACES_AT_A_TIME - total)
            parts.append(_Part(view, total, total + more))
            total, left = total + more, left - more
            if total == _PLACES_AT_A_TIME:
                yield slice(start, start + total), parts
                start, total, parts = start + total, 0, []
    if parts:
        yield slice(start, start + total), parts


def _sides_seen(
    parts: Sequence[_Part], strokes: Strokes, off_mm: float
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Say round which places (n,) the look changes at all, and where (2, n) an edge may be seen
    whose paint lies left of the way, or right of it."""
    count = len(strokes.points)
    off, held = np.empty((count, 1)), np.empty(count, np.bool_)
    for view, first, end in parts:
        off[first:end] = max(off_mm, 1.2 * view.grid.pitch)
        inside = view.grid.box.grown(-1.5 * view.grid.pitch)
        x, y = strokes.points[first:end].T
        held[first:end] = (x >= inside.x0) & (x <= inside.x1) & (y >= inside.y0) & (y <= inside.y1)
    reach = strokes.half[:, None] + off
    around = _colours_at(
        parts, strokes.points, strokes.points + reach * strokes.across,
        strokes.points - reach * strokes.across,
    )  # fmt: skip
    changes = held & _changes(around)
    at = np.flatnonzero(changes)
    found = np.zeros((2, count), bool)
    if not len(at):
        return changes, found
    points, across, half = strokes.points[at], strokes.across[at], strokes.half[at, None]
    line = half[:, 0] > 0
    has_lines = bool(line.any())
    beyond = half + 3 * off[at]
    ends = np.searchsorted(at, [part.end for part in parts]).tolist()
    kept = map(_Part, (part.view for part in parts), (0, *ends), ends)
    outer = _colours_at(tuple(kept), points + beyond * across, points - beyond * across)
    edge = strokes.edge[at]
    known = strokes.known[edge]
    first, last = edge[0], edge[-1] + 1  # they rise
    looks = _Looks([*around[:, at], *outer], strokes.own[first:last] * 255.0)
    middle, left, right, beyond_left, beyond_right = looks.seen
    own = looks.own[edge - first]
    past_left, past_right, to_left, to_right, change, *of_lines = looks.differences(
        (left, beyond_left), (right, beyond_right), (own, left), (own, right), (left, right),
        *((middle, other) for other in (left, right, own) if has_lines),
    )  # fmt: skip
    least = np.maximum(LIVE_DELTA_E, STANDS_OUT * np.minimum(past_left, past_right))
    line_seen = np.zeros_like(line)
    if has_lines:
        # A stroke is seen where it differs from both its sides, or from one and shows its own
        # colour.
        from_left, from_right, to_middle = of_lines
        nearer = to_middle <= NEARER * np.where(from_left > from_right, to_left, to_right)
        line_seen = line & (~known | nearer) & (np.maximum(from_left, from_right) >= least)
    strong = ~line & (change >= least)
    for side, nearer in enumerate((to_left < to_right, to_left > to_right)):
        found[side, at] = strong & (~known | nearer) | line_seen
    return changes, found


def _colours_at(parts: Sequence[_Part], *places: FloatArray) -> NDArray[np.float32]:
    """Return the colours (k, n, 3), 0..255, of k times n places (n, 2), each in the view it lies
    in; black outside."""
    every = np.stack(places)
    found = np.empty((*every.shape[:2], 3), np.float32)
    for view, first, end in parts:
        found[:, first:end] = sample(view.rgb, view.grid, every[:, first:end])
    return found


def _changes(around: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Say at which of n places colours (3, n, 3) differ at all."""
    one, two, three = around
    most = np.maximum(np.maximum(one, two), three)
    least = np.minimum(np.minimum(one, two), three)
    return np.asarray((most - least >= LEAST_STEP).any(axis=1))


class _Looks:
    """The looks of colours, known by numbers: along edges most are the same few, and so are their
    differences. For 60,000 places along 400 glyphs it takes 82 ms instead of 118 (one busy core,
    2026)."""

    def __init__(self, seen: Sequence[NDArray[np.float32]], own: FloatArray) -> None:
        """`seen` are k times n colours (n, 3), `own` further ones (m, 3), all 0..255."""
        colours = np.concatenate(seen)
        kinds = alike_colours(colours)
        of_paints = alike_colours(own)
        self._labs = lab_of_srgb(np.concatenate((colours[kinds.first], own[of_paints.first])))
        self.seen = kinds.number.reshape(len(seen), -1)
        self.own = len(kinds.first) + of_paints.number

    def differences(self, *pairs: tuple[NDArray[np.intp], NDArray[np.intp]]) -> FloatArray:
        """Return the difference (m, n) of each of m pairs of looks, by their numbers (n,)."""
        one, other = (np.concatenate(side) for side in zip(*pairs, strict=True))
        kinds = alike(one.astype(np.uint64) << np.uint64(32) | other.astype(np.uint64))
        found = ciede2000(self._labs[one[kinds.first]], self._labs[other[kinds.first]])
        return found[kinds.number].reshape(len(pairs), -1)


def _in_rows(
    sides: NDArray[np.bool_], edge: NDArray[np.intp], at: NDArray[np.intp]
) -> Iterator[NDArray[np.bool_]]:
    """Keep of each side's places (2, n) those of which most neighbours along the same edge show it
    too."""
    count = len(edge)
    begins = np.ones(count, np.bool_)
    begins[1:] = (edge[1:] != edge[:-1]) | (at[1:] - at[:-1] > 1)
    start = np.flatnonzero(begins)
    run = np.cumsum(begins) - 1
    first, last = start[run], np.append(start[1:], count)[run]
    place = np.arange(count)
    low = np.maximum(first, np.minimum(place - RUN // 2, last - RUN))
    high = np.minimum(last, np.maximum(place + RUN // 2 + 1, first + RUN))
    many = np.maximum(high - low, 1)
    for shown in sides:
        total = np.zeros(count + 1, np.intp)
        np.cumsum(shown, out=total[1:])
        yield shown & ((total[high] - total[low]) / many >= MOST)
