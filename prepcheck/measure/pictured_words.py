"""Words in pictures: letters of one colour in a row, on whatever lies beneath them.

A word set on a photograph that was flattened has edges like the photograph's own, which run into
one another. What tells it is that each letter is one even colour with a hard edge all round, and
that its neighbours have the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import Box, FloatArray, Point
from prepcheck.measure.components import label
from prepcheck.measure.edges import LiveEdge
from prepcheck.measure.rim import STEP_MM, Rim
from prepcheck.press.view import View

FINE_MM, FINE = 0.0625, 0.75
"""Distance of samples, across the rim and along it: three to a thin stem; no finer than such a
share of the view's own."""
EDGE_MM = 0.09
"""From the last even sample of a letter to its edge."""
AT_ONCE, OVERLAPPING = 4000, 300
"""Places of a rim that are looked at together, and how many of them again with the next ones."""
PAST_MM = 3.0
"""How far outside the trim letters are looked at."""
BEYOND_MM = 6.0
"""How much deeper than the room that is asked for letters are looked at."""
EVEN = 12
"""Levels of 255 by which red, green and blue change from sample to sample within a letter at most;
what JPEG leaves is less, an edge is more."""
ONE_COLOUR = 9.0
"""Deviation within a letter, in levels."""
STRONG, ROUND = 60.0, 0.8
"""All round a letter, for such a share of its edge, it looks otherwise by so many levels."""
AWAY = (3, 5, 7)
"""Samples from a letter's last one to what lies beside it."""
LEAST_SAMPLES = 14
LEAST_MM, LARGEST_MM = 0.5, 12.0
LETTERS = 3
CLOSE_MM, CLOSE, WIDE = 0.2, 0.3, 0.38
"""Letters of a word lie no further apart than this and such a share of the larger one's size, or of
one set wide; what surrounds words that are set closely would join them there."""
BESIDE_MM = 2.0
SAME, LIKE = 16.0, 3.0
"""Levels by which colours of letters differ at most, and how much larger one may be."""
FLATTEST = 0.35
"""How far a row may leave its line, against its length."""
ABOUT_MM, ABOUT = 6.0, 32.0
"""So near a word, shapes whose colours differ from its by no more levels are letters of words: more
others than it has letters are the marks of a texture that it is part of."""
SECTIONS, MOST_SECTIONS = 24, 0.6
"""Where shapes of one colour stand in such a share of the parts of a rim, they are a texture."""
CROWDED = 2.5
"""Side by side, the letters of a word are no longer than so many times the word: more of them lie
over one another, as marks of a texture do."""
VARIED = 0.12
"""Letters differ in the area of their boxes by this share; dots in a row do not."""
MOST_TIMES = 4.0
"""Nor is the largest letter of a word so many times as large as the smallest; what runs together of
marks is, step by step."""
SAME_SHAPE, MOST_SAME = 0.1, 0.6
"""Marks are one shape again and again: their boxes' proportions, and the share of these that they
fill, differ by so little at such a share of them, and at three at least; letters' do not."""
GROWING = 0.06
"""Nor do they lie by such a share about how dots in a row grow from one to the next."""


class _Letters(NamedTuple):
    """Shapes of one colour: their boxes in mm (n, 4), colours (n, 3), numbers in the strip (n,)."""

    boxes: FloatArray
    colours: FloatArray
    number: NDArray[np.intp]
    rows: FloatArray
    """The middle row of each."""
    filled: FloatArray
    """The share of its box that each fills."""


class _Word(NamedTuple):
    """A word, its colour (3,) and the boxes of its letters (n, 4)."""

    edge: LiveEdge
    colour: FloatArray
    boxes: FloatArray


