"""All that is as thin as a line on a sheet: lines as drawn, strokes round type, what a clip leaves
of larger things, and gaps between dark boxes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence, Set

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Paint, PathItem, Sliver, Space, SpaceFamily, TypeStyle
from prepcheck.art.subpaths import joined
from prepcheck.geometry import Box, FloatArray, Point
from prepcheck.measure.gaps import gaps_between
from prepcheck.measure.lines import LEAST_LENGTH_MM, LEAST_SLENDERNESS, DrawnLines, StrokedLine
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import on_art

_STROKED, _BOTH = (1, 5), (2, 6)
"""Text render modes that stroke alone, and that fill as well (ISO 32000-2, Table 104)."""
BARE = Paint(Space(SpaceFamily.GREY, 1), (1.0,), (), (1.0, 1.0, 1.0))
"""The paint of gaps: bare paper."""
_BESIDE_MM = 0.2
_DIFFERS = 0.12
"""Lightness by which a sliver must differ from what lies on both its sides to be seen."""


class ThinThings:
    """Thin things as columns: drawn lines, of which there may be a million, and all else."""

    def __init__(
        self, drawn: DrawnLines, others: Sequence[tuple[PathItem, StrokedLine]] = ()
    ) -> None:
        self._drawn, self._others = drawn, others
        boxes = np.array([item.box for item, _ in others], np.float64).reshape(-1, 4)
        strokes = [stroke for _, stroke in others]
        self.boxes = np.concatenate((drawn.boxes, boxes))
        """(n, 4) in mm."""
        self.widths = np.append(drawn.widths, [stroke.width for stroke in strokes])
        """(n,) in mm."""
        known = drawn.content.path_traits.paints
        self.paints = (*known, *(stroke.paint for stroke in strokes))
        self.paint = np.append(drawn.paints, len(known) + np.arange(len(strokes)))
        """Which of the paints each is painted with (n,)."""

    def on(self, layers: Set[str]) -> NDArray[np.bool_]:
        """Say which lie on some layers (n,)."""
        traits = self._drawn.content.path_traits
        named = np.array([name in layers for name in (*traits.layers, None)], np.bool_)
        own = [item.layer in layers for item, _ in self._others]
        return np.append(named[traits.layer[self._drawn.rows]], own).astype(np.bool_)

    def paths(self, which: NDArray[np.intp]) -> NDArray[np.intp]:
        """Return which path of the content each of some things is (m,); -1 for none."""
        return np.append(self._drawn.rows, np.full(len(self._others), -1))[which]

    def items(self, which: NDArray[np.intp]) -> list[PathItem]:
        """Return things by their numbers."""
        count = len(self._drawn)
        return [
            self._drawn[at][0] if at < count else self._others[at - count][0]
            for at in which.tolist()
        ]

    def corners(
        self, which: NDArray[np.intp]
    ) -> tuple[FloatArray, NDArray[np.intp], NDArray[np.intp]]:
        """Return the corners (k, 2) of the subpaths of things (m,), rising, end to end, the number
        of each one's corners, and the place in `which` that it belongs to."""
        drawn = which < len(self._drawn)
        outlines = self._drawn.content.path_outlines
        runs, owner = outlines.runs_of(self._drawn.rows[which[drawn]])
        some = outlines.taken(runs)
        others = [self._others[at][0] for at in (which[~drawn] - len(self._drawn)).tolist()]
        points, lengths = joined(item.segments for item in others)
        of_others = np.repeat(np.arange(len(others)), [len(item.segments) for item in others])
        return (
            np.concatenate((some.points, points)),
            np.append(np.diff(some.starts), np.array(lengths, np.intp)),
            np.append(owner, of_others + np.count_nonzero(drawn)),
        )


def thin_things(exam: Exam, sheet: Sheet, most_mm: float) -> ThinThings:
    """Return what is thinner than `most_mm`, lines and all else, and the thinnest other line that
    prints on the art, if any."""
    lines = sheet.lines
    fine = lines.widths < most_mm
    rows = np.append(np.flatnonzero(fine), _thinnest(exam, sheet, lines, np.flatnonzero(~fine)))
    return ThinThings(lines.some(rows), [*_others(exam, sheet, most_mm)])


def _others(exam: Exam, sheet: Sheet, most_mm: float) -> Iterator[tuple[PathItem, StrokedLine]]:
    runs = sheet.content.type_table
    strokes = [_stroke_of(style) for style in runs.styles]
    stroked = np.array([stroke is not None for stroke in strokes], np.bool_)[runs.style]
    for row in np.flatnonzero(stroked & runs.placed).tolist():
        style = runs.styles[runs.style[row]]
        if (stroke := strokes[runs.style[row]]) is not None:
            yield _item(runs.box(row), stroke.paint, style.layer), stroke
    yield from _slivers(sheet, most_mm)
    yield from _turned_slivers(sheet, most_mm)
    gaps = gaps_between(sheet.content, most_mm)
    symbols = [
        quad.box
        for found in (exam.barcodes if gaps else ())
        for quad in (*(s.quad for s in found.symbols), *(p.quad for p in found.unread))
    ]
    for gap in gaps:
        # Of a barcode it is told how narrow its bars and spaces are.
        if not any(box.overlap(gap.box) for box in symbols):
            yield _item(gap.box, BARE, None), StrokedLine(gap.width, BARE)


