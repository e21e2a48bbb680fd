"""Shown strings that wait to be placed: each with the state it was shown in, many at once."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import GlyphShape, TextRun
from prepcheck.art.pdf.content.clip import Clip, Flags
from prepcheck.art.pdf.content.collect import Pile
from prepcheck.art.pdf.typeface import Glyph
from prepcheck.art.type_table import (
    Styles,
    TypeGlyphs,
    TypeStyle,
    TypeTable,
    starts_of,
)
from prepcheck.geometry import Affine, Box, FloatArray, Point, Quad
from prepcheck.units import MM_PER_PT

FEW = 100
"""So many glyphs are placed sooner one by one: a glyph alone takes some 5 µs, and arrays some
300 µs however few (one busy core, 2026)."""
Indices = NDArray[np.intp]
T = TypeVar("T")
MOST = 20_000
"""Glyphs that wait together."""


class Setting(NamedTuple):
    """How a string is set: its size and horizontal scaling, how far it is raised, and the map from
    text space to mm."""

    size: float
    stretch: float
    rise: float
    to_frame: Affine

    def quad(self, glyph: Glyph, x: float, y: float = 0.0) -> Quad:
        """Return the place in mm of a glyph with ink that begins at x and stands on y, in text
        space."""
        size, stretch, rise, (a, b, c, d, e, f) = self
        x0, y0, x1, y1 = glyph.box or (0.0, 0.0, 0.0, 0.0)
        y += rise
        left, right = x + x0 * size * stretch, x + x1 * size * stretch
        low, high = y + y0 * size, y + y1 * size
        return Quad(
            Point(a * left + c * low + e, b * left + d * low + f),
            Point(a * right + c * low + e, b * right + d * low + f),
            Point(a * right + c * high + e, b * right + d * high + f),
            Point(a * left + c * high + e, b * left + d * high + f),
        )

    @property
    def type_size(self) -> float:
        """The size of the type in points, measured across its baseline.

        A skewed face keeps its size: what counts is the height of the em square, not its slant
        side.
        """
        size, to_frame = self.size, self.to_frame
        if to_frame.x_scale == 0.0:
            return abs(size) * to_frame.y_scale / MM_PER_PT
        return abs(size * to_frame.determinant) / to_frame.x_scale / MM_PER_PT

    @property
    def type_stretch(self) -> float:
        """The width of an em square against its height, with the text state's own horizontal
        scaling (ISO 32000-2, 9.3.4).

        As for the size, the height counts across the baseline: a slanted face is not stretched.
        """
        if not self.to_frame.determinant:
            return 1.0
        return abs(self.stretch) * self.to_frame.x_scale**2 / abs(self.to_frame.determinant)


class Shown(NamedTuple):
    """A string, wherever it is set: what it says and how it looks, its glyphs with ink, where along
    the baseline each begins in text space, what clips it, and where it is gathered."""

    text: str
    style: TypeStyle
    glyphs: list[Glyph]
    along: list[float]
    clip: Clip
    pile: Pile


class WaitingText:
    """Strings shown one after the other, which `settle` places in the same order."""

    def __init__(self) -> None:
        self.shown: list[Shown] = []
        self._settings: list[Setting] = []
        self._glyphs = 0

    def add(self, shown: Shown, setting: Setting) -> None:
        self.shown.append(shown)
        self._settings.append(setting)
        self._glyphs += len(shown.glyphs)
        if self._glyphs > MOST:
            self.settle()

    def settle(self) -> None:
        """Place all strings that wait."""
        if not self.shown:
            return
        shown, settings, few = self.shown[:], self._settings[:], self._glyphs <= FEW
        self._glyphs = 0
        self.shown.clear()
        self._settings.clear()
        if few:
            for one, setting in zip(shown, settings, strict=True):
                quads = [*map(setting.quad, one.glyphs, one.along)]
                seen, shapes = cut(one.clip, one.glyphs, quads)
                if seen:
                    set_as = setting.type_size, setting.type_stretch
                    add(one.pile, run_of(one.text, one.style, seen, shapes, *set_as))
        else:
            rows = [(*setting[:3], *setting.to_frame) for setting in settings]
            gather(shown, np.arange(len(shown)), np.array(rows, np.float64))


def cut(
    clip: Clip, glyphs: Sequence[Glyph], quads: Sequence[Quad]
) -> tuple[list[Quad], list[GlyphShape | None]]:
    """Return what a clip leaves of glyphs, and the outlines of those that it leaves as they are."""
    seen, shapes = [], []
    for quad, glyph in zip(quads, glyphs, strict=True):
        rest = clip.cut_quad(quad)
        if rest is not None:
            seen.append(rest)
            shapes.append(glyph.shape if rest is quad else None)
    return seen, shapes


def run_of(
    text: str,
    style: TypeStyle,
    glyphs: Sequence[Quad],
    shapes: Sequence[GlyphShape | None],
    size_pt: float,
    stretch: float,
) -> TextRun:
    """Return a run; `shapes` has one for each of its glyphs, or None."""
    font, fill, stroke, stroke_mm, mode, layer, tight, about = style
    extent = Box.around(corner for quad in glyphs for corner in quad)
    return TextRun(
        text, font, size_pt, tuple(glyphs), fill, stroke, stroke_mm, mode, layer, tight,
        tuple(shapes) if any(shapes) else (), stretch, extent, about,
    )  # fmt: skip


def add(pile: Pile, run: TextRun) -> None:
    """Add a run to those of its fate."""
    pile.texts.append(run)
    pile.painted(run.fill, run.stroke)


class _Glyphs(NamedTuple):
    """Glyphs of some strings end to end: boxes (n, 4) in ems, where each begins along its baseline
    (n,), and its outline's number in `shapes` (n,), -1 for none."""

    ems: FloatArray
    along: FloatArray
    shape: Indices
    shapes: tuple[GlyphShape, ...]

    @classmethod
    def of(cls, strings: Sequence[Shown]) -> _Glyphs:
        glyphs, number = _numbered([*chain.from_iterable(one.glyphs for one in strings)])
        along = chain.from_iterable(one.along for one in strings)
        boxes = [glyph.box or (0.0, 0.0, 0.0, 0.0) for glyph in glyphs]
        shapes = [glyph.shape for glyph in glyphs if glyph.shape is not None]
        has = np.array([glyph.shape is not None for glyph in glyphs], np.bool_)
        return cls(
            np.array(boxes, np.float64).reshape(-1, 4)[number],
            np.fromiter(along, np.float64, len(number)),
            np.where(has, np.cumsum(has) - 1, -1)[number],
            tuple(shapes),
        )


