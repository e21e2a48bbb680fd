"""Setting type: cleaning, breaking into lines, and runs of one font each. Widths in points."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import groupby
from operator import itemgetter
from typing import NamedTuple

from prepcheck.proof.script import (
    LEFT_MARK,
    RIGHT_MARK,
    OneWayText,
    directed,
    has_right_to_left,
    mirrored,
    runs_right_to_left,
    stretches,
)
from prepcheck.proof.shaping import JOINERS, ShapedGlyph, script_of, shaped
from prepcheck.proof.shipped_fonts import advance, face_name, font_for
from prepcheck.proof.theme import FontFile, TextStyle

NARROW_SPACE = "\u202f"
_UNIT = re.compile(r"(?<=\d) (?=(?:mm²?|pt|ppi|lpi|kB|MB|GB|%|°|inch|rpm)(?![\w]))")
_KEPT_CONTROLS = frozenset((LEFT_MARK, RIGHT_MARK, *JOINERS))
_BREAK_AFTER = frozenset("-–—/_.,;:·@&")
_JOINER, _MOST_MARKS = "\u034f", 30
"""The character that parts runs of marks (combining grapheme joiner), and the longest of them."""
_CODE_SIZE = 0.62
"""Size of a code point's number shown for a character that no font has, against the text."""


class TypesetRun(NamedTuple):
    """Text of one font and size; `glyphs` where it is of a script that is shaped. It is set
    without the style's tracking then, which would part what is joined."""

    font: str
    size: float
    text: str
    width: float
    glyphs: tuple[ShapedGlyph, ...] = ()


@lru_cache(maxsize=4096)
def clean(text: str) -> str:
    """Return text composed (NFC) and without characters that only control layout.

    Numbers are tied to their units by a narrow space that does not break.
    """
    if text.isascii() and text.isprintable():
        return _UNIT.sub(NARROW_SPACE, text)
    composed = unicodedata.normalize("NFC", _stream_safe(text)).replace(_JOINER, "")
    spaced = "".join(" " if c in "\t\n\r\v\f\u2028\u2029\u2009" else c for c in composed)
    kept = "".join(
        c
        for c in spaced
        if c in (LEFT_MARK, RIGHT_MARK, *JOINERS)
        or (unicodedata.category(c) != "Cf" and not _is_selector(c))
    )
    return _UNIT.sub(NARROW_SPACE, kept)


def _stream_safe(text: str) -> str:
    """Return text whose runs of combining marks are parted, as normalising takes a time that
    grows with the square of their length (UAX #15, 13, Stream-Safe Text Format)."""
    if len(text) <= _MOST_MARKS:
        return text
    parts: list[str] = []
    marks = 0
    for character in text:
        marks = marks + 1 if unicodedata.combining(character) else 0
        if marks > _MOST_MARKS:
            parts.append(_JOINER)
            marks = 1
        parts.append(character)
    return "".join(parts)


@lru_cache(maxsize=4096)
def runs(line: str, style: TextStyle) -> tuple[TypesetRun, ...]:
    """Return a cleaned line as runs, in the order in which they stand from left to right."""
    widths = [*map(plain_advances(style.face).__getitem__, line)]
    if widths and None not in widths:
        width = sum(filter(None, widths)) * style.size + style.tracking * len(line)
        return (TypesetRun(face_name(style.face), style.size, line, width),)
    return tuple(run for stretch in stretches(line) for run in _of_stretch(stretch, style))


class _PlainAdvances(dict[str, float | None]):
    """The widths at 1 pt of characters that a face itself shows, one after the other from left to
    right; None of others. Most lines have no others, and are set in a third of the time."""

    def __init__(self, face: FontFile) -> None:
        super().__init__()
        self._face = face

    def __missing__(self, character: str) -> float | None:
        own = face_name(self._face)
        plain = (
            font_for(character, self._face) == own
            and not script_of(character)
            and not has_right_to_left(character)
            and character not in _KEPT_CONTROLS
        )
        self[character] = advance(character, own) if plain else None
        return self[character]


plain_advances = cache(_PlainAdvances)


def _of_stretch(stretch: OneWayText, style: TextStyle) -> Iterator[TypesetRun]:
    groups = [
        (key, [text for _, text in group])
        for key, group in groupby(_fonted(stretch.text, style), itemgetter(0))
    ]
    for (font, size, script), parts in groups[::-1] if stretch.right_to_left else groups:
        if script:
            made = shaped("".join(parts), font, stretch.right_to_left)
            yield TypesetRun(font, size, made.text, made.width * size, made.glyphs)
        else:
            text = mirrored(parts) if stretch.right_to_left else "".join(parts)
            yield TypesetRun(font, size, text, _width(font, size, text, style.tracking))


def _fonted(text: str, style: TextStyle) -> Iterator[tuple[tuple[str, float, str], str]]:
    """Yield each character with its font, its size, and its script where that is shaped.

    Joiners go with the letter before them where it is shaped, and are left out elsewhere.
    """
    font, script = "", ""
    for character in text:
        if character in JOINERS:
            if script:
                yield (font, style.size, script), character
            continue
        found = font_for(character, style.face)
        if found is None:
            font, script = face_name(style.face), ""
            yield (font, style.size * _CODE_SIZE, ""), f"U+{ord(character):04X}"
            continue
        same = script and font == found and unicodedata.category(character)[0] == "M"
        script = script if same else script_of(character)
        font = found
        yield (font, style.size, script), character


