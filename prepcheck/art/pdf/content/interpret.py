"""Runs one content stream: the graphics operators of ISO 32000-2, Annex A."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from pypdf.generic import DictionaryObject, StreamObject

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.model import Paint, PathItem
from prepcheck.art.pdf.colour import PatternSpace
from prepcheck.art.pdf.content import forms
from prepcheck.art.pdf.content.collect import Pile
from prepcheck.art.pdf.content.context import Listener, Walk
from prepcheck.art.pdf.content.flat import Flat
from prepcheck.art.pdf.content.groups import Apart
from prepcheck.art.pdf.content.operators import (
    DEVICE_OPERATORS,
    DRAWING,
    IGNORED,
    PAINT_STATE,
    PAINTING,
    QUIET,
)
from prepcheck.art.pdf.content.painted import (
    CONSTRUCTION,
    PaintedPath,
    PlacingState,
    WaitingPaths,
    place,
)
from prepcheck.art.pdf.content.paints import fitted
from prepcheck.art.pdf.content.paths import PathBuilder, bounded, drawn_width
from prepcheck.art.pdf.content.placed_pictures import as_object
from prepcheck.art.pdf.content.plain import OPERANDS, letters, pieces
from prepcheck.art.pdf.content.run_styles import Setter, taken
from prepcheck.art.pdf.content.runs import PathRun, steps
from prepcheck.art.pdf.content.shown import WaitingText
from prepcheck.art.pdf.content.slivers import note_sliver
from prepcheck.art.pdf.content.state import Extension, State, StateColour, cap_of
from prepcheck.art.pdf.content.text import HANDLERS as TEXT
from prepcheck.art.pdf.content.text import TextObject
from prepcheck.art.pdf.objects import (
    dictionary,
    object_number,
    raw_entry,
    resolved,
)
from prepcheck.art.pdf.tokens import (
    Name,
    Operation,
    last_numbers,
    named,
    operands,
)
from prepcheck.art.pdf.typeface import Font, Glyph
from prepcheck.errors import ObjectError
from prepcheck.geometry import Affine, Box

SAVED_LEVELS = 1000
"""Levels of `q` that are kept; ISO 32000-1, Annex C asks readers for 28."""
_painted = partial(tuple.__new__, PaintedPath)
STEPS_AT_ONCE = 1000
"""Operators that are counted together."""


class Interpreter:
    """One content stream under way, with the resources it names things in.

    It keeps the graphics state, and tells a listener of each operator. With `placing` what is
    painted is gathered with its place.
    """

    def __init__(
        self,
        walk: Walk,
        resources: DictionaryObject,
        state: State,
        listener: Listener | None = None,
        placing: bool = True,
    ) -> None:
        self.walk, self.resources, self.state = walk, resources, state
        self.listener, self._placing = listener, placing
        self.base = state.ctm
        """The stream's own space, which patterns stand in (8.7.3.1)."""
        self.colourless = False
        """Colour operators have no effect: an uncoloured cell or glyph (8.7.3.3, 9.6.4)."""
        self._saved: list[State] = []
        self._marks = len(walk.marked)
        self._path = PathBuilder()
        self._clip_rule: bool | None = None
        self._waiting, self.texts = WaitingPaths(walk), WaitingText()
        self.apart = Apart(walk, self.settle, state.repaints)
        self._flat = Flat(self._paint_of)
        self._colours: dict[tuple[object, ...], StateColour] = {}
        self._dashes: dict[bytes, bool] = {}
        self._extensions: dict[bytes, Extension] = {}
        self._text = TextObject(self)
        self._handlers, self._text_handlers = (HANDLERS, TEXT) if placing else FOR_PLATES

    def child(
        self, resources: DictionaryObject, state: State, listener: Listener | None = None
    ) -> Interpreter:
        """Return an interpreter for content drawn from this one."""
        return Interpreter(self.walk, resources, state, listener)

    def run(self, data: bytes) -> None:
        """Follow every operator; what cannot be followed is noted and stepped over."""
        try:
            self._follow(data)
        finally:
            self.settle()
            self.apart.at(0)

    def settle(self) -> None:
        """Place all that waits."""
        self._waiting.settle()
        self.texts.settle()

    def _follow(self, data: bytes) -> None:
        walk, handlers, waiting = self.walk, self._handlers, self._waiting
        text_handlers = self._text_handlers
        listener, placing, texts = self.listener, self._placing, self.texts
        count = 0
        heeded: frozenset[bytes] = frozenset() if listener is None else listener.heeded
        code = b""
        along_type = partial(self._text.along, data, placing=placing)
        for step in steps(data, self._take_run, along_type, placing):
            path, operator = step.path, step.operator
            count += 1
            if path:
                code = letters(path)
                count += len(code) - (not operator)
            if count >= STEPS_AT_ONCE:
                walk.spend(count - count % STEPS_AT_ONCE)
                count %= STEPS_AT_ONCE
            waits, fault = False, None
            if texts.shown and operator in DRAWING:
                texts.settle()
            if path:
                if listener is not None:
                    listener.along_path(path, code)
                if placing:
                    waits = operator in PAINTING and self._waits(path, code, operator)
                    if not waits:
                        self._build(path)
            if not operator:
                continue
            if not waits:
                handler = handlers.get(operator)
                if waiting.paths and operator not in QUIET:
                    waiting.settle()
                try:
                    if handler is not None:
                        handler(self, step)
                    elif operator in text_handlers:
                        text_handlers[operator](self._text, step)
                    elif placing and operator not in IGNORED:
                        walk.unknown(operator)
                except Exception as error:
                    if not may_be_stepped_over(error):
                        raise
                    fault = error
                    self._fault(operator, error)
            if listener is not None and operator in heeded:
                listener.follow(step, self.state, fault)
        walk.spend(count + self._text.unspent)
        if listener is not None:
            listener.finish()

    def _take_run(self, run: PathRun) -> bool:
        """Follow a run of paths at once; False where it must be followed in steps."""
        if self.colourless or self._path.runs or self._clip_rule is not None:
            return False
        layer, placing, by = self.walk.layer, self._placing, Setter(self._set, self._extension)
        batch = taken(run, self.state, by, self._flat, layer, self.listener, placing)
        if batch is None:
            return False
        self.walk.spend(run.steps)
        if placing:
            self.settle()
            self._waiting.place_all(batch)
        return True

    def _set(self, step: Operation) -> bool:
        """Follow a setting; False where it has no effect here."""
        handler = self._handlers.get(step.operator)
        if handler is not None:
            handler(self, step)
        return handler is not None

    def _fault(self, operator: bytes, error: Exception) -> None:
        self._waiting.settle()
        self.walk.fault(operator, error)

    def trouble(self, sentence: str) -> None:
        self.walk.findings.trouble(sentence)

    def spend(self, steps: int) -> None:
        self.walk.spend(steps)

    @property
    def layer(self) -> str | None:
        return self.walk.layer.name

    # State

    def _save(self, _: Operation) -> None:
        if len(self._saved) >= SAVED_LEVELS:
            raise ObjectError(f"the graphics state is saved more than {SAVED_LEVELS} deep")
        self._saved.append(self.state.copied())

    def _restore(self, _: Operation) -> None:
        if self._saved:
            self.state = self._saved.pop()
            self.apart.at(self.state.repaints)

    def _concatenate(self, step: Operation) -> None:
        self.state.ctm = bounded(Affine(*last_numbers(step.raw, 6)).then(self.state.ctm))

    def _set_line_width(self, step: Operation) -> None:
        (self.state.line_width,) = last_numbers(step.raw, 1)

    def _set_cap(self, step: Operation) -> None:
        self.state.cap = cap_of(last_numbers(step.raw, 1)[0])

    def _set_join(self, step: Operation) -> None:
        (self.state.join,) = last_numbers(step.raw, 1)

    def _set_mitre_limit(self, step: Operation) -> None:
        (self.state.mitre_limit,) = last_numbers(step.raw, 1)

    def _set_dash(self, step: Operation) -> None:
        dashed = self._dashes.get(step.raw)
        if dashed is None:
            pattern = next(iter(operands(step.raw)), None)
            dashed = self._dashes[step.raw] = isinstance(pattern, list) and any(pattern)
        self.state.dashed = dashed

    def _extend(self, step: Operation) -> None:
        """Apply a graphics state dictionary (8.4.5)."""
        state, known = self.state, self._extension(step)
        state.extend(known)
        if not self._placing:
            state.mask = None
        elif known.masks is not None:
            state.mask = forms.group_mask(self, known.source)
        self.apart.at(state.repaints)
        if self._placing and known.font is not None:
            state.font, state.font_size = self.walk.font(known.font[0]), known.font[1]

    def _extension(self, step: Operation) -> Extension:
        found = self._extensions.get(step.raw)
        if found is None:
            source = dictionary(dictionary(self.resources, "ExtGState"), self._name(step)[1:])
            if source is None:
                raise ObjectError("the graphics state named is not among the resources")
            found = self._extensions[step.raw] = self.walk.extension(source)
        return found

    # Colour

    def _fill_device(self, step: Operation) -> None:
        if not self.colourless:
            self.state.fill = self._colours.get(step[:2]) or self._device(step)

    def _stroke_device(self, step: Operation) -> None:
        if not self.colourless:
            self.state.stroke = self._colours.get(step[:2]) or self._device(step)

    def _device(self, step: Operation) -> StateColour:
        space = self.walk.paints.space(DEVICE_OPERATORS[step.operator], self.resources)
        found = StateColour(space, tuple(last_numbers(step.raw, space.facts.components)))
        self._colours[step[:2]] = found
        return found

    def _fill_space(self, step: Operation) -> None:
        if not self.colourless:
            self.state.fill = self._colours.get(step[:2]) or self._space(step)

    def _stroke_space(self, step: Operation) -> None:
        if not self.colourless:
            self.state.stroke = self._colours.get(step[:2]) or self._space(step)

    def _space(self, step: Operation) -> StateColour:
        space = self.walk.paints.space(self._name(step), self.resources)
        found = self._colours[step[:2]] = StateColour(space, space.initial)
        return found

    def _fill_colour(self, step: Operation) -> None:
        if not self.colourless:
            self.state.fill = self._colour(step, self.state.fill)

    def _stroke_colour(self, step: Operation) -> None:
        if not self.colourless:
            self.state.stroke = self._colour(step, self.state.stroke)

    def _colour(self, step: Operation, before: StateColour) -> StateColour:
        space = before.space
        key = (step.raw, space)
        found = self._colours.get(key)
        if found is None:
            values = operands(step.raw)
            components = fitted(space, [value for value in values if type(value) is float])
            found = StateColour(space, components)
            if isinstance(space, PatternSpace) and values and isinstance(values[-1], Name):
                source = raw_entry(dictionary(self.resources, "Pattern"), values[-1][1:])
                pattern = resolved(source)
                if not isinstance(pattern, DictionaryObject):
                    raise ObjectError("the pattern named is not among the resources")
                found = StateColour(
                    space, components, pattern, object_number(pattern) or -id(pattern)
                )
            self._colours[key] = found
        return found

    def _set_colourless(self, _: Operation) -> None:
        self.colourless = True

    def fill_paint(self, place: Box | None) -> Paint:
        """Return the paint of fills; a tiling cell counts as painted over `place`."""
        state = self.state
        opacity = state.fill_opacity * state.group_opacity
        return self._paint_of(state.fill, state.fill_overprint, opacity, place)

    def stroke_paint(self, place: Box | None) -> Paint:
        """Return the paint of strokes; a tiling cell counts as painted over `place`."""
        state = self.state
        opacity = state.stroke_opacity * state.group_opacity
        return self._paint_of(state.stroke, state.stroke_overprint, opacity, place)

    def _paint_of(
        self, colour: StateColour, overprint: bool, opacity: float, place: Box | None
    ) -> Paint:
        if place is not None and isinstance(colour.pattern, StreamObject):
            forms.tile(self, colour, colour.pattern, place)
        return self.walk.paints.paint(colour, overprint, opacity, self.state.overprint_mode)

    # Paths

    def _waits(self, path: bytes, code: bytes, operator: bytes) -> bool:
        """Have a whole plain path wait to be placed. False where it must be followed in steps."""
        if self._path.runs or self._clip_rule is not None or code[0] not in b"mr":
            return False
        if operator == b"n":
            return True
        look = self._flat.look(self.state)
        paints = None if look is None else self._flat.path(operator, self.state)
        if look is None or paints is None:
            return False
        if PAINTING[operator].close:
            code += b"h"
        fill, stroke, _ = paints
        self._waiting.add(_painted((path, code, operator, fill, stroke, look, self.walk.layer)))
        return True

    def flat_paints(self, filled: bool, stroked: bool) -> tuple[Paint | None, Paint | None] | None:
        """Return the paints of fill and stroke in the state there is, as `Flat.paints`."""
        return self._flat.paints(self.state, filled, stroked)

    def _build(self, path: bytes) -> None:
        """Add a piece of path construction to the path."""
        for operator, values in pieces(path):
            try:
                CONSTRUCTION[operator](self._path, self.state.ctm, values)
            except ObjectError as error:
                self._fault(operator, error)

    def _construct(self, step: Operation) -> None:
        count = OPERANDS[step.operator]
        values = last_numbers(step.raw, count) if count else []
        CONSTRUCTION[step.operator](self._path, self.state.ctm, values)

    def _set_clip(self, even_odd: bool) -> None:
        self._clip_rule = even_odd

    def _paint(self, step: Operation) -> None:
        path, self._path = self._path, PathBuilder()
        rule, self._clip_rule = self._clip_rule, None
        fill, stroke, close = PAINTING[step.operator]
        if close:
            path.close()
        try:
            if (fill or stroke) and path.runs:
                self._add_path(path, fill, stroke, step.operator)
        finally:
            if rule is not None:
                self.state.clip = self.state.clip.to_path(path.runs, rule)

    def _add_path(self, path: PathBuilder, fill: bool, stroke: bool, by: bytes) -> None:
        state = self.state
        runs = path.fillable() if fill else path.strokable()
        if not runs:
            return
        self._waiting.settle()
        look = PlacingState(
            state.ctm, state.clip, state.line_width, state.cap, state.dashed, state.mitre
        )
        found = place(look, runs, fill, stroke)
        if found is None:
            return
        item = PathItem(
            box=found.seen,
            fill=self.fill_paint(found.seen) if fill else None,
            stroke=self.stroke_paint(found.seen) if stroke else None,
            stroke_mm=drawn_width(state.ctm, state.line_width, runs) if stroke else 0.0,
            dashed=stroke and state.dashed,
            layer=self.walk.layer.name,
            segments=tuple(map(tuple, runs)),
            clipped=found.clipped,
            cap=state.cap,
            mitre=state.mitre,
        )
        pile = self.walk.pile(self.walk.paints.unseen(item.fill, item.stroke))
        pile.paths.append(item)
        pile.painted(item.fill, item.stroke)
        note_sliver(pile.slivers, state.clip, item, by, runs)

    # Text

    def find_font(self, name: Name) -> Font | None:
        """Return the font a name stands for; None, with a note, when it cannot be read."""
        source = dictionary(dictionary(self.resources, "Font"), name[1:])
        if source is None:
            self.trouble(f"the font {name[1:]} is not among the resources")
            return None
        return self.walk.font(source)

    def text_pile(self, invisible: bool, *paints: Paint | None) -> Pile:
        """Return where a run with these paints belongs."""
        return self.walk.pile(invisible or self.walk.paints.unseen(*paints))

    def show_procedure(self, font: Font, glyph: Glyph, matrix: Affine) -> Box | None:
        return forms.show_procedure(self, font, glyph, matrix)

    # Objects

    def _do(self, step: Operation) -> None:
        name = self._name(step)[1:]
        xobject = resolved(raw_entry(dictionary(self.resources, "XObject"), name))
        if not isinstance(xobject, StreamObject):
            raise ObjectError(f"{name} is not among the resources")
        forms.draw(self, name, xobject)

    def _inline(self, step: Operation) -> None:
        if step.image is None:
            raise ObjectError("an inline picture without data")
        forms.add_inline(self, step.raw, step.image)

    def _shade(self, step: Operation) -> None:
        shading = dictionary(dictionary(self.resources, "Shading"), self._name(step)[1:])
        if shading is None:
            raise ObjectError("the shading named is not among the resources")
        forms.shade(self, shading)

    def _begin_marked(self, step: Operation) -> None:
        tag, properties = [None, None, *operands(step.raw)][-2:]
        if tag != "/OC":
            self.walk.mark(None)
        elif isinstance(properties, Name):
            self.walk.mark(raw_entry(dictionary(self.resources, "Properties"), properties[1:]))
        else:
            self.walk.mark(as_object(properties))

    def _end_marked(self, _: Operation) -> None:
        if len(self.walk.marked) > self._marks:
            self.walk.marked.pop()

    def _name(self, step: Operation) -> Name:
        found = named(step.raw)
        if found is None:
            raise ObjectError("a name is owed")
        return found


