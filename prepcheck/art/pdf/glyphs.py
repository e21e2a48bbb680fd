"""Embedded font programs: where the ink of each glyph lies, in ems from its origin.

The programs are read by fontTools; Type 1 has a small reader of its own, since the library's
runs the font as PostScript. Every outline is drawn once, when first asked for.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Mapping
from io import BytesIO
from typing import Any

import numpy as np
from fontTools.encodings.StandardEncoding import StandardEncoding
from fontTools.misc.eexec import decrypt
from fontTools.misc.psCharStrings import T1CharString
from fontTools.pens.basePen import BasePen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from prepcheck.art.damage import is_ours
from prepcheck.art.pdf.encodings import MAC_CODES, unicode_of
from prepcheck.art.pdf.font_program import NOTDEF, Bounds, DamagedFontError, FontProgram
from prepcheck.geometry import Affine, FloatArray

EEXEC_KEY, CHARSTRING_KEY = 55665, 4330
"""Keys of Type 1 encryption (Adobe Type 1 Font Format, 7.1 and 7.3)."""
PADDING = 3
"""Bytes behind the last table that may be missing: tables are padded to whole words."""
MOST_ENTRIES = 70_000
"""Glyphs or subroutines of one Type 1 program."""


# What the library mends is no news to the client; without a handler it would go to stderr.
logging.getLogger("fontTools").addHandler(logging.NullHandler())


class InkPen(BoundsPen):  # type: ignore[misc]
    """Measures the true extent of curves; a missing part of an accented glyph is damage."""

    skipMissingComponents = False  # noqa: N815


FLAT = 8
"""Straight pieces a curve is flattened to: a letter of 10 mm keeps its shape within 0.02 mm."""
WEIGHTS = tuple(
    ((1 - t) ** 3, 3 * (1 - t) * (1 - t) * t, 3 * (1 - t) * t * t, t**3)
    for t in (step / FLAT for step in range(1, FLAT + 1))
)
"""Shares of a curve's four points in each end of those pieces."""


class FlatPen(BasePen):  # type: ignore[misc]
    """Collects outlines as closed runs of corners, curves in straight pieces."""

    skipMissingComponents = False  # noqa: N815

    def __init__(self, glyphs: Any) -> None:
        super().__init__(glyphs)
        self._runs: list[list[tuple[float, float]]] = []

    @property
    def curves(self) -> tuple[FloatArray, ...]:
        closed = ([*run, run[0]] for run in self._runs if len(run) > 2)
        return tuple(np.array(run, np.float64) for run in closed)

    def _moveTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self._runs.append([pt])

    def _lineTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self._runs[-1].append(pt)

    def _curveToOne(  # noqa: N802
        self, pt1: tuple[float, float], pt2: tuple[float, float], pt3: tuple[float, float]
    ) -> None:
        run = self._runs[-1]
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = run[-1], pt1, pt2, pt3
        run += [
            (a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3)
            for a, b, c, d in WEIGHTS
        ]


class TrueType(FontProgram):
    """A TrueType or OpenType program with `glyf` outlines."""

    encoding: Mapping[int, str] = {}

    def __init__(self, font: TTFont) -> None:
        super().__init__()
        units = font["head"].unitsPerEm
        if not units:
            raise DamagedFontError("its em square has no size")
        self._to_em = Affine.scale(1.0 / units)
        try:
            self._order: list[str] = font.getGlyphOrder()
        except Exception as error:  # a damaged `post` table names nothing; numbers still work
            if is_ours(error):
                raise
            self._order = [f"glyph{n:05d}" for n in range(font["maxp"].numGlyphs)]
            font.setGlyphOrder(self._order)
        if not self._order:
            raise DamagedFontError("it has no glyphs")
        self._names = set(self._order)
        self._glyphs = _glyph_set(font)
        self._maps = _character_maps(font)

    def draw(self, glyph: str) -> tuple[Bounds | None, Affine]:
        pen = InkPen(self._glyphs)
        self._glyphs[glyph].draw(pen)
        return pen.bounds, self._to_em

    def trace(self, glyph: str) -> tuple[tuple[FloatArray, ...], Affine]:
        pen = FlatPen(self._glyphs)
        self._glyphs[glyph].draw(pen)
        return pen.curves, self._to_em

    def has(self, glyph: str) -> bool:
        return glyph in self._names

    def by_number(self, number: int) -> str:
        return self._order[number if number < len(self._order) else 0]

    def by_code(self, code: int, name: str | None, symbolic: bool) -> str:
        """Follow ISO 32000-2, 9.6.5.4; where the flags mislead, the other way is tried too."""
        ways = (self._symbol, self._named) if symbolic else (self._named, self._symbol)
        for way in ways:
            glyph = way(code, name)
            if glyph is not None:
                return glyph
        if not self._maps:
            raise DamagedFontError("it has no table of characters")
        return self._order[0]

    def _named(self, code: int, name: str | None) -> str | None:
        if name is None or name == NOTDEF:
            return None
        text = unicode_of(name)
        if len(text) == 1 and (glyph := self._maps.get((3, 1), {}).get(ord(text))):
            return glyph
        if name in MAC_CODES and (glyph := self._maps.get((1, 0), {}).get(MAC_CODES[name])):
            return glyph
        return name if name in self._names else None

    def _symbol(self, code: int, _: str | None) -> str | None:
        symbols = self._maps.get((3, 0), {})
        for place in (code, 0xF000 + code, 0xF100 + code, 0xF200 + code):
            if place in symbols:
                return symbols[place]
        return self._maps.get((1, 0), {}).get(code)


