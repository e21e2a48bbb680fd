"""Type turned into outlines whose letters do not stand on a line one by one: joined hands, Arabic,
scripts that hang from a head line, Thai with its marks, signs of many strokes.

A row of shapes is writing where it keeps to a band, straight or round, is drawn throughout with one
width of stroke, is full of strokes all along it, and its shapes differ. How its outlines spread
across the band tells its size, about: their standard deviation is 0.19 to 0.26 of the em in each of
the scripts of `tests/measure/test_writing.py`, and 0.25 in signs of many strokes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.even_pitch import em_of_squares
from prepcheck.measure.letter_shapes import (
    Across,
    Lettering,
    Shapes,
    across_of,
    gaps_between,
    kinds_of,
    spans_of,
    stems_of,
)
from prepcheck.measure.outlined_type import CAP_EM, CORNERS, TypeLine
from prepcheck.units import MM_PER_PT

FEW_EM, MANY_EM = 0.21, 0.25
"""How far outlines spread across a line, of the em, where few strokes lie one above another, and
where many do."""
FEW, MANY = 1.8, 2.4
"""Strokes that lie one above another: few at most, and many at least."""
MOST_EM = 1.12
"""How much larger than it seems it may be."""
LEAST_SHAPES = 3
NEAR, BACK = 0.75, 4
"""Most room between a shape of a row and one of those before it, of the largest near it."""
LEAST_LONG, MOST_HIGH = 8.5, 5.7
"""Least length and most height of a row, over the spread."""
CELL = 5.0
"""Length of the pieces that a row is looked at in, over the spread."""
WANDERS, SWELLS, UNEVEN = 0.45, 0.35, 0.5
"""Most that middles and spreads of its pieces vary, over the spread, and the length of outline in
each, over the mean."""
THIN, BROAD, STEMS, MANY_STEMS = 0.15, 0.75, 0.35, 0.6
"""Least and most width of stroke over the spread; how much that may vary from shape to shape, and
does where many strokes lie one above another."""
FULL, WINDING, MOST_WINDING, CURVED = 1.8, 1.42, 3.2, 0.45
"""Least outline, over twice the length of the row; least and most over twice the sizes of its
shapes; and least share of it in shapes of more than a few corners."""
VARIETY, VARIED = 0.35, 6
"""Least number of different shapes, of all, and from which there are enough."""
ONE_WAY = 0.17
"""Least share of outlines that runs one way: of letters they do, in every hand; of turned stars,
leaves, spirals and blots they run all ways."""
COVERED = 0.7
"""Share of a row, by its outlines, that lines of letters make up, from which it is those lines."""
LEAST_ROUND, BENT, LEAST_RADIUS = 6, 0.8, 5.0
"""Shapes from which a line may be round, spread about a circle over that about a straight line
where it is, and its least radius over the spread, about an em: strokes of one sign lie closer
about its middle."""
MOST_ROWS = 1000


def with_writing(
    content: Content, lettering: Lettering, lines: tuple[TypeLine, ...]
) -> tuple[TypeLine, ...]:
    """Return lines of letters, with the rows of shapes that are writing of another kind, instead of
    what lines are made out of few of its letters."""
    found = _with_rows(content, lettering.whole, lines)
    if lettering.parts is lettering.whole:
        return found
    # Words that are joined throughout are few shapes; the letters they are drawn by tell more.
    return _with_rows(content, lettering.parts, found)


def _with_rows(
    content: Content, shapes: Shapes, lines: tuple[TypeLine, ...]
) -> tuple[TypeLine, ...]:
    if len(shapes.run) < LEAST_SHAPES:
        return lines
    bounds = np.array([line.subpaths for line in lines], np.intp).reshape(-1, 2)
    own = np.zeros(len(shapes.run) + 1, np.intp)
    np.add.at(own, shapes.run.searchsorted(bounds[:, 0]), 1)
    np.add.at(own, shapes.run.searchsorted(bounds[:, 1]), -1)
    lettered = np.cumsum(own)[:-1] > 0
    if lettered.all():
        return lines
    found, gone = [], np.zeros(len(lines), bool)
    for first, end in _rows(content, shapes, lettered)[:MOST_ROWS]:
        row = shapes.take(slice(first, end))
        line = _as_writing(content, row)
        if line is not None:
            found.append(line)
            gone |= (bounds[:, 0] < line.subpaths[1]) & (bounds[:, 1] > line.subpaths[0])
    return tuple(line for line, out in zip(lines, gone.tolist(), strict=True) if not out) + tuple(
        found
    )


def _rows(content: Content, shapes: Shapes, lettered: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return where rows begin and end that may be writing and are no lines of letters, told from
    what is known of their shapes."""
    count, size, boxes = len(shapes.run), shapes.size, shapes.boxes
    padded = np.pad(size, BACK)
    largest = np.max([padded[k : k + count] for k in range(2 * BACK + 1)], axis=0)
    near = np.zeros(count - 1, bool)
    for back in range(1, min(BACK, count - 1) + 1):
        reach = NEAR * np.minimum(largest[back:], largest[:-back])
        near[back - 1 :] |= gaps_between(boxes[back:], boxes[:-back]) <= reach
    fill = content.path_traits.fill[shapes.path]
    starts = np.flatnonzero(np.concatenate(([True], ~(near & (fill[1:] == fill[:-1])))))
    many = np.diff(starts, append=count)
    around = np.add.reduceat(shapes.around, starts)
    known = np.add.reduceat(shapes.around * lettered, starts)
    low = np.minimum.reduceat(boxes[:, :2], starts)
    high = np.maximum.reduceat(boxes[:, 2:], starts)
    curved = np.add.reduceat(shapes.around * (shapes.corners > CORNERS), starts)
    winding = around / 2 / np.add.reduceat(size, starts)
    # A row takes no less room than half the way round what it lies in, nor is it fuller there.
    full = around / 2 / np.maximum(np.hypot(*(high - low).T), 1e-9)
    chosen = (many >= LEAST_SHAPES) & (known < COVERED * around) & (curved >= CURVED * around)
    chosen &= (winding >= WINDING) & (winding <= MOST_WINDING) & (full >= FULL)
    return [(int(starts[at]), int(starts[at] + many[at])) for at in np.flatnonzero(chosen).tolist()]