def pictured_words(
    view: View, rim: Rim, ignored: NDArray[np.bool_] | None = None
) -> tuple[LiveEdge, ...]:
    """Return words that are seen within a rim's depth, one edge each.

    `ignored` is a mask over the view's pixels (rows, columns) that is left out, where live type
    and drawn things are measured exactly.
    """
    step = max(FINE_MM, FINE * view.grid.pitch)
    points, into = _finer(rim, step)
    past = rim.past_mm if rim.is_hole else PAST_MM
    distances = np.arange(-past, rim.depth_mm + BEYOND_MM, step)
    words: list[_Word] = []
    colours, sections = [np.empty((0, 3))], [np.empty(0)]
    for first in range(0, len(points), AT_ONCE - OVERLAPPING):
        part = np.arange(first, min(first + AT_ONCE, len(points) + OVERLAPPING)) % len(points)
        places = points[part, None] + distances[:, None] * into[part, None]
        letters, found = _seen(view, rim, places, ignored)
        colours.append(letters.colours)
        sections.append((first + letters.rows) // (len(points) / SECTIONS) % SECTIONS)
        words += (w for w in found if not any(o.edge.box.overlap(w.edge.box) for o in words))
    every, where = np.concatenate(colours), np.concatenate(sections)
    words = [word for word in words if not _all_over(word, every, where)]
    if rim.is_hole:
        words = _across(words, rim.points.mean(axis=0))
    return tuple(word.edge for word in words)


def _across(words: list[_Word], middle: FloatArray) -> list[_Word]:
    """Return words beside a hole about a place, those on one line on both sides of it as one."""
    found: list[_Word] = []
    for word in words:
        at = next((n for n, one in enumerate(found) if _are_one(one, word, middle)), None)
        if at is None:
            found.append(word)
            continue
        other = found[at]
        nearest = min(other.edge, word.edge, key=lambda edge: edge.clearance_mm)
        edge = nearest._replace(path=(*other.edge.path, *word.edge.path))
        found[at] = _Word(edge, other.colour, np.concatenate((other.boxes, word.boxes)))
    return found


def _are_one(one: _Word, other: _Word, middle: FloatArray) -> bool:
    """Say whether two words beside a hole about a place are one: of one colour, on one line, on two
    sides of it, and drilled into; on many labels words stand on both sides, clear of it."""
    if min(one.edge.clearance_mm, other.edge.clearance_mm) >= 0:
        return False
    if np.abs(one.colour - other.colour).max() > SAME:
        return False
    ways = [(w.boxes[:, :2] + w.boxes[:, 2:]).mean(axis=0) / 2 - middle for w in (one, other)]
    if ways[0] @ ways[1] >= 0:
        return False
    return bool(_on_line(one.boxes, other.boxes).all() or _on_line(other.boxes, one.boxes).all())


def _all_over(word: _Word, colours: FloatArray, sections: FloatArray) -> bool:
    """Say whether shapes of a word's colour stand nearly all along the rim, as a texture's do."""
    alike = np.abs(colours - word.colour).max(axis=1) <= SAME
    return len(np.unique(sections[alike])) >= MOST_SECTIONS * SECTIONS


def _seen(
    view: View, rim: Rim, places: FloatArray, ignored: NDArray[np.bool_] | None
) -> tuple[_Letters, list[_Word]]:
    """Return what may be letters, and the words, at places (rows, columns, 2) along a part of a
    rim."""
    column, row = np.moveaxis(np.floor(view.grid.pixels(places)).astype(np.intp), 2, 0)
    np.clip(row, 0, view.grid.height - 1, out=row)
    np.clip(column, 0, view.grid.width - 1, out=column)
    rgb = view.rgb[row, column].astype(np.int16)
    joined = np.hypot(*np.diff(places[:, 0], axis=0).T) < 3 * STEP_MM
    shapes = label(_even(rgb), np.append(joined, False))
    letters = _letters(rgb, shapes, places)
    words = []
    found = list(_words(letters, CLOSE))
    held = set(chain.from_iterable(found))
    found += (word for word in _words(letters, WIDE) if held.isdisjoint(word))
    for word in _without_textures(letters, found):
        cells = np.isin(shapes, letters.number[word])
        if ignored is not None and ignored[row[cells], column[cells]].any():
            continue
        own = places[cells]
        room = rim.room(own) - EDGE_MM
        near = room < rim.depth_mm
        if near.any():
            best = int(room.argmin())
            path = tuple(Point(x, y) for x, y in own[near].tolist())
            edge = LiveEdge(float(room[best]), Point(*own[best].tolist()), path, 0.0, "word")
            colour = np.median(letters.colours[word], axis=0)
            words.append(_Word(edge, colour, letters.boxes[word]))
    return letters, words


def _finer(rim: Rim, step: float) -> tuple[FloatArray, FloatArray]:
    """Return places and ways of a rim, close enough to one another that as far in as letters are
    looked at nothing is passed over."""
    after = np.roll(np.arange(len(rim.points)), -1)
    far = np.hypot(*(rim.points[after] - rim.points).T) < 3 * STEP_MM
    parts = max(1, round(STEP_MM / step)) * (2 if rim.is_hole and rim.cuts else 1)
    points, into = [], []
    for part in range(parts):
        share = np.where(far, part / parts, 0.0)[:, None]
        points.append(rim.points + share * (rim.points[after] - rim.points))
        ways = rim.into + share * (rim.into[after] - rim.into)
        into.append(ways / np.hypot(ways[:, 0], ways[:, 1])[:, None])
    return np.stack(points, axis=1).reshape(-1, 2), np.stack(into, axis=1).reshape(-1, 2)


def _even(rgb: NDArray[np.int16]) -> NDArray[np.bool_]:
    """Say where the look stays the same from a sample to the next ones."""
    even = np.ones(rgb.shape[:2], bool)
    for channel in range(3):
        even[:-1] &= np.abs(np.diff(rgb[..., channel], axis=0)) <= EVEN
        even[:, :-1] &= np.abs(np.diff(rgb[..., channel], axis=1)) <= EVEN
    return even


def _letters(rgb: NDArray[np.int16], shapes: NDArray[np.int64], places: FloatArray) -> _Letters:
    """Return the shapes that may be letters."""
    samples = np.bincount(shapes[shapes >= 0])
    count = len(samples)
    may = (samples >= LEAST_SAMPLES) & (samples <= (LARGEST_MM / FINE_MM) ** 2)
    # What goes on beyond what is looked at is a stripe as well as a letter.
    for side in (shapes[:, 0], shapes[:, -1], shapes[0], shapes[-1]):
        may[side[side >= 0]] = False
    held = (shapes >= 0) & np.append(may, False)[shapes]
    of, own = shapes[held], places[held]
    low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    for axis in (0, 1):
        np.minimum.at(low[:, axis], of, own[:, axis])
        np.maximum.at(high[:, axis], of, own[:, axis])
    size = np.where(may, (high - low).max(axis=1, where=may[:, None], initial=0.0), 0.0)
    may &= (size >= LEAST_MM) & (size <= LARGEST_MM)
    total = np.maximum(samples, 1)
    colours = np.zeros((count, 3))
    for channel in range(3):
        levels = rgb[held][:, channel].astype(np.float64)
        mean = np.bincount(of, levels, count) / total
        spread = np.bincount(of, levels**2, count) / total - mean**2
        may &= spread <= ONE_COLOUR**2
        colours[:, channel] = mean
    may &= _stand_out(rgb, shapes, colours, may) >= ROUND
    # Where the rim closes a shape is met at both ends.
    chosen = np.flatnonzero(may)
    middles = np.rint((low[chosen] + high[chosen]) / (4 * FINE_MM)).astype(np.int64)
    chosen = chosen[np.sort(np.unique(middles, axis=0, return_index=True)[1])]
    rows = np.bincount(of, np.nonzero(held)[0], count)[chosen] / samples[chosen]
    boxes = np.hstack((low, high))[chosen]
    area = np.bincount(of, _areas(places, *np.nonzero(held)), count)[chosen]
    # A shape may be a single row of samples.
    filled = area / np.maximum(boxes[:, 2:] - boxes[:, :2], FINE_MM).prod(axis=1)
    return _Letters(boxes, colours[chosen], chosen, rows, filled)


def _areas(places: FloatArray, row: NDArray[np.intp], column: NDArray[np.intp]) -> FloatArray:
    """Return the area in mm² that each of some samples stands for; none lies at a side."""
    own = places[row, column]
    down, on = places[row + 1, column] - own, places[row, column + 1] - own
    return np.abs(down[:, 0] * on[:, 1] - down[:, 1] * on[:, 0])


def _stand_out(
    rgb: NDArray[np.int16],
    shapes: NDArray[np.int64],
    colours: FloatArray,
    may: NDArray[np.bool_],
) -> FloatArray:
    """Return the share of a shape's edge beyond which it looks otherwise."""
    strong, total = np.zeros(len(colours)), np.zeros(len(colours))
    rows, columns = np.nonzero((shapes >= 0) & np.append(may, False)[shapes])
    own = shapes[rows, columns]
    for down, on in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        ahead = _clipped(shapes, rows + down, columns + on)
        row, column, of = (at[ahead != own] for at in (rows, columns, own))
        apart = np.zeros(len(of))
        for step in AWAY:
            look = _clipped(rgb, row + step * down, column + step * on)
            np.maximum(apart, np.abs(look - colours[of]).max(axis=1), out=apart)
        total += np.bincount(of, minlength=len(colours))
        strong += np.bincount(of, apart >= STRONG, len(colours))
    return np.asarray(strong / np.maximum(total, 1))


def _clipped(
    values: NDArray[Any], rows: NDArray[np.intp], columns: NDArray[np.intp]
) -> NDArray[Any]:
    """Return values at rows and columns, those beyond the sides as at the sides."""
    high, wide = values.shape[:2]
    found: NDArray[Any] = values[np.clip(rows, 0, high - 1), np.clip(columns, 0, wide - 1)]
    return found


def _words(letters: _Letters, close: float) -> Iterator[list[int]]:
    """Yield the letters, by their place, of each word, of which they lie no further apart than such
    a share of their size."""
    boxes, size = letters.boxes, (letters.boxes[:, 2:] - letters.boxes[:, :2]).max(axis=1)
    waiting = set(range(len(size)))
    while waiting:
        group, ahead = [], [waiting.pop()]
        while ahead:
            one = ahead.pop()
            group.append(one)
            rest = np.array(sorted(waiting), np.intp)
            if not len(rest):
                break
            gap = np.maximum(boxes[rest, :2] - boxes[one, 2:], boxes[one, :2] - boxes[rest, 2:])
            larger = np.maximum(size[rest], size[one])
            near = gap.max(axis=1) <= CLOSE_MM + close * larger
            near &= larger <= LIKE * np.minimum(size[rest], size[one])
            near &= np.abs(letters.colours[rest] - letters.colours[one]).max(axis=1) <= SAME
            ahead += rest[near].tolist()
            waiting -= set(rest[near].tolist())
        group += ahead
        if _reads(letters, group):
            yield group


def _without_textures(letters: _Letters, words: list[list[int]]) -> Iterator[list[int]]:
    """Yield words, by their letters, without those that are rows in a field of marks."""
    rest = np.ones(len(letters.boxes), np.bool_)
    for word in words:
        rest[word] = False
    boxes, colours = letters.boxes[rest], letters.colours[rest]
    for word in words:
        own = letters.boxes[word]
        low, high = own[:, :2].min(axis=0) - ABOUT_MM, own[:, 2:].max(axis=0) + ABOUT_MM
        about = ((boxes[:, 2:] >= low) & (boxes[:, :2] <= high)).all(axis=1)
        colour = np.median(letters.colours[word], axis=0)
        about &= np.abs(colours - colour).max(axis=1) <= ABOUT
        about &= ~_on_line(own, boxes)
        if np.count_nonzero(about) <= len(word):
            yield word


def _on_line(word: FloatArray, boxes: FloatArray) -> NDArray[np.bool_]:
    """Say which boxes (n, 4) stand on the line of a word of boxes (m, 4): what a line of type holds
    besides may have come apart, so that its letters do not hang together."""
    middles = (word[:, :2] + word[:, 2:]) / 2
    centre = middles.mean(axis=0)
    up = np.linalg.svd(middles - centre, full_matrices=False)[2][1]
    reach = (word[:, 2:] - word[:, :2]) @ np.abs(up) / 2
    tall = float(np.abs((middles - centre) @ up).max() + reach.max())
    own = (boxes[:, :2] + boxes[:, 2:]) / 2 - centre
    return np.asarray(np.abs(own @ up) <= tall)


def _reads(letters: _Letters, group: list[int]) -> bool:
    if len(group) < LETTERS:
        return False
    boxes = letters.boxes[group]
    middles = (boxes[:, :2] + boxes[:, 2:]) / 2
    spread = np.linalg.svd(middles - middles.mean(axis=0), compute_uv=False)
    sizes = boxes[:, 2:] - boxes[:, :2]
    long = np.hypot(*(boxes[:, 2:].max(axis=0) - boxes[:, :2].min(axis=0)))
    if sizes.max(axis=1).sum() > CROWDED * long:
        return False
    if sizes.max() > MOST_TIMES * sizes.max(axis=1).min() or _repeats(sizes, letters.filled[group]):
        return False
    area = np.maximum(sizes, FINE_MM).prod(axis=1)
    varied = area.std() >= VARIED * area.mean() and _uneven(middles, area) >= GROWING
    return bool(varied and spread[1] <= FLATTEST * spread[0])


def _repeats(sizes: FloatArray, filled: FloatArray) -> bool:
    """Say whether most shapes are one and the same, larger or smaller, by the sizes of their boxes
    (n, 2) and how far they fill these (n,)."""
    wide, high = np.maximum(sizes, FINE_MM).T
    looks = np.log(np.column_stack((wide / high, np.maximum(filled, FINE_MM))))
    alike = (np.abs(looks[:, None] - looks) <= SAME_SHAPE).all(axis=2).sum(axis=1).max()
    return bool(alike >= max(LETTERS, MOST_SAME * len(filled)))


def _uneven(middles: FloatArray, area: FloatArray) -> float:
    """Return by which share areas (n,) of shapes in a row lie about a line through them."""
    off = middles - middles.mean(axis=0)
    along = off @ np.linalg.svd(off, full_matrices=False)[2][0]
    share = area / area.mean() - 1
    rest = share - along * (along @ share) / max(float(along @ along), 1e-9)
    return float(np.sqrt((rest @ rest) / max(len(area) - 2, 1)))


def without_those_of(
    edges: tuple[LiveEdge, ...], words: tuple[LiveEdge, ...]
) -> tuple[LiveEdge, ...]:
    """Return edges without those that lie in words, or close beside as the letters do that could
    not be told."""
    boxes: list[Box] = [word.box.grown(BESIDE_MM) for word in words]
    return tuple(e for e in edges if not any(box.holds(e.box) for box in boxes))