def _thinnest(
    exam: Exam, sheet: Sheet, lines: DrawnLines, some: NDArray[np.intp]
) -> NDArray[np.intp]:
    """Return the thinnest of some lines that prints on the art, where one does."""
    rising = some[np.argsort(lines.widths[some], kind="stable")]
    # One by one: mostly the first does.
    for place, at in enumerate(rising.tolist()):
        item, _ = lines[at]
        if item.layer not in exam.step_layers and on_art(exam, sheet, item.box):
            return rising[place : place + 1]
    return rising[:0]


def _stroke_of(run: TypeStyle) -> StrokedLine | None:
    """Return the line round letters, where it is more than a thickening of their fill."""
    if run.stroke is None or run.stroke.opacity <= 0:
        return None
    if run.mode in _STROKED:
        return StrokedLine(run.stroke_mm, run.stroke)
    if run.mode in _BOTH and run.fill is not None:
        alike = (run.fill.space, run.fill.components) == (run.stroke.space, run.stroke.components)
        return None if alike else StrokedLine(run.stroke_mm, run.stroke)
    return None


def _item(box: Box, paint: Paint, layer: str | None) -> PathItem:
    """Return a thing as a path along the middle of its box."""
    return PathItem(box, None, paint, 0.0, False, layer, (_along(box),))


def _along(box: Box) -> tuple[float, float, float, float]:
    """Return the ends of the line along the middle of a box."""
    x, y = box.centre
    wide = box.width >= box.height
    return (box.x0, y, box.x1, y) if wide else (x, box.y0, x, box.y1)


def _slivers(sheet: Sheet, most_mm: float) -> Iterator[tuple[PathItem, StrokedLine]]:
    """Yield paths of which a clip leaves no more than a line that is seen as one: filled ones, and
    lines that are wider than what is left of them."""
    content = sheet.content
    traits, boxes = content.path_traits, content.path_boxes
    if not traits.clipped.any():
        return
    sides = boxes[:, 2:] - boxes[:, :2]
    short, long = sides.min(axis=1), sides.max(axis=1)
    slender = (long >= LEAST_LENGTH_MM) & (long >= LEAST_SLENDERNESS * short) & (short > 0)
    filled = (traits.fill >= 0) & (traits.stroke < 0)
    stroked = (traits.fill < 0) & (traits.stroke >= 0) & (traits.stroke_mm > short)
    some = traits.clipped & (filled | stroked) & (short < most_mm) & slender
    for at in np.flatnonzero(some).tolist():
        item = content.paths[at]
        paint = item.fill or item.stroke
        if paint is None or paint.opacity <= 0:
            continue
        left = Sliver(_along(item.box), float(short[at]), paint, item.layer)
        if not _stands_alone(sheet, left):
            continue
        if item.fill is not None:
            yield item._replace(segments=(left.ends,)), StrokedLine(left.width, paint)
        # A line may run through its box in any way, so it must be seen all along.
        elif sheet.shows.are_seen(_boxes(left)).all():
            yield _item(item.box, paint, item.layer), StrokedLine(left.width, paint)


def _turned_slivers(sheet: Sheet, most_mm: float) -> Iterator[tuple[PathItem, StrokedLine]]:
    """Yield what turned clips leave of filled paths, where that is a line that is seen as one."""
    for left in sheet.content.slivers:
        start, end = Point(*left.ends[:2]), Point(*left.ends[2:])
        least = max(LEAST_LENGTH_MM, LEAST_SLENDERNESS * left.width)
        if left.width >= most_mm or math.dist(start, end) < least or left.fill.opacity <= 0:
            continue
        if _stands_alone(sheet, left) and sheet.shows.are_seen(_boxes(left)).all():
            box = Box.around((start, end)).grown(left.width / 2)
            item = PathItem(box, None, left.fill, 0.0, False, left.layer, (left.ends,))
            yield item, StrokedLine(left.width, left.fill)


def _boxes(sliver: Sliver) -> FloatArray:
    """Return small boxes (9, 4) along a sliver."""
    places = _places(sliver, 0.0)
    return np.hstack((places - sliver.width / 2, places + sliver.width / 2))


def _places(sliver: Sliver, off: float) -> FloatArray:
    """Return places (9, 2) along a sliver, so far beside its middle."""
    start, end = np.array(sliver.ends[:2]), np.array(sliver.ends[2:])
    way = end - start
    across = np.array((-way[1], way[0])) / math.hypot(*way)
    return np.asarray(start + np.linspace(0.1, 0.9, 9)[:, None] * way + off * across)


def _stands_alone(sheet: Sheet, sliver: Sliver) -> bool:
    """Say whether what lies on both sides of a sliver looks otherwise: of a fade cut into strips
    each differs little from the next."""
    reach = sliver.width / 2 + _BESIDE_MM + sheet.view.grid.pitch
    sides = [_lightness(sheet, _places(sliver, way * reach)) for way in (-1, 1)]
    own = sliver.fill.lightness
    return all(side is not None and abs(side - own) >= _DIFFERS for side in sides)


def _lightness(sheet: Sheet, places: FloatArray) -> float | None:
    view = sheet.view
    at = np.floor(view.grid.pixels(places)).astype(int)
    height, width = view.lightness.shape
    held = (at[:, 0] >= 0) & (at[:, 0] < width) & (at[:, 1] >= 0) & (at[:, 1] < height)
    if not held.any():
        return None
    return float(np.median(view.lightness[at[held, 1], at[held, 0]])) / 255