HANDLERS: dict[bytes, Callable[[Interpreter, Operation], None]] = {
    b"q": Interpreter._save, b"Q": Interpreter._restore, b"cm": Interpreter._concatenate,
    b"gs": Interpreter._extend, b"w": Interpreter._set_line_width, b"J": Interpreter._set_cap,
    b"j": Interpreter._set_join, b"M": Interpreter._set_mitre_limit,
    b"d": Interpreter._set_dash, **dict.fromkeys(CONSTRUCTION, Interpreter._construct),
    **dict.fromkeys(PAINTING, Interpreter._paint),
    b"W": lambda stream, _: stream._set_clip(False),
    b"W*": lambda stream, _: stream._set_clip(True),
    **dict.fromkeys(b"g rg k".split(), Interpreter._fill_device),
    **dict.fromkeys(b"G RG K".split(), Interpreter._stroke_device),
    b"cs": Interpreter._fill_space, b"CS": Interpreter._stroke_space,
    b"sc": Interpreter._fill_colour, b"scn": Interpreter._fill_colour,
    b"SC": Interpreter._stroke_colour, b"SCN": Interpreter._stroke_colour,
    b"Do": Interpreter._do, b"sh": Interpreter._shade, b"BI": Interpreter._inline,
    b"BMC": lambda stream, _: stream.walk.mark(None), b"BDC": Interpreter._begin_marked,
    b"EMC": Interpreter._end_marked, b"d0": lambda *_: None,
    b"d1": Interpreter._set_colourless,
}  # fmt: skip
"""What follows each operator; those of text are in `text.HANDLERS`."""
FOR_PLATES = (
    {one: HANDLERS[one] for one in PAINT_STATE if one in HANDLERS},
    {one: TEXT[one] for one in PAINT_STATE if one in TEXT},
)
"""Those that are followed where nothing is placed."""
