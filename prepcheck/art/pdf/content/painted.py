"""Painted paths that wait to be placed: each with the state it was painted in, many at once."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import Outlines, Paint, PathItem, PathTraits
from prepcheck.art.path_table import PathTable
from prepcheck.art.pdf.content import plain
from prepcheck.art.pdf.content.clip import Clip, Flags
from prepcheck.art.pdf.content.collect import Pile
from prepcheck.art.pdf.content.context import OnLayer, Walk
from prepcheck.art.pdf.content.operators import PAINTING
from prepcheck.art.pdf.content.paths import (
    FARTHEST,
    PathBuilder,
    Run,
    drawn_width,
    even_width,
    runs_box,
    stroke_box,
)
from prepcheck.art.pdf.content.slivers import note_sliver
from prepcheck.art.pdf.content.state import State, StateColour
from prepcheck.errors import ObjectError
from prepcheck.geometry import Affine, Box, FloatArray

Indices = plain.Indices

FEW = 12
"""So many paths are placed sooner one by one: a path alone takes some 15 µs by its builder, and
some 500 µs by way of arrays (one busy core, 2026)."""
LONG = 10_000
"""Bytes of source from which few paths are placed sooner by way of arrays as well."""
MOST_BYTES = 1_000_000
"""Source of paths that wait together; what they take while being placed is some ten times that."""


class PlacingState(NamedTuple):
    """The state that a path is painted in, as far as its place depends on it."""

    ctm: Affine
    clip: Clip
    width: float
    cap: int
    """How strokes end, as in `PathItem`."""
    dashed: bool
    mitre: float
    """How far strokes reach beyond corners, as in `PathItem`."""


class PaintedPath(NamedTuple):
    """A painted plain path: its source, one letter an operator, and how it was painted."""

    path: bytes
    code: bytes
    operator: bytes
    fill: Paint | None
    stroke: Paint | None
    look: PlacingState
    layer: OnLayer


class PaintStyle(NamedTuple):
    """How a path is painted, as in `PaintedPath`."""

    operator: bytes
    fill: Paint | None
    stroke: Paint | None
    look: PlacingState
    layer: OnLayer


class PaintedBatch(NamedTuple):
    """Painted plain paths, with the number of each one's style among those here, which stand in
    the order in which they are met."""

    paths: plain.PlainPaths
    styles: Sequence[PaintStyle]
    which: Indices

    @classmethod
    def of(cls, paths: Sequence[PaintedPath]) -> PaintedBatch:
        """Return paths as a batch."""
        numbers: dict[tuple[object, ...], int] = {}
        styles: list[PaintStyle] = []
        which: list[int] = []
        last: PlacingState | None = None
        place: tuple[object, ...] = ()
        for _, _, operator, fill, stroke, look, layer in paths:
            if look is not last:
                last = look
                place = id(look.ctm), id(look.clip), *look[2:]
            key = operator, id(fill), id(stroke), layer, place
            number = numbers.get(key)
            if number is None:
                number = numbers[key] = len(styles)
                styles.append(PaintStyle(operator, fill, stroke, look, layer))
            which.append(number)
        sources, codes = [path.path for path in paths], [path.code for path in paths]
        return cls(plain.PlainPaths.of(sources, codes), styles, np.array(which, np.intp))


class FlatPaints(NamedTuple):
    """The paints of a path that do not depend on its place; the colours that they were made of
    are kept, so that the identities of these are not used again."""

    fill: Paint | None
    stroke: Paint | None
    colours: tuple[StateColour, StateColour]


def look_in(state: State) -> PlacingState | None:
    """Return what a state says of a path's place; None when out of all bounds."""
    a, b, c, d, e, f = map(abs, state.ctm)
    if not max(a, b, c, d, e, f, abs(state.line_width)) < FARTHEST**2:
        return None
    return PlacingState(
        state.ctm, state.clip, state.line_width, state.cap, state.dashed, state.mitre
    )