def _as_writing(content: Content, own: Shapes) -> TypeLine | None:
    """Return the line of type that a row of shapes is; None where it is none."""
    points, starts, _ = content.path_outlines
    parts = [
        points[starts[one] : starts[one + 1]]
        for run, end in zip(own.run.tolist(), own.end.tolist(), strict=True)
        for one in range(run, end)
    ]
    lengths = [len(part) for part in parts]
    placed, across = _about_line(np.concatenate(parts), lengths, own)
    spread = across.spread
    around = float(own.around.sum())
    if across.length < LEAST_LONG * spread or around < 2 * FULL * across.length:
        return None
    if across.one_way < ONE_WAY:
        return None
    if np.ptp(placed[:, 1]) > MOST_HIGH * spread or not _keeps_on(placed, lengths, spread):
        return None
    stem = 2 * abs(float(own.area.sum())) / around
    most = MANY_STEMS if across.layers >= FEW else STEMS
    if not THIN * spread <= stem <= BROAD * spread or _stem_varies(own) > most:
        return None
    if kinds_of(own) < max(LEAST_SHAPES, min(VARIED, VARIETY * len(own.run))):
        return None
    share = float(np.clip((across.layers - FEW) / (MANY - FEW), 0.0, 1.0))
    em = spread / (FEW_EM + share * (MANY_EM - FEW_EM))
    box = Box(*own.boxes[:, :2].min(axis=0).tolist(), *own.boxes[:, 2:].max(axis=0).tolist())
    squares = em_of_squares(spans_of(placed, lengths), em * MOST_EM)
    size_pt = (squares or em) / MM_PER_PT
    most_pt = em * MOST_EM / MM_PER_PT
    return TypeLine(
        box, CAP_EM * em, stem, size_pt, most_pt, len(own.run),
        tuple(dict.fromkeys(own.path.tolist())), tuple(Box(*one) for one in own.boxes.tolist()),
        (int(own.run[0]), int(own.end[-1])),
    )  # fmt: skip


