"""Type 3 fonts whose glyphs may set colours (d0), as a content stream shows text in them.

Such a glyph starts in the graphics state of the text (ISO 32000-2, 9.6.4), so that each state it
is shown in takes a copy of the font of its own, unless all glyphs bring their colours.
"""

from __future__ import annotations

from prepcheck.art.pdf.content.mix import BLACK
from prepcheck.art.pdf.content.record import GlyphFont, Recording, SetColour
from prepcheck.art.pdf.content.recorder import Recorder
from prepcheck.art.pdf.content.state import State, Type3
from prepcheck.art.pdf.objects import dictionary

TEXT_PATTERN = "PText"
"""Begins the name that a pattern of the page has among a glyph's own."""


class GlyphFonts:
    """The Type 3 fonts of one content stream, each by its resource name and the state it is in."""

    def __init__(self, recorder: Recorder, recording: Recording) -> None:
        self._recorder, self._recording = recorder, recording
        self._found: dict[tuple[object, ...], GlyphFont] = {}
        self._takes_colour: dict[int, bool] = {}

    def drawn_in(
        self, state: State, font: Type3, colours: tuple[SetColour, SetColour]
    ) -> GlyphFont:
        """Return a font with its glyphs as drawn in a state, whose colours are given."""
        takes_colour = self._takes_colour.get(id(font.source), True)
        key = self._key(state, font, takes_colour)
        found = self._found.get(key)
        if found is None:
            found = self._recorded(state, font, colours)
            self._takes_colour[id(font.source)] = found.takes_colour
            self._found[self._key(state, font, found.takes_colour)] = found
        return found

    def _key(self, state: State, font: Type3, with_colours: bool) -> tuple[object, ...]:
        given = state.inherited if with_colours else state.uncoloured
        return (font.label, id(font.source), *given)

    def _recorded(
        self, state: State, font: Type3, colours: tuple[SetColour, SetColour]
    ) -> GlyphFont:
        made = self._recording.glyph_fonts
        given = self._carried(colours[0]), self._carried(colours[1])
        resources = self._recording.resources
        glyphs, whole = self._recorder.glyphs(font.source, resources, state, given)
        for glyph in glyphs.values():
            for colour in given:
                if colour.pattern is not None:
                    own = self._recording.patterns[colour.pattern.removeprefix(TEXT_PATTERN)]
                    glyph.patterns[colour.pattern] = own
        taken = {*made, *(str(name)[1:] for name in dictionary(resources, "Font") or ())}
        alias, count = font.label, 0
        while alias in made or (count and alias in taken):
            count += 1
            alias = f"{font.label}.{len(made) + count}"
        found = made[alias] = GlyphFont(font.label, alias, glyphs, whole and bool(glyphs))
        return found

    def _carried(self, colour: SetColour) -> SetColour:
        """Return a colour of the text as its glyphs have it, among resources of their own."""
        if colour.pattern is None or colour.pattern not in self._recording.patterns:
            return colour._replace(pattern=None, mix=colour.mix or BLACK)
        self._recorder.survey.limits.setdefault(
            "a pattern in type whose glyphs are drawings (Type 3) may start at another place"
        )
        return colour._replace(pattern=TEXT_PATTERN + colour.pattern)
