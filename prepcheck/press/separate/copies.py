"""Plays a recorded page back into copies whose red, green and blue are three plates each.

A channel is what is left of the paper's light: 1 for no ink, 0 for solid. Subtractive spaces
blend on exactly these complements (ISO 32000-2, 11.3.4 and 11.7), so opacity and separable blend
modes come out right on each plate.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from pypdf.generic import (
    DictionaryObject,
    IndirectObject,
    NameObject,
    PdfObject,
)

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.limits import Demand, Limits
from prepcheck.art.pdf.colour import ColourSpace
from prepcheck.art.pdf.content.mix import (
    BLACK,
    NON_SEPARABLE,
    NOTHING,
    Mix,
    Plateset,
    blend_name,
    mix_of,
)
from prepcheck.art.pdf.content.record import (
    Draw,
    Edge,
    EndText,
    Event,
    GlyphFont,
    PaintPath,
    PatternUse,
    RecordedPicture,
    Recording,
    SetColour,
    Shade,
    ShadingUse,
    ShowText,
    StateUse,
    pdf_bytes,
)
from prepcheck.art.pdf.content.rectangles import edged
from prepcheck.art.pdf.objects import dictionary, entry, number, numbers
from prepcheck.errors import said_by
from prepcheck.geometry import FloatArray
from prepcheck.press.separate.picture_copies import DecodedPicture, Plane, white
from prepcheck.press.separate.shadings import reshaded
from prepcheck.press.separate.writer import PdfWriter, pdf_object, stream_object
from prepcheck.press.view import ByteArray

Rgb = tuple[float, float, float]
WHITE: Rgb = (1.0, 1.0, 1.0)
MULTIPLY, BLEND, UNCOLOURED = "PBlendMultiply", "PBlend", "PUncoloured"
"""Names of resources that copies add."""
KEPT_STATE = ("/LW", "/LC", "/LJ", "/ML", "/D", "/FL", "/SM", "/SA", "/CA", "/ca", "/AIS", "/TK")
"""Entries of a graphics state dictionary that copies keep as they are."""
BLEND_MODES = (
    "Normal", "Multiply", "Screen", "Overlay", "Darken", "Lighten", "ColorDodge", "ColorBurn",
    "HardLight", "SoftLight", "Difference", "Exclusion", *NON_SEPARABLE,
)  # fmt: skip
EVERYWHERE = 16000
"""Half the edge of a square that covers any page, in its own units."""


UNIT_SQUARE = b"0 0 m 1 0 l 1 1 l 0 1 l h 0 0 m 0 0 l h"
"""A picture's own square; the second path keeps its edges from whole pixels."""


class Exact(NamedTuple):
    """Whether rectangular clips and pictures are cut between pixels."""

    clips: bool
    pictures: bool


