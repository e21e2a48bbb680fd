"""Type turned into outlines: rows of like-sized closed shapes that stand on a line.

Programs write such type letter by letter in the order of reading, counters and dots beside the
letter they belong to. A row of shapes is type where they follow one another closely, straight or
round a circle, stand on one line or hang from one, are not all alike (a border is) and are drawn
with one width of stem. Its size is told from its capitals, which are some 0.7 of the em high in
most faces (common practice, no source), and is therefore only about right.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.even_pitch import em_of_squares
from prepcheck.measure.letter_shapes import (
    Shapes,
    across_of,
    bulging,
    gaps_between,
    kinds_of,
    letters_of,
    spans_of,
    stems_of,
)
from prepcheck.measure.sampling import median, quantile
from prepcheck.units import MM_PER_PT

CAP_EM = 0.7
"""Height of capitals in ems."""
LOWER_CAP = 0.72
"""Height of lower case without ascenders over that of capitals; 0.62 to 0.8 in most faces."""
LEAST_LETTERS = 4
NEAR = 0.75
"""Most room between two letters of a line, of the larger one's size."""
RETURN = 0.5
"""Least room, of the larger one's size, to a letter that begins a new line."""
LIKE = 0.33
"""Least size of a letter over that of its neighbour."""
ON_LINE, STANDING = 0.1, 0.5
"""How far from the line, of the letters' height, a letter stands on it, and how many must."""
STEMS, THIN, BROAD = 0.35, 0.03, 0.55
"""Most variation of stems of a line, and the least and most width of a stem over the height."""
LONG, SHORT_STANDING = 8, 0.7
"""Letters from which a line is long, and how many must stand on a shorter one."""
EVEN = 0.75
"""How many of those that stand must be of one of two heights, capitals and lower case."""
MOST_ROWS = 3000
SHORT_STEM, ALIKE_STEM, SHORT_GAP = 0.3, 0.16, 0.5
"""Most width of stem over height of a letter in a row of two or three, the same where they are
alike, as pairs of stars are, and the room between."""
VARIETY = 0.2
"""Least number of different shapes, of all."""
CORNERS = 6
"""Shapes of no more corners are boxes and bars."""
ONE_LETTER = 0.5
"""Parts that share more than this of the narrower one's width are one letter."""
MOST_OFF = 0.7
"""How far from the line, of its size, the middle of a letter may lie."""
MOST_TILT = 0.1
LEAST_ROUND = 6
LEAST_KINDS, WINDING, ONE_WAY = 3, 1.5, 0.21
"""Least number of different letters, least outline over twice their sizes, counters with it, and
least share of it that runs one way (of words in 120 faces 0.23; of turned stars, leaves, spirals
and rings up to 0.2)."""
FEW_ONE_WAY = 0.16
"""The same of two or three letters, which may all be round."""
EVEN_FEET, LEAST_EVEN = 0.035, 0.8
"""How far from the line, of their height, letters stand that do on one line, and how many do of
those of words at least (0.86 in the faces at hand; hiragana to 0.75)."""
MOST_BULGING = 0.6
"""Most of the shapes of a line that bulge all round, as bars with round ends do; of letters l and I
alone."""
LEAST_SPREAD, MANY = 0.175, 2.0
"""Of lines of Latin, Greek and Cyrillic letters: how far outlines spread across the line, of the
em, at least (from 0.187 in 120 faces), and strokes that lie one above another (to 1.85)."""
STRAIGHT = 0.05
"""Lines that bend less than this, of the letters' height, are straight."""


class TypeLine(NamedTuple):
    """A line of outlined type: the box round it, the height of its capitals and the usual width
    of its stems, each in mm, its size in points, about, and the paths it is drawn by.

    `most_pt` is the size where all of it is lower case without ascenders, which may be so where
    its letters are of one height; else it is `size_pt`.
    """

    box: Box
    cap_mm: float
    stem_mm: float
    size_pt: float
    most_pt: float
    letters: int
    paths: tuple[int, ...]
    shapes: tuple[Box, ...]
    """The boxes of its letters, without their dots."""
    subpaths: tuple[int, int]
    """From which subpath to before which it is drawn."""