def _about_line(
    points: FloatArray, lengths: Sequence[int], own: Shapes
) -> tuple[FloatArray, Across]:
    """Return places along and above the line that outlines keep closest to, straight or round."""
    best: tuple[FloatArray, Across] | None = None
    for placed, radius in _lines_about(points, own):
        across = across_of(placed, lengths)
        if radius < LEAST_RADIUS * across.spread:
            continue
        if best is None or across.spread < BENT * best[1].spread:
            best = placed, across
    assert best is not None
    return best


def _lines_about(points: FloatArray, own: Shapes) -> Iterator[tuple[FloatArray, float]]:
    """Yield places along and above a straight line and a circle, and its radius."""
    centre = points.mean(axis=0)
    off = points - centre
    yield off @ np.linalg.eigh(off.T @ off)[1][:, ::-1], np.inf
    if len(own.run) < LEAST_ROUND:
        return
    # A circle by least squares on x² + y² (Kåsa), through the middles of shapes by their outlines.
    middles = (own.boxes[:, :2] + own.boxes[:, 2:]) / 2 - centre
    weights = np.sqrt(own.around)
    design = np.column_stack((2 * middles, np.ones(len(middles)))) * weights[:, None]
    (x, y, rest), *_ = np.linalg.lstsq(design, (middles**2).sum(axis=1) * weights, rcond=None)
    radius = float(np.sqrt(max(rest + x * x + y * y, 0.0)))
    turned = off - (x, y)
    start = np.angle(complex(*(middles[0] - (x, y))))
    angle = np.angle(np.exp(1j * (np.arctan2(turned[:, 1], turned[:, 0]) - start)))
    heights = np.hypot(turned[:, 0], turned[:, 1]) - radius
    yield np.column_stack((angle * radius, heights)), radius


def _keeps_on(placed: FloatArray, lengths: Sequence[int], spread: float) -> bool:
    """Say whether a row is alike all along: its middle, its spread and how much there is of it."""
    ends = np.cumsum(lengths)
    ahead = np.append(placed[1:], placed[:1], axis=0)
    ahead[ends - 1] = placed[ends - lengths]
    ways, middle = ahead - placed, (ahead + placed) / 2
    around = np.hypot(ways[:, 0], ways[:, 1])
    along = middle[:, 0] - placed[:, 0].min()
    length = float(np.ptp(placed[:, 0]))
    count = max(2, int(length / (CELL * spread)))
    cell = np.minimum((along / length * count).astype(np.intp), count - 1)
    whole = np.bincount(cell, around, count)
    if not whole.all() or np.std(whole) > UNEVEN * whole.mean():
        return False
    mean = np.bincount(cell, around * middle[:, 1], count) / whole
    square = np.bincount(cell, around * middle[:, 1] ** 2, count) / whole
    spreads = np.sqrt(np.maximum(square - mean**2, 0.0))
    return bool(np.std(mean) <= WANDERS * spread and np.std(spreads) <= SWELLS * spread)


def _stem_varies(own: Shapes) -> float:
    """Return how far strokes usually are from their usual width, over it, by their outlines."""
    stems = stems_of(own._replace(area=np.abs(own.area)))
    usual = _middle(stems, own.around)
    return _middle(np.abs(stems - usual), own.around) / max(usual, 1e-9)


def _middle(values: FloatArray, weights: FloatArray) -> float:
    order = np.argsort(values)
    reached = np.cumsum(weights[order])
    return float(values[order[int(reached.searchsorted(reached[-1] / 2))]])