class SeenOfPath(NamedTuple):
    """What is seen of a path, and whether more would be without the clip."""

    seen: Box
    clipped: bool


def place(look: PlacingState, runs: list[Run], fill: bool, stroke: bool) -> SeenOfPath | None:
    """Return the place of a path; None where nothing of it is seen."""
    if stroke:
        box = stroke_box(runs, look.ctm, look.width, look.cap == 0 and not fill)
    else:
        box = runs_box(runs)
    if not (min(box.x0, box.y0) > -FARTHEST and max(box.x1, box.y1) < FARTHEST):
        raise ObjectError("the path leads out of all bounds")
    seen = look.clip.cut(box)
    return None if seen is None else SeenOfPath(seen, not look.clip.holds(box))


class WaitingPaths:
    """Paths painted one after the other, which `settle` places in the same order."""

    def __init__(self, walk: Walk) -> None:
        self._walk = walk
        self.paths: list[PaintedPath] = []
        """Those that wait."""
        self._bytes = 0

    def add(self, path: PaintedPath) -> None:
        """Take a path that is not empty, begins with `m` or `re`, and has finite numbers."""
        self.paths.append(path)
        self._bytes += len(path.path)
        if self._bytes > MOST_BYTES:
            self.settle()

    def settle(self) -> None:
        """Place all paths that wait, and note those that lead out of bounds."""
        if self.paths:
            short = len(self.paths) <= FEW and self._bytes < LONG
            paths, self.paths, self._bytes = self.paths, [], 0
            if short:
                self._place_each(paths)
            else:
                self.place_all(PaintedBatch.of(paths))

    def _place_each(self, paths: list[PaintedPath]) -> None:
        for path in paths:
            look, filled = path.look, path.fill is not None
            builder = PathBuilder()
            for operator, numbers in plain.pieces(path.path):
                CONSTRUCTION[operator](builder, look.ctm, numbers)
            if PAINTING[path.operator].close:
                builder.close()
            runs = builder.fillable() if filled else builder.strokable()
            try:
                found = place(look, runs, filled, path.stroke is not None) if runs else None
            except ObjectError as error:
                self._walk.fault(path.operator, error)
                continue
            if found is not None:
                width = 0.0 if path.stroke is None else drawn_width(look.ctm, look.width, runs)
                pile = self._pile(PaintStyle(*path[2:]))
                item = _item(path, found.seen, width, tuple(map(tuple, runs)), found.clipped)
                pile.paths.append(item)
                pile.painted(path.fill, path.stroke)
                note_sliver(pile.slivers, look.clip, item, path.operator, runs)

    def _pile(self, style: PaintStyle) -> Pile:
        unseen = style.layer.hidden or self._walk.paints.unseen(style.fill, style.stroke)
        findings = self._walk.findings
        return findings.hidden if unseen else findings.shown

    def place_all(self, batch: PaintedBatch) -> None:
        """Place paths; none waits before them."""
        paths, styles, which = batch
        filled = np.array([style.fill is not None for style in styles])
        found = plain.corners(paths, [style.look.ctm for style in styles], which, filled[which])
        reach, widths = _pens(styles, which, found)
        boxes = _boxes(found) + reach
        inside = np.all((boxes[:, :2] > -FARTHEST) & (boxes[:, 2:] < FARTHEST), axis=1)
        count = np.diff(found.runs)
        lone = count == 0
        inside |= lone  # what has no place leads nowhere, however wide its pen
        seen, shown, whole = _cut(
            boxes, [style.look.clip for style in styles], which, inside & ~lone
        )
        table = PathTable(
            seen,
            _traits(styles, which, widths, ~whole, count),
            np.array([style.stroke is not None and style.look.dashed for style in styles])[which],
            Outlines(found.points, found.starts, np.repeat(np.arange(len(which)), count)),
        )
        rows = np.flatnonzero(shown)
        met, first = np.unique(which[rows], return_index=True)
        findings = self._walk.findings
        goes_on = np.zeros(len(styles), np.bool_)
        for number in met[np.argsort(first)].tolist():
            style = styles[number]
            pile = self._pile(style)
            pile.painted(style.fill, style.stroke)
            goes_on[number] = pile is findings.shown
        own = goes_on[which[rows]]
        for pile, taken in ((findings.shown, rows[own]), (findings.hidden, rows[~own])):
            if len(taken):
                pile.paths.add(table.taken(taken))
        strips = [
            style.fill is not None and style.stroke is None
            and bool(style.look.clip.shapes) and style.look.clip.strip is not None
            for style in styles
        ]  # fmt: skip
        for row in np.flatnonzero(shown & ~whole & np.array(strips)[which]).tolist():
            style, item = styles[which[row]], table[row]
            slivers = self._pile(style).slivers
            note_sliver(slivers, style.look.clip, item, style.operator, item.segments)
        for row in np.flatnonzero(~inside).tolist():
            error = ObjectError("the path leads out of all bounds")
            self._walk.fault(styles[which[row]].operator, error)