def _glyph_set(font: TTFont) -> Any:
    try:
        return font.getGlyphSet()
    except Exception:  # without metrics tables the outlines can still be drawn
        table = font["glyf"]

        class Bare:
            def __init__(self, name: str) -> None:
                self.name = name

            def draw(self, pen: Any) -> None:
                table[self.name].draw(pen, table)

        return {name: Bare(name) for name in font.getGlyphOrder()}


def _character_maps(font: TTFont) -> dict[tuple[int, int], dict[int, str]]:
    try:
        tables = font["cmap"].tables
        found: dict[tuple[int, int], dict[int, str]] = {}
        for table in tables:
            platform = 3 if table.platformID == 0 else table.platformID
            encoding = 1 if table.isUnicode() else table.platEncID
            found.setdefault((platform, encoding), table.cmap)
    except Exception as error:  # subsets for composite fonts come without the table, or a stub
        if is_ours(error):
            raise
        return {}
    return found


class Cff(FontProgram):
    """A compact (CFF) program, bare or within OpenType."""

    def __init__(self, top: Any) -> None:
        super().__init__()
        self._strings = top.CharStrings
        if not isinstance(top.charset, list) or not top.charset:
            raise DamagedFontError("the font program names no glyphs")
        self._order: list[str] = list(top.charset)
        self.is_cid = hasattr(top, "ROS")
        self._matrix = _matrix(top)
        self._top = top
        encoding = {} if self.is_cid else getattr(top, "Encoding", "StandardEncoding")
        names = StandardEncoding if isinstance(encoding, str) else encoding
        self.encoding = {code: name for code, name in enumerate(names) if name != NOTDEF}

    def draw(self, glyph: str) -> tuple[Bounds | None, Affine]:
        pen = InkPen(self._strings)
        self._strings[glyph].draw(pen)
        return pen.bounds, self._units(glyph)

    def trace(self, glyph: str) -> tuple[tuple[FloatArray, ...], Affine]:
        pen = FlatPen(self._strings)
        self._strings[glyph].draw(pen)
        return pen.curves, self._units(glyph)

    def _units(self, glyph: str) -> Affine:
        units = self._matrix
        if self.is_cid:
            index = self._top.FDSelect[self._order.index(glyph)]
            inner = _matrix(self._top.FDArray[index])
            units = inner.then(units) if inner and units else inner or units
        return units or Affine.scale(0.001)

    def has(self, glyph: str) -> bool:
        return glyph in self._strings

    def by_number(self, number: int) -> str:
        if self.is_cid:
            name = f"cid{number:05d}"
            return name if name in self._strings else self._order[0]
        return self._order[number if number < len(self._order) else 0]


def _matrix(holder: Any) -> Affine | None:
    values = holder.rawDict.get("FontMatrix")
    if values is None:
        return None
    if len(values) != 6:
        raise DamagedFontError("its matrix has not six numbers")
    return Affine(*map(float, values))


_TYPE1_MATRIX = rb"/FontMatrix\s*\[\s*" + rb"\s+".join(
    [rb"([+-]?(?:\d{1,20}\.?\d{0,20}|\.\d{1,20})(?:[eE][+-]?\d{1,2})?)"] * 6
)


