"""How far past the trim art goes on looking as it does at its edge."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, distinct
from prepcheck.measure.distinct import alike_rows
from prepcheck.measure.reach import InkReach
from prepcheck.measure.sampling import along_rays, medians
from prepcheck.measure.seen import LIVE_DELTA_E, lab_of_srgb, looks_along, looks_at
from prepcheck.measure.trim_line import (
    BEHIND_MM,
    BESIDE_MM,
    OVERLAPPING,
    Window,
    behind,
    comes_again,
    line_of,
    windows,
)
from prepcheck.press.show.ciede2000 import ciede2000, reaches
from prepcheck.press.view import View

EDGE_MM = (0.7, 0.3)
"""Between these depths inside the trim lies what should run on."""
RAY_MM = 0.1
CALM = 5.0
"""CIEDE2000 up to which what lies just inside the trim is one look; more is a picture's detail."""
HARD_MM = 0.3
"""A look that changes over a longer way than this fades, and leaves no line when it is cut."""
BEHIND_LINE_MM = 0.6
"""Nearer behind a line than this nothing is told of what lies behind it."""
STAYS_MM = 0.7
"""Over this way past its change the new look stays; a line drawn there does not, be it as wide as a
template's (0.4 mm) and in a picture, where a pixel at either side is half of it."""
WINDOWS = ((20.0, 0.5), (10.0, 0.9))
"""Lengths along the trim, and the share of places whose look must change on one line over them."""
OTHER, SAME = 0.3, 0.6
"""Shares of the look along a line from which it counts as another, and as the same again."""


class Continued(NamedTuple):
    """For each point of the trim (n,): whether the look changes on a line beyond it, how far out
    in mm (the searched distance where it does not), and the looks inside and beyond as L*, a*, b*
    (n, 3)."""

    changes: NDArray[np.bool_]
    reach: FloatArray
    inside: FloatArray
    beyond: FloatArray


def continued(view: View, found: InkReach, search_mm: float) -> Continued:
    """Say where, up to `search_mm` past the trim, inked art turns into another look on a line."""
    boundary = found.boundary
    depths = -np.linspace(*EDGE_MM, 5)
    outwards = np.arange(-EDGE_MM[1], search_mm + STAYS_MM + RAY_MM, RAY_MM)
    even = view.even(boundary.points, max(EDGE_MM[0], float(outwards[-1])))
    inside = looks_at(view, boundary.points)  # where it is even, all along the ray
    beyond, reach = inside.copy(), np.full(len(inside), search_mm)
    judged = found.inked.copy()
    rest = np.flatnonzero(~even)
    if len(rest):
        points, normals = boundary.points[rest], boundary.normals[rest]
        inner, outer = (
            along_rays(view.rgb, view.grid, points, normals, offs) for offs in (depths, outwards)
        )
        # Along the sides of a ground many rays are the same.
        kinds = alike_rows(np.concatenate((inner, outer), axis=1).reshape(len(rest), -1))
        near, far, first, told = _turned(
            lab_of_srgb(inner[kinds.first]), lab_of_srgb(outer[kinds.first])
        )
        inside[rest], beyond[rest] = near[kinds.number], far[kinds.number]
        first, told = first[kinds.number], told[kinds.number]
        reach[rest] = np.clip(outwards[first] - RAY_MM / 2, 0.0, search_mm)
        judged[rest] &= told
    # Where ink itself ends, bleed is short and nothing else.
    changes = judged & (reach < search_mm) & (found.reach > reach + HARD_MM)
    on_line = np.zeros(len(changes), bool)
    for loop in distinct(boundary.loop):
        own = np.flatnonzero(boundary.loop == loop)
        ends = np.where(judged, reach, 0.0)
        on_line[own] = _on_line(view, found, own, ends, inside, changes, search_mm)
    return Continued(changes & on_line, reach, inside, beyond)


def _turned(
    inner: FloatArray, outer: FloatArray
) -> tuple[FloatArray, FloatArray, NDArray[np.intp], NDArray[np.bool_]]:
    """Return of looks along rays inside and across the trim (n, m, 3) the look inside and that
    beyond its change (n, 3), the place in `outer` of the change, the last where there is none
    (n,), and whether the look inside is calm and does not fade (n,)."""
    inside = medians(inner, 1)
    calm = ciede2000(inner, inside[:, None, :]).max(axis=1) <= CALM
    differs = reaches(outer, inside[:, None, :], LIVE_DELTA_E)
    stays = max(1, round(STAYS_MM / RAY_MM))
    ahead = np.lib.stride_tricks.sliding_window_view(differs, stays, axis=1)
    changed: NDArray[np.bool_] = np.asarray(ahead.all(axis=2), bool)
    last = outer.shape[1] - 1
    first = np.where(changed.any(axis=1), changed.argmax(axis=1), last)
    rows, hard = np.arange(len(first)), max(1, round(HARD_MM / RAY_MM))
    beyond = outer[rows, np.minimum(first + stays - 1, last)]
    before = outer[rows, np.maximum(first - hard, 0)]
    fades = ciede2000(before, inside) > CALM
    return inside, beyond, first, calm & ~(fades & (first > hard))


def _on_line(
    view: View,
    found: InkReach,
    own: NDArray[np.intp],
    reach: FloatArray,
    inside: FloatArray,
    changes: NDArray[np.bool_],
    search_mm: float,
) -> NDArray[np.bool_]:
    """Say for each point of a loop whether the look changes there on a line with the trim."""
    marked = np.zeros(len(own), bool)
    for at, along, turning, most in _apart_first(windows(found, own, WINDOWS)):
        here = changes[own[at]]
        if np.count_nonzero(here) / len(at) < most:
            continue
        ends = reach[own[at]]
        if np.count_nonzero(ends >= search_mm) / len(at) > 1 - most:
            continue
        if marked[at[here]].all():
            continue
        on, line = line_of(np.where(here, ends, -1.0), along, turning)
        on &= here
        if on.mean() < most:
            continue
        look = medians(inside[own[at[on]]], 0)
        if not _recurs(view, found, own[at], line, look):
            marked[at[on]] = True
    return marked


def _apart_first(stretches: Iterable[Window]) -> Iterator[Window]:
    """Yield stretches in such an order that those which hardly overlap come first: what they
    settle need not be looked at again."""
    every = list(stretches)
    for first in range(OVERLAPPING):
        yield from every[first::OVERLAPPING]


def _recurs(
    view: View, found: InkReach, at: NDArray[np.intp], line: FloatArray, own: FloatArray
) -> bool:
    """Say whether the same change from a look as L*, a*, b* comes again behind a line: stripes,
    rings, a lattice."""
    depths = np.arange(0.3, BEHIND_MM, 0.3)
    places, inwards = behind(found, at, line)
    soon = depths <= BESIDE_MM
    looks = looks_along(view, places, inwards, depths[soon])
    share = (~reaches(looks, own, LIVE_DELTA_E)).mean(axis=0)
    # So near, places that end a little before the line lie beyond what ends.
    share[depths[soon] < BEHIND_LINE_MM] = 1.0
    if share.min() >= OTHER:
        return False
    looks = looks_along(view, places, inwards, depths[~soon])
    rest = (~reaches(looks, own, LIVE_DELTA_E)).mean(axis=0)
    return comes_again(np.concatenate((share, rest)), depths, OTHER, SAME)
