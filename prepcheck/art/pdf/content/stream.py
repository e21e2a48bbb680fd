"""Records of one content stream, while it is followed, what copies of it need to change.

Everything else passes through as it stands.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager

from pypdf.generic import DictionaryObject, StreamObject

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.pdf.colour import PatternSpace
from prepcheck.art.pdf.content.context import Walk
from prepcheck.art.pdf.content.cuttings import Cuttings
from prepcheck.art.pdf.content.glyph_fonts import GlyphFonts
from prepcheck.art.pdf.content.labels import label_of, sentence_on
from prepcheck.art.pdf.content.mix import (
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
    blend_name,
    scope_of,
    scope_painted,
    space_plates,
)
from prepcheck.art.pdf.content.operators import FILLED_MODES, PAINTING, STROKED_MODES
from prepcheck.art.pdf.content.placed_pictures import inline_stream
from prepcheck.art.pdf.content.plain import Indices
from prepcheck.art.pdf.content.record import (
    Draw,
    Edge,
    EndText,
    Enlarged,
    Event,
    PaintPath,
    RecordedPicture,
    Recording,
    SetColour,
    Shade,
    ShowText,
    pdf_bytes,
)
from prepcheck.art.pdf.content.record_run import events_of, record_run
from prepcheck.art.pdf.content.recorder import Recorder
from prepcheck.art.pdf.content.rectangles import corner, points
from prepcheck.art.pdf.content.runs import PathRun, SettingColumns
from prepcheck.art.pdf.content.state import PLAIN_BLENDS, State, StateColour, Type3
from prepcheck.art.pdf.objects import (
    array,
    dictionary,
    entry,
    name,
    number,
    numbers,
    raw_entry,
    stream,
)
from prepcheck.art.pdf.tokens import Name, Operand, Operation, operands
from prepcheck.geometry import Affine


class StreamReading:
    """Records one content stream while it is followed."""

    heeded: frozenset[bytes]

    def __init__(
        self, recorder: Recorder, recording: Recording, data: bytes, state: State, walk: Walk
    ) -> None:
        self.recorder = recorder
        self.walk = walk
        self.recording = recording
        self.resources = recording.resources
        self.data = data
        self.state = state
        self.to_own = state.ctm.inverse()
        """From the frame that places are in to the stream's own space."""
        self.depth = 0
        """Levels of `q` that are open in the copies."""
        self.cuttings = Cuttings(data, recording.pieces)
        self.used: dict[int, Mix] = {}
        """Mixes that the survey has of this stream, by identity."""
        self.path_points = 0
        self.path_start = b""
        self.aliases: dict[int, str] = {}
        self.given = state.fill, state.stroke
        self.glyph_fonts = GlyphFonts(recorder, recording)
        self.asked: dict[tuple[object, ...], tuple[PaintPath | None, StateColour, StateColour]] = {}
        """What painting a path in the same state came to before. The colours are kept, so that
        their identities are not used again."""
        self.extended: dict[bytes, tuple[str | None, bool]] = {}
        """The blend mode that graphics states named before set, and whether they set a font."""
        self.fonts: dict[bytes, Type3 | None] = {}
        """What was chosen by the same operands before."""

    def along_path(self, path: bytes, code: bytes) -> None:
        """Take note of path construction; `code` has one letter an operator."""
        if not self.path_points:
            self.path_start = path
        self.path_points += points(code)

    def along_type(self, fonts: Sequence[bytes], state: State) -> bool:
        """Take note of plain type; True where it stands in every copy as it is."""
        self.state = state
        if state.type3 is not None or any(self._chosen(raw) is not None for raw in fonts):
            return False
        return self._shown_in(state.mode, False) == (EVERY, EVERY)

    def follow(self, operation: Operation, state: State, fault: Exception | None) -> None:
        """Record an operation that led to a state; `fault` is why it could not be followed."""
        self.state = state
        operator = operation.operator
        handler = HANDLERS.get(operator)
        if handler is not None:
            try:
                if fault is not None and operator in FOLLOWED:
                    raise fault
                handler(self, operation)
            except Exception as error:
                if not may_be_stepped_over(error):
                    raise
                self.recorder.trouble(sentence_on(operation, error))
                self.replace(operation)
        elif operator in CONSTRUCTING:
            self.along_path(operation.raw, CONSTRUCTING[operator])

    def finish(self) -> None:
        """Take what is left of the stream."""
        # What a stream leaves open must not swallow what a copy puts behind it.
        self.cuttings.put(len(self.data), b"Q " * self.depth)

    def before(self, operation: Operation, *events: Event | bytes) -> None:
        """Put events in front of an operation."""
        self.cuttings.put(operation.start, *events)

    def replace(self, operation: Operation, *events: Event | bytes) -> None:
        """Put events in the place of an operation."""
        self.cuttings.replace(operation.start, operation.end, *events)

    @property
    def is_hidden(self) -> bool:
        """What is drawn now stands on a layer that does not print."""
        return self.walk.marked[-1].hidden

    @contextmanager
    def along(
        self, form: StreamObject, outer: State, inner: State, data: bytes
    ) -> Iterator[StreamReading | None]:
        """Record a form that this stream draws, while it is followed; see `Recorder.along`."""
        if self.is_hidden:
            yield None
            return
        with self.recorder.along(form, self.resources, outer, inner) as recording:
            if recording is None:
                yield None
            else:
                yield StreamReading(self.recorder, recording, data, inner, self.walk)

    # State

    def save(self, operation: Operation) -> None:
        self.depth += 1

    def restore(self, operation: Operation) -> None:
        if self.depth:
            self.depth -= 1
        else:
            self.replace(operation)

    def graphics_state(self, operation: Operation) -> None:
        state, known = self.state, self.extended.get(operation.raw)
        if known is not None and not state.rgb_group:
            self._extended(*known)
            return
        label = label_of(operation)
        source = dictionary(dictionary(self.resources, "ExtGState"), label)
        if source is None:
            self.replace(operation)
            return
        if label not in self.recording.states:
            self.recording.states[label] = self.recorder.state_use(source, self.resources)
        blend = entry(source, "BM")
        known = None if blend is None else blend_name(blend), bool(array(source, "Font"))
        self.extended[operation.raw] = known
        self._extended(*known)
        if state.rgb_group and self.is_transparent(source):
            self.recorder.survey.limits.setdefault(
                "transparency in a group that blends in RGB is drawn as if it blended in inks"
            )

    def heed_extension(self, operation: Operation, state: State) -> bool:
        """Take note of a graphics state that is set in a run; False where it changes the blend
        mode, or may have to be told of."""
        self.state, blend = state, state.blend
        if not state.rgb_group:
            self.graphics_state(operation)
        same, state.blend = state.blend == blend, blend
        return same and not state.rgb_group

    def _extended(self, blend: str | None, sets_font: bool) -> None:
        if blend is not None:
            self.set_blend(blend)
        self.recorder.survey.apart |= self.state.repaints > 0
        if sets_font:
            self.state.type3 = None

    def is_transparent(self, source: DictionaryObject) -> bool:
        opacities = (number(source, "ca"), number(source, "CA"))
        return (
            self.state.blend not in PLAIN_BLENDS
            or any(opacity is not None and opacity < 1 for opacity in opacities)
            or dictionary(source, "SMask") is not None
        )

    def set_blend(self, blend: str) -> None:
        self.state.blend = blend
        if blend not in PLAIN_BLENDS and self.state.open_group:
            self.recorder.survey.limits.setdefault(
                "a blend inside a group that is not isolated is drawn as if the group were isolated"
            )
        if blend in NON_SEPARABLE:
            self.recorder.survey.sets |= {CMY_SET, BLACK_SET}
        elif blend in NOT_WHITE_PRESERVING:
            self.recorder.survey.sets |= {PROCESS_SET}

    # Colour

    def colour(self, operation: Operation) -> None:
        stroke = operation.operator.isupper()
        colour = self.state.stroke if stroke else self.state.fill
        self.replace(operation, self.recorder.colour(colour, stroke))

    def pattern_colour(self, operation: Operation) -> None:
        state = self.state
        stroke = operation.operator.isupper()
        colour = state.stroke if stroke else state.fill
        if not isinstance(colour.space, PatternSpace):
            self.colour(operation)
            return
        values = operands(operation.raw)
        label = str(values.pop())[1:] if values and isinstance(values[-1], Name) else ""
        use = self.recorder.pattern(label, self.resources)
        if use is None:
            self.recorder.trouble(f"the pattern {label} could not be read; it is left out")
            colour = StateColour(colour.space, ())
            if stroke:
                state.stroke = colour
            else:
                state.fill = colour
            found = self.recorder.no_colour(colour, stroke)
        else:
            self.recording.patterns[label] = use
            found = self.recorder.pattern_colour(colour, stroke, label, use)
        self.replace(operation, found)

    # Painting

    def painted(self, changed: Plateset) -> Plateset:
        """Return the plates something changes under the blend mode, and note the set."""
        if self.is_hidden:
            return NOTHING
        if changed != EVERY:
            self.recorder.survey.sets.add(changed)
        return changed

    def fill_set(self) -> Plateset:
        fill = self.state.fill
        if fill is self.given[0]:
            self.recording.takes_colour = True
        return self.mix_set(self.recorder.mix(fill), self.state.fill_overprint)

    def stroke_set(self) -> Plateset:
        stroke = self.state.stroke
        if stroke is self.given[1]:
            self.recording.takes_colour = True
        return self.mix_set(self.recorder.mix(stroke), self.state.stroke_overprint)

    def mix_set(self, mix: Mix, overprint: bool) -> Plateset:
        hidden = self.is_hidden
        if not hidden and id(mix) not in self.used:
            self.used[id(mix)] = mix
            self.recorder.survey.use(mix)
        if not overprint and mix.scope is not Scope.NONE:
            return NOTHING if hidden else EVERY
        return self.painted(mix.painted(overprint, self.state.overprint_mode))

    def paint_path(self, operation: Operation) -> None:
        operator, points, state = operation.operator, self.path_points, self.state
        self.path_points = 0
        if 5 <= points <= 6 and PAINTING[operator].fill:
            self.cuttings.edge(operation.start, corner(self.path_start))
        event = None if operator == b"n" else self.painting(operator, state)
        if event is not None:
            self.replace(operation, event)

    def painting(self, operator: bytes, state: State) -> PaintPath | None:
        """Return what painting a path in a state comes to; None where it stands as it is."""
        key = operator, self.is_hidden, *state.painting
        found = self.asked.get(key)
        if found is None:
            self.state = state
            event = self._paint_path(operator)
            found = self.asked[key] = event, state.fill, state.stroke
        return found[0]

    def set_colours(
        self, settings: SettingColumns, colours: Sequence[StateColour | None]
    ) -> list[SetColour | None]:
        """Return what the colours that a run sets come to."""
        return events_of(settings, colours, self.recorder)

    def follow_run(
        self,
        run: PathRun,
        events: Sequence[SetColour | None],
        paintings: Sequence[PaintPath | None],
        which: Indices,
    ) -> None:
        """Record a run of paths at once."""
        record_run(run, events, paintings, which, self.cuttings)

    def _paint_path(self, operator: bytes) -> PaintPath | None:
        fills, strokes, _ = PAINTING[operator]
        fill = self.fill_set() if fills else EVERY
        stroke = self.stroke_set() if strokes else EVERY
        if fill == EVERY and stroke == EVERY:
            return None
        return PaintPath(operator, fill, stroke, self.state.isolated)

    def clip(self, operation: Operation) -> None:
        if 5 <= self.path_points <= 6:
            self.recorder.survey.clips += 1
            self.before(operation, Edge(corner(self.path_start)))

    def choose_font(self, operation: Operation) -> None:
        self.state.type3 = self._chosen(operation.raw)

    def _chosen(self, raw: bytes) -> Type3 | None:
        # Programs set the same font again for each line or letter.
        if raw not in self.fonts:
            self.fonts[raw] = self._font(operands(raw))
        return self.fonts[raw]

    def _font(self, values: Sequence[Operand]) -> Type3 | None:
        label = str(values[0])[1:] if values and isinstance(values[0], Name) else ""
        font = dictionary(dictionary(self.resources, "Font"), label)
        if font is None or name(font, "Subtype") != "Type3":
            return None
        size = next((value for value in values[1:] if isinstance(value, float)), 1.0)
        return Type3(label, font, size, label)

    def show_text(self, operation: Operation) -> None:
        state = self.state
        mode, font = state.mode, state.type3
        if font is not None:
            colours = self._event(state.fill, False), self._event(state.stroke, True)
            drawn = self.glyph_fonts.drawn_in(state, font, colours)
            if drawn.alias != font.alias:
                setting = b" %b %.9g Tf " % (pdf_bytes("/" + drawn.alias), font.size)
                self.before(operation, setting)
                state.type3 = font._replace(alias=drawn.alias)
            if drawn.whole and not self.is_hidden:
                return
        fill, stroke = self._shown_in(mode, font is not None)
        if fill == EVERY and stroke == EVERY:
            return
        colours = self._event(state.fill, False), self._event(state.stroke, True)
        shown = ShowText(mode, fill, stroke, state.isolated)
        text = self.data[operation.start : operation.end]
        self.replace(operation, shown, text, EndText(shown, *colours, state.blend))

    def _shown_in(self, mode: int, drawn: bool) -> tuple[Plateset, Plateset]:
        """Return the plates that fill and stroke of type change, `drawn` by procedures or not."""
        fill = self.fill_set() if mode in FILLED_MODES or drawn else EVERY
        return fill, self.stroke_set() if mode in STROKED_MODES else EVERY

    def _event(self, colour: StateColour, stroke: bool) -> SetColour:
        """Return what sets a colour again; a pattern of other resources is set as a colour."""
        found = self.recorder.colour(colour, stroke)
        if found.pattern is None or found.pattern in self.recording.patterns:
            return found
        return SetColour(stroke, self.recorder.mix(colour))

    def draw(self, operation: Operation) -> None:
        label = label_of(operation)
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
        ctm = Affine(*matrix).then(self.ctm) if matrix else self.ctm
        self.recording.placed.append(Enlarged(recording, ctm.x_scale, ctm.y_scale))
        given = self.state.fill is self.given[0] or self.state.stroke is self.given[1]
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
        ctm = self.ctm
        self.recording.placed.append(Enlarged(picture, ctm.x_scale, ctm.y_scale))
        alias = self.alias(picture)
        if state.isolated and changed not in (EVERY, NOTHING):
            self.recording.whites.add(alias)
        self.recorder.survey.pictures += 1
        self.replace(operation, Draw(alias, changed, state.isolated, edged=True))

    def inline_picture(self, operation: Operation) -> None:
        if self.is_hidden or operation.image is None:
            self.replace(operation)
            return
        source = inline_stream(operation.raw, operation.image, self.resources)
        self.draw_picture(operation, source, "an inline picture")

    def alias(self, target: Recording | RecordedPicture) -> str:
        """Return the name that something drawn has in this recording."""
        label = self.aliases.get(id(target))
        if label is None:
            label = self.aliases[id(target)] = f"P{len(self.aliases)}"
            self.recording.drawn[label] = target
        return label

    def shade(self, operation: Operation) -> None:
        label = label_of(operation)
        source = dictionary(dictionary(self.resources, "Shading"), label)
        if source is None or self.is_hidden:
            self.replace(operation)
            return
        use = self.recording.shadings.get(label)
        if use is None:
            use = self.recording.shadings[label] = self.recorder.shading(source, self.resources)
        self.recorder.survey.shaded += 1
        scope = scope_of(use.space.facts)
        names = () if scope is Scope.SEEN else space_plates(use.space.facts)
        changed = self.painted(scope_painted(scope, self.state.fill_overprint, names))
        self.replace(operation, Shade(label, changed, self.state.isolated))

    @property
    def ctm(self) -> Affine:
        """From what is drawn now to the stream's own space."""
        return self.state.ctm.then(self.to_own)

    def drop(self, operation: Operation) -> None:
        self.replace(operation)