class Type1(FontProgram):
    """A Type 1 program (Adobe Type 1 Font Format, 1990)."""

    def __init__(self, data: bytes) -> None:
        super().__init__()
        clear, private = _type1_parts(data)
        matrix = re.search(_TYPE1_MATRIX, clear)
        self._matrix = Affine(*map(float, matrix.groups())) if matrix else Affine.scale(0.001)
        iv = re.search(rb"/lenIV\s+(-?\d{1,4})\b", private)
        self._skip = int(iv[1]) if iv else 4
        subrs = _entries(
            rb"dup\s+(\d{1,9})\s+(\d{1,9})\s+\S+ ", private, b"/Subrs", b"/CharStrings"
        )
        count = min(max((int(number) for number in subrs), default=-1) + 1, MOST_ENTRIES)
        self._subrs = [
            T1CharString(self._plain(subrs.get(b"%d" % number, b"")), subrs=None)
            for number in range(count)
        ]
        self._sources = {
            name.decode("latin-1"): code
            for name, code in _entries(
                rb"/(\S+)\s+(\d{1,9})\s+\S+ ", private, b"/CharStrings", None
            ).items()
        }
        if not self._sources:
            raise DamagedFontError("the font program has no glyphs")
        self._drawn: dict[str, T1CharString] = {}
        self._order = list(self._sources)
        self.encoding = _type1_encoding(clear)

    def __getitem__(self, glyph: str) -> T1CharString:
        """Return a glyph that can be drawn; accented ones are drawn from parts by name."""
        if glyph not in self._sources:
            raise DamagedFontError(f"there is no glyph {glyph[:40]}")
        if glyph not in self._drawn:
            self._drawn[glyph] = T1CharString(self._plain(self._sources[glyph]), subrs=self._subrs)
        return self._drawn[glyph]

    def _plain(self, code: bytes) -> bytes:
        if self._skip < 0:
            return code
        plain: bytes = decrypt(code, CHARSTRING_KEY)[0][self._skip :]
        return plain

    def draw(self, glyph: str) -> tuple[Bounds | None, Affine]:
        pen = InkPen(self)
        self[glyph].draw(pen)
        return pen.bounds, self._matrix

    def trace(self, glyph: str) -> tuple[tuple[FloatArray, ...], Affine]:
        pen = FlatPen(self)
        self[glyph].draw(pen)
        return pen.curves, self._matrix

    def has(self, glyph: str) -> bool:
        return glyph in self._sources

    def by_number(self, number: int) -> str:
        return self._order[number] if number < len(self._order) else NOTDEF


def _type1_parts(data: bytes) -> tuple[bytes, bytes]:
    """Return the clear and the decrypted part."""
    if data[:1] == b"\x80":
        data = _unsegmented(data)
    start = data.find(b"eexec")
    if start < 0:
        raise DamagedFontError("the font program has no private part")
    clear, cipher = data[:start], data[start + 5 :].lstrip(b" \t\r\n")
    if re.match(rb"[0-9A-Fa-f]{4}", cipher):
        digits = re.sub(rb"[^0-9A-Fa-f]", b"", cipher)
        cipher = bytes.fromhex(digits[: len(digits) // 2 * 2].decode("ascii"))
    private: bytes = decrypt(cipher, EEXEC_KEY)[0][4:]
    return clear, private


def _unsegmented(data: bytes) -> bytes:
    """Join the segments of a PFB file."""
    parts, at = [], 0
    while data[at : at + 1] == b"\x80" and data[at + 1 : at + 2] in (b"\x01", b"\x02"):
        length = int.from_bytes(data[at + 2 : at + 6], "little")
        parts.append(data[at + 6 : at + 6 + length])
        at += 6 + length
    return b"".join(parts)


def _entries(pattern: bytes, data: bytes, start: bytes, stop: bytes | None) -> dict[bytes, bytes]:
    """Return binary entries, key to bytes, of an array or dictionary in a private part."""
    begin = data.find(start)
    if begin < 0:
        return {}
    begin += len(start)  # the word itself, its count and `dict` look like an entry
    end = data.find(stop, begin) if stop is not None else -1
    end = len(data) if end < 0 else end
    found: dict[bytes, bytes] = {}
    expression = re.compile(pattern)
    at = begin
    while len(found) < MOST_ENTRIES:
        match = expression.search(data, at, end)
        if match is None:
            break
        at = match.end() + int(match[2])
        if at > len(data):
            raise DamagedFontError("its data breaks off")
        found.setdefault(match[1], data[match.end() : at])
    return found


def _type1_encoding(clear: bytes) -> dict[int, str]:
    own = {
        int(code): name.decode("latin-1")
        for code, name in re.findall(rb"dup\s+(\d{1,9})\s*/(\S+)\s+put", clear)
    }
    standard = {n: name for n, name in enumerate(StandardEncoding) if name != NOTDEF}
    return own or standard


def read_program(data: bytes) -> FontProgram:
    """Return the font program in a stream, told by its first bytes; raises DamagedFontError."""
    try:
        if data[:4] in (b"\x00\x01\x00\x00", b"true", b"ttcf", b"OTTO"):
            font = TTFont(BytesIO(data), lazy=True, fontNumber=0)
            if any(
                one.offset + one.length > len(data) + PADDING
                for tag, one in font.reader.tables.items()
                if tag in ("glyf", "loca", "CFF ")
            ):
                raise DamagedFontError("its data breaks off")
            return Cff(font["CFF "].cff.topDictIndex[0]) if "CFF " in font else TrueType(font)
        if data[:2] == b"%!" or data[:1] == b"\x80":
            return Type1(data)
        from fontTools.cffLib import CFFFontSet  # takes long to import; most art has TrueType

        fonts = CFFFontSet()
        fonts.decompile(BytesIO(data), otFont=None)
        return Cff(fonts.topDictIndex[0])
    except DamagedFontError:
        raise
    except Exception as error:  # the library raises anything on damaged programs
        if is_ours(error):
            raise
        raise DamagedFontError("the font program is damaged") from error