def _item(
    path: PaintedPath, seen: Box, width: float, segments: Sequence[tuple[float, ...]], clipped: bool
) -> PathItem:
    _, _, _, fill, stroke, look, layer = path
    dashed = stroke is not None and look.dashed
    return PathItem(
        seen, fill, stroke, width, dashed, layer.name, segments, clipped, look.cap, look.mitre
    )


def _boxes(found: plain.PlainCorners) -> FloatArray:
    """Return the box round each path's corners (n, 4); of 0 where it has none."""
    some = np.flatnonzero(found.runs[1:] > found.runs[:-1])
    boxes = np.zeros((len(found.runs) - 1, 4))
    if len(some):
        begin = found.starts[found.runs[some]]
        boxes[some, :2] = np.minimum.reduceat(found.points, begin)
        boxes[some, 2:] = np.maximum.reduceat(found.points, begin)
    return boxes


def _traits(
    styles: Sequence[PaintStyle], which: Indices, widths: FloatArray, clipped: Flags, count: Indices
) -> PathTraits:
    of_styles = PathTraits.made(
        [style.fill for style in styles], [style.stroke for style in styles],
        [style.layer.name for style in styles], np.zeros(0), np.zeros(0, np.bool_),
        np.array([style.look.cap for style in styles], np.uint8),
        np.array([style.look.mitre for style in styles], np.float32), np.zeros(0, np.intp),
    )  # fmt: skip
    return of_styles._replace(
        fill=of_styles.fill[which], stroke=of_styles.stroke[which], stroke_mm=widths,
        clipped=clipped, cap=of_styles.cap[which], mitre=of_styles.mitre[which], runs=count,
        layer=of_styles.layer[which],
    ).in_order()  # fmt: skip


def _pens(
    styles: Sequence[PaintStyle], which: Indices, found: plain.PlainCorners
) -> tuple[FloatArray, FloatArray]:
    """Return how far strokes reach over the corners' boxes (n, 4), as `paths.stroke_box` has it,
    and their widths in mm."""
    made: dict[tuple[int, float], tuple[float, ...]] = {}
    each: list[tuple[float, ...]] = []
    for _, _, stroke, look, _ in styles:
        key = (0, 0.0) if stroke is None else (id(look.ctm), look.width)
        if key not in made:
            made[key] = (0.0,) * 5 if stroke is None else _pen(look.ctm, look.width)
        each.append(made[key])
    pens, even = np.hsplit(np.array(each, np.float64).reshape(-1, 5), (4,))
    even = even[:, 0]
    butt = np.array([
        stroke is not None and fill is None and look.cap == 0
        for _, fill, stroke, look, _ in styles
    ], np.bool_)  # fmt: skip
    reach, widths = pens[which], even[which]
    for at in np.flatnonzero(np.isnan(even)[which]).tolist():
        look = styles[which[at]].look
        bounds = found.starts[found.runs[at] : found.runs[at + 1] + 1].tolist()
        runs = (found.points[i:j].ravel().tolist() for i, j in pairwise(bounds))
        widths[at] = drawn_width(look.ctm, look.width, runs)
    begin = found.starts[found.runs]
    rows = np.flatnonzero(butt[which] & (np.diff(begin) == 2))
    if len(rows):
        first, looks = begin[rows], [style.look for style in styles]
        own, across = _across(
            found.points[first + 1] - found.points[first],
            np.array([look.ctm[:4] for look in looks])[which[rows]],
            np.array([look.width for look in looks])[which[rows]],
        )
        reach[rows[own]] = np.hstack((-across, across))
    return reach, widths


