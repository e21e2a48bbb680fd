"""Shown strings that wait to be placed: each with the state it was shown in, many at once."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import GlyphShape, Paint, TextRun
from prepcheck.art.pdf.content.clip import Clip, Flags
from prepcheck.art.pdf.content.collect import Pile
from prepcheck.art.pdf.typeface import Glyph
from prepcheck.art.quads import Quads
from prepcheck.geometry import Affine, Box, FloatArray, Point, Quad
from prepcheck.units import MM_PER_PT

FEW = 100
"""So many glyphs are placed sooner one by one: a glyph alone takes some 5 µs, and arrays some
300 µs however few (one busy core, 2026)."""
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


class Look(NamedTuple):
    """What a run of type is besides its glyphs and how large it is set; see `TextRun`."""

    text: str
    font: str
    fill: Paint | None
    stroke: Paint | None
    stroke_mm: float
    mode: int
    layer: str | None
    tight: bool
    about: bool

    def run(
        self,
        glyphs: Sequence[Quad],
        shapes: Sequence[GlyphShape | None],
        extent: Box,
        size_pt: float,
        stretch: float,
    ) -> TextRun:
        """Return the run; `shapes` has one for each glyph, or None."""
        text, font, fill, stroke, stroke_mm, mode, layer, tight, about = self
        return TextRun(
            text, font, size_pt, glyphs, fill, stroke, stroke_mm, mode, layer, tight,
            tuple(shapes) if any(shapes) else (), stretch, extent, about,
        )  # fmt: skip


class Shown(NamedTuple):
    """A string: its glyphs with ink, where along the baseline each begins in text space, how it is
    set, what clips it, how it looks, and where it is gathered."""

    glyphs: list[Glyph]
    along: list[float]
    setting: Setting
    clip: Clip
    look: Look
    pile: Pile


class WaitingText:
    """Strings shown one after the other, which `settle` places in the same order."""

    def __init__(self) -> None:
        self.shown: list[Shown] = []
        self._glyphs = 0

    def add(self, shown: Shown) -> None:
        self.shown.append(shown)
        self._glyphs += len(shown.glyphs)
        if self._glyphs > MOST:
            self.settle()

    def settle(self) -> None:
        """Place all strings that wait."""
        if not self.shown:
            return
        shown, few = self.shown[:], self._glyphs <= FEW
        self._glyphs = 0
        self.shown.clear()
        if few:
            for one in shown:
                quads = [*map(one.setting.quad, one.glyphs, one.along)]
                seen, shapes = cut(one.clip, one.glyphs, quads)
                if seen:
                    extent = Box.around(corner for quad in seen for corner in quad)
                    set_as = one.setting.type_size, one.setting.type_stretch
                    add(one.pile, one.look.run(tuple(seen), shapes, extent, *set_as))
        else:
            _gather_all(shown)


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


def add(pile: Pile, run: TextRun) -> None:
    """Add a run to those of its fate."""
    pile.texts.append(run)
    pile.painted(run.fill, run.stroke)


def _gather_all(shown: Sequence[Shown]) -> None:
    """Place many strings, with the formulas of `Setting` and `cut` in the same order."""
    settings = np.array([(*one.setting[:3], *one.setting.to_frame) for one in shown], np.float64)
    with np.errstate(all="ignore"):  # sizes without end lead out of every clip
        sizes, stretches = _sizes(settings)
        corners = _corners(shown, settings)
        boxes = np.hstack((corners.min(axis=1), corners.max(axis=1)))
        owner = np.repeat(np.arange(len(shown)), [len(one.glyphs) for one in shown])
        seen, whole = _cut(shown, owner, corners, boxes)
    corners, boxes, owner = corners[seen], boxes[seen], owner[seen]
    corners.flags.writeable = False
    kept = np.bincount(owner, minlength=len(shown))
    ends = np.cumsum(kept)
    extents = np.empty((len(shown), 4))
    some = np.flatnonzero(kept)
    if len(some):
        begin = (ends - kept)[some]
        extents[some, :2] = np.minimum.reduceat(boxes[:, :2], begin)
        extents[some, 2:] = np.maximum.reduceat(boxes[:, 2:], begin)
    outlines = chain.from_iterable((glyph.shape for glyph in one.glyphs) for one in shown)
    flags = zip(outlines, seen.tolist(), whole.tolist(), strict=True)
    shapes = [shape if as_it_is else None for shape, is_seen, as_it_is in flags if is_seen]
    columns = zip(
        shown, kept.tolist(), ends.tolist(), extents.tolist(), sizes.tolist(), stretches.tolist(),
        strict=True,
    )  # fmt: skip
    for one, count, end, extent, size, stretch in columns:
        if count:
            own = slice(end - count, end)
            quads = Quads(corners, own.start, own.stop)
            add(one.pile, one.look.run(quads, shapes[own], Box(*extent), size, stretch))


def _sizes(settings: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return for settings (n, 9) what `Setting.type_size` and `Setting.type_stretch` give."""
    size, stretch, _, a, b, c, d, _, _ = settings.T
    across, area = np.hypot(a, b), np.abs(a * d - b * c)
    upright = across == 0.0
    high = np.where(upright, np.abs(size) * np.hypot(c, d), np.abs(size * (a * d - b * c)))
    flat = area == 0.0
    wide = np.where(flat, 1.0, np.abs(stretch) * across**2)
    return high / np.where(upright, 1.0, across) / MM_PER_PT, wide / np.where(flat, 1.0, area)