CONSTRUCTING = {b"re": b"r", **{bytes((one,)): bytes((one,)) for one in b"mlcvyh"}}
"""Path construction operators, each with the letter that stands for it."""
FOLLOWED = frozenset((b"q", *b"g G rg RG k K cs CS".split()))
"""Operators that can only be recorded where they could be followed."""

HANDLERS: Mapping[bytes, Callable[[StreamReading, Operation], None]] = {
    b"q": StreamReading.save,
    b"Q": StreamReading.restore,
    b"gs": StreamReading.graphics_state,
    **dict.fromkeys(b"g G rg RG k K cs CS".split(), StreamReading.colour),
    **dict.fromkeys(b"sc SC scn SCN".split(), StreamReading.pattern_colour),
    **dict.fromkeys(PAINTING, StreamReading.paint_path),
    **dict.fromkeys((b"W", b"W*"), StreamReading.clip),
    b"Tf": StreamReading.choose_font,
    **dict.fromkeys((b"Tj", b"TJ", b"'", b'"'), StreamReading.show_text),
    b"Do": StreamReading.draw,
    b"BI": StreamReading.inline_picture,
    b"sh": StreamReading.shade,
    **dict.fromkeys(b"BMC BDC EMC MP DP BX EX".split(), StreamReading.drop),
}
"""What is recorded of an operator once it has been followed; the rest passes as it stands."""
StreamReading.heeded = frozenset((*HANDLERS, *CONSTRUCTING))