def _width(font: str, size: float, text: str, tracking: float) -> float:
    return sum(advance(c, font) for c in text) * size + tracking * len(text)


def width_of(line: str, style: TextStyle) -> float:
    """Return the width of a line."""
    return sum(run.width for run in runs(clean(line), style))


@lru_cache(maxsize=1024)
def wrap(text: str, style: TextStyle, measure: float) -> tuple[str, ...]:
    """Return text as cleaned lines no wider than `measure`; a blank text gives no line.

    Lines break at spaces, else after joints (hyphens, slashes, underscores, dots), between
    ideographs, and, where nothing else helps, anywhere.
    """
    lines: list[str] = []
    line, width = "", 0.0
    text = clean(text)
    for piece, gap in _pieces(text):
        for part in _parts(piece, style, measure):
            space = " " if gap and line else ""
            more = _line_width(space + part, style)
            if line and width + more > measure:
                lines.append(line)
                line, width = part, _line_width(part, style)
            else:
                line, width = line + space + part, width + more
            gap = False
    leftover = [line] if line else []
    right_to_left = runs_right_to_left(text)
    return tuple(directed(each, right_to_left) for each in (*lines, *leftover))


def balanced(text: str, style: TextStyle, measure: float) -> tuple[str, ...]:
    """Return text as in `wrap`, in lines as nearly of one length as they can be."""
    best = wrap(text, style, measure)
    low, high = measure / max(len(best), 1), measure
    while high - low > style.size / 4:
        middle = (low + high) / 2
        lines = wrap(text, style, middle)
        if len(lines) <= len(best):
            best, high = lines, middle
        else:
            low = middle
    return best


def clipped(text: str, style: TextStyle, measure: float, most: int) -> tuple[str, ...]:
    """Return text as in `wrap`, but at most `most` lines; an ellipsis ends what is cut off."""
    lines = wrap(text, style, measure)
    if len(lines) <= most:
        return lines
    words = lines[most - 1]
    while words and _line_width(words + "…", style) > measure:
        words = words[:-1]
    return (*lines[: most - 1], words.rstrip(" ,;:.–") + "…")


def _pieces(text: str) -> Iterator[tuple[str, bool]]:
    """Yield unbreakable pieces, each with whether a space stands before it."""
    for word in text.split(" "):
        start, gap = 0, True
        if word.isascii() and word.isalnum():
            yield word, gap
            continue
        for i, character in enumerate(word):
            last = i + 1 == len(word)
            joint = not last and (
                (
                    i > start + 1
                    and character in _BREAK_AFTER
                    and not word[i + 1].isdigit()
                    and not (character == "-" and word[start:i].isdigit())  # '12-inch'
                )
                or _is_ideograph(character)
                or _is_ideograph(word[i + 1])
            )
            if last or joint:
                yield word[start : i + 1], gap
                start, gap = i + 1, False


def _parts(piece: str, style: TextStyle, measure: float) -> Iterator[str]:
    """Yield a piece cut so that every part fits into a line."""
    if _line_width(piece, style) <= measure:
        yield piece
        return
    part, width = "", 0.0
    for character in piece:
        more = _line_width(character, style)
        if part and width + more > measure:
            yield part
            part, width = "", 0.0
        part, width = part + character, width + more
    yield part


def shortened(text: str, style: TextStyle, measure: float) -> str:
    """Return a line that fits, its middle replaced by an ellipsis where it is too long.

    Only what could fit is looked at, so that the work grows with the text's length, not its square.
    """
    line = clean(text)
    if _line_width(line, style) <= measure:
        return line
    most = min(len(line) - 1, 2 * min(_reach(part, style, measure) for part in (line, line[::-1])))
    low, high = 1, most
    while low < high:  # at least `low` characters fit, or none do
        kept = (low + high + 1) // 2
        if _line_width(_without_middle(line, kept), style) <= measure:
            low = kept
        else:
            high = kept - 1
    return _without_middle(line, low) if low > 1 else "…"


def _without_middle(line: str, kept: int) -> str:
    head, tail = line[: (kept + 1) // 2], line[len(line) - kept // 2 :]
    return f"{head.rstrip()}…{tail.lstrip()}"


def _reach(characters: str, style: TextStyle, measure: float) -> int:
    """Return how many characters may be needed to fill twice a measure, joined or not."""
    width = 0.0
    for count, character in enumerate(characters, 1):
        width += _line_width(character, style)
        if width > 2 * measure:
            return count
    return len(characters)


def _line_width(line: str, style: TextStyle) -> float:
    return sum(run.width for run in runs(line, style))


def _is_ideograph(character: str) -> bool:
    code = ord(character)
    return 0x2E80 <= code <= 0x9FFF or 0xAC00 <= code <= 0xD7AF or 0xF900 <= code <= 0xFAFF


def _is_selector(character: str) -> bool:
    return 0xFE00 <= ord(character) <= 0xFE0F