def _corners(shown: Sequence[Shown], settings: FloatArray) -> FloatArray:
    """Return the corners (n, 4, 2) of all glyphs in mm, of strings set so (n, 9); see
    `Setting.quad`."""
    count = sum(len(one.glyphs) for one in shown)
    ems = np.fromiter(
        chain.from_iterable(glyph.box or () for one in shown for glyph in one.glyphs),
        np.float64, 4 * count,
    ).reshape(-1, 4)  # fmt: skip
    x = np.fromiter(chain.from_iterable(one.along for one in shown), np.float64, count)
    lengths = [len(one.glyphs) for one in shown]
    size, stretch, rise, a, b, c, d, e, f = np.repeat(settings, lengths, axis=0).T
    left, right = x + ems[:, 0] * size * stretch, x + ems[:, 2] * size * stretch
    low, high = rise + ems[:, 1] * size, rise + ems[:, 3] * size
    corners = np.empty((count, 4, 2))
    for at, (across, up) in enumerate(((left, low), (right, low), (right, high), (left, high))):
        corners[:, at, 0] = a * across + c * up + e
        corners[:, at, 1] = b * across + d * up + f
    return corners


def _cut(
    shown: Sequence[Shown], owner: NDArray[np.intp], corners: FloatArray, boxes: FloatArray
) -> tuple[Flags, Flags]:
    """Cut glyphs to the clip of their string, corners and boxes in place; return which are seen
    (n,), and which as they are."""
    numbers: dict[int, int] = {}
    which = np.array([numbers.setdefault(id(one.clip), len(numbers)) for one in shown])[owner]
    clips = {id(one.clip): one.clip for one in shown}
    seen, whole = np.zeros(len(boxes), np.bool_), np.zeros(len(boxes), np.bool_)
    for key, number in numbers.items():
        clip, rows = clips[key], np.flatnonzero(which == number)
        own = boxes[rows]
        _, seen[rows], _ = clip.cut_all(own)
        held = (own[:, :2] >= clip.box[:2]) & (own[:, 2:] <= clip.box[2:])
        whole[rows] = held.all(axis=1)
    for row in np.flatnonzero(seen & ~whole).tolist():
        quad = Quad(*(Point(*corner) for corner in corners[row].tolist()))
        cut = shown[int(owner[row])].clip.cut_quad(quad)
        if cut is None:
            seen[row] = False
        else:
            corners[row] = cut
            boxes[row] = cut.box
    return seen, whole
