"""Type that lies nearer to a rim or a fold than it should, by its ink."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import Box
from prepcheck.measure.clearance import Glyphs, is_seen
from prepcheck.measure.type_outline import Clearances, PlacedGlyph, nearest_inks
from prepcheck.sheets.closer import Closer
from prepcheck.sheets.exam import Sheet
from prepcheck.sheets.thresholds import short_of
from prepcheck.spec.model import TOLERANCE_MM

_AT_ONCE, _INKS_AT_ONCE = 5000, 200
"""Glyphs that are looked at together, by their boxes and by their ink."""
SIGNS = 2
"""So many signs a run at most, type is set letter by letter."""
NEXT, BLANK = 1.6, 0.8
"""Room to the next letter of a line at most, and from which it begins a word, of the larger one's
size."""


class NearType(NamedTuple):
    """Type near a rim: the text run, its distance in mm and the box round the glyphs meant."""

    text: str
    clearance_mm: float
    box: Box
    outlined: bool = False
    """Whether it is drawn as outlines: then `text` says so."""


def near_type(
    closer: Closer,
    glyphs: Glyphs,
    clearances: NDArray[np.float64],
    limit_mm: float,
    clearances_of: Clearances,
) -> tuple[tuple[NearType, ...], float | None]:
    """Return type nearer than a limit, one entry a text run, or a
    line that is set letter by letter, and the least clearance of any.

    `clearances` (n,) are those of the glyphs' boxes, which are no greater than those of their ink;
    `clearances_of` gives those of the ink of glyphs. Type that does not show
    (covered, or of the ground's own colour) is left out.
    """
    least: float | None = None
    by_run: dict[int, list[tuple[float, int]]] = {}
    for bound, index, clearance in _inks(closer, glyphs, clearances, limit_mm, clearances_of):
        if not np.isfinite(bound) or (least is not None and bound >= max(least, limit_mm)):
            break
        if clearance is None:
            continue
        least = clearance if least is None else min(least, clearance)
        if short_of(clearance, limit_mm, TOLERANCE_MM):
            by_run.setdefault(int(glyphs.run[index]), []).append((clearance, index))
    found: list[NearType] = []
    before: tuple[int, NearType] | None = None
    for run, own in sorted(by_run.items()):
        corners = glyphs.corners[[index for _, index in own]].reshape(-1, 2)
        box = Box(*corners.min(axis=0).tolist(), *corners.max(axis=0).tolist())
        near = NearType(glyphs.runs[run].text, min(own)[0], box)
        if before is not None and before[0] == run - 1 and _goes_on(before[1], near):
            found[-1] = _joined(found[-1], before[1], near)
        else:
            found.append(near)
        before = run, near
    return tuple(found), least


def _goes_on(one: NearType, other: NearType) -> bool:
    """Say whether of type that is set letter by letter, as on a circle, one goes on another."""
    if max(len(one.text.strip()), len(other.text.strip())) > SIGNS:
        return False
    return _gap(one.box, other.box) <= NEXT * _size(one.box, other.box)


def _joined(line: NearType, last: NearType, near: NearType) -> NearType:
    """Return a line that ends in one letter with the next one."""
    apart = _gap(last.box, near.box) > BLANK * _size(last.box, near.box)
    text = line.text.rstrip() + " " * apart + near.text.strip()
    least = min(line.clearance_mm, near.clearance_mm)
    return NearType(text, least, line.box.union(near.box))


def _gap(one: Box, other: Box) -> float:
    """Return the room between two boxes, the greater of both ways."""
    return max(one.x0 - other.x1, other.x0 - one.x1, one.y0 - other.y1, other.y0 - one.y1)


def _size(one: Box, other: Box) -> float:
    return max(one.width, one.height, other.width, other.height)


def looked_at(
    glyphs: Glyphs, clearances: NDArray[np.float64], limit_mm: float, most: int
) -> Iterator[Box]:
    """Yield the boxes of the `most` glyphs that `near_type` looks closely at first: those nearer
    than the limit, and the nearest of the others."""
    drawn = glyphs.runs.glyphs.shape >= 0
    under = drawn & (clearances < limit_mm)
    near = np.flatnonzero(under)
    order = np.argsort(clearances[near], kind="stable")[:most]
    yield from map(glyphs.box, near[order].tolist())
    others = np.where(drawn & ~under, clearances, np.inf)
    if np.isfinite(others[further := int(np.argmin(others))]):
        yield glyphs.box(further)


def _inks(
    closer: Closer,
    glyphs: Glyphs,
    clearances: NDArray[np.float64],
    limit_mm: float,
    clearances_of: Clearances,
) -> Iterator[tuple[float, int, float | None]]:
    """Yield the clearance of each glyph's box, from the nearest on, the glyph, and the clearance of
    its ink, None where it does not show; of its box where there is no outline.

    Those nearer than the limit are all asked for, so that many are looked at together.
    """
    waiting: list[tuple[int, bool]] = []
    for index, is_bare in _nearest_first(closer.sheet, glyphs, clearances):
        waiting.append((index, is_bare))
        if not clearances[index] < limit_mm or len(waiting) >= _INKS_AT_ONCE:
            yield from _of_inks(closer, glyphs, clearances, waiting, clearances_of)
            waiting.clear()
    yield from _of_inks(closer, glyphs, clearances, waiting, clearances_of)


def _of_inks(
    closer: Closer,
    glyphs: Glyphs,
    clearances: NDArray[np.float64],
    some: Sequence[tuple[int, bool]],
    clearances_of: Clearances,
) -> Iterator[tuple[float, int, float | None]]:
    drawn = []
    for index, is_bare in some:
        if not is_bare and np.isfinite(clearances[index]):
            run, place = glyphs.runs[int(glyphs.run[index])], int(glyphs.place[index])
            drawn.append(PlacedGlyph(run, place, run.glyphs[place]))
    inks = nearest_inks(closer.view, drawn, clearances_of)
    for index, is_bare in some:
        bound = float(clearances[index])
        clearance = None if not np.isfinite(bound) else bound if is_bare else next(inks)
        if clearance is not None and np.isnan(clearance):
            clearance = bound if is_seen(closer.sheet.view, glyphs.box(index)) else None
        yield bound, index, clearance


def _nearest_first(
    sheet: Sheet, glyphs: Glyphs, clearances: NDArray[np.float64]
) -> Iterator[tuple[int, bool]]:
    """Yield glyphs from the nearest on, and whether they have no outline; of these the ones that
    do not show are left out."""
    drawn = np.bincount(glyphs.run, weights=glyphs.runs.glyphs.shape >= 0)
    bare = (drawn == 0)[glyphs.run]
    order = np.argsort(clearances, kind="stable")
    for first in range(0, len(order), _AT_ONCE):
        some = order[first : first + _AT_ONCE]
        corners = glyphs.corners[some[bare[some]]]
        shows = np.ones(len(some), np.bool_)
        if len(corners):
            boxes = np.hstack((corners.min(axis=1), corners.max(axis=1)))
            shows[bare[some]] = sheet.shows.are_seen(boxes)
        yield from zip(some[shows].tolist(), bare[some[shows]].tolist(), strict=True)
