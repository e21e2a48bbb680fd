"""Fonts as content uses them: a shown string to glyphs with widths, text and ink boxes.

Simple fonts, composite fonts and Type 3 fonts (ISO 32000-2, 9.6 to 9.8). Sizes are in ems, the
unit of text space at size 1.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

from prepcheck.art.limits import Limits
from prepcheck.art.model import GlyphShape
from prepcheck.art.pdf import encodings
from prepcheck.art.pdf.cmaps import CodeMap, predefined, read_map
from prepcheck.art.pdf.font_program import Bounds, DamagedFontError, FontProgram
from prepcheck.art.pdf.fonts import font_facts
from prepcheck.art.pdf.objects import (
    array,
    as_name,
    as_number,
    dictionary,
    entry,
    integer,
    items,
    name,
    number,
    numbers,
    resolved,
    stream,
)
from prepcheck.art.pdf.streams import decoded, whole_or_not
from prepcheck.errors import ArtworkError, BudgetError
from prepcheck.geometry import Affine

SYMBOLIC, NONSYMBOLIC = 1 << 2, 1 << 5
"""Flags of a font descriptor (ISO 32000-2, Table 121)."""
MOST_WIDTHS = 70_000
USUAL_HEIGHTS = (0.75, -0.25)
"""Ascent and descent in ems where a font states none; from memory."""


class Glyph(NamedTuple):
    """One glyph of a shown string."""

    width: float
    """How far it moves the pen: right, or up when writing is vertical (so usually negative)."""
    box: Bounds | None
    """Where its ink lies; None when it has none."""
    text: str
    is_space: bool
    """The one-byte code 32, which word spacing applies to."""
    origin: tuple[float, float] = (0.0, 0.0)
    """Where the vertical writing origin lies, from the horizontal one."""
    procedure: StreamObject | None = None
    """What draws it, in a Type 3 font."""
    shape: GlyphShape | None = None
    """Its outline, where `box` comes from one."""


class Font(ABC):
    """A font. `matrix` and `resources` serve the procedures of Type 3 fonts only."""

    matrix = Affine.scale(0.001)
    resources: DictionaryObject | None = None
    vertical = False

    def __init__(self, source: DictionaryObject, limits: Limits) -> None:
        self.name = font_facts(source).name
        self.troubles: list[str] = []
        self._limits = limits
        self._known: dict[tuple[int, int], Glyph] = {}
        self._to_text = self._map(source, "ToUnicode")

    @property
    @abstractmethod
    def tight(self) -> bool:
        """Say whether boxes come from outlines, not from the font's heights and widths."""

    @abstractmethod
    def glyphs(self, data: bytes) -> list[Glyph]:
        """Return the glyphs that a string shows, in order."""

    def _map(self, holder: DictionaryObject, key: str) -> CodeMap | None:
        source = stream(holder, key)
        if source is None:
            return None
        try:
            return read_map(decoded(source, self._limits), self._limits)
        except BudgetError:
            raise
        except ArtworkError as error:
            self.troubles.append(f"a character map of the font {self.name} was left out: {error}")
            return None


class Outlined(Font):
    """A font with a descriptor, and an embedded program where one is given and sound."""

    def __init__(self, source: DictionaryObject, holder: DictionaryObject, limits: Limits) -> None:
        super().__init__(source, limits)
        self.descriptor = dictionary(holder, "FontDescriptor")
        self.program = self._program()
        self._rough = False
        ascent, descent = number(self.descriptor, "Ascent"), number(self.descriptor, "Descent")
        heights = USUAL_HEIGHTS
        if self.descriptor is None:
            heights = encodings.standard_heights(encodings.standard_font(self.name))
        self._ascent = ascent / 1000 if ascent else heights[0]
        self._descent = -abs(descent) / 1000 if descent else heights[1]

    @property
    def tight(self) -> bool:
        return self.program is not None and not self._rough

    def _program(self) -> FontProgram | None:
        from prepcheck.art.pdf.glyphs import read_program  # its library takes long to import

        for key in ("FontFile", "FontFile2", "FontFile3"):
            source = stream(self.descriptor, key)
            if source is None:
                continue
            try:
                unpacked = whole_or_not(source, self._limits)
                if not unpacked.whole:
                    raise DamagedFontError("its data breaks off")
                return read_program(unpacked.data)
            except BudgetError:
                raise
            except (ArtworkError, DamagedFontError) as error:
                self.troubles.append(
                    f"the font {self.name} cannot be read ({error}); its type is placed by "
                    "the font's heights and widths"
                )
        return None

    def _box(
        self, choose: Callable[[FontProgram], str], width: float, text: str
    ) -> tuple[Bounds | None, GlyphShape | None]:
        """Return a glyph's ink box and outline, or a box by the font's metrics where they fail."""
        if self.program is not None:
            try:
                glyph = choose(self.program)
                bounds = self.program.bounds(glyph)
                return bounds, None if bounds is None else GlyphShape(self.program, glyph, bounds)
            except DamagedFontError as error:
                self._rough = True
                self.troubles.append(
                    f"the font {self.name} cannot be read in full ({error}); that glyph is placed "
                    "by the font's heights and widths"
                )
        if width == 0.0 or (text and not text.strip()):
            return None, None
        return (min(0.0, width), self._descent, max(0.0, width), self._ascent), None