class Copy(ABC):
    """One copy of a page: how colours, blend modes and overprint come out on it."""

    def __init__(
        self, writer: PdfWriter, exact: Exact, trouble: Callable[[str], None], limits: Limits
    ):
        self.writer = writer
        self.limits = limits
        self.exact = exact
        self.trouble = trouble
        self.pictures: dict[int, IndirectObject] = {}
        """Recoloured pictures by identity, made beforehand."""
        self.masks: Copy | None = None
        """The copy that luminosity masks are played into."""
        self._forms: dict[int, IndirectObject] = {}
        self._bytes: dict[int, bytes] = {}
        self._named: set[str] = set()
        """The names that events added: content is long to look through for others."""
        self._events: list[Event] = []
        """Events whose bytes are known, kept so that their identity is not used again."""
        self._made: dict[int, IndirectObject | None] = {}

    @abstractmethod
    def channels(self, mix: Mix) -> Rgb:
        """Return a colour's three channels."""

    @abstractmethod
    def samples(self, decoded: DecodedPicture) -> ByteArray:
        """Return a decoded picture's channels (rows, columns, 3; 1 where all are the same)."""

    @abstractmethod
    def paints(self, changed: Plateset) -> bool:
        """Say whether something that changes these plates is painted in this copy."""

    @abstractmethod
    def blend(self, mode: str) -> str:
        """Return the blend mode that stands for `mode` on these plates."""

    @property
    def plane(self) -> Plane:
        return Plane(self.channels, self.samples)

    def page(self, recording: Recording, media_box: Sequence[float]) -> None:
        """Add the copy of a page to the file."""
        black = self.event(SetColour(False, BLACK)) + b" " + self.event(SetColour(True, BLACK))
        data = self.content(recording, black)
        group = dictionary(recording.source, "Group")
        entries: dict[str, object] = {
            "Type": "Page", "MediaBox": [*media_box], "Resources": self.resources(recording, data),
            "Contents": self.writer.add(stream_object(data, {})),
        }  # fmt: skip
        if group is not None:
            entries["Group"] = _rgb_group(group)
        self.writer.page(entries)

    def content(self, recording: Recording, *before: bytes) -> bytes:
        """Return a recording's content as this copy has it, behind something else."""
        known, event = self._bytes, self.event
        return b"\n".join([
            *before,
            *[
                piece if isinstance(piece, bytes) else known.get(id(piece)) or event(piece)
                for piece in recording.pieces
            ],
        ])  # fmt: skip

    # Events

    def event(self, event: Event) -> bytes:
        """Return an event's bytes in this copy, made once."""
        made = self._bytes.get(id(event))
        if made is None:
            made = self._bytes[id(event)] = self._event(event)
            self._events.append(event)
            self._named |= {name for name in (BLEND, UNCOLOURED) if name.encode() in made}
        return made

    def _event(self, event: Event) -> bytes:
        match event:
            case SetColour():
                return self._set_colour(event)
            case PaintPath():
                return self._paint_path(event)
            case ShowText():
                return self._show_text(event)
            case EndText():
                return self._end_text(event)
            case Edge(corner):
                return edged(corner) if self.exact.clips else b""
            case Draw():
                return self._draw(event)
            case Shade(name, changed, isolated):
                if self.paints(changed):
                    return pdf_bytes("/" + name) + b" sh"
                if not isolated or changed == NOTHING:
                    return b""
                return b"q /%b gs 1 1 1 rg %d %d %d %d re f Q" % (
                    MULTIPLY.encode(), -EVERYWHERE, -EVERYWHERE, 2 * EVERYWHERE, 2 * EVERYWHERE,
                )  # fmt: skip
        raise TypeError(type(event))

    def _draw(self, event: Draw) -> bytes:
        name = event.alias
        if not self.paints(event.painted):
            if not event.isolated or event.painted == NOTHING:
                return b""
            name += "w"
        drawn = b"/%b Do" % name.encode()
        return (
            b"q %b W n %b Q" % (UNIT_SQUARE, drawn)
            if event.edged and self.exact.pictures
            else drawn
        )

    def _set_colour(self, event: SetColour) -> bytes:
        values = b"%.5g %.5g %.5g" % (WHITE if event.mix is None else self.channels(event.mix))
        if event.pattern is None:
            return values + (b" RG" if event.stroke else b" rg")
        space, paint = (b" CS ", b" SCN") if event.stroke else (b" cs ", b" scn")
        name = pdf_bytes("/" + event.pattern)
        if event.mix is None:
            return b"/Pattern" + space + name + paint
        return b"/%b" % UNCOLOURED.encode() + space + values + b" " + name + paint

    def _paint_path(self, event: PaintPath) -> bytes:
        operator = event.operator
        filled, stroked = operator in FILL_ONLY, operator in STROKE_ONLY
        both = not filled and not stroked
        fill = (filled or both) and self.paints(event.fill)
        stroke = (stroked or both) and self.paints(event.stroke)
        if fill and stroke:
            return operator
        if fill:
            return FILL_ONLY.get(operator) or FILL_OF[operator]
        if stroke:
            return STROKE_ONLY.get(operator) or STROKE_OF[operator]
        if event.isolated and NOTHING not in (event.fill, event.stroke):
            return b"q /%b gs 1 1 1 rg 1 1 1 RG %b Q" % (MULTIPLY.encode(), operator)
        return b"n"

    def _text_mode(self, event: ShowText) -> int:
        """Return the render mode (Table 104) that leaves out what is not painted here."""
        fill = event.mode in (0, 2, 4, 6) and self.paints(event.fill)
        stroke = event.mode in (1, 2, 5, 6) and self.paints(event.stroke)
        mode = (2 if stroke else 0) if fill else (1 if stroke else 3)
        return mode + (4 if event.mode >= 4 else 0)

    def _show_text(self, event: ShowText) -> bytes:
        mode = self._text_mode(event)
        if mode % 4 == 3 and event.isolated and NOTHING not in (event.fill, event.stroke):
            return b"/%b gs 1 1 1 rg 1 1 1 RG " % MULTIPLY.encode()
        return b"%d Tr " % mode if mode != event.mode else b""

    def _end_text(self, event: EndText) -> bytes:
        shown = event.shown
        mode = self._text_mode(shown)
        if mode % 4 == 3 and shown.isolated and NOTHING not in (shown.fill, shown.stroke):
            back = self.event(event.fill) + b" " + self.event(event.stroke)
            return b"/%b gs " % (BLEND + self.blend(event.blend)).encode() + back
        return b"%d Tr " % shown.mode if mode != shown.mode else b""

    # Resources

    def resources(self, recording: Recording, data: bytes) -> DictionaryObject:
        """Return the resources of a recording's copy, whose content `data` is."""
        made = DictionaryObject()
        fonts = dictionary(recording.resources, "Font")
        if fonts is not None:
            mapped = DictionaryObject(fonts.items())
            for alias, made_font in recording.glyph_fonts.items():
                if made_font.glyphs:
                    mapped[NameObject("/" + alias)] = self._glyph_font(fonts, made_font)
            made[NameObject("/Font")] = mapped
        drawn = DictionaryObject()
        for alias, target in recording.drawn.items():
            if isinstance(target, Recording):
                drawn[NameObject("/" + alias)] = self.form(target)
            elif id(target) in self.pictures:
                drawn[NameObject("/" + alias)] = self.pictures[id(target)]
            if alias in recording.whites and isinstance(target, RecordedPicture):
                drawn[NameObject(f"/{alias}w")] = white(target, self.writer)
        states = {name: self._state(use) for name, use in recording.states.items()}
        if self._names(BLEND, data):
            states.update(self._blends)
        groups: dict[str, Iterable[tuple[str, PdfObject | None]]] = {
            "ExtGState": states.items(),
            "Pattern": ((name, self._pattern(use)) for name, use in recording.patterns.items()),
            "Shading": ((name, self._shading(use)) for name, use in recording.shadings.items()),
        }
        # None is left out: PDFium would look among the page's instead.
        made[NameObject("/XObject")] = drawn
        for kind, entries in groups.items():
            made[NameObject("/" + kind)] = DictionaryObject(
                {NameObject("/" + name): value for name, value in entries if value is not None}
            )
        if self._names(UNCOLOURED, data):
            made[NameObject("/ColorSpace")] = pdf_object({UNCOLOURED: ["Pattern", "DeviceRGB"]})
        return made

    def _names(self, name: str, data: bytes) -> bool:
        """Say whether content names a resource that copies add."""
        return name in self._named and name.encode() in data

    @cached_property
    def _blends(self) -> dict[str, PdfObject]:
        """The graphics states that set a blend mode and nothing else."""
        return {BLEND + mode: self.writer.add(pdf_object({"BM": mode})) for mode in BLEND_MODES}

    def form(self, recording: Recording) -> IndirectObject:
        """Return this copy's form for a recording."""
        if id(recording) not in self._forms:
            data = self.content(recording)
            made = stream_object(data, {})
            kept = ("/Type", "/Subtype", "/FormType", "/BBox", "/Matrix")
            made.update({k: v for k, v in recording.source.items() if k in kept})
            made[NameObject("/Subtype")] = NameObject("/Form")
            made[NameObject("/Resources")] = self.resources(recording, data)
            group = dictionary(recording.source, "Group")
            if group is not None:
                made[NameObject("/Group")] = _rgb_group(group)
            self._forms[id(recording)] = self.writer.add(made)
        return self._forms[id(recording)]

    def _glyph_font(self, fonts: DictionaryObject, made: GlyphFont) -> PdfObject:
        font = DictionaryObject((dictionary(fonts, made.label) or DictionaryObject()).items())
        procedures = DictionaryObject((dictionary(font, "CharProcs") or {}).items())
        merged = DictionaryObject((dictionary(font, "Resources") or {}).items())
        for glyph, recording in made.glyphs.items():
            colours = b" ".join(map(self.event, recording.given or ()))
            head, body = _after_width(self.content(recording))
            data = head + b" " + colours + b"\n" + body
            procedures[NameObject("/" + glyph)] = self.writer.add(stream_object(data, {}))
            for kind, entries in self.resources(recording, data).items():
                both = DictionaryObject((dictionary(merged, kind[1:]) or {}).items())
                both.update(entries)
                merged[NameObject(kind)] = both
        font[NameObject("/CharProcs")] = procedures
        font[NameObject("/Resources")] = merged
        return self.writer.add(font)

    def _pattern(self, use: PatternUse) -> PdfObject | None:
        if id(use) in self._made:
            return self._made[id(use)]
        self._made[id(use)] = None
        if use.shading is not None:
            made = DictionaryObject(
                (k, v) for k, v in use.source.items() if k in ("/Type", "/PatternType", "/Matrix")
            )
            shading = self._shading(use.shading)
            if shading is None:
                return None
            made[NameObject("/Shading")] = shading
            self._made[id(use)] = self.writer.add(made)
        elif use.cell is not None:
            cell = use.cell
            start = b""
            if not cell.uncoloured:
                start = self.event(SetColour(False, BLACK)) + b" "
                start += self.event(SetColour(True, BLACK)) + b"\n"
            data = start + self.content(cell)
            tile = stream_object(data, {})
            tile.update({
                k: v for k, v in use.source.items()
                if k not in ("/Resources", "/Length", "/Filter", "/DecodeParms")
            })  # fmt: skip
            tile[NameObject("/Resources")] = self.resources(cell, data)
            tile.update(_steps(use.source))
            self._made[id(use)] = self.writer.add(tile)
        return self._made[id(use)]

    def _shading(self, use: ShadingUse) -> IndirectObject | None:
        if id(use) not in self._made:
            self.limits.spend(Demand.SHADINGS, 1)
            try:
                self._made[id(use)] = reshaded(
                    use.source,
                    use.space,
                    Tones(self, use.space),
                    self.writer,
                    self.limits,
                )
            except Exception as fault:
                if not may_be_stepped_over(fault):
                    raise
                self.trouble(f"a shading was left out of the plates ({said_by(fault, 80)})")
                self._made[id(use)] = None
        return self._made[id(use)]

    def many(self, space: ColourSpace, components: FloatArray) -> FloatArray:
        """Return the channels (n, 3) of colours (n, components) of a space."""
        return np.array([self.channels(mix_of(space, row)) for row in components.tolist()])

    def _state(self, use: StateUse) -> PdfObject:
        made = DictionaryObject((k, v) for k, v in use.source.items() if k in KEPT_STATE)
        font = use.source.get("/Font")
        if font is not None:
            made[NameObject("/Font")] = font
        blend = entry(use.source, "BM")
        if blend is not None:
            made[NameObject("/BM")] = NameObject("/" + self.blend(blend_name(blend)))
        mask = entry(use.source, "SMask")
        if isinstance(mask, DictionaryObject) and not use.endless:
            made[NameObject("/SMask")] = self._soft_mask(mask, use)
        elif mask is not None:
            made[NameObject("/SMask")] = NameObject("/None")
        return made

    def _soft_mask(self, mask: DictionaryObject, use: StateUse) -> DictionaryObject:
        made = DictionaryObject(mask.items())
        if use.mask is None:
            return made
        playing = self.masks or self
        made[NameObject("/G")] = playing.form(use.mask)
        backdrop = numbers(entry(mask, "BC"))
        if backdrop is not None and use.mask_space is not None:
            values = playing.channels(mix_of(use.mask_space, backdrop))
            made[NameObject("/BC")] = pdf_object([*values])
        return made


