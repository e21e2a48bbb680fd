"""Shapes Arabic, Hebrew, Indic and Thai type by HarfBuzz: the glyphs that letters take among their
neighbours, and where they stand."""

from __future__ import annotations

import unicodedata
from functools import cache
from typing import Any, NamedTuple

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import ShapeData, ShapedStr

SHAPED = (
    (0x0590, 0x08FF), (0x0900, 0x0DFF), (0x0E00, 0x0EFF), (0xFB1D, 0xFDFF), (0xFE70, 0xFEFE),
)  # fmt: skip
"""Blocks of scripts whose letters depend on their neighbours, or carry marks that are placed."""
JOINERS = "\u200c\u200d"
"""Characters that part or join letters without being seen (Unicode Standard, 23.2)."""
_PRIVATE = range(0xE000, 0xF900)
EM = 1000


class ShapedGlyph(NamedTuple):
    """A glyph of a font, and how far it leads; how far it stands off; in thousandths of an em."""

    number: int
    advance: float
    x: float
    y: float


class Shaped(NamedTuple):
    """A run's glyphs from left to right, and as text that reportlab sets so."""

    glyphs: tuple[ShapedGlyph, ...]
    text: str
    width: float
    """In em."""


def script_of(character: str) -> str:
    """Return the script of a character, by the first word of its name, where it is one that is
    shaped; else nothing."""
    if character.isascii():
        return ""
    code = ord(character)
    if any(first <= code <= last for first, last in SHAPED):
        return unicodedata.name(character, "").partition(" ")[0]
    return ""


def shaped(text: str, font: str, right_to_left: bool) -> Shaped:
    """Return text of one script, in the order in which it is read, shaped in a registered font."""
    import uharfbuzz as hb

    own = _font(font)
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if right_to_left else "ltr"
    hb.shape(own, buffer, {})
    per_unit = EM / own.face.upem
    glyphs, characters, data = [], [], []
    for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        number = info.codepoint
        one = ShapedGlyph(number, *(per_unit * x for x in (at.x_advance, at.x_offset, at.y_offset)))
        character = _character(font, number)
        glyphs.append(one)
        characters.append(character)
        wide = pdfmetrics.getFont(font).face.charWidths[ord(character)]
        data.append(ShapeData(info.cluster, one.advance, 0, one.x, one.y, wide))
    said = ShapedStr("".join(characters), shapeData=data)
    return Shaped(tuple(glyphs), said, sum(one.advance for one in glyphs) / EM)


@cache
def _font(name: str) -> Any:
    import uharfbuzz as hb

    return hb.Font(pdfmetrics.getFont(name).hbFace)


@cache
def _free(font: str) -> tuple[int, ...]:
    """Return the private characters that a font does not use itself."""
    taken = pdfmetrics.getFont(font).face.charToGlyph
    return tuple(code for code in _PRIVATE if code not in taken)


@cache
def _character(font: str, glyph: int) -> str:
    """Return the character that stands for a glyph: its own, else a private one, the same always,
    so that the same proof comes out the same."""
    free = _free(font)
    face = pdfmetrics.getFont(font).face
    known = face.glyphToChar.get(glyph)
    if known:
        return chr(min(known))
    code = free[glyph]
    face.charToGlyph[code] = glyph
    face.charWidths[code] = EM / _font(font).face.upem * _font(font).get_glyph_h_advance(glyph)
    return chr(code)
