"""Reads one content stream and records what copies of it need to change.

The walk keeps the part of the graphics state that decides colour and overprint. Everything else
passes through as it stands.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from pypdf.errors import PyPdfError
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, StreamObject

from prepcheck.art.pdf.colour import (
    ColourSpace,
    PatternSpace,
)
from prepcheck.art.pdf.content.glyph_fonts import GlyphFonts
from prepcheck.art.pdf.content.mix import (
    BLACK,
    BLACK_SET,
    CMY_SET,
    EVERY,
    NON_SEPARABLE,
    NOT_WHITE_PRESERVING,
    NOTHING,
    PROCESS_SET,
    Mix,
    Plateset,
    Scope,
    mix_of,
    scope_of,
    scope_painted,
    space_plates,
)
from prepcheck.art.pdf.content.paint_state import State, Type3
from prepcheck.art.pdf.content.placing import inline_dictionary
from prepcheck.art.pdf.content.record import (
    Draw,
    Edge,
    EndText,
    Event,
    PaintPath,
    Picture,
    Placed,
    Recording,
    SetColour,
    Shade,
    ShowText,
    pdf_bytes,
)
from prepcheck.art.pdf.content.rectangles import POINTS, corner, points
from prepcheck.art.pdf.objects import (
    array,
    as_name,
    dictionary,
    entry,
    integer,
    items,
    name,
    number,
    numbers,
    raw_entry,
    stream,
    truth,
)
from prepcheck.art.pdf.tokens import WITH_NUMBERS, Name, Operation, operands, operators
from prepcheck.errors import ArtworkError
from prepcheck.geometry import Affine

if TYPE_CHECKING:
    from prepcheck.art.pdf.content.recorder import Recorder

TILED = Mix((), Scope.ALL, (0.5, 0.5, 0.5))
"""Stands for a coloured tiling, whose cell decides plate by plate."""

_FAULTS = (
    ArtworkError, PyPdfError, ArithmeticError, AttributeError, IndexError, KeyError, TypeError,
    ValueError, RecursionError,
)  # fmt: skip


class Reading:
    """One content stream being read."""

    def __init__(self, recorder: Recorder, recording: Recording, data: bytes, state: State):
        self.recorder = recorder
        self.recording = recording
        self.resources = recording.resources
        self.data = data
        self.state = state
        self.stack: list[State] = []
        self.hidden: list[bool] = []
        self.pieces: list[bytes | Event] = recording.pieces
        self.kept = 0
        self.used: dict[int, Mix] = {}
        """Mixes that the survey has of this stream, by identity."""
        self.device_colours: dict[tuple[bytes, bytes], tuple[ColourSpace, SetColour]] = {}
        self.path_points = 0
        self.path_start = b""
        self.aliases: dict[int, str] = {}
        self.given = state.fill_colour, state.stroke_colour
        self.glyph_fonts = GlyphFonts(recorder, recording)

    def run(self) -> None:
        for operation in operators(self.data, WITH_NUMBERS):
            operator, path = operation.operator, operation.path
            if path:
                if not self.path_points:
                    self.path_start = path
                self.path_points += points(path)
            handler = HANDLERS.get(operator)
            if handler is not None:
                try:
                    handler(self, operation)
                except _FAULTS as fault:
                    self.recorder.trouble(_sentence(operation, fault))
                    self.replace(operation)
                if operator in PATH_ENDS:
                    self.path_points = 0
            elif operator in POINTS:
                if not self.path_points:
                    self.path_start = operation.raw
                self.path_points += POINTS[operator]
        self.pieces.append(self.data[self.kept :])
        # What a stream leaves open must not swallow what a copy puts behind it.
        self.pieces.append(b"Q " * len(self.stack))

    def before(self, operation: Operation, *events: Event | bytes) -> None:
        """Put events in front of an operation."""
        self.pieces.append(self.data[self.kept : operation.start])
        self.pieces += events
        self.kept = operation.start

    def replace(self, operation: Operation, *events: Event | bytes) -> None:
        """Put events in the place of an operation."""
        self.pieces.append(self.data[self.kept : operation.start])
        self.pieces += events
        self.kept = operation.end

    @property
    def is_hidden(self) -> bool:
        return bool(self.hidden) and any(self.hidden)

    # State

    def save(self, operation: Operation) -> None:
        self.stack.append(copy.copy(self.state))

    def restore(self, operation: Operation) -> None:
        if self.stack:
            self.state = self.stack.pop()
        else:
            self.replace(operation)

    def concat(self, operation: Operation) -> None:
        values = floats(operation.raw)
        if len(values) == 6:
            self.state.ctm = Affine(*values).then(self.state.ctm)

    def graphics_state(self, operation: Operation) -> None:
        label = _label(operation)
        source = dictionary(dictionary(self.resources, "ExtGState"), label)
        if source is None:
            self.replace(operation)
            return
        if label not in self.recording.states:
            self.recording.states[label] = self.recorder.state_use(source, self.resources)
        state = self.state
        stroke = entry(source, "OP")
        if stroke is not None:
            state.stroke_overprint = state.fill_overprint = truth(source, "OP")
        if entry(source, "op") is not None:
            state.fill_overprint = truth(source, "op")
        state.mode = integer(source, "OPM") if entry(source, "OPM") is not None else state.mode  # type: ignore[assignment]
        blend = entry(source, "BM")
        if blend is not None:
            names = (
                [as_name(item) for item in items(blend)]
                if isinstance(blend, ArrayObject)
                else [as_name(blend)]
            )
            self.set_blend(names[0] or "Normal")
        if state.rgb_group and self.is_transparent(source):
            self.recorder.survey.limits.setdefault(
                "transparency in a group that blends in RGB is drawn as if it blended in inks"
            )
        font = array(source, "Font")
        if font:
            state.font = None

    def is_transparent(self, source: DictionaryObject) -> bool:
        opacities = (number(source, "ca"), number(source, "CA"))
        return (
            self.state.blend not in ("Normal", "Compatible")
            or any(opacity is not None and opacity < 1 for opacity in opacities)
            or dictionary(source, "SMask") is not None
        )

    def set_blend(self, blend: str) -> None:
        self.state.blend = blend
        if blend not in ("Normal", "Compatible") and self.state.open_group:
            self.recorder.survey.limits.setdefault(
                "a blend inside a group that is not isolated is drawn as if the group were isolated"
            )
        if blend in NON_SEPARABLE:
            self.recorder.survey.sets |= {CMY_SET, BLACK_SET}
        elif blend in NOT_WHITE_PRESERVING:
            self.recorder.survey.sets |= {PROCESS_SET}

    # Colour

    def device(self, operation: Operation) -> None:
        key = operation.operator, operation.raw
        found = self.device_colours.get(key)
        if found is None:
            label, stroke = DEVICE_OPERATORS[operation.operator]
            space = self.recorder.space(label, self.resources)
            found = space, self.recorder.colour(space, stroke, operation.raw)
            self.device_colours[key] = found
        self.set_colour(operation, *found)

    def choose_space(self, operation: Operation) -> None:
        label = "/" + _label(operation)
        space = self.recorder.space(label, self.resources)
        stroke = operation.operator == b"CS"
        self.set_colour(operation, space, SetColour(stroke, mix_of(space, space.initial)))

    def colour(self, operation: Operation) -> None:
        stroke = operation.operator.isupper()
        space = self.state.stroke_space if stroke else self.state.fill_space
        if not isinstance(space, PatternSpace):
            self.set_colour(operation, space, self.recorder.colour(space, stroke, operation.raw))
            return
        values = operands(operation.raw)
        label = str(values.pop())[1:] if values and isinstance(values[-1], Name) else ""
        components = [value for value in values if isinstance(value, float)]
        use = self.recorder.pattern(label, self.resources)
        if use is None:
            self.recorder.trouble(f"the pattern {label} could not be read; it is left out")
            nothing = Mix((), Scope.NONE, (1.0, 1.0, 1.0))
            self.set_colour(operation, space, SetColour(stroke, nothing))
            return
        self.recording.patterns[label] = use
        mix = TILED
        if use.shading is not None:
            facts = use.shading.space.facts
            scope = scope_of(facts)
            scope = Scope.PROCESS if scope is Scope.DIRECT else scope
            inks = () if scope is Scope.SEEN else tuple((p, 1.0) for p in space_plates(facts) if p)
            mix = Mix(inks, scope, (0.0, 0.0, 0.0))
        elif space.base is not None:
            mix = mix_of(space.base, components)
        uncoloured = use.cell is not None and use.cell.uncoloured
        colour = SetColour(stroke, mix if uncoloured else None, label)
        self.set_colour(operation, space, colour, mix)

    def set_colour(
        self, operation: Operation, space: ColourSpace, colour: SetColour, mix: Mix | None = None
    ) -> None:
        """Put a colour in the place of an operation; `mix` is a pattern's."""
        self.pieces += (self.data[self.kept : operation.start], colour)
        self.kept = operation.end
        mix = mix or colour.mix or BLACK
        state = self.state
        if colour.stroke:
            state.stroke, state.stroke_space, state.stroke_colour = mix, space, colour
        else:
            state.fill, state.fill_space, state.fill_colour = mix, space, colour

    # Painting

    def painted(self, changed: Plateset) -> Plateset:
        """Return the plates something changes under the blend mode, and note the set."""
        if self.is_hidden:
            return NOTHING
        if changed != EVERY:
            self.recorder.survey.sets.add(changed)
        return changed

    def fill_set(self) -> Plateset:
        if self.state.fill_colour is self.given[0]:
            self.recording.takes_colour = True
        return self.mix_set(self.state.fill, self.state.fill_overprint)

    def stroke_set(self) -> Plateset:
        if self.state.stroke_colour is self.given[1]:
            self.recording.takes_colour = True
        return self.mix_set(self.state.stroke, self.state.stroke_overprint)

    def mix_set(self, mix: Mix, overprint: bool) -> Plateset:
        hidden = self.hidden and self.is_hidden
        if not hidden and id(mix) not in self.used:
            self.used[id(mix)] = mix
            self.recorder.survey.use(mix)
        if not overprint and mix.scope is not Scope.NONE:
            return NOTHING if hidden else EVERY
        return self.painted(mix.painted(overprint, self.state.mode))

    def paint_path(self, operation: Operation) -> None:
        operator = operation.operator
        if 5 <= self.path_points <= 6 and operator in FILLS:
            self.before(operation, Edge(corner(self.path_start), clip=False))
        if operator == b"n":
            return
        fill = self.fill_set() if operator in FILLS else EVERY
        stroke = self.stroke_set() if operator in STROKES else EVERY
        if fill is EVERY and stroke is EVERY:
            return
        if fill != EVERY or stroke != EVERY:
            self.replace(operation, PaintPath(operator, fill, stroke, self.state.isolated))

    def clip(self, operation: Operation) -> None:
        if 5 <= self.path_points <= 6:
            self.recorder.survey.clips += 1
            self.before(operation, Edge(corner(self.path_start), clip=True))

    def text_mode(self, operation: Operation) -> None:
        values = floats(operation.raw)
        self.state.text_mode = int(values[-1]) if values and 0 <= values[-1] <= 7 else 0

    def choose_font(self, operation: Operation) -> None:
        values = operands(operation.raw)
        label = str(values[0])[1:] if values and isinstance(values[0], Name) else ""
        font = dictionary(dictionary(self.resources, "Font"), label)
        type3 = font is not None and name(font, "Subtype") == "Type3"
        size = next((value for value in values[1:] if isinstance(value, float)), 1.0)
        self.state.font = Type3(label, font, size, label) if type3 and font is not None else None

    def show_text(self, operation: Operation) -> None:
        state = self.state
        mode = state.text_mode
        if state.font is not None:
            drawn = self.glyph_fonts.drawn_in(state, state.font)
            if drawn.alias != state.font.alias:
                setting = b" %b %.9g Tf " % (pdf_bytes("/" + drawn.alias), state.font.size)
                self.before(operation, setting)
                state.font = state.font._replace(alias=drawn.alias)
            if drawn.whole and not self.is_hidden:
                return
        fill = self.fill_set() if mode in (0, 2, 4, 6) or state.font else EVERY
        stroke = self.stroke_set() if mode in (1, 2, 5, 6) else EVERY
        if fill == EVERY and stroke == EVERY:
            return
        shown = ShowText(mode, fill, stroke, state.isolated)
        text = self.data[operation.start : operation.end]
        end = EndText(shown, state.fill_colour, state.stroke_colour, state.blend)
        self.replace(operation, shown, text, end)

    def draw(self, operation: Operation) -> None:
        label = _label(operation)
        source = stream(dictionary(self.resources, "XObject"), label)
        if source is None:
            self.replace(operation)
            if not self.is_hidden:
                self.recorder.trouble(f"what is drawn as {label} is not in the file")
            return
        if self.is_hidden or not self.recorder.prints(raw_entry(source, "OC")):
            self.replace(operation)
        elif name(source, "Subtype") == "Image":
            self.draw_picture(operation, source, label)
        else:
            self.draw_form(operation, source)

    def draw_form(self, operation: Operation, source: StreamObject) -> None:
        recording = self.recorder.form(source, self.resources, self.state)
        if recording is None:
            self.replace(operation)
            return
        matrix = numbers(entry(source, "Matrix"), 6)
        ctm = Affine(*matrix).then(self.state.ctm) if matrix else self.state.ctm
        self.recording.placed.append(Placed(recording, ctm.x_scale, ctm.y_scale))
        given = self.state.fill_colour is self.given[0] or self.state.stroke_colour is self.given[1]
        self.recording.takes_colour |= given and recording.takes_colour
        self.replace(operation, Draw(self.alias(recording), EVERY, isolated=False, edged=False))

    def draw_picture(self, operation: Operation, source: StreamObject, label: str) -> None:
        picture = self.recorder.picture(label, source, self.resources)
        state = self.state
        if picture.space is None:
            changed = self.fill_set()
        else:
            facts = picture.space.facts
            self.recorder.survey.use_space(facts)
            scope = scope_of(facts)
            names = () if scope is Scope.SEEN else space_plates(facts)
            changed = self.painted(scope_painted(scope, state.fill_overprint, names))
        self.recording.placed.append(Placed(picture, state.ctm.x_scale, state.ctm.y_scale))
        alias = self.alias(picture)
        if state.isolated and changed not in (EVERY, NOTHING):
            self.recording.whites.add(alias)
        self.recorder.survey.pictures += 1
        self.replace(operation, Draw(alias, changed, state.isolated, edged=True))

    def inline_picture(self, operation: Operation) -> None:
        if self.is_hidden or operation.image is None:
            self.replace(operation)
            return
        source = StreamObject()
        source.update(inline_dictionary(operation.raw))
        source[NameObject("/Subtype")] = NameObject("/Image")
        for short, full in INLINE_NAMES.items():
            if name(source, "ColorSpace") == short:
                source[NameObject("/ColorSpace")] = NameObject(full)
        given = name(source, "ColorSpace")
        named = dictionary(self.resources, "ColorSpace")
        if given is not None and named is not None and "/" + given in named:
            source[NameObject("/ColorSpace")] = named["/" + given]
        source._data = operation.image
        self.draw_picture(operation, source, "an inline picture")

    def alias(self, target: Recording | Picture) -> str:
        """Return the name that something drawn has in this recording."""
        label = self.aliases.get(id(target))
        if label is None:
            label = self.aliases[id(target)] = f"P{len(self.aliases)}"
            self.recording.drawn[label] = target
        return label

    def shade(self, operation: Operation) -> None:
        label = _label(operation)
        source = dictionary(dictionary(self.resources, "Shading"), label)
        if source is None or self.is_hidden:
            self.replace(operation)
            return
        use = self.recording.shadings.get(label)
        if use is None:
            use = self.recording.shadings[label] = self.recorder.shading(source, self.resources)
        scope = scope_of(use.space.facts)
        names = () if scope is Scope.SEEN else space_plates(use.space.facts)
        changed = self.painted(scope_painted(scope, self.state.fill_overprint, names))
        self.replace(operation, Shade(label, changed, self.state.isolated))

    # Marked content

    def begin_marked(self, operation: Operation) -> None:
        hidden = False
        values = operands(operation.raw)
        if operation.operator == b"BDC" and len(values) == 2 and values[0] == "/OC":
            content = None
            if isinstance(values[1], Name):
                content = raw_entry(dictionary(self.resources, "Properties"), values[1][1:])
            hidden = not self.recorder.prints(content)
        self.hidden.append(hidden)
        self.replace(operation)

    def end_marked(self, operation: Operation) -> None:
        if self.hidden:
            self.hidden.pop()
        self.replace(operation)

    def drop(self, operation: Operation) -> None:
        self.replace(operation)


