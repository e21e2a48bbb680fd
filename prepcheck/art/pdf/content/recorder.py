"""Records a page and everything that it draws; see `stream` for what is recorded."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import islice

from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.limits import Demand, Limits
from prepcheck.art.pdf.colour import (
    UNKNOWN,
    ColourSpace,
    PatternSpace,
    read_space,
)
from prepcheck.art.pdf.content.circles import draws_itself
from prepcheck.art.pdf.content.clip import EVERYWHERE, Clip
from prepcheck.art.pdf.content.context import LayerLookup
from prepcheck.art.pdf.content.mix import Mix, Scope, mix_of, scope_of, space_plates
from prepcheck.art.pdf.content.record import (
    PatternUse,
    RecordedPicture,
    Recording,
    SetColour,
    ShadingUse,
    StateUse,
    Survey,
)
from prepcheck.art.pdf.content.spots import spot_looks
from prepcheck.art.pdf.content.state import State, StateColour
from prepcheck.art.pdf.objects import (
    as_name,
    dictionary,
    entry,
    integer,
    items,
    name,
    raw_entry,
    resolved,
    stream,
    truth,
)
from prepcheck.art.pdf.streams import decoded
from prepcheck.art.pdf.tokens import operators
from prepcheck.geometry import Affine

MOST_TROUBLES = 20
"""Sentences kept about one page."""
FLATTEST = 1e-12
"""Forms squeezed to less than this share of their area are recorded in their own space."""

TILED = Mix((), Scope.ALL, (0.5, 0.5, 0.5))
"""Stands for a coloured tiling, whose cell decides plate by plate."""

Follow = Callable[["Recorder", Recording, State, bytes], None]
"""Follows a content stream for its plates alone, from a state, and records it."""


class Recorder:
    """Records a page and all that it draws; one recording for each form and inherited state.

    It listens while a page is followed. What is not followed there, since nothing is placed of it
    (masks, cells, glyphs, forms that are clipped away), it has followed by itself.
    """

    def __init__(
        self,
        layers: LayerLookup,
        limits: Limits,
        follow: Follow,
        to_inks: Callable[[ColourSpace], ColourSpace] | None = None,
    ) -> None:
        self.survey = Survey()
        self.limits = limits
        self._layers, self._follow = layers, follow
        self._to_inks = to_inks
        """Gives spaces without ink amounts the ones they come to in print."""
        self._in_mask = False
        """What is read now belongs to a soft mask, and so asks for no plates."""
        self._spaces: dict[tuple[int, bool], ColourSpace] = {}
        self._colours: dict[tuple[int, bool, bool], SetColour] = {}
        self._mixes: dict[tuple[int, bool], Mix] = {}
        self._alike: dict[tuple[object, ...], tuple[Mix, SetColour]] = {}
        self._forms: dict[tuple[object, ...], Recording | None] = {}
        self._pictures: dict[tuple[int, bool], RecordedPicture] = {}
        self._patterns: dict[tuple[int, int, bool], PatternUse | None] = {}
        self._keep: list[object] = []
        self._active: list[int] = []

    def page(
        self, source: DictionaryObject, resources: DictionaryObject, content: bytes
    ) -> Recording:
        """Record a page's content."""
        state = _fresh()
        recording = self.begun_page(source, resources, state)
        self._follow(self, recording, state, content)
        return recording

    def begun_page(
        self, source: DictionaryObject, resources: DictionaryObject, state: State
    ) -> Recording:
        """Return the recording of a page that is to be followed from a state."""
        group = dictionary(source, "Group")
        state.rgb_group = self._in_rgb(group, resources, False)
        self._note_knockout(group)
        return self._begun(source, resources)

    def _begun(self, source: DictionaryObject, resources: DictionaryObject) -> Recording:
        self._keep += (source, resources)
        return Recording(source, resources)

    def _note_knockout(self, group: DictionaryObject | None) -> None:
        if group is not None and truth(group, "K"):
            self.survey.limits.setdefault("a knockout group is drawn as if its objects added up")

    def _in_rgb(
        self, group: DictionaryObject | None, resources: DictionaryObject, outside: bool
    ) -> bool:
        """Say whether a group blends in RGB; without a space of its own as `outside`."""
        given = raw_entry(group, "CS")
        if given is None:
            return outside
        return read_space(given, resources, self.limits).facts.kind == "rgb"

    def content(
        self, source: DictionaryObject, resources: DictionaryObject, data: bytes, state: State
    ) -> Recording:
        """Record content that is followed for its plates alone."""
        self.limits.spend(Demand.FORMS, 1)
        recording = self._begun(source, resources)
        self._follow(self, recording, state, data)
        return recording

    def trouble(self, sentence: str) -> None:
        if len(self.survey.troubles) < MOST_TROUBLES:
            self.survey.troubles.setdefault(sentence)

    def _printed(self, space: ColourSpace) -> ColourSpace:
        """Return what a space comes to in print."""
        key = id(space), self._in_mask
        found = self._spaces.get(key)
        if found is None:
            found = self._spaces[key] = self._noted(space)
            self._keep.append(space)
        return found

    def _read(self, given: object, resources: DictionaryObject) -> ColourSpace:
        return self._noted(UNKNOWN if given is None else read_space(given, resources, self.limits))

    def _noted(self, space: ColourSpace) -> ColourSpace:
        for spot, look in spot_looks(space):
            self.survey.looks.setdefault(spot, look)
        # A mask goes by how light its colours look.
        to_inks = None if self._in_mask else self._to_inks
        return space if to_inks is None else to_inks(space)

    def colour(self, colour: StateColour, stroke: bool) -> SetColour:
        """Return what setting a colour comes to."""
        key = id(colour), stroke, self._in_mask
        found = self._colours.get(key)
        if found is None:
            # Colours of one value set elsewhere are one, so that copies write them once.
            alike = (colour.space, colour.components, stroke, self._in_mask)
            if alike not in self._alike:
                mix = mix_of(self._printed(colour.space), colour.components)
                self._alike[alike] = mix, SetColour(stroke, mix)
            found = self._set(colour, *self._alike[alike])
        return found

    def mix(self, colour: StateColour) -> Mix:
        """Return a colour as the plates see it."""
        key = id(colour), self._in_mask
        if key not in self._mixes:
            self.colour(colour, stroke=False)
        return self._mixes[key]

    def no_colour(self, colour: StateColour, stroke: bool) -> SetColour:
        """Have a colour that cannot be told paint nothing."""
        mix = Mix((), Scope.NONE, (1.0, 1.0, 1.0))
        return self._set(colour, mix, SetColour(stroke, mix))

    def pattern_colour(
        self, colour: StateColour, stroke: bool, label: str, use: PatternUse
    ) -> SetColour:
        """Return what setting a pattern comes to, which has this name in the stream."""
        space, mix = self._printed(colour.space), TILED
        if use.shading is not None:
            facts = use.shading.space.facts
            scope = scope_of(facts)
            scope = Scope.PROCESS if scope is Scope.DIRECT else scope
            inks = () if scope is Scope.SEEN else tuple((p, 1.0) for p in space_plates(facts) if p)
            mix = Mix(inks, scope, (0.0, 0.0, 0.0))
        elif isinstance(space, PatternSpace) and space.base is not None:
            mix = mix_of(space.base, colour.components)
        uncoloured = use.cell is not None and use.cell.uncoloured
        return self._set(colour, mix, SetColour(stroke, mix if uncoloured else None, label))

    def _set(self, colour: StateColour, mix: Mix, event: SetColour) -> SetColour:
        self._keep.append(colour)
        self._mixes[id(colour), self._in_mask] = mix
        self._colours[id(colour), event.stroke, self._in_mask] = event
        return event

    def form(
        self, source: StreamObject, resources: DictionaryObject, state: State
    ) -> Recording | None:
        """Return the recording of a form drawn in a state; None where it must be left out."""
        key = self._form_key(source, state)
        if key in self._forms:
            return self._forms[key]
        if not self._may_enter(source):
            self.trouble("a form that draws itself was left out of the plates")
            return None
        self.limits.hold(Demand.DEPTH, len(self._active) + 1)
        inner = state.inside()
        self._enter(source, resources, state, inner)
        self._active.append(id(source))
        try:
            own = dictionary(source, "Resources") or resources
            self._forms[key] = self.content(source, own, decoded(source, self.limits), inner)
        finally:
            self._active.pop()
        return self._forms[key]

    @contextmanager
    def along(
        self,
        source: StreamObject,
        resources: DictionaryObject,
        outer: State,
        inner: State,
    ) -> Iterator[Recording | None]:
        """Record a form while it is being followed anyway; `outer` is the state that it is drawn
        in, `inner` the one that it starts with. Gives None where it is recorded already, or is
        better recorded apart."""
        key = self._form_key(source, outer)
        if (
            key in self._forms
            or not self._may_enter(source)
            or abs(inner.ctm.determinant) < FLATTEST
        ):
            yield None
            return
        try:
            self._enter(source, resources, outer, inner)
        except Exception as error:
            if not may_be_stepped_over(error):
                raise
            yield None  # `form` meets it again, and says so
            return
        self._active.append(id(source))
        try:
            own = dictionary(source, "Resources") or resources
            recording = self._begun(source, own)
            yield recording
            self._forms[key] = recording
        finally:
            self._active.pop()

    def _form_key(self, source: StreamObject, state: State) -> tuple[object, ...]:
        return (id(source), self._in_mask, *state.inherited)

    def _may_enter(self, source: StreamObject) -> bool:
        return id(source) not in self._active

    def _enter(
        self, source: StreamObject, resources: DictionaryObject, outer: State, inner: State
    ) -> None:
        """Set what the plates of a form depend on in the state that it starts with."""
        inner.type3 = None
        group = dictionary(source, "Group")
        if group is not None and name(group, "S") == "Transparency":
            self.survey.apart = True
            inner.blend = "Normal"
            inner.isolated = outer.isolated or truth(group, "I")
            inner.open_group = not truth(group, "I")
            inner.rgb_group = self._in_rgb(group, resources, outer.rgb_group)
            self._note_knockout(group)

    def glyphs(
        self,
        font: DictionaryObject,
        resources: DictionaryObject,
        state: State,
        given: tuple[SetColour, SetColour],
    ) -> tuple[dict[str, Recording], bool]:
        """Record the glyphs of a Type 3 font that may set colours (d0), and say whether all do.

        Until they do they paint in the colours of the text, `given` (ISO 32000-2, 9.6.4).
        """
        recorded: dict[str, Recording] = {}
        whole = True
        if id(font) in self._active:
            return recorded, False
        own = dictionary(font, "Resources") or resources
        self._active.append(id(font))
        try:
            for glyph, reference in (dictionary(font, "CharProcs") or {}).items():
                source = resolved(reference)
                if isinstance(source, StreamObject):
                    data = decoded(source, self.limits)
                    if any(one.operator == b"d0" for one in islice(operators(data), 5)):
                        recorded[glyph[1:]] = self.content(source, own, data, state.inside())
                        recorded[glyph[1:]].given = given
                    else:
                        whole = False
        finally:
            self._active.pop()
        return recorded, whole

    def prints(self, content: object) -> bool:
        """Say whether an /OC entry or property list belongs to what is printed."""
        return self._layers.use(content).prints

    def picture(
        self, label: str, source: StreamObject, resources: DictionaryObject
    ) -> RecordedPicture:
        key = (id(source), self._in_mask)
        found = self._pictures.get(key)
        if found is None:
            space = None
            if not (truth(source, "ImageMask") or truth(source, "IM")):
                given = raw_entry(source, "ColorSpace")
                space = self._read(given, resources)
            found = self._pictures[key] = RecordedPicture(label, source, resources, space)
            self._keep.append(source)
        return found

    def pattern(self, label: str, resources: DictionaryObject) -> PatternUse | None:
        source = dictionary(dictionary(resources, "Pattern"), label)
        if source is None:
            return None
        key = (id(source), id(resources), self._in_mask)
        if key not in self._patterns:
            self._patterns[key] = None
            self._patterns[key] = self._pattern(source, resources)
        return self._patterns[key]

    def _pattern(self, source: DictionaryObject, resources: DictionaryObject) -> PatternUse | None:
        self._keep += (source, resources)
        if integer(source, "PatternType") == 2:
            shading = dictionary(source, "Shading")
            return None if shading is None else PatternUse(
                source, None, self.shading(shading, resources)
            )  # fmt: skip
        if not isinstance(source, StreamObject):
            return None
        own = dictionary(source, "Resources") or resources
        cell = self.content(source, own, decoded(source, self.limits), _fresh())
        cell.uncoloured = integer(source, "PaintType") == 2
        return PatternUse(source, cell, None)

    def shading(self, source: DictionaryObject, resources: DictionaryObject) -> ShadingUse:
        given = raw_entry(source, "ColorSpace")
        space = self._read(given, resources)
        self.survey.use_space(space.facts)
        return ShadingUse(source, space)

    def state_use(self, source: DictionaryObject, resources: DictionaryObject) -> StateUse:
        """Return a graphics state dictionary with its soft mask's group recorded."""
        if _has_transfer(source):
            self.survey.limits.setdefault(
                "a transfer function, by which a device changes the amounts of its inks, is left "
                "out"
            )
        mask = dictionary(source, "SMask")
        group = stream(mask, "G")
        self._note_knockout(dictionary(group, "Group"))
        if group is not None and (id(group) in self._active or draws_itself(group)):
            self.trouble("a soft mask that is made of itself was left out")
            return StateUse(source, None, None, endless=True)
        if group is None or name(mask, "S") != "Luminosity":
            return StateUse(source, None, None)
        given = raw_entry(dictionary(group, "Group"), "CS")
        own = dictionary(group, "Resources") or resources
        space = None if given is None else read_space(given, own, self.limits)
        # A mask has its own plates: what it needs is not what the page needs.
        survey, self.survey = self.survey, Survey()
        outside, self._in_mask = self._in_mask, True
        self._active.append(id(group))
        try:
            recording = self.content(group, own, decoded(group, self.limits), _fresh())
        finally:
            self._active.pop()
            survey.troubles.update(self.survey.troubles)
            survey.limits.update(self.survey.limits)
            self.survey, self._in_mask = survey, outside
        return StateUse(source, recording, space)


def _fresh() -> State:
    """Return the state that content of its own starts with."""
    return State(Affine.identity(), Clip(EVERYWHERE))


def _has_transfer(source: DictionaryObject) -> bool:
    """Say whether a graphics state sets transfer functions, or a halftone that brings its own
    (ISO 32000-2, 10.5, 10.6.5 and Table 57)."""
    halftone = dictionary(source, "HT")
    screens = [] if halftone is None else [halftone, *map(resolved, halftone.values())]
    given = entry(source, "TR2", "TR")
    each = [*items(given)] if isinstance(given, ArrayObject) else [given]
    each += [entry(screen, "TransferFunction") for screen in screens]
    return any(one is not None and as_name(one) not in ("Identity", "Default") for one in each)