def gather(strings: Sequence[Shown], which: Indices, settings: FloatArray) -> None:
    """Place strings by their number (n,), each in a setting of its own (n, 9), with the formulas of
    `Setting` and `cut` in the same order."""
    every = _Glyphs.of(strings)
    lengths = np.array([len(one.glyphs) for one in strings], np.intp)
    counts = lengths[which]
    owner = np.repeat(np.arange(len(which)), counts)
    first = (np.cumsum(lengths) - lengths)[which] - (np.cumsum(counts) - counts)
    glyph = first[owner] + np.arange(len(owner))
    with np.errstate(all="ignore"):  # sizes without end lead out of every clip
        sizes, stretches = _sizes(settings)
        corners = _corners(every.ems[glyph], every.along[glyph], settings[owner])
        boxes = np.hstack((corners.min(axis=1), corners.max(axis=1)))
        seen, whole = _cut([one.clip for one in strings], which[owner], corners, boxes)
    corners, boxes, owner = corners[seen], boxes[seen], owner[seen]
    corners.flags.writeable = False
    kept = np.bincount(owner, minlength=len(which))
    ends = np.cumsum(kept)
    extents = np.empty((len(which), 4))
    some = np.flatnonzero(kept)
    if len(some):
        begin = (ends - kept)[some]
        extents[some, :2] = np.minimum.reduceat(boxes[:, :2], begin)
        extents[some, 2:] = np.maximum.reduceat(boxes[:, 2:], begin)
    shape = np.where(whole[seen], every.shape[glyph[seen]], -1)
    styles = Styles()
    looks, look = _numbered([one.style for one in strings])
    style = np.array([styles.add(one) for one in looks], np.intp)
    piles, pile = _numbered([one.pile for one in strings])
    own = which[some]
    table = TypeTable(
        [strings[at].text for at in own.tolist()],
        style[look[own]],
        styles.values,
        np.column_stack((sizes, stretches))[some],
        extents[some],
        TypeGlyphs(corners, starts_of(kept[some]), shape, every.shapes),
    )
    for number, one in enumerate(piles):
        one.add_type(table.taken(np.flatnonzero(pile[own] == number)))