def _pen(ctm: Affine, width: float) -> tuple[float, ...]:
    """Return the box of a point that is stroked, and the stroke's width in mm; nan where that
    depends on the way a line goes."""
    even = even_width(ctm, width)
    return *stroke_box([[0.0, 0.0]], ctm, width, False), math.nan if even is None else even


def _across(way: FloatArray, ctm: FloatArray, width: FloatArray) -> tuple[Flags, FloatArray]:
    """Return of which lines with butt caps, the ways (n, 2) from end to end, it can be told how
    far half a pen reaches over them along x and y (k, 2), and those; see `paths.stroke_box`."""
    a, b, c, d = ctm.T
    determinant = a * d - b * c
    can = determinant != 0
    whole = np.where(can, determinant, 1.0)
    # The pen runs across the line as it was before the transform.
    dx, dy = (d * way[:, 0] - c * way[:, 1]) / whole, (a * way[:, 1] - b * way[:, 0]) / whole
    length = np.hypot(dx, dy)
    can &= length > 0
    half = np.abs(width) / 2 / np.where(can, length, 1.0)
    x, y = -dy * half, dx * half
    return can, np.abs(np.stack((a * x + c * y, b * x + d * y), axis=1))[can]


def _cut(
    boxes: FloatArray, clips: Sequence[Clip], which: Indices, wanted: Flags
) -> tuple[FloatArray, Flags, Flags]:
    """Return what each path's own clip leaves of the boxes wanted, whether that is anything, and
    whether it is all."""
    seen = boxes.copy()
    shown, whole = np.zeros(len(boxes), np.bool_), np.zeros(len(boxes), np.bool_)
    numbers: dict[int, int] = {}
    own = np.array([numbers.setdefault(id(clip), at) for at, clip in enumerate(clips)], np.intp)
    wanted_rows = np.flatnonzero(wanted)
    of_rows = own[which[wanted_rows]]
    order = np.argsort(of_rows, kind="stable")
    for rows in np.split(wanted_rows[order], np.flatnonzero(np.diff(of_rows[order])) + 1):
        if not len(rows):
            continue
        clip = clips[which[rows[0]]]
        if len(rows) > FEW:
            seen[rows], shown[rows], whole[rows] = clip.cut_all(boxes[rows])
            continue
        for row in rows.tolist():
            box = Box(*boxes[row].tolist())
            left = clip.cut(box)
            if left is not None:
                seen[row], shown[row], whole[row] = left, True, clip.holds(box)
    return seen, shown, whole


CONSTRUCTION: dict[bytes, Callable[[PathBuilder, Affine, list[float]], None]] = {
    b"m": lambda path, ctm, at: path.move(ctm, *at),
    b"l": lambda path, ctm, at: path.line(ctm, *at),
    b"c": lambda path, ctm, at: path.curve(ctm, at),
    b"v": lambda path, ctm, at: path.curve_from_here(ctm, at),
    b"y": lambda path, ctm, at: path.curve(ctm, at + at[2:]),
    b"h": lambda path, ctm, at: path.close(),
    b"re": lambda path, ctm, at: path.rectangle(ctm, *at),
}
"""What each path construction operator (8.5.2) does with its operands."""
