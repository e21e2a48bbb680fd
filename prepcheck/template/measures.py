"""Dimension lines outside the bleed: what the piece and its parts measure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from prepcheck.outline import Outline
from prepcheck.proof.typeset import width_of
from prepcheck.spec.places import Step
from prepcheck.template.model import XY, Fill, Mark, Set, Stroke, Words
from prepcheck.template.styles import HAIR_MM, MEASURE, scaled
from prepcheck.template.wording import number
from prepcheck.units import MM_PER_PT

_CLEAR_MM = 1.5
"""Least room between the bleed and the first mark of a measure."""
_SAME_MM = 0.01


@dataclass(frozen=True)
class Measures:
    """The marks, and how much room they take above, left of and below the bleed, in mm."""

    marks: tuple[Mark, ...]
    above: float
    left: float
    below: float


def measures(outline: Outline, bleed_mm: float, scale: float) -> Measures:
    """Return the dimension lines of a piece: chains of its parts, and the whole."""
    pen = _Pen(scale)
    box = outline.bounds
    step = 4.6 * scale
    first = bleed_mm + _CLEAR_MM + 1.2 * step
    if len(outline.panels) == 1:
        lines = [*pen.level((box.x0, box.x1), box.y1 + first, box.y1 + bleed_mm)]
        edge = box.y1 + first + step
        lines += pen.level((box.x0 - bleed_mm, box.x1 + bleed_mm), edge, box.y1 + bleed_mm)
        above = first + step
        left = bleed_mm
        if abs(box.width - box.height) > _SAME_MM:
            lines += pen.upright((box.y0, box.y1), box.x0 - first, box.x0 - bleed_mm)
            left = first
        return Measures(tuple(lines), above - bleed_mm + step, left - bleed_mm + step / 2, 0.0)
    top = [part.box for part in outline.panels if part.kind != "flap"]
    highest = max(part.y1 for part in top)
    low_row = [part for part in top if abs(part.y0 - min(p.y0 for p in top)) < _SAME_MM]
    columns = _cuts([(part.x0, part.x1) for part in low_row])
    rows = _cuts([(part.box.y0, part.box.y1) for part in outline.panels])
    lines = []
    level, upright = box.y1 + first, box.x0 - first
    lines += pen.level(columns, level, box.y1 + bleed_mm)
    above = first
    if len(columns) > 2:
        # A measure too wide for its span stands a line higher; the whole keeps clear of it.
        total = (2.1 if min(b - a for a, b in pairwise(columns)) < 3 * step else 1.5) * step
        lines += pen.level((columns[0], columns[-1]), level + total, box.y1 + bleed_mm)
        above += total
    lines += pen.upright(rows, upright, box.x0 - bleed_mm)
    left = first
    if len(rows) > 2:
        lines += pen.upright((rows[0], rows[-1]), upright - 1.5 * step, box.x0 - bleed_mm)
        left += 1.5 * step
    assert highest <= box.y1 + _SAME_MM
    return Measures(tuple(lines), above - bleed_mm + step, left - bleed_mm + step, 0.0)


def _cuts(spans: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Return where spans begin and end, each place once."""
    ends = sorted(end for span in spans for end in span)
    return tuple(b for a, b in pairwise([float("-inf"), *ends]) if b - a > _SAME_MM)


@dataclass(frozen=True)
class _Pen:
    scale: float

    def level(self, at: Sequence[float], y: float, foot: float) -> Iterator[Mark]:
        """Yield a chain of measures along x at height y; helping lines rise from the bleed."""
        for mark in self._chain(at, foot - y):
            yield _turned(mark, 0.0, y, upright=False)

    def upright(self, at: Sequence[float], x: float, foot: float) -> Iterator[Mark]:
        """Yield a chain of measures along y at x; helping lines come from the bleed."""
        for mark in self._chain(at, x - foot):
            yield _turned(mark, x, 0.0, upright=True)

    def _chain(self, at: Sequence[float], foot: float) -> Iterator[Mark]:
        style = scaled(MEASURE, self.scale)
        weight = HAIR_MM * self.scale
        head, half = 1.7 * self.scale, 0.42 * self.scale
        for place in at:
            line = ((place, foot + _CLEAR_MM), (place, 1.0 * self.scale))
            yield Stroke(Step.DIMENSIONS, line, False, weight)
        for a, b in pairwise(at):
            yield Stroke(Step.DIMENSIONS, ((a, 0.0), (b, 0.0)), False, weight)
            narrow = b - a < 3 * head
            for end, way in ((a, 1.0), (b, -1.0)):
                tip = -way if narrow else way
                corners = ((end, 0.0), (end + tip * head, half), (end + tip * head, -half))
                yield Fill(Step.DIMENSIONS, corners)
            words = number(b - a)
            wide = width_of(words, style) * MM_PER_PT
            # A measure wider than its span stands a line higher, clear of its neighbours.
            raised = wide + 2.2 * head > b - a
            rise = (3.9 if raised else 0.9) * self.scale if narrow or raised else 0.9 * self.scale
            yield Words(Step.DIMENSIONS, (a + b) / 2, rise, words, style, Set.CENTRE)


def _turned(mark: Mark, dx: float, dy: float, *, upright: bool) -> Mark:
    """Return a mark of a level chain at its place, turned to stand upright where asked."""

    def at(point: XY) -> XY:
        x, y = point
        return (dx - y, dy + x) if upright else (dx + x, dy + y)

    if isinstance(mark, Words):
        x, y = at((mark.x, mark.y))
        return Words(mark.ink, x, y, mark.line, mark.style, mark.set, 90.0 if upright else 0.0,
                     mark.tint)  # fmt: skip
    points = tuple(at(point) for point in mark.points)
    if isinstance(mark, Fill):
        return Fill(mark.ink, points, mark.tint)
    return Stroke(mark.ink, points, mark.closed, mark.weight_mm, mark.dash_mm, None, mark.tint)
