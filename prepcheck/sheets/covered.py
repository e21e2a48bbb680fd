"""Type and lines of which nothing shows, as others lie over them or a clip leaves nothing.

Only what would stand out in its own colour from what is seen in its place is said to be covered:
pale type on pale ground is not.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum, auto
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Paint, PathItem, TextRun
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.drawn import look_of
from prepcheck.measure.outlined_type import TypeLine
from prepcheck.measure.sampling import median
from prepcheck.measure.seen import (
    LIVE_DELTA_E,
    Strokes,
    across_of,
    lab_of_srgb,
    looks_at,
    seen_places,
)
from prepcheck.measure.type_outline import OFF_MM, outline_places
from prepcheck.press.show.ciede2000 import ciede2000
from prepcheck.press.view import View
from prepcheck.sheets.closer import Closer
from prepcheck.sheets.exam import Sheet
from prepcheck.sheets.surroundings import medians
from prepcheck.sheets.thin import ThinThings

SURE_DELTA_E = 2 * LIVE_DELTA_E
"""By how much a thing would differ from what is seen in its place, of which nothing shows."""
OPAQUE = 0.9
"""A paint less opaque than this shows what lies under it, and need not show itself."""
STEP_MM = 0.1
LIKE = 0.75
"""Inside a glyph that shows, what is seen differs from its colour by less than this share of what
it does outside."""
_MOST_GLYPHS = 12
"""Glyphs of a run, spread over it, that are looked at."""
_MOST_THINGS = 100
"""Runs and lines of one finding that are looked at closely, which takes 0.1 s; of the rest it is
only asked whether anything is seen in their place."""
_MOST_MM2, _MOST_MM = 2500.0, 150.0
"""A line whose box is larger is not painted anew to be looked at closely."""
_MOSTLY = 0.5
"""Share of a line's places at which it is seen where it surely shows, however coarse the view."""
_LEAST_PLACES, _MOST_PLACES = 20, 4000
"""Places along a line of which no fewer and no more tell that nothing of it shows."""


def seen_type(sheet: Sheet, runs: Sequence[TextRun]) -> list[bool]:
    """Say of each run whether it may be seen: False only where others cover all of it, or where it
    has the very look of its ground."""
    closer = Closer(sheet)
    asked = [not _is_covered(sheet, closer, run) for run in runs[:_MOST_THINGS]]
    return asked + _stand_out(sheet, [run.box for run in runs[_MOST_THINGS:]])


def seen_outlined(sheet: Sheet, lines: Sequence[tuple[TextRun, TypeLine]]) -> list[bool]:
    """Say of each line of outlined type, with the run it is judged as, what `seen_type` does."""
    closer = Closer(sheet)
    asked = [not _is_line_covered(sheet, closer, *one) for one in lines[:_MOST_THINGS]]
    return asked + _stand_out(sheet, [line.box for _, line in lines[_MOST_THINGS:]])


def _stand_out(sheet: Sheet, boxes: Sequence[Box | None]) -> list[bool]:
    """Say of each box whether anything at all is seen in it, which may be where there is none."""
    known = [box for box in boxes if box is not None]
    if not known:
        return [True] * len(boxes)
    seen = iter(sheet.shows.are_seen(np.array(known, np.float64)).tolist())
    return [box is None or next(seen) for box in boxes]


def _is_line_covered(sheet: Sheet, closer: Closer, run: TextRun, line: TypeLine) -> bool:
    own = _own_look(run.fill)
    if own is None:
        return False
    if _is_like_ground(sheet.view, np.array([box.corners for box in line.shapes]), own):
        return True
    points, starts, _ = sheet.content.path_outlines
    for at in _spread_over(*line.subpaths):
        way = points[starts[at] : starts[at + 1]]
        places = _walked(np.concatenate((way, way[:1])))
        curve = np.zeros(len(places), np.intp)
        closely = closer.view(Box(*places.min(axis=0).tolist(), *places.max(axis=0).tolist()))
        if any(_differs(view, places, curve, own) for view in (sheet.view, closely)):
            return False
    return True


def _spread_over(first: int, end: int) -> list[int]:
    """Return some numbers from the first to before the end, spread over them."""
    some = np.linspace(first, end - 1, min(end - first, _MOST_GLYPHS)).astype(int)
    return [*dict.fromkeys(map(int, some))]


def _is_covered(sheet: Sheet, closer: Closer, run: TextRun) -> bool:
    own = _own_look(run.fill)
    if own is None or not run.glyphs:
        return False
    if _is_like_ground(sheet.view, np.array([[*glyph] for glyph in run.glyphs], np.float64), own):
        return True
    glyphs = _spread_over(0, len(run.glyphs))
    if any(_shows(sheet, sheet.view, run, at, own) for at in glyphs):
        return False
    # Stems of small type are narrower than a coarse view can show.
    return not any(_shows(sheet, closer.view(run.glyphs[at].box), run, at, own) for at in glyphs)