def _numbered(things: Sequence[T]) -> tuple[list[T], Indices]:
    """Return objects, each once and in their order, and the number of each among them (n,)."""
    known = {id(thing): thing for thing in things}
    numbers = dict(zip(known, range(len(known)), strict=True))
    of_each = map(numbers.__getitem__, map(id, things))
    return [*known.values()], np.fromiter(of_each, np.intp, len(things))


def _sizes(settings: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return for settings (n, 9) what `Setting.type_size` and `Setting.type_stretch` give."""
    size, stretch, _, a, b, c, d, _, _ = settings.T
    across, area = np.hypot(a, b), np.abs(a * d - b * c)
    upright = across == 0.0
    high = np.where(upright, np.abs(size) * np.hypot(c, d), np.abs(size * (a * d - b * c)))
    flat = area == 0.0
    wide = np.where(flat, 1.0, np.abs(stretch) * across**2)
    return high / np.where(upright, 1.0, across) / MM_PER_PT, wide / np.where(flat, 1.0, area)


def _corners(ems: FloatArray, x: FloatArray, settings: FloatArray) -> FloatArray:
    """Return the corners (n, 4, 2) in mm of glyphs with boxes (n, 4) in ems, which begin at x (n,)
    and are set so (n, 9); see `Setting.quad`."""
    size, stretch, rise, a, b, c, d, e, f = settings.T
    left, right = x + ems[:, 0] * size * stretch, x + ems[:, 2] * size * stretch
    low, high = rise + ems[:, 1] * size, rise + ems[:, 3] * size
    corners = np.empty((len(x), 4, 2))
    for at, (across, up) in enumerate(((left, low), (right, low), (right, high), (left, high))):
        corners[:, at, 0] = a * across + c * up + e
        corners[:, at, 1] = b * across + d * up + f
    return corners


def _cut(
    clips: Sequence[Clip], which: Indices, corners: FloatArray, boxes: FloatArray
) -> tuple[Flags, Flags]:
    """Cut glyphs to the clip of their string by its number (n,), corners and boxes in place; return
    which are seen (n,), and which as they are."""
    every, number_of = _numbered(clips)
    own_clip = number_of[which]
    seen, whole = np.zeros(len(boxes), np.bool_), np.zeros(len(boxes), np.bool_)
    for number, clip in enumerate(every):
        rows = np.flatnonzero(own_clip == number)
        own = boxes[rows]
        _, seen[rows], _ = clip.cut_all(own)
        held = (own[:, :2] >= clip.box[:2]) & (own[:, 2:] <= clip.box[2:])
        whole[rows] = held.all(axis=1)
    for row in np.flatnonzero(seen & ~whole).tolist():
        quad = Quad(*(Point(*corner) for corner in corners[row].tolist()))
        cut = clips[int(which[row])].cut_quad(quad)
        if cut is None:
            seen[row] = False
        else:
            corners[row] = cut
            boxes[row] = cut.box
    return seen, whole
