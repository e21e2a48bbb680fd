"""Painted paths that wait to be placed: each with the state it was painted in, many at once."""

from __future__ import annotations

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
from prepcheck.art.pdf.content.state import Colour, State
from prepcheck.errors import ObjectError
from prepcheck.geometry import Affine, Box, FloatArray

FEW = 12
"""So many paths are placed sooner one by one: a path alone takes some 15 µs by its builder, and
some 500 µs by way of arrays (one busy core, 2026)."""
LONG = 10_000
"""Bytes of source from which few paths are placed sooner by way of arrays as well."""
MOST_BYTES = 1_000_000
"""Source of paths that wait together; what they take while being placed is some ten times that."""


class Look(NamedTuple):
    """The state that a path is painted in, as far as its place depends on it."""

    ctm: Affine
    clip: Clip
    width: float
    cap: int
    """How strokes end, as in `PathItem`."""
    dashed: bool


class Painted(NamedTuple):
    """A painted plain path: its source, one letter an operator, and how it was painted."""

    path: bytes
    code: bytes
    operator: bytes
    fill: Paint | None
    stroke: Paint | None
    look: Look
    layer: OnLayer


class FlatPaints(NamedTuple):
    """The paints of a path that do not depend on its place; the colours that they were made of
    are kept, so that the identities of these are not used again."""

    fill: Paint | None
    stroke: Paint | None
    colours: tuple[Colour, Colour]


def look_in(state: State) -> Look | None:
    """Return what a state says of a path's place; None when out of all bounds."""
    a, b, c, d, e, f = map(abs, state.ctm)
    if not max(a, b, c, d, e, f, abs(state.line_width)) < FARTHEST**2:
        return None
    return Look(state.ctm, state.clip, state.line_width, state.cap, state.dashed)


class Place(NamedTuple):
    """What is seen of a path, and whether more would be without the clip."""

    seen: Box
    clipped: bool


def place(look: Look, runs: list[Run], fill: bool, stroke: bool) -> Place | None:
    """Return the place of a path; None where nothing of it is seen."""
    if stroke:
        box = stroke_box(runs, look.ctm, look.width, look.cap == 0 and not fill)
    else:
        box = runs_box(runs)
    if not (min(box.x0, box.y0) > -FARTHEST and max(box.x1, box.y1) < FARTHEST):
        raise ObjectError("the path leads out of all bounds")
    seen = look.clip.cut(box)
    return None if seen is None else Place(seen, not look.clip.holds(box))


class Waiting:
    """Paths painted one after the other, which `settle` places in the same order."""

    def __init__(self, walk: Walk) -> None:
        self._walk = walk
        self.paths: list[Painted] = []
        """Those that wait."""
        self._bytes = 0

    def add(self, path: Painted) -> None:
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
                self._place_all(paths)

    def _place_each(self, paths: list[Painted]) -> None:
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
                pile = self._pile(path)
                item = _item(path, found.seen, width, tuple(map(tuple, runs)), found.clipped)
                pile.paths.append(item)
                pile.painted(path.fill, path.stroke)
                note_sliver(pile.slivers, look.clip, item, path.operator, runs)

    def _pile(self, path: Painted) -> Pile:
        unseen = path.layer.hidden or self._walk.paints.unseen(path.fill, path.stroke)
        findings = self._walk.findings
        return findings.hidden if unseen else findings.shown

    def _place_all(self, paths: list[Painted]) -> None:
        sources, codes, _, fills, strokes, looks, layers = zip(*paths, strict=True)
        found = plain.corners(
            sources, codes, [look.ctm for look in looks], [fill is not None for fill in fills]
        )
        reach, widths = _pens(looks, fills, strokes, found)
        boxes = _boxes(found) + reach
        inside = np.all((boxes[:, :2] > -FARTHEST) & (boxes[:, 2:] < FARTHEST), axis=1)
        count = np.diff(found.runs)
        lone = count == 0
        inside |= lone  # what has no place leads nowhere, however wide its pen
        seen, shown, whole = _cut(boxes, [look.clip for look in looks], inside & ~lone)
        traits = PathTraits.made(
            fills, strokes, [layer.name for layer in layers], np.array(widths), ~whole,
            np.array([look.cap for look in looks], np.uint8), count,
        )  # fmt: skip
        table = PathTable(
            seen,
            traits,
            (traits.stroke >= 0) & np.array([look.dashed for look in looks], np.bool_),
            Outlines(found.points, found.starts, np.repeat(np.arange(len(paths)), count)),
        )
        hidden = np.array([layer.hidden for layer in layers], np.bool_)
        paints = len(traits.paints) + 1
        kinds = ((traits.fill + 1) * paints + traits.stroke + 1) * 2 + hidden
        rows = np.flatnonzero(shown)
        _, first, which = np.unique(kinds[rows], return_index=True, return_inverse=True)
        findings = self._walk.findings
        goes_on = np.zeros(len(first), np.bool_)
        for kind in np.argsort(first).tolist():
            path = paths[int(rows[first[kind]])]
            pile = self._pile(path)
            pile.painted(path.fill, path.stroke)
            goes_on[kind] = pile is findings.shown
        for pile, own in ((findings.shown, goes_on), (findings.hidden, ~goes_on)):
            if own.any():
                pile.paths.add(table.taken(rows[own[which]]))
        cut = shown & ~whole & np.array([bool(look.clip.shapes) for look in looks], np.bool_)
        for row in np.flatnonzero(cut & (traits.fill >= 0) & (traits.stroke < 0)).tolist():
            path = paths[row]
            if path.look.clip.strip is not None:
                item = table[row]
                note_sliver(
                    self._pile(path).slivers, path.look.clip, item, path.operator, item.segments
                )
        for row in np.flatnonzero(~inside).tolist():
            error = ObjectError("the path leads out of all bounds")
            self._walk.fault(paths[row].operator, error)