FILLS = frozenset((b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*"))
STROKES = frozenset((b"S", b"s", b"B", b"B*", b"b", b"b*"))
PATH_ENDS = FILLS | STROKES | {b"n"}
DEVICE_OPERATORS = {
    b"g": ("/DeviceGray", False), b"rg": ("/DeviceRGB", False), b"k": ("/DeviceCMYK", False),
    b"G": ("/DeviceGray", True), b"RG": ("/DeviceRGB", True), b"K": ("/DeviceCMYK", True),
}  # fmt: skip
INLINE_NAMES = {"G": "/DeviceGray", "RGB": "/DeviceRGB", "CMYK": "/DeviceCMYK"}

HANDLERS: Mapping[bytes, Callable[[Reading, Operation], None]] = {
    b"q": Reading.save,
    b"Q": Reading.restore,
    b"cm": Reading.concat,
    b"gs": Reading.graphics_state,
    **dict.fromkeys((b"g", b"G", b"rg", b"RG", b"k", b"K"), Reading.device),
    **dict.fromkeys((b"cs", b"CS"), Reading.choose_space),
    **dict.fromkeys((b"sc", b"SC", b"scn", b"SCN"), Reading.colour),
    **dict.fromkeys(PATH_ENDS, Reading.paint_path),
    **dict.fromkeys((b"W", b"W*"), Reading.clip),
    b"Tr": Reading.text_mode,
    b"Tf": Reading.choose_font,
    **dict.fromkeys((b"Tj", b"TJ", b"'", b'"'), Reading.show_text),
    b"Do": Reading.draw,
    b"BI": Reading.inline_picture,
    b"sh": Reading.shade,
    **dict.fromkeys((b"BMC", b"BDC"), Reading.begin_marked),
    b"EMC": Reading.end_marked,
    **dict.fromkeys((b"MP", b"DP", b"BX", b"EX"), Reading.drop),
}


def floats(raw: bytes) -> list[float]:
    """Return the numbers among operands."""
    return [value for value in operands(raw) if isinstance(value, float)]


def _label(operation: Operation) -> str:
    """Return the name operand of an operation, without its slash."""
    for value in operands(operation.raw):
        if isinstance(value, Name):
            return str(value)[1:]
    raise ValueError("a name is missing")


def _sentence(operation: Operation, fault: Exception) -> str:
    words = {b"Do": "a drawn object", b"sh": "a shading", b"BI": "an inline picture"}
    what = words.get(operation.operator, f"an operation {operation.operator.decode('latin-1')}")
    return f"{what} could not be read and was left out of the plates ({str(fault)[:80]})"