def _is_like_ground(view: View, corners: FloatArray, own: FloatArray) -> bool:
    """Say whether nothing but a look of type's own is seen, and one amount of ink, round each of
    its letters, given by their corners (n, 4, 2): a varnish looks like nothing, and prints."""
    middles = corners.mean(axis=1)
    reach = np.hypot(*(corners.max(axis=1) - corners.min(axis=1)).T).max() / 2
    if not view.even(middles, float(reach)).all():
        return False
    if _apart(view, middles, own) >= LIVE_DELTA_E:
        return False
    ends = zip(corners.min(axis=1).tolist(), corners.max(axis=1).tolist(), strict=True)
    inks = (view.ink[view.grid.window(Box(*low, *high))] for low, high in ends)
    return not any(ink.size and np.ptp(ink) for ink in inks)


def _shows(sheet: Sheet, view: View, run: TextRun, at: int, own: FloatArray) -> bool:
    """Say whether a glyph may show: inside its outline it looks more like its own colour than
    outside, or there is not much between that and what is seen there."""
    quad = run.glyphs[at]
    places, curve = outline_places(run, at, quad)
    if not len(places):
        # A view that cannot be made finer may be too coarse for it.
        return sheet.closer is None or _shows_within(view, quad.box, own)
    return _differs(view, places, curve, own)


def _shows_within(view: View, box: Box, own: FloatArray) -> bool:
    """Say whether a glyph of which no outline is to be had may show in its box: something there
    looks more like its own colour than the rest."""
    looks = view.rgb[view.grid.window(box)].reshape(-1, 3)
    if not len(looks):
        return True
    wanted = lab_of_srgb(own * 255.0)
    apart = ciede2000(np.broadcast_to(wanted, looks.shape), lab_of_srgb(looks.astype(np.float64)))
    least, most = float(apart.min()), float(apart.max())
    return least < LIVE_DELTA_E or least < LIKE * most


def _differs(view: View, places: FloatArray, curve: NDArray[np.intp], own: FloatArray) -> bool:
    """Say whether what is seen on one side of the outlines that places (n, 2) follow may be the
    colour of what they are round."""
    off = max(OFF_MM, 0.6 * view.grid.pitch) * across_of(places, curve)
    sides = [_apart(view, side, own) for side in (places + off, places - off)]
    least, most = min(sides), max(sides)
    return least < LIVE_DELTA_E or least < LIKE * most