def _item(
    path: Painted, seen: Box, width: float, segments: Sequence[tuple[float, ...]], clipped: bool
) -> PathItem:
    _, _, _, fill, stroke, look, layer = path
    dashed = stroke is not None and look.dashed
    return PathItem(seen, fill, stroke, width, dashed, layer.name, segments, clipped, look.cap)


def _boxes(found: plain.Corners) -> FloatArray:
    """Return the box round each path's corners (n, 4); of 0 where it has none."""
    some = np.flatnonzero(found.runs[1:] > found.runs[:-1])
    boxes = np.zeros((len(found.runs) - 1, 4))
    if len(some):
        begin = found.starts[found.runs[some]]
        boxes[some, :2] = np.minimum.reduceat(found.points, begin)
        boxes[some, 2:] = np.maximum.reduceat(found.points, begin)
    return boxes


def _pens(
    looks: Sequence[Look],
    fills: Sequence[Paint | None],
    strokes: Sequence[Paint | None],
    found: plain.Corners,
) -> tuple[FloatArray, list[float]]:
    """Return how far strokes reach over the corners' boxes (n, 4), as `paths.stroke_box` has it,
    and their widths in mm."""
    reach, widths = np.zeros((len(looks), 4)), [0.0] * len(looks)
    pens: dict[tuple[int, float], tuple[tuple[float, float, float, float], float | None]] = {}
    begin = found.starts[found.runs].tolist()
    count = np.diff(begin).tolist()
    butt: list[int] = []
    for at, stroke in enumerate(strokes):
        if stroke is None:
            continue
        ctm, _, width, cap, _ = looks[at]
        key = id(ctm), width
        pen = pens.get(key)
        if pen is None:
            point = stroke_box([[0.0, 0.0]], ctm, width, False)
            pen = pens[key] = point, even_width(ctm, width)
        reach[at], even = pen
        if even is None:
            bounds = found.starts[found.runs[at] : found.runs[at + 1] + 1].tolist()
            runs = (found.points[i:j].ravel().tolist() for i, j in pairwise(bounds))
            even = drawn_width(ctm, width, runs)
        widths[at] = even
        if cap == 0 and count[at] == 2 and fills[at] is None:
            butt.append(at)
    if butt:
        rows = np.array(butt)
        first = np.array(begin)[rows]
        own, across = _across(
            found.points[first + 1] - found.points[first],
            np.array([looks[at].ctm[:4] for at in butt]),
            np.array([looks[at].width for at in butt]),
        )
        reach[rows[own]] = np.hstack((-across, across))
    return reach, widths


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
    boxes: FloatArray, clips: Sequence[Clip], wanted: Flags
) -> tuple[FloatArray, Flags, Flags]:
    """Return what each path's own clip leaves of the boxes wanted, whether that is anything, and
    whether it is all."""
    seen = boxes.copy()
    shown, whole = np.zeros(len(boxes), np.bool_), np.zeros(len(boxes), np.bool_)
    groups: dict[int, list[int]] = {}
    for row, (clip, is_wanted) in enumerate(zip(clips, wanted.tolist(), strict=True)):
        if is_wanted:
            groups.setdefault(id(clip), []).append(row)
    for rows in groups.values():
        clip = clips[rows[0]]
        if len(rows) > FEW:
            seen[rows], shown[rows], whole[rows] = clip.cut_all(boxes[rows])
            continue
        for row in rows:
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
