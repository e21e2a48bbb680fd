"""Text objects and operators (ISO 32000-2, 9.4): where each glyph comes to lie."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Protocol

from prepcheck.art.model import GlyphShape, Paint, TextRun
from prepcheck.art.pdf.content.operators import (
    CLIPPING_MODES,
    FILLED_MODES,
    INVISIBLE_MODES,
    STROKED_MODES,
)
from prepcheck.art.pdf.content.paths import stroke_width
from prepcheck.art.pdf.content.state import State, TextPlace
from prepcheck.art.pdf.tokens import Name, Operation, operands
from prepcheck.art.pdf.typeface import Font, Glyph
from prepcheck.errors import ObjectError
from prepcheck.geometry import Affine, Box, Point, Quad
from prepcheck.units import MM_PER_PT

Handler = Callable[[Operation], None]


class TextHost(Protocol):
    """What a text object needs of the interpreter it stands in."""

    state: State

    def numbers(self, raw: bytes, count: int) -> list[float]: ...
    def find_font(self, name: Name) -> Font | None: ...
    def trouble(self, sentence: str) -> None: ...
    def spend(self, steps: int) -> None: ...
    def fill_paint(self, place: Box | None) -> Paint: ...
    def stroke_paint(self, place: Box | None) -> Paint: ...
    def add_text(self, run: TextRun, invisible: bool) -> None: ...
    def show_procedure(self, font: Font, glyph: Glyph, matrix: Affine) -> Box | None: ...

    @property
    def layer(self) -> str | None: ...


class TextObject:
    """The text operators, and the matrices and the clip of the text object under way."""

    def __init__(self, host: TextHost) -> None:
        self.host = host
        self.place = TextPlace()
        self._clip: list[Box] | None = None
        self._fonts: dict[bytes, tuple[Font | None, float]] = {}
        """What was chosen by the same operands before."""

    def handlers(self) -> dict[bytes, Handler]:
        """Return the method of each text operator."""
        return {
            b"BT": self._begin, b"ET": self._end, b"Tm": self._set_matrix, b"Td": self._move,
            b"TD": self._move_leading, b"T*": self._next_line, b"TL": self._set_leading,
            b"Tc": self._set_character_spacing, b"Tw": self._set_word_spacing,
            b"Tz": self._set_stretch, b"Ts": self._set_rise, b"Tr": self._set_mode,
            b"Tf": self._set_font, b"Tj": self._show, b"TJ": self._show_spaced,
            b"'": self._show_on_next_line, b'"': self._show_with_spacing,
        }  # fmt: skip

    def _begin(self, _: Operation) -> None:
        self.place.set(Affine.identity())
        self._clip = None

    def _end(self, _: Operation) -> None:
        if self._clip is not None:
            state = self.host.state
            box = self._clip[0] if self._clip else Box(1.0, 1.0, 0.0, 0.0)
            for other in self._clip[1:]:
                box = box.union(other)
            state.clip = state.clip.to_box(box)
            self._clip = None

    def _set_matrix(self, step: Operation) -> None:
        self.place.set(Affine(*self.host.numbers(step.raw, 6)))

    def _move(self, step: Operation) -> None:
        self.place.next_line(*self.host.numbers(step.raw, 2))

    def _move_leading(self, step: Operation) -> None:
        x, y = self.host.numbers(step.raw, 2)
        self.host.state.leading = -y
        self.place.next_line(x, y)

    def _next_line(self, _: Operation) -> None:
        self.place.next_line(0.0, -self.host.state.leading)

    def _set_leading(self, step: Operation) -> None:
        (self.host.state.leading,) = self.host.numbers(step.raw, 1)

    def _set_character_spacing(self, step: Operation) -> None:
        (self.host.state.character_spacing,) = self.host.numbers(step.raw, 1)

    def _set_word_spacing(self, step: Operation) -> None:
        (self.host.state.word_spacing,) = self.host.numbers(step.raw, 1)

    def _set_stretch(self, step: Operation) -> None:
        self.host.state.stretch = self.host.numbers(step.raw, 1)[0] / 100

    def _set_rise(self, step: Operation) -> None:
        (self.host.state.rise,) = self.host.numbers(step.raw, 1)

    def _set_mode(self, step: Operation) -> None:
        mode = int(self.host.numbers(step.raw, 1)[0])
        if mode not in range(8):
            raise ObjectError("a text render mode that is none")
        self.host.state.mode = mode

    def _set_font(self, step: Operation) -> None:
        found = self._fonts.get(step.raw)
        if found is None:
            match operands(step.raw)[-2:]:
                case [Name() as name, float() as size]:
                    found = self._fonts[step.raw] = self.host.find_font(name), size
                case _:
                    raise ObjectError("a font without name or size")
        self.host.state.font, self.host.state.font_size = found

    def _show(self, step: Operation) -> None:
        self.show([value for value in operands(step.raw)[-1:] if isinstance(value, bytes)])

    def _show_spaced(self, step: Operation) -> None:
        values = operands(step.raw)
        parts = values[-1] if values and isinstance(values[-1], list) else values
        self.show([part for part in parts if isinstance(part, bytes | float)])

    def _show_on_next_line(self, step: Operation) -> None:
        self._next_line(step)
        self._show(step)

    def _show_with_spacing(self, step: Operation) -> None:
        match operands(step.raw)[-3:-1]:
            case [float() as word, float() as character]:
                state = self.host.state
                state.word_spacing, state.character_spacing = word, character
                self._show_on_next_line(step)
            case _:
                raise ObjectError("text without its two spacings")

    def show(self, parts: Sequence[bytes | float]) -> None:
        """Show strings with adjustments between them (thousandths of the font size)."""
        host, state = self.host, self.host.state
        font = state.font
        if font is None:
            host.trouble("text is shown without a font that can be read; it was left out")
            return
        size, stretch = state.font_size, state.stretch
        to_frame = self.place.matrix.then(state.ctm)
        quads: list[Quad] = []
        signs: list[tuple[str, Quad]] = []
        shapes: list[GlyphShape | None] = []
        text: list[str] = []
        along, drawn = 0.0, False
        for part in parts:
            if isinstance(part, float):
                along -= part / 1000 * size * (1.0 if font.vertical else stretch)
                continue
            glyphs = font.glyphs(part)
            host.spend(len(glyphs))
            for glyph in glyphs:
                text.append(glyph.text)
                step = glyph.width * size + state.character_spacing
                if glyph.is_space:
                    step += state.word_spacing
                if font.vertical:
                    x, y = -glyph.origin[0] * size * stretch, along - glyph.origin[1] * size
                else:
                    x, y = along, 0.0
                    step *= stretch
                drawn = drawn or glyph.procedure is not None
                quad = self._quad(font, glyph, to_frame, x, y + state.rise)
                if quad is not None:
                    quads.append(quad)
                    shapes.append(glyph.shape)
                    if glyph.procedure is not None:
                        signs.append((glyph.text, quad))
                along += step
        # What glyphs drawn by procedures look like unstretched, their font does not tell.
        wide = 1.0 if drawn else type_stretch(stretch, to_frame)
        size_pt = type_size(size, to_frame)
        if signs:
            size_pt = size_by_glyphs(signs, to_frame)
        self._emit(font, "".join(text), quads, shapes, size_pt, wide, about=bool(signs))
        self.place.advance(*((0.0, along) if font.vertical else (along, 0.0)))

    def _quad(self, font: Font, glyph: Glyph, to_frame: Affine, x: float, y: float) -> Quad | None:
        state = self.host.state
        size, stretch = state.font_size, state.stretch
        if glyph.procedure is not None:
            em = Affine(size * stretch, 0.0, 0.0, size, x, y).then(to_frame)
            seen = self.host.show_procedure(font, glyph, em)
            return None if seen is None else Quad(*seen.corners)
        if glyph.box is None:
            return None
        x0, y0, x1, y1 = glyph.box
        a, b, c, d, e, f = to_frame
        left, right = x + x0 * size * stretch, x + x1 * size * stretch
        low, high = y + y0 * size, y + y1 * size
        return Quad(
            Point(a * left + c * low + e, b * left + d * low + f),
            Point(a * right + c * low + e, b * right + d * low + f),
            Point(a * right + c * high + e, b * right + d * high + f),
            Point(a * left + c * high + e, b * left + d * high + f),
        )

    def _emit(
        self,
        font: Font,
        text: str,
        quads: list[Quad],
        shapes: list[GlyphShape | None],
        size_pt: float,
        stretch: float,
        *,
        about: bool,
    ) -> None:
        host, state = self.host, self.host.state
        mode = state.mode
        if mode in CLIPPING_MODES:
            self._clip = [] if self._clip is None else self._clip
            self._clip += [quad.box for quad in quads]
        seen, outlines = [], []
        for quad, shape in zip(quads, shapes, strict=True):
            cut = state.clip.cut_quad(quad)
            if cut is not None:
                seen.append(cut)
                outlines.append(shape if cut is quad else None)
        if not seen:
            return
        place = Box.around(corner for quad in seen for corner in quad)
        invisible = mode in INVISIBLE_MODES
        shown = None if invisible else place
        run = TextRun(
            text=text,
            font=font.name,
            size_pt=size_pt,
            glyphs=tuple(seen),
            fill=host.fill_paint(shown) if mode in FILLED_MODES else None,
            stroke=host.stroke_paint(shown) if mode in STROKED_MODES else None,
            stroke_mm=(stroke_width(state.ctm, state.line_width) if mode in STROKED_MODES else 0.0),
            mode=mode,
            layer=host.layer,
            tight=font.tight,
            shapes=tuple(outlines) if any(outlines) else (),
            stretch=stretch,
            extent=place,
            about=about,
        )
        host.add_text(run, invisible)


def type_size(font_size: float, to_frame: Affine) -> float:
    """Return the size in points of type set at `font_size`, measured across its baseline.

    A skewed face keeps its size: what counts is the height of the em square, not its slant side.
    """
    if to_frame.x_scale == 0.0:
        return abs(font_size) * to_frame.y_scale / MM_PER_PT
    return abs(font_size * to_frame.determinant) / to_frame.x_scale / MM_PER_PT


def type_stretch(stretch: float, to_frame: Affine) -> float:
    """Return the width of an em square against its height, `stretch` being the text state's own
    horizontal scaling (ISO 32000-2, 9.3.4).

    As for the size, the height counts across the baseline: a slanted face is not stretched.
    """
    if not to_frame.determinant:
        return 1.0
    return abs(stretch) * to_frame.x_scale**2 / abs(to_frame.determinant)


CAP_EM, LOWER_EM = 0.7, 0.5
"""Height in ems of capitals, figures and letters with an ascender or a descender, and of other
lower case, as most faces have it: common practice, no source."""


def size_by_glyphs(signs: Sequence[tuple[str, Quad]], to_frame: Affine) -> float:
    """Return the size in points, about, of glyphs whose boxes in mm are known, each with what it
    says: what a procedure calls an em may be anything.
    """
    known, tallest = [], 0.0
    for text, quad in signs:
        high = _height(quad.box, to_frame)
        tallest = max(tallest, high)
        if text.isalnum():
            low = text.islower() and all(letter in "acemnorsuvwxz" for letter in text)
            known.append(high / (LOWER_EM if low else CAP_EM))
    if not known:
        return tallest / CAP_EM / MM_PER_PT
    known.sort()
    return known[len(known) // 2] / MM_PER_PT


def _height(box: Box, to_frame: Affine) -> float:
    """Return how high a thing stands on its baseline whose upright box is known."""
    along = math.hypot(to_frame.a, to_frame.b)
    if along == 0.0:
        return box.height
    c, s = abs(to_frame.a) / along, abs(to_frame.b) / along
    if abs(c - s) > 0.3:
        high = (box.height * c - box.width * s) / (c * c - s * s)
        if 0.0 < high <= math.hypot(box.width, box.height):
            return high
    # Turned by half a right angle the box is as wide as high: letters are wider than half as high.
    return (box.width + box.height) / (1.75 * (c + s))
