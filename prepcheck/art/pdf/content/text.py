"""Text objects and operators (ISO 32000-2, 9.4): where each glyph comes to lie."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import accumulate, repeat
from typing import NamedTuple, Protocol

import numpy as np

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.model import Paint
from prepcheck.art.pdf.content.collect import Pile
from prepcheck.art.pdf.content.context import Listener
from prepcheck.art.pdf.content.decimals import decimals
from prepcheck.art.pdf.content.operators import (
    CLIPPING_MODES,
    FILLED_MODES,
    INVISIBLE_MODES,
    STROKED_MODES,
)
from prepcheck.art.pdf.content.paths import stroke_width
from prepcheck.art.pdf.content.shown import (
    FEW,
    Setting,
    Shown,
    WaitingText,
    add,
    cut,
    gather,
    run_of,
)
from prepcheck.art.pdf.content.state import State, TextPlace
from prepcheck.art.pdf.tokens import Name, Operation, PlainType, last_numbers, operands
from prepcheck.art.pdf.typeface import Font, Glyph, ProcedureFont
from prepcheck.art.type_table import TypeStyle
from prepcheck.errors import ObjectError
from prepcheck.geometry import Affine, Box, FloatArray, Quad
from prepcheck.units import MM_PER_PT

Handler = Callable[[Operation], None]

_UNMOVED = Affine.identity()


class TextHost(Protocol):
    """What a text object needs of the interpreter it stands in."""

    state: State
    texts: WaitingText
    listener: Listener | None

    def find_font(self, name: Name) -> Font | None: ...
    def trouble(self, sentence: str) -> None: ...
    def spend(self, steps: int) -> None: ...
    def fill_paint(self, place: Box | None) -> Paint: ...
    def stroke_paint(self, place: Box | None) -> Paint: ...
    def flat_paints(
        self, filled: bool, stroked: bool
    ) -> tuple[Paint | None, Paint | None] | None: ...
    def text_pile(self, invisible: bool, *paints: Paint | None) -> Pile: ...
    def settle(self) -> None: ...
    def show_procedure(self, font: Font, glyph: Glyph, matrix: Affine) -> Box | None: ...

    @property
    def layer(self) -> str | None: ...


class _Line(NamedTuple):
    """What strings say, the glyphs in them that may mark, where along the line each of these begins
    in text space, where the last ends, and the number of all glyphs."""

    text: str
    glyphs: list[Glyph]
    starts: list[float]
    end: float
    size: int


SHORT, MOST_LETTERS = 2, 5_000
"""Bytes of a string that is likely to come again, and how many of those are kept."""
GLYPHS_AT_ONCE = 1000
"""Glyphs that are counted together."""


class TextObject:
    """The text operators, and the matrices and the clip of the text object under way."""

    def __init__(self, host: TextHost) -> None:
        self.host = host
        self.place = TextPlace()
        self._clip: list[Box] | None = None
        self._fonts: dict[bytes, tuple[Font | None, float]] = {}
        """What was chosen by the same operands before."""
        self._letters: dict[tuple[object, ...], _Line] = {}
        """Short strings laid before, by all that this depends on: 20,000 letters set one by one
        are followed in a tenth less time (one busy core, 2026)."""
        self.unspent = 0
        """Glyphs that are not counted yet."""
        self._in_steps = 0
        """Up to where the stream is followed step by step."""

    def _begin(self, _: Operation) -> None:
        self.place.set(_UNMOVED)
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
        self.place.set(Affine(*last_numbers(step.raw, 6)))

    def _move(self, step: Operation) -> None:
        self.place.next_line(*last_numbers(step.raw, 2))

    def _move_leading(self, step: Operation) -> None:
        x, y = last_numbers(step.raw, 2)
        self.host.state.leading = -y
        self.place.next_line(x, y)

    def _next_line(self, _: Operation) -> None:
        self.place.next_line(0.0, -self.host.state.leading)

    def _set_leading(self, step: Operation) -> None:
        (self.host.state.leading,) = last_numbers(step.raw, 1)

    def _set_character_spacing(self, step: Operation) -> None:
        (self.host.state.character_spacing,) = last_numbers(step.raw, 1)

    def _set_word_spacing(self, step: Operation) -> None:
        (self.host.state.word_spacing,) = last_numbers(step.raw, 1)

    def _set_stretch(self, step: Operation) -> None:
        self.host.state.stretch = last_numbers(step.raw, 1)[0] / 100

    def _set_rise(self, step: Operation) -> None:
        (self.host.state.rise,) = last_numbers(step.raw, 1)

    def _set_mode(self, step: Operation) -> None:
        mode = int(last_numbers(step.raw, 1)[0])
        if mode not in range(8):
            raise ObjectError("a text render mode that is none")
        self.host.state.mode = mode

    def _set_font(self, step: Operation) -> None:
        self.host.state.font, self.host.state.font_size = self._chosen(step.raw)

    def _chosen(self, raw: bytes) -> tuple[Font | None, float]:
        """Return the font and the size that operands choose."""
        found = self._fonts.get(raw)
        if found is None:
            match operands(raw)[-2:]:
                case [Name() as name, float() as size]:
                    found = self._fonts[raw] = self.host.find_font(name), size
                case _:
                    raise ObjectError("a font without name or size")
        return found

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
        text, glyphs, starts, end, glyph_count = self._line(font, state.font_size, parts)
        self._count(glyph_count)
        setting = Setting(
            state.font_size, state.stretch, state.rise, self.place.matrix.then(state.ctm)
        )
        self.place.advance(*((0.0, end) if font.vertical else (end, 0.0)))
        if not glyphs:
            return
        if isinstance(font, ProcedureFont):
            host.texts.settle()
            self._show_drawn(font, text, glyphs, starts, setting)
            return
        paints = None
        if not font.vertical and state.mode not in CLIPPING_MODES:
            paints = host.flat_paints(state.mode in FILLED_MODES, state.mode in STROKED_MODES)
        if paints is None:
            host.texts.settle()
            places = map(self._start, repeat(font), glyphs, starts)
            quads = [setting.quad(glyph, *at) for glyph, at in zip(glyphs, places, strict=True)]
            set_as = setting.type_size, setting.type_stretch
            self._emit(text, self._style(font), glyphs, quads, *set_as)
            return
        fill, stroke = paints
        pile = host.text_pile(state.mode in INVISIBLE_MODES, fill, stroke)
        style = self._style(font, fill, stroke)
        host.texts.add(Shown(text, style, glyphs, starts, state.clip, pile), setting)

    def along(self, data: bytes, start: int, placing: bool = True) -> int:
        """Follow plain text objects from a place in the stream on, all at once; return up to where
        they were followed. 20,000 letters set one by one take a third of the time, and a tenth
        where they are recorded and not placed (one busy core, 2026)."""
        plain = PlainType.at(data, start) if start >= self._in_steps else None
        if plain is None:
            return start
        try:
            follow = self._show_plain if placing else self._pass_plain
            shown = len(plain.strings) > FEW and follow(plain)
        except Exception as error:
            if not may_be_stepped_over(error):
                raise
            shown = False  # the step that is at fault will be met
        if not shown:
            self._in_steps = plain.end
            return start
        self.host.spend(plain.operators)
        return plain.end

    def _show_plain(self, plain: PlainType) -> bool:
        """Follow plain text objects. False where they must be followed step by step; then nothing
        is shown."""
        host, state = self.host, self.host.state
        if state.mode in CLIPPING_MODES:
            return False
        named: list[bytes] = [*accumulate(plain.fonts, _last_named)]
        fonts = {raw: self._chosen(raw) for raw in dict.fromkeys(named) if raw}
        if not named[0]:
            fonts[b""] = state.font, state.font_size
        paints = host.flat_paints(state.mode in FILLED_MODES, state.mode in STROKED_MODES)
        if paints is None:
            return False
        kinds: dict[tuple[bytes, bytes], int] = {}
        which = [
            kinds.setdefault(kind, len(kinds)) for kind in zip(named, plain.strings, strict=True)
        ]
        styles = {font: self._style(font, *paints) for font, _ in fonts.values() if font}
        lines = []
        for raw, string in kinds:
            font, size = fonts[raw]
            if font is None or font.vertical or isinstance(font, ProcedureFont):
                return False
            lines.append((self._line(font, size, (string,)), styles[font]))
        chosen = [raw for raw in fonts if raw]
        if host.listener is not None and not host.listener.along_type(chosen, state):
            return False
        host.settle()
        pile = host.text_pile(state.mode in INVISIBLE_MODES, *paints)
        strings = [
            Shown(line.text, style, line.glyphs, line.starts, state.clip, pile)
            for line, style in lines
        ]
        numbers = np.array(which)
        matrices = decimals(b" ".join(plain.matrices)).reshape(-1, 6)
        settings = np.empty((len(which), 9))
        settings[:, 0] = np.array([fonts[raw][1] for raw, _ in kinds])[numbers]
        settings[:, 1:3] = state.stretch, state.rise
        settings[:, 3:] = _all_then(matrices, state.ctm)
        gather(strings, numbers, settings)
        self._count(sum(lines[kind][0].size for kind in which))
        state.font, state.font_size = fonts[named[-1]]
        for leading in filter(None, reversed(plain.leadings)):
            state.leading = float(leading)
            break
        self.place.set(Affine(*matrices[-1].tolist()))
        self.place.advance(lines[which[-1]][0].end, 0.0)
        if plain.next_line:
            self.place.next_line(0.0, -state.leading)
        return True

    def _pass_plain(self, plain: PlainType) -> bool:
        """Follow plain text objects that are not placed: the plates depend on no place of type. As
        above they must be followed step by step where that is False."""
        listener, state = self.host.listener, self.host.state
        if listener is None or state.mode in CLIPPING_MODES:
            return False
        return listener.along_type([*filter(None, dict.fromkeys(plain.fonts))], state)

    def _count(self, glyphs: int) -> None:
        self.unspent += glyphs
        if self.unspent >= GLYPHS_AT_ONCE:
            self.host.spend(self.unspent)
            self.unspent = 0

    def _line(self, font: Font, size: float, parts: Sequence[bytes | float]) -> _Line:
        """Return strings as laid in a size."""
        part, state, key = parts[0] if len(parts) == 1 else 0.0, self.host.state, None
        line = None
        if isinstance(part, bytes) and len(part) <= SHORT:
            key = part, font, size, state.character_spacing, state.word_spacing, state.stretch
            line = self._letters.get(key)
        if line is None:
            line = self._laid(font, size, parts)
            if key is not None and len(self._letters) < MOST_LETTERS:
                self._letters[key] = line
        return line

    def _laid(self, font: Font, size: float, parts: Sequence[bytes | float]) -> _Line:
        """Return strings as laid: their glyphs that may mark, and where along the line they do."""
        state = self.host.state
        spacing, word = state.character_spacing, state.word_spacing
        stretch = 1.0 if font.vertical else state.stretch
        marking: list[Glyph] = []
        starts: list[float] = []
        text: list[str] = []
        along, count = 0.0, 0
        for part in parts:
            if isinstance(part, float):
                along -= part / 1000 * size * stretch
                continue
            glyphs = font.glyphs(part)
            count += len(glyphs)
            text += [glyph.text for glyph in glyphs]
            steps = (
                (glyph.width * size + spacing + (word if glyph.is_space else 0.0)) * stretch
                for glyph in glyphs
            )
            *places, along = accumulate(steps, initial=along)
            for glyph, place in zip(glyphs, places, strict=True):
                if glyph.box is not None or glyph.procedure is not None:
                    marking.append(glyph)
                    starts.append(place)
        return _Line("".join(text), marking, starts, along, count)

    def _start(self, font: Font, glyph: Glyph, along: float) -> tuple[float, float]:
        """Return where a glyph begins in text space."""
        if not font.vertical:
            return along, 0.0
        size, stretch = self.host.state.font_size, self.host.state.stretch
        return -glyph.origin[0] * size * stretch, along - glyph.origin[1] * size

    def _show_drawn(
        self, font: Font, text: str, glyphs: list[Glyph], starts: list[float], setting: Setting
    ) -> None:
        """Show glyphs that procedures draw (9.6.4)."""
        size, stretch, rise, to_frame = setting
        drawn, quads = [], []
        for glyph, along in zip(glyphs, starts, strict=True):
            em = Affine(size * stretch, 0.0, 0.0, size, along, rise).then(to_frame)
            seen = self.host.show_procedure(font, glyph, em)
            if seen is not None:
                drawn.append(glyph)
                quads.append(Quad(*seen.corners))
        if not quads:
            return
        # What such glyphs look like unstretched, their font does not tell.
        signs = [(glyph.text, quad) for glyph, quad in zip(drawn, quads, strict=True)]
        style = self._style(font)._replace(about=True)
        self._emit(text, style, drawn, quads, size_by_glyphs(signs, to_frame), 1.0)

    def _style(
        self, font: Font, fill: Paint | None = None, stroke: Paint | None = None
    ) -> TypeStyle:
        """Return what a run is like in this state."""
        state = self.host.state
        mode = state.mode
        return TypeStyle(
            font=font.name,
            fill=fill,
            stroke=stroke,
            stroke_mm=stroke_width(state.ctm, state.line_width) if mode in STROKED_MODES else 0.0,
            mode=mode,
            layer=self.host.layer,
            tight=font.tight,
            about=False,
        )

    def _emit(
        self,
        text: str,
        style: TypeStyle,
        glyphs: list[Glyph],
        quads: list[Quad],
        size_pt: float,
        stretch: float,
    ) -> None:
        """Gather a run at once: what it paints with may depend on its place, or it clips."""
        host, state = self.host, self.host.state
        mode = style.mode
        if mode in CLIPPING_MODES:
            self._clip = [] if self._clip is None else self._clip
            self._clip += [quad.box for quad in quads]
        seen, shapes = cut(state.clip, glyphs, quads)
        if not seen:
            return
        place = Box.around(corner for quad in seen for corner in quad)
        invisible = mode in INVISIBLE_MODES
        shown = None if invisible else place
        fill = host.fill_paint(shown) if mode in FILLED_MODES else None
        stroke = host.stroke_paint(shown) if mode in STROKED_MODES else None
        pile = host.text_pile(invisible, fill, stroke)
        style = style._replace(fill=fill, stroke=stroke)
        add(pile, run_of(text, style, seen, shapes, size_pt, stretch))


def _all_then(matrices: FloatArray, after: Affine) -> FloatArray:
    """Return what `Affine.then` gives of matrices (n, 6)."""
    a, b, c, d, e, f = matrices.T
    a1, b1, c1, d1, e1, f1 = after
    columns = (
        a * a1 + b * c1, a * b1 + b * d1,
        c * a1 + d * c1, c * b1 + d * d1,
        e * a1 + f * c1 + e1, e * b1 + f * d1 + f1,
    )  # fmt: skip
    return np.stack(columns, axis=1)


def _last_named(before: bytes, new: bytes) -> bytes:
    return new or before


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


HANDLERS: dict[bytes, Callable[[TextObject, Operation], None]] = {
    b"BT": TextObject._begin, b"ET": TextObject._end, b"Tm": TextObject._set_matrix,
    b"Td": TextObject._move, b"TD": TextObject._move_leading, b"T*": TextObject._next_line,
    b"TL": TextObject._set_leading, b"Tc": TextObject._set_character_spacing,
    b"Tw": TextObject._set_word_spacing, b"Tz": TextObject._set_stretch,
    b"Ts": TextObject._set_rise, b"Tr": TextObject._set_mode, b"Tf": TextObject._set_font,
    b"Tj": TextObject._show, b"TJ": TextObject._show_spaced,
    b"'": TextObject._show_on_next_line, b'"': TextObject._show_with_spacing,
}  # fmt: skip
"""The method of each text operator."""