class Tones(NamedTuple):
    """The channels that colours of a space have in a copy."""

    copy: Copy
    space: ColourSpace

    def __call__(self, components: Sequence[float]) -> Rgb:
        return self.copy.channels(mix_of(self.space, components))

    def many(self, components: FloatArray) -> FloatArray:
        return self.copy.many(self.space, components)


FILL_ONLY = {b"f": b"f", b"F": b"f", b"f*": b"f*"}
STROKE_ONLY = {b"S": b"S", b"s": b"s"}
FILL_OF = {b"B": b"f", b"B*": b"f*", b"b": b"f", b"b*": b"f*"}
STROKE_OF = {b"B": b"S", b"B*": b"S", b"b": b"s", b"b*": b"s"}


def _steps(pattern: DictionaryObject) -> dict[NameObject, PdfObject]:
    """Return the steps of a tiling as PDFium paints them all: above 0, which the standard does not
    ask for (8.7.3.1). A step of 0, which it forbids, becomes the side of the cell."""
    box = numbers(entry(pattern, "BBox"), 4) or (0.0, 0.0, 1.0, 1.0)
    sides = abs(box[2] - box[0]) or 1.0, abs(box[3] - box[1]) or 1.0
    return {
        NameObject("/" + key): pdf_object(abs(number(pattern, key) or side))
        for key, side in zip(("XStep", "YStep"), sides, strict=True)
    }


def _rgb_group(group: DictionaryObject) -> DictionaryObject:
    made = DictionaryObject((k, v) for k, v in group.items() if k in ("/S", "/I", "/K", "/Type"))
    made[NameObject("/CS")] = NameObject("/DeviceRGB")
    return made


def _after_width(data: bytes) -> tuple[bytes, bytes]:
    """Split a glyph behind its d0."""
    head, found, body = data.partition(b"d0")
    return head + found, body