class _Standing(NamedTuple):
    """How far letters reach below and above a line (n,), which stand on it, how tall they usually
    are, and where their outlines lie along and above it (m, 2)."""

    feet: FloatArray
    heads: FloatArray
    stands: NDArray[np.bool_]
    tall: float
    points: FloatArray

    @property
    def share(self) -> float:
        return float(self.stands.mean())


def outlined_lines(content: Content, letters: Shapes | None = None) -> tuple[TypeLine, ...]:
    """Return the lines of type that are drawn as outlines, in painting order; `letters` are the
    content's, where they are at hand."""
    letters = letters_of(content) if letters is None else letters
    found = []
    for first, end in _rows(letters, content):
        line = _as_type(content, letters, first, end)
        if line is not None:
            found.append(line)
    return tuple(found)


def short_rows(
    content: Content, lines: Sequence[TypeLine], letters: Shapes | None = None
) -> tuple[Box, ...]:
    """Return rows of two or three shapes that may be letters, beside the lines that are type: too
    few for one to know, or to tell a size from. `letters` as for `outlined_lines`."""
    letters = letters_of(content) if letters is None else letters
    known = np.array([box for line in lines for box in line.shapes]).reshape(-1, 4)
    found = []
    for first, end in _rows(letters, content, 2):
        own = letters.take(slice(first, end))
        size = own.size
        box = Box(*own.boxes[:, :2].min(axis=0).tolist(), *own.boxes[:, 2:].max(axis=0).tolist())
        stems = stems_of(own) / size
        if end - first >= LEAST_LETTERS or (np.ptp(size) > 0.5 * size.max()):
            continue
        if not (own.corners > CORNERS).any() or own.around.sum() < 2 * WINDING * size.sum():
            continue
        walked = _outlines_of(content, own)
        points, lengths = np.concatenate(walked), [len(part) for part in walked]
        if across_of(points, lengths).one_way < FEW_ONE_WAY or bulging(points, lengths, own).all():
            continue
        alike = float(np.ptp(own.area / size**2)) < 0.02 and float(np.ptp(own.around / size)) < 0.1
        close = gaps_between(own.boxes[1:], own.boxes[:-1]) <= SHORT_GAP * size.max()
        apart = not len(known) or (gaps_between(np.array([box]), known) > 0).all()
        most = ALIKE_STEM if alike else SHORT_STEM
        if close.all() and apart and (stems >= THIN).all() and (stems <= most).all():
            found.append(box)
    return tuple(found)


def _rows(letters: Shapes, content: Content, least: int = LEAST_LETTERS) -> list[tuple[int, int]]:
    """Return where rows of letters that follow one another begin, and end."""
    count = len(letters.run)
    if count < least:
        return []
    fill = content.path_traits.fill[letters.path]
    boxes, size = letters.boxes, letters.size
    larger = np.maximum(size[1:], size[:-1])
    joined = (fill[1:] == fill[:-1]) & (np.minimum(size[1:], size[:-1]) >= LIKE * larger)
    joined &= gaps_between(boxes[1:], boxes[:-1]) <= NEAR * larger
    middles = (boxes[:, :2] + boxes[:, 2:]) / 2
    steps = np.diff(middles, axis=0)
    # Parts of one letter may lie either way; a new line begins further off.
    back = (steps[1:] * steps[:-1]).sum(axis=1) < 0
    joined[1:] &= ~(back & (gaps_between(boxes[2:], boxes[1:-1]) > RETURN * larger[1:]))
    breaks = np.flatnonzero(~joined) + 1
    bounds = np.concatenate(([0], breaks, [count]))
    long = np.flatnonzero(np.diff(bounds) >= least)
    return [(int(bounds[at]), int(bounds[at + 1])) for at in long[:MOST_ROWS].tolist()]