class SimpleFont(Outlined):
    """Type 1, MMType1 and TrueType: one byte a glyph."""

    def __init__(self, source: DictionaryObject, limits: Limits) -> None:
        super().__init__(source, source, limits)
        flags = integer(self.descriptor, "Flags") or 0
        self._standard = encodings.standard_font(self.name)
        self._names = self._encoding(source, flags)
        encoded = entry(source, "Encoding") is not None
        self._symbolic = bool(flags & SYMBOLIC and not flags & NONSYMBOLIC) or not encoded
        self._widths = _simple_widths(source)
        self._missing = (number(self.descriptor, "MissingWidth") or 0.0) / 1000
        self._by_name = {} if self._widths else encodings.standard_widths(self._standard)

    def _encoding(self, source: DictionaryObject, flags: int) -> dict[int, str]:
        encoding = entry(source, "Encoding")
        base = as_name(encoding) or name(encoding, "BaseEncoding")
        names: Mapping[int, str | None]
        if base in encodings.BASE_ENCODINGS:
            names = dict(enumerate(encodings.BASE_ENCODINGS[base]))
        elif self.program is not None and self.program.encoding:
            names = self.program.encoding
        elif self.program is None and not flags & NONSYMBOLIC:
            names = dict(enumerate(encodings.standard_encoding(self._standard)))
        else:
            names = dict(enumerate(encodings.BASE_ENCODINGS["StandardEncoding"]))
        found = {code: glyph for code, glyph in names.items() if glyph is not None}
        return found | _differences(array(encoding, "Differences"))

    def glyphs(self, data: bytes) -> list[Glyph]:
        known = self._known
        return [known.get((1, code)) or self._glyph(code) for code in data]

    def _glyph(self, code: int) -> Glyph:
        glyph = self._names.get(code)
        width = self._widths.get(code)
        if width is None:
            width = self._by_name.get(glyph or "", 0.0) / 1000 if self._by_name else self._missing
        text = (self._to_text.text_of((1, code)) if self._to_text else "") or (
            encodings.unicode_of(glyph) if glyph else ""
        )
        box, shape = self._box(lambda one: one.by_code(code, glyph, self._symbolic), width, text)
        found = Glyph(width, box, text, code == 32, shape=shape)
        self._known[1, code] = found
        return found


class CompositeFont(Outlined):
    """Type 0: codes of one to four bytes, chosen through a character map."""

    def __init__(self, source: DictionaryObject, limits: Limits) -> None:
        inner = next(items(entry(source, "DescendantFonts")), None)
        holder = inner if isinstance(inner, DictionaryObject) else source
        super().__init__(source, holder, limits)
        encoding = as_name(entry(source, "Encoding"))
        self._codes = self._map(source, "Encoding") or predefined(encoding or "Identity-H")
        base = as_name(entry(stream(source, "Encoding"), "UseCMap"))
        if base is not None and base.startswith("Identity"):
            self._codes.identity = True
        if not self._codes.known:
            self.troubles.append(
                f"the font {self.name} is encoded by {encoding}, which is not read; its type is "
                "placed by the font's heights and widths"
            )
            self.program = None
        self.vertical = self._codes.vertical
        self._numbers = self._glyph_numbers(holder)
        self._default = _or(number(holder, "DW"), 1000.0) / 1000
        self._widths = _cid_widths(array(holder, "W"))
        self._down = numbers(entry(holder, "DW2"), 2) or (880.0, -1000.0)
        self._downs = _cid_heights(array(holder, "W2")) if self.vertical else {}

    def _glyph_numbers(self, holder: DictionaryObject) -> bytes | None:
        source = stream(holder, "CIDToGIDMap")
        try:
            return None if source is None else decoded(source, self._limits)
        except BudgetError:
            raise
        except ArtworkError as error:
            self.troubles.append(f"the glyph numbers of the font {self.name} are lost: {error}")
            return None

    def glyphs(self, data: bytes) -> list[Glyph]:
        known = self._known
        return [known.get(code) or self._glyph(code) for code in self._codes.codes(data)]

    def _glyph(self, code: tuple[int, int]) -> Glyph:
        cid = self._codes.cid(code)
        width = self._widths.get(cid, self._default)
        text = self._to_text.text_of(code) if self._to_text else ""
        glyph = cid
        if self._numbers is not None:
            glyph = int.from_bytes(self._numbers[2 * cid : 2 * cid + 2], "big")
        box, shape = self._box(lambda program: program.by_number(glyph), width, text)
        step, origin = width, (0.0, 0.0)
        if self.vertical:
            down, x, y = self._downs.get(cid, (self._down[1], width * 500, self._down[0]))
            step, origin = down / 1000, (x / 1000, y / 1000)
        found = Glyph(step, box, text, code == (1, 32), origin, shape=shape)
        self._known[code] = found
        return found


