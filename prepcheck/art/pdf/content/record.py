"""What one reading of a page's content leaves behind, to be played back once a copy.

A recording is the content in pieces: bytes that stand as they are, and events, each of which a
copy turns into its own bytes.
"""

from __future__ import annotations

from dataclasses import field
from typing import NamedTuple

from pypdf.generic import DictionaryObject, StreamObject

from prepcheck.art.model import ALL_INKS, Space
from prepcheck.art.pdf.colour import ColourSpace
from prepcheck.art.pdf.content.mix import (
    PROCESS,
    SEEN_RGB,
    Mix,
    Plateset,
    Scope,
    scope_of,
    space_plates,
)
from prepcheck.art.pdf.content.spots import SpotLook
from prepcheck.frozen import dataclass


class SetColour(NamedTuple):
    """A colour operator. `pattern` is a resource name; `mix` then colours an uncoloured tiling."""

    stroke: bool
    mix: Mix | None
    pattern: str | None = None


class PaintPath(NamedTuple):
    """A path-painting operator of which some copies leave out the fill, the stroke or both."""

    operator: bytes
    fill: Plateset
    stroke: Plateset
    isolated: bool


class ShowText(NamedTuple):
    """Stands before text of which some copies leave out the fill, the stroke or both."""

    mode: int
    fill: Plateset
    stroke: Plateset
    isolated: bool


class EndText(NamedTuple):
    """Stands behind such text, with the state that holds after it."""

    shown: ShowText
    fill: SetColour
    stroke: SetColour
    blend: str


class Edge(NamedTuple):
    """Stands before the operator that clips to a rectangle: keeps its edges from whole pixels,
    where clips are cut so."""

    corner: bytes


class Draw(NamedTuple):
    """`Do`: an external object under its name in the recording, with the plates it changes."""

    alias: str
    painted: Plateset
    isolated: bool
    edged: bool
    """A picture, whose edges are the unit square's."""


class Shade(NamedTuple):
    """`sh`."""

    name: str
    painted: Plateset
    isolated: bool


Event = SetColour | PaintPath | ShowText | EndText | Edge | Draw | Shade


@dataclass(frozen=True, eq=False)
class RecordedPicture:
    """A picture: its dictionary, its stored data, and its colour space (None for a stencil)."""

    name: str
    source: StreamObject
    resources: DictionaryObject
    space: ColourSpace | None


@dataclass(frozen=True, eq=False)
class ShadingUse:
    """A shading with its colour space."""

    source: DictionaryObject
    space: ColourSpace


@dataclass(frozen=True, eq=False)
class PatternUse:
    """A pattern: a tiling with its recorded cell, or a shading."""

    source: DictionaryObject
    cell: Recording | None
    shading: ShadingUse | None


@dataclass(frozen=True, eq=False)
class StateUse:
    """A graphics state dictionary; `mask` is the recorded group of a luminosity mask."""

    source: DictionaryObject
    mask: Recording | None
    mask_space: ColourSpace | None
    endless: bool = False
    """Its mask is made of itself, and so is none."""


@dataclass(frozen=True, eq=False)
class GlyphFont:
    """The coloured (d0) glyphs of the Type 3 font of a resource name, as drawn in one state."""

    label: str
    alias: str
    """Its name in copies."""
    glyphs: dict[str, Recording]
    whole: bool
    """All glyphs of the font are coloured."""

    @property
    def takes_colour(self) -> bool:
        return any(glyph.takes_colour for glyph in self.glyphs.values())


class Enlarged(NamedTuple):
    """Something drawn, and how much larger than its own space along x and y."""

    what: Recording | RecordedPicture
    x_scale: float
    y_scale: float


@dataclass(eq=False)
class Recording:
    """A content stream as read: page, form, tiling cell or glyph."""

    source: DictionaryObject
    resources: DictionaryObject
    pieces: list[bytes | Event] = field(default_factory=list)
    drawn: dict[str, Recording | RecordedPicture] = field(default_factory=dict)
    shadings: dict[str, ShadingUse] = field(default_factory=dict)
    patterns: dict[str, PatternUse] = field(default_factory=dict)
    states: dict[str, StateUse] = field(default_factory=dict)
    glyph_fonts: dict[str, GlyphFont] = field(default_factory=dict)
    """Type 3 fonts with coloured glyphs, by the name that they have in copies."""
    placed: list[Enlarged] = field(default_factory=list)
    whites: set[str] = field(default_factory=set)
    """Pictures, by alias, of which some copies paint the shape only."""
    uncoloured: bool = False
    """A glyph or cell that takes its colour from outside."""
    given: tuple[SetColour, SetColour] | None = None
    """What a coloured glyph fills and strokes with until it sets colours of its own."""
    takes_colour: bool = False
    """Something is painted before a colour was set."""


@dataclass(eq=False)
class Survey:
    """What the whole page needs: its plates, what overprints, and what went wrong."""

    plates: dict[str, None] = field(default_factory=dict)
    """Plates that get ink somewhere, in the order met; All marks every one of them."""
    spots: dict[str, None] = field(default_factory=dict)
    """Spots that are named by what is painted, with ink or not."""
    sets: set[Plateset] = field(default_factory=set)
    troubles: dict[str, None] = field(default_factory=dict)
    limits: dict[str, None] = field(default_factory=dict)
    looks: dict[str, SpotLook] = field(default_factory=dict)
    converted: bool = False
    """Something is painted in a colour without ink amounts that was turned into inks."""
    every: bool = False
    """Something is painted in the colorant that marks every plate."""
    clips: int = 0
    pictures: int = 0
    shaded: int = 0
    apart: bool = False
    """Something is painted apart first: a group, or what is blended or masked."""

    def use(self, mix: Mix) -> None:
        """Note the plates that a colour paints with."""
        if mix.scope is Scope.SEEN:
            self.plates.update(dict.fromkeys(SEEN_RGB))
        self.converted |= mix.scope is Scope.CONVERTED
        for name, amount in mix.inks:
            if amount > 0 and name == ALL_INKS:
                self.every = True
            elif amount > 0:
                self.plates[name] = None
            if name not in PROCESS and name != ALL_INKS:
                self.spots[name] = None

    def use_space(self, space: Space) -> None:
        """Note the plates that a picture or shading may paint with."""
        if scope_of(space) is Scope.SEEN:
            self.plates.update(dict.fromkeys(SEEN_RGB))
            return
        self.every |= scope_of(space) is Scope.ALL
        self.converted |= scope_of(space) is Scope.CONVERTED
        names = [name for name in space_plates(space) if name not in ("", ALL_INKS)]
        self.plates.update(dict.fromkeys(names))
        self.spots.update(dict.fromkeys(name for name in names if name not in PROCESS))


def pdf_bytes(name: str) -> bytes:
    """Return a name, slash included, as content writes it."""
    return b"/" + b"".join(
        bytes((c,)) if 33 <= c <= 126 and c not in b"#/()<>[]{}%" else b"#%02X" % c
        for c in name[1:].encode("utf-8")
    )