def _as_type(content: Content, letters: Shapes, first: int, end: int) -> TypeLine | None:
    """Return the line of type that a row of shapes is; None where it is none."""
    own = letters.take(slice(first, end))
    if np.count_nonzero(own.corners > CORNERS) < (end - first) / 2 or not _varied(own):
        return None
    middles = (own.boxes[:, :2] + own.boxes[:, 2:]) / 2
    walked = _outlines_of(content, own)
    size, lengths = median(own.size), [len(part) for part in walked]
    best: _Standing | None = None
    for framed in _frames(np.concatenate(walked), middles, size):
        stood = _stood(framed, lengths)
        if best is None or stood.share > best.share + 0.05:
            best = stood
    if best is None or len(best.feet) < LEAST_LETTERS - 1:
        return None
    stems = stems_of(own)
    tall, stem = best.tall, median(stems)
    if not THIN * tall <= stem <= BROAD * tall:
        return None
    if median(np.abs(stems - stem)) * 1.48 > STEMS * stem:
        return None
    stands = best.stands
    least = STANDING if len(stands) >= LONG else SHORT_STANDING
    if best.share < least or stands.sum() < LEAST_LETTERS - 1:
        return None
    line = median(best.feet[stands])
    tops = best.heads[stands] - line
    if _even(tops) < EVEN:
        return None
    cap, most = _capital(tops, line - best.feet)
    if not _is_of_letters(best.points, lengths, own, cap):
        return None
    box = Box(*own.boxes[:, :2].min(axis=0).tolist(), *own.boxes[:, 2:].max(axis=0).tolist())
    paths = tuple(dict.fromkeys(own.path.tolist()))
    size_pt = cap / CAP_EM / MM_PER_PT
    even = float(np.mean(np.abs(best.feet - line) <= EVEN_FEET * tall))
    squares = spans_of(best.points, lengths) if even < LEAST_EVEN else np.empty((0, 2))
    em = em_of_squares(squares, cap / CAP_EM)
    size_pt, most_pt = (size_pt, size_pt * most) if em is None else (em / MM_PER_PT, size_pt)
    shapes = tuple(Box(*one) for one in own.boxes.tolist())
    subpaths = int(own.run[0]), int(own.end[-1])
    return TypeLine(box, cap, stem, size_pt, most_pt, len(best.feet), paths, shapes, subpaths)


def _outlines_of(content: Content, own: Shapes) -> list[FloatArray]:
    points, starts, _ = content.path_outlines
    return [
        points[starts[run] : starts[past]]
        for run, past in zip(own.run.tolist(), own.end.tolist(), strict=True)
    ]


def _is_of_letters(points: FloatArray, lengths: Sequence[int], own: Shapes, cap: float) -> bool:
    """Say whether a row on a line is of letters whose tallest tell their size.

    Outlines of letters wind, and many run one way. Of letters of other scripts they lie closer
    about the line than those of capitals would, or many strokes lie one above another.
    """
    if kinds_of(own) < LEAST_KINDS or own.around.sum() < 2 * WINDING * own.size.sum():
        return False
    if bulging(points, lengths, own).mean() > MOST_BULGING:
        return False
    across = across_of(points, lengths)
    if across.one_way < ONE_WAY or across.layers >= MANY:
        return False
    return cap / CAP_EM <= across.spread / LEAST_SPREAD


def _stood(framed: FloatArray, lengths: list[int]) -> _Standing:
    """Return where letters end below and above the line, turned so that most stand on it; parts
    of a letter that lie one above the other count as one."""
    marks = (np.cumsum(lengths) - lengths).astype(np.intp)
    low, high = np.minimum.reduceat(framed, marks), np.maximum.reduceat(framed, marks)
    wide = high[:, 0] - low[:, 0]
    shared = np.minimum(high[1:, 0], high[:-1, 0]) - np.maximum(low[1:, 0], low[:-1, 0])
    same = shared > ONE_LETTER * np.minimum(wide[1:], wide[:-1])
    at = np.flatnonzero(np.concatenate(([True], ~same)))
    feet, heads = np.minimum.reduceat(low[:, 1], at), np.maximum.reduceat(high[:, 1], at)
    middle = np.add.reduceat((low[:, 0] + high[:, 0]) / 2, at) / np.diff(at, append=len(low))
    tall = median(heads - feet)
    sides = []
    for below, above in ((feet, heads), (-heads, -feet)):
        # One line fitted to what stands takes out the tilt that ascenders bring in.
        stands = _standing(below, 2 * tall)
        slope = 0.0
        if stands.sum() >= LEAST_LETTERS:
            along = middle[stands] - middle[stands].mean()
            slope = float(along @ below[stands]) / max(float(along @ along), 1e-9)
        off = slope * middle if abs(slope) <= MOST_TILT else 0.0
        tight = _standing(below - off, tall)
        sides.append(_Standing(below - off, above - off, tight, tall, framed))
    return sides[0] if sides[0].share >= sides[1].share else sides[1]