class ProcedureFont(Font):
    """Type 3: each glyph is a piece of content of its own."""

    tight = True

    def __init__(self, source: DictionaryObject, limits: Limits) -> None:
        super().__init__(source, limits)
        matrix = numbers(entry(source, "FontMatrix"), 6)
        self.matrix = Affine(*matrix) if matrix else Affine.scale(0.001)
        self.resources = dictionary(source, "Resources")
        self._procedures = dictionary(source, "CharProcs")
        self._names = _differences(array(entry(source, "Encoding"), "Differences"))
        # Widths are in glyph space, which the font's own matrix leads out of.
        self._widths = {
            code: width * 1000 * self.matrix.a for code, width in _simple_widths(source).items()
        }

    def glyphs(self, data: bytes) -> list[Glyph]:
        known = self._known
        return [known.get((1, code)) or self._glyph(code) for code in data]

    def _glyph(self, code: int) -> Glyph:
        glyph = self._names.get(code, "")
        text = (self._to_text.text_of((1, code)) if self._to_text else "") or (
            encodings.unicode_of(glyph)
        )
        procedure = stream(self._procedures, glyph) if glyph else None
        width = self._widths.get(code, 0.0)
        found = Glyph(width, None, text, code == 32, procedure=procedure)
        self._known[1, code] = found
        return found


def read_font(source: DictionaryObject, limits: Limits) -> Font:
    """Return the font of a font dictionary. Damage is told in the font's `troubles`."""
    match name(source, "Subtype"):
        case "Type0":
            return CompositeFont(source, limits)
        case "Type3":
            return ProcedureFont(source, limits)
    return SimpleFont(source, limits)


def _differences(source: ArrayObject | None) -> dict[int, str]:
    """Return the names that a Differences array gives to codes (9.6.5.1)."""
    found: dict[int, str] = {}
    code = 0
    for item in items(source):
        glyph = as_name(item)
        value = as_number(item)
        if glyph is not None:
            found[code] = glyph
            code += 1
        elif value is not None:
            code = int(value)
    return found


def _simple_widths(source: DictionaryObject) -> dict[int, float]:
    first = integer(source, "FirstChar") or 0
    found = {}
    for place, raw in enumerate(array(source, "Widths") or ()):
        width = as_number(resolved(raw))
        if width is not None and place < 256:
            found[first + place] = width / 1000
    return found


def _cid_widths(source: ArrayObject | None) -> dict[int, float]:
    """Return widths in ems by CID (9.7.4.3)."""
    found: dict[int, float] = {}
    for first, values in _cid_runs(source, 1):
        for place, (width,) in enumerate(values):
            found[first + place] = width / 1000
        if len(found) > MOST_WIDTHS:
            break
    return found


def _cid_heights(source: ArrayObject | None) -> dict[int, tuple[float, float, float]]:
    """Return vertical displacement and origin (thousandths of an em) by CID."""
    found: dict[int, tuple[float, float, float]] = {}
    for first, values in _cid_runs(source, 3):
        for place, (down, x, y) in enumerate(values):
            found[first + place] = (down, x, y)
        if len(found) > MOST_WIDTHS:
            break
    return found


def _cid_runs(
    source: ArrayObject | None, size: int
) -> Iterable[tuple[int, list[tuple[float, ...]]]]:
    """Yield (first CID, values of `size` numbers a CID) of a W or W2 array."""
    values = [resolved(raw) for raw in source or ()]
    at = 0
    while at + 1 < len(values):
        first, second = as_number(values[at]), values[at + 1]
        if isinstance(second, ArrayObject):
            plain = [as_number(resolved(raw)) or 0.0 for raw in second]
            groups = [tuple(plain[n : n + size]) for n in range(0, len(plain), size)]
            at += 2
            if first is not None:
                yield int(first), [group for group in groups if len(group) == size]
            continue
        last = as_number(second)
        run = tuple(as_number(value) or 0.0 for value in values[at + 2 : at + 2 + size])
        at += 2 + size
        if first is not None and last is not None and len(run) == size:
            yield int(first), [run] * min(max(int(last - first) + 1, 0), MOST_WIDTHS)


def _or(value: float | None, default: float) -> float:
    return default if value is None else value