def seen_lines(sheet: Sheet, things: ThinThings, which: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Say of some thin things (n,) whether each may be seen: False only of a path that is a line
    and of which others cover all."""
    seen = np.ones(len(which), np.bool_)
    if not len(which):
        return seen
    covers, view = _covers(sheet), sheet.view
    walks = {
        at: walk
        for at, item in enumerate(things.items(which[:_MOST_THINGS]))
        if _overlap(covers, item.box, item.fill is not None)
        and (walk := _walk_of(view, item)) is not None
    }
    closer = Closer(sheet)
    for at, would_show in zip(walks, _would_show(view, [*walks.values()]), strict=True):
        seen[at] = _may_be_seen(closer, walks[at], would_show)
    return seen


def _may_be_seen(closer: Closer, walk: _Walk, would_show: _WouldShow) -> bool:
    """Say whether a path may be seen, on a closer view where the page's own is too coarse to tell:
    on few pixels a lively cover looks like a line here and there."""
    view = closer.sheet.view
    if would_show is _WouldShow.NOT:
        return True
    shown = _share_seen(view, walk)
    if shown >= _MOSTLY or _share_shown(view, walk) == 1:
        return shown > 0
    box = Box(*walk.points.min(axis=0).tolist(), *walk.points.max(axis=0).tolist())
    if box.width * box.height > _MOST_MM2 or max(box.width, box.height) > _MOST_MM:
        return shown > 0 or would_show is _WouldShow.CLOSELY
    fine = closer.view(box)
    (closely,) = _would_show(fine, [walk])
    return closely is not _WouldShow.SURELY or _share_seen(fine, walk) > 0


def _covers(sheet: Sheet) -> FloatArray:
    """Return the boxes (n, 4) of what may lie over other things."""
    content = sheet.content
    filled = content.path_boxes[content.path_traits.fill >= 0]
    boxes = [image.visible for image in content.images if image.visible is not None]
    boxes += [shading.box for shading in content.shadings]
    return np.concatenate((filled, np.array(boxes, np.float64).reshape(-1, 4)))


def _overlap(boxes: FloatArray, box: Box, is_one: bool) -> bool:
    """Say whether any of some boxes (n, 4) overlaps another, which may be one of them."""
    low, high = np.array(box[:2]), np.array(box[2:])
    over = ((boxes[:, :2] < high) & (boxes[:, 2:] > low)).all(axis=1)
    return bool(np.count_nonzero(over) > is_one)


class _Walk(NamedTuple):
    """A path that is a line, of which it can be told whether it is seen: places (m, 2) along each
    of its ways, its width in mm and its look (3,)."""

    ways: list[FloatArray]
    width: float
    own: FloatArray

    @property
    def points(self) -> FloatArray:
        return np.concatenate(self.ways)


def _walk_of(view: View, item: PathItem) -> _Walk | None:
    """Return a path as it is walked; None where it must be taken as seen."""
    if item.fill is not None and item.stroke is not None:
        return None
    own = _own_look(item.fill or item.stroke)
    ways, width = _strip(item) if item.fill is not None else (item.lines(), item.stroke_mm)
    ways = [way for way in ways if len(way) > 1]
    if own is None or not ways or not width:
        return None
    walk = _Walk([*map(_walked, ways)], width, own)
    told = _LEAST_PLACES <= sum(map(len, walk.ways)) <= _MOST_PLACES
    return walk if told and _inside(view, walk.points).all() else None


class _WouldShow(Enum):
    """Whether a path would stand out from what is seen in its place."""

    NOT = auto()
    CLOSELY = auto()
    """Only where it is looked at more finely than the view does."""
    SURELY = auto()


def _would_show(view: View, walks: Sequence[_Walk]) -> list[_WouldShow]:
    """Say of each path whether its colour would stand out at most of its places."""
    if not walks:
        return []
    counts = [sum(map(len, walk.ways)) for walk in walks]
    owner = np.repeat(np.arange(len(walks)), counts)
    looks = looks_at(view, np.concatenate([walk.points for walk in walks]))
    wanted = lab_of_srgb(np.array([walk.own for walk in walks]) * 255.0)[owner]
    apart = medians(ciede2000(wanted, looks), owner, len(walks)).tolist()
    shares = [_share_shown(view, walk) for walk in walks]
    return [
        _WouldShow.NOT if own < SURE_DELTA_E
        else _WouldShow.SURELY if own * share >= SURE_DELTA_E
        else _WouldShow.CLOSELY
        for own, share in zip(apart, shares, strict=True)
    ]  # fmt: skip


def _share_seen(view: View, walk: _Walk) -> float:
    """Return the share of the places along a path at which it is seen."""
    edge = np.repeat(np.arange(len(walk.ways)), [len(one) for one in walk.ways])
    points = walk.points
    strokes = Strokes(
        points, across_of(points, edge), np.full(len(points), walk.width / 2), edge,
        np.tile(walk.own, (len(walk.ways), 1)), np.ones(len(walk.ways), np.bool_),
    )  # fmt: skip
    return float(np.mean(seen_places(view, strokes)))


def _share_shown(view: View, walk: _Walk) -> float:
    """Return how much of a path's colour shows: of a line narrower than two pixels only a part."""
    return min(1.0, walk.width / (2 * view.grid.pitch))


def _strip(item: PathItem) -> tuple[Sequence[FloatArray], float]:
    """Return the middle line and the width in mm of a box that is filled, however it is turned;
    nothing of another shape."""
    corners = list(dict.fromkeys(map(tuple, np.concatenate(item.lines()).tolist())))
    if len(corners) != 4:
        return (), 0.0
    around = np.array(corners)
    sides = np.hypot(*(np.roll(around, -1, axis=0) - around).T)
    first = int(sides.argmin())
    (a, b), (c, d) = ((around[(first + n) % 4], around[(first + n + 1) % 4]) for n in (0, 2))
    return (np.array(((a + b) / 2, (c + d) / 2)),), float(sides[first])


def _walked(way: FloatArray) -> FloatArray:
    """Return places (m, 2) along a way (n, 2), at most `STEP_MM` apart."""
    steps = np.hypot(*np.diff(way, axis=0).T)
    at = np.concatenate(([0.0], np.cumsum(steps)))
    places = np.linspace(0.0, at[-1], max(2, int(np.ceil(at[-1] / STEP_MM)) + 1))
    return np.column_stack([np.interp(places, at, way[:, axis]) for axis in (0, 1)])


def _own_look(paint: Paint | None) -> FloatArray | None:
    """Return the look (3,) of an opaque paint as sRGB 0..1; None where it is not known."""
    *look, known = look_of(paint)
    return np.array(look) if paint is not None and known and paint.opacity >= OPAQUE else None


def _inside(view: View, points: FloatArray) -> NDArray[np.bool_]:
    box = view.grid.box
    low, high = np.array(box[:2]), np.array(box[2:])
    return np.asarray(((points >= low) & (points <= high)).all(axis=1))


def _apart(view: View, points: FloatArray, own: FloatArray) -> float:
    """Return by how much a colour differs from what is seen at places (n, 2), at the median; by
    nothing where none of them is in the view."""
    looks = looks_at(view, points[_inside(view, points)])
    wanted = np.broadcast_to(lab_of_srgb(own * 255.0), looks.shape)
    return median(ciede2000(wanted, looks)) if len(looks) else 0.0