def _varied(own: Shapes) -> bool:
    """Say whether shapes differ among themselves, as the letters of words do."""
    size = own.size
    marks = zip((own.area / size**2).round(2).tolist(), (own.around / size).round(1).tolist(),
                strict=True)  # fmt: skip
    return len(set(marks)) >= max(3, VARIETY * len(size))


def _frames(points: FloatArray, middles: FloatArray, size: float) -> Iterator[FloatArray]:
    """Yield places (n, 2) along and above each line, straight and round, that the middles (m, 2)
    of letters may follow."""
    centre = middles.mean(axis=0)
    off = middles - centre
    axes = np.linalg.svd(off, full_matrices=False)[2]
    along, across = (off @ axis for axis in axes)
    reach = float(np.ptp(along))
    if reach < 1.5 * size:
        return
    if float(np.abs(across - median(across)).max()) <= MOST_OFF * size:
        yield (points - centre) @ axes.T
    if len(middles) < LEAST_ROUND:
        return
    # A circle by least squares on x² + y² (Kåsa).
    design = np.column_stack((2 * off, np.ones(len(off))))
    (x, y, rest), *_ = np.linalg.lstsq(design, (off**2).sum(axis=1), rcond=None)
    radius = float(np.sqrt(max(rest + x * x + y * y, 0.0)))
    if radius <= 0.7 * size or reach**2 / (8 * radius) < STRAIGHT * size:
        return
    if float(np.abs(np.hypot(off[:, 0] - x, off[:, 1] - y) - radius).max()) > MOST_OFF * size:
        return
    turned = points - centre - (x, y)
    start = np.angle(complex(*(off[0] - (x, y))))
    angle = np.angle(np.exp(1j * (np.arctan2(turned[:, 1], turned[:, 0]) - start)))
    yield np.column_stack((angle * radius, np.hypot(turned[:, 0], turned[:, 1]) - radius))


def _standing(feet: FloatArray, tall: float) -> NDArray[np.bool_]:
    """Say which letters stand where most do, within what round letters overshoot."""
    reach = ON_LINE * tall
    near = np.abs(feet[:, None] - feet[None, :]) <= reach
    chosen: NDArray[np.bool_] = near[int(near.sum(axis=1).argmax())]
    return chosen


def _even(tops: FloatArray) -> float:
    """Return the share of heights that lie at the two that are usual among them."""
    high = float(tops.max())
    near = np.abs(tops[:, None] - tops[None, :]) <= ON_LINE * high
    first = near[int(near.sum(axis=1).argmax())]
    rest = near & ~first[None, :] & ~first[:, None]
    second = rest[int(rest.sum(axis=1).argmax())]
    return float(np.mean(first | second))


def _capital(tops: FloatArray, under: FloatArray) -> tuple[float, float]:
    """Return the height of capitals, and what to multiply a size by for the most it may be.

    `tops` are heights above the line, `under` depths below it.
    """
    high = quantile(tops, 0.9)
    near = tops[np.abs(tops - high) <= 0.1 * high]
    high = median(near) if len(near) else float(tops.max())
    lower = np.count_nonzero((tops > 0.55 * high) & (tops < 0.87 * high))
    if lower >= max(1, 0.15 * len(tops)):
        return high, 1.0
    hanging = np.count_nonzero(under > 0.15 * high)
    if hanging >= max(1, 0.1 * len(under)):
        return high / LOWER_CAP, 1.0
    return high, 1 / LOWER_CAP
