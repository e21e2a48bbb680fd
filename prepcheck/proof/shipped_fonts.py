"""The shipped fonts, loaded when first needed, and which of them can show a character."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import NamedTuple

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from prepcheck.proof.theme import FontFile

FOLDER = Path(__file__).parent / "fonts"
_PREFIX = "prepcheck-"


class _Fallback(NamedTuple):
    """A font asked only for characters in its ranges, so that others are not loaded in vain."""

    stem: str
    ranges: tuple[tuple[int, int], ...]


_FALLBACKS = (
    _Fallback("NotoSansDevanagari-Regular", ((0x0900, 0x097F), (0x1CD0, 0x1CFF), (0xA8E0, 0xA8FF))),
    _Fallback("NotoSansBengali-Regular", ((0x0980, 0x09FF),)),
    _Fallback("NotoSansTamil-Regular", ((0x0B80, 0x0BFF),)),
    _Fallback("NotoSansThai-Regular", ((0x0E00, 0x0E7F),)),
    _Fallback(
        "WenQuanYiMicroHei-CJK",
        ((0x2E80, 0x9FFF), (0xAC00, 0xD7AF), (0xF900, 0xFAFF), (0xFE30, 0xFE4F), (0xFF00, 0xFFEF)),
    ),
    _Fallback("DejaVuSans", ((0x0000, 0x10FFFF),)),
)


@cache
def _load(stem: str) -> TTFont:
    font = TTFont(_PREFIX + stem, str(FOLDER / f"{stem}.ttf"))
    pdfmetrics.registerFont(font)
    return font


@cache
def _characters(stem: str) -> frozenset[int]:
    return frozenset(_load(stem).face.charToGlyph)


@cache
def font_for(character: str, face: FontFile) -> str | None:
    """Return the name of the registered font that shows a character, None when none does.

    The face itself is preferred, then the plain text face, then the fallbacks.
    """
    code = ord(character)
    mains = (face.value, FontFile.TEXT.value) if face is FontFile.TITLE else (face.value,)
    for stem in mains:
        if code in _characters(stem):
            return _PREFIX + stem
    for stem, ranges in _FALLBACKS:
        if any(first <= code <= last for first, last in ranges) and code in _characters(stem):
            return _PREFIX + stem
    return None


@cache
def advance(character: str, font: str) -> float:
    """Return the width of a character at 1 pt."""
    width: float = pdfmetrics.stringWidth(character, font, 1.0)
    return width


def load_faces() -> None:
    """Load the fonts that every proof is set in."""
    for face in FontFile:
        _characters(face.value)


def face_name(face: FontFile) -> str:
    """Return the registered name of one of the faces."""
    _load(face.value)
    return _PREFIX + face.value
