"""Colour spaces (ISO 32000-2, 8.6): what they are, the inks they ask for, how they look on screen.

A colour asks for ink by name: the four process inks, and the colorants of Separation and DeviceN.
RGB, Lab and other measured colour has no ink amounts of its own. `rgb` is an approximation, good
for telling light from dark.
"""

from __future__ import annotations

import struct
from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Any, NamedTuple

from pypdf.generic import DictionaryObject, StreamObject

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.limits import DEFAULT, Limits
from prepcheck.art.model import ALL_INKS, NO_INK, PROCESS_INKS, Space, SpaceFamily
from prepcheck.art.pdf.calculator import FunctionError
from prepcheck.art.pdf.functions import Function, read_function
from prepcheck.art.pdf.objects import as_number, dictionary, integer, numbers, resolved
from prepcheck.art.pdf.streams import decoded
from prepcheck.errors import ObjectError
from prepcheck.frozen import dataclass

MAX_DEPTH = 8
"""Spaces inside spaces; the deepest sound one, Pattern of Indexed of DeviceN of ICC, has 4."""
MAX_COLORANTS = 64

Inks = tuple[tuple[str, float], ...]
Rgb = tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class ColourSpace(ABC):
    """A colour space that can be asked about its colours."""

    facts: Space

    @property
    def initial(self) -> tuple[float, ...]:
        """The colour that selecting the space sets (ISO 32000-2, 8.6.8)."""
        return (0.0,) * self.facts.components

    @property
    def decode(self) -> tuple[tuple[float, float], ...]:
        """The default Decode of an image in this space, but for Indexed (Table 88)."""
        return ((0.0, 1.0),) * self.facts.components

    @abstractmethod
    def inks(self, components: Sequence[float]) -> Inks:
        """Return each plate that a colour marks or knocks out, with its amount 0..1."""

    @abstractmethod
    def rgb(self, components: Sequence[float]) -> Rgb:
        """Return how a colour looks on screen, 0..1."""


@dataclass(frozen=True, eq=False)
class Grey(ColourSpace):
    """DeviceGray, CalGray and grey profiles: the black plate."""

    def inks(self, components: Sequence[float]) -> Inks:
        return ((PROCESS_INKS[3], 1.0 - _unit(components[0])),)

    def rgb(self, components: Sequence[float]) -> Rgb:
        grey = _unit(components[0])
        return (grey, grey, grey)


@dataclass(frozen=True, eq=False)
class RgbSpace(ColourSpace):
    """DeviceRGB, CalRGB and RGB profiles: no ink amounts."""

    profile: bytes | None = None
    """The ICC profile by which its numbers are meant, where there is one."""

    def inks(self, components: Sequence[float]) -> Inks:
        return ()

    def rgb(self, components: Sequence[float]) -> Rgb:
        r, g, b = components
        return (_unit(r), _unit(g), _unit(b))


@dataclass(frozen=True, eq=False)
class Cmyk(ColourSpace):
    """DeviceCMYK and CMYK profiles."""

    @property
    def initial(self) -> tuple[float, ...]:
        return (0.0, 0.0, 0.0, 1.0 if self.facts.family is SpaceFamily.CMYK else 0.0)

    def inks(self, components: Sequence[float]) -> Inks:
        c, m, y, k = components
        return (
            ("Cyan", min(max(c, 0.0), 1.0)), ("Magenta", min(max(m, 0.0), 1.0)),
            ("Yellow", min(max(y, 0.0), 1.0)), ("Black", min(max(k, 0.0), 1.0)),
        )  # fmt: skip

    def rgb(self, components: Sequence[float]) -> Rgb:
        c, m, y, k = map(_unit, components)
        return ((1 - c) * (1 - k), (1 - m) * (1 - k), (1 - y) * (1 - k))


@dataclass(frozen=True, eq=False)
class Lab(ColourSpace):
    """CIE L*a*b*: no ink amounts."""

    white: tuple[float, float, float]
    ranges: tuple[tuple[float, float], tuple[float, float]]

    @property
    def initial(self) -> tuple[float, ...]:
        return (0.0, *(min(max(0.0, low), high) for low, high in self.ranges))

    @property
    def decode(self) -> tuple[tuple[float, float], ...]:
        return ((0.0, 100.0), *self.ranges)

    def inks(self, components: Sequence[float]) -> Inks:
        return ()

    def rgb(self, components: Sequence[float]) -> Rgb:
        lightness, a, b = components
        m = (lightness + 16) / 116
        x, y, z = (_lab_cube(v) for v in (m + a / 500, m, m - b / 200))
        # The white is scaled to D65, whose XYZ to sRGB matrix is IEC 61966-2-1's.
        x, z = x * 0.9505, z * 1.089
        return (
            _gamma(3.2406 * x - 1.5372 * y - 0.4986 * z),
            _gamma(-0.9689 * x + 1.8758 * y + 0.0415 * z),
            _gamma(0.0557 * x - 0.2040 * y + 1.0570 * z),
        )


@dataclass(frozen=True, eq=False)
class Indexed(ColourSpace):
    """A table of colours of another space."""

    base: ColourSpace
    table: tuple[tuple[float, ...], ...]

    def entry(self, components: Sequence[float]) -> tuple[float, ...]:
        """Return the colour in the base space."""
        return self.table[min(max(int(components[0]), 0), len(self.table) - 1)]

    def inks(self, components: Sequence[float]) -> Inks:
        return self.base.inks(self.entry(components))

    def rgb(self, components: Sequence[float]) -> Rgb:
        return self.base.rgb(self.entry(components))


@dataclass(frozen=True, eq=False)
class Colorants(ColourSpace):
    """Separation and DeviceN: plates by name, with a stand-in for where there are none."""

    plates: tuple[str | None, ...]
    """The plate of each component; None for one that never marks."""
    alternate: ColourSpace
    tint: Function

    @property
    def initial(self) -> tuple[float, ...]:
        return (1.0,) * self.facts.components

    def inks(self, components: Sequence[float]) -> Inks:
        pairs = zip(self.plates, components, strict=True)
        return tuple((plate, _unit(x)) for plate, x in pairs if plate is not None)

    def rgb(self, components: Sequence[float]) -> Rgb:
        if not any(self.plates):
            return (1.0, 1.0, 1.0)
        if ALL_INKS in self.plates:
            grey = 1.0 - _unit(components[0])
            return (grey, grey, grey)
        count = self.alternate.facts.components
        return self.alternate.rgb(self.tint.at(*components)[:count])


@dataclass(frozen=True, eq=False)
class PatternSpace(ColourSpace):
    """Pattern: the colour of an uncoloured tiling is one of the underlying space."""

    base: ColourSpace | None

    @property
    def initial(self) -> tuple[float, ...]:
        return ()

    def inks(self, components: Sequence[float]) -> Inks:
        return self.base.inks(components) if self.base and components else ()

    def rgb(self, components: Sequence[float]) -> Rgb:
        return self.base.rgb(components) if self.base and components else (0.5, 0.5, 0.5)


@dataclass(frozen=True, eq=False)
class UnknownSpace(ColourSpace):
    """A damaged definition: no inks are known, and it counts as mid-grey on screen."""

    facts: Space = field(default=Space(SpaceFamily.UNKNOWN, 0))

    def inks(self, components: Sequence[float]) -> Inks:
        return ()

    def rgb(self, components: Sequence[float]) -> Rgb:
        return (0.5, 0.5, 0.5)


DEVICE_GREY = Grey(Space(SpaceFamily.GREY, 1))
DEVICE_RGB = RgbSpace(Space(SpaceFamily.RGB, 3))
DEVICE_CMYK = Cmyk(Space(SpaceFamily.CMYK, 4))
UNKNOWN = UnknownSpace()

_DEVICES: dict[str, tuple[ColourSpace, str]] = {
    "/DeviceGray": (DEVICE_GREY, "/DefaultGray"),
    "/DeviceRGB": (DEVICE_RGB, "/DefaultRGB"),
    "/DeviceCMYK": (DEVICE_CMYK, "/DefaultCMYK"),
}
_SHORT = {"/G": "/DeviceGray", "/RGB": "/DeviceRGB", "/CMYK": "/DeviceCMYK", "/I": "/Indexed"}
"""Abbreviations in inline images (ISO 32000-2, Table 91)."""


class _DamagedError(ObjectError):
    """A definition that cannot be followed."""


class _Context(NamedTuple):
    named: Mapping[str, Any]
    depth: int
    limits: Limits

    def deeper(self) -> _Context:
        if self.depth >= MAX_DEPTH:
            raise _DamagedError("colour spaces nest too deep or in a circle")
        return self._replace(depth=self.depth + 1)


def read_space(source: Any, resources: Any = None, limits: Limits = DEFAULT) -> ColourSpace:
    """Return the colour space a PDF object defines.

    `source` is a name or an array, or a reference to one; a name is looked up in `resources`.
    A damaged or circular definition gives a space of the family UNKNOWN. Raises BudgetError
    beyond `limits`.
    """
    try:
        named = dictionary(resolved(resources), "ColorSpace")
        return _read(source, _Context(named or {}, 0, limits))
    except Exception as error:
        if not may_be_stepped_over(error):
            raise
        return UNKNOWN


def _read(source: Any, context: _Context) -> ColourSpace:
    source = resolved(source)
    inner = context.deeper()
    if isinstance(source, str):
        return _read_name(source, inner)
    if not isinstance(source, list) or not source:
        raise _DamagedError("a colour space is a name or an array")
    family = str(resolved(source[0]))
    family = _SHORT.get(family, family)
    if family in _READERS:
        reader, least = _READERS[family]
        if len(source) < least:
            raise _DamagedError(f"{family} without what it stands on")
        return reader(source, inner)
    if len(source) == 1 or family in _DEVICES:
        return _read_name(family, inner)
    raise _DamagedError(f"no colour space {family}")


def _read_name(name: str, context: _Context) -> ColourSpace:
    if name == "/Pattern":
        return PatternSpace(Space(SpaceFamily.PATTERN, 0), None)
    if name not in _DEVICES and name in context.named:
        return _read(context.named[name], context)
    found = _DEVICES.get(_SHORT.get(name, name))
    if found is None:
        raise _DamagedError(f"no colour space {name[:40]}")
    device, default = found
    if default not in context.named:
        return device
    # ISO 32000-2, 8.6.5.6: a default space stands in for the device space of the same kind.
    stand_in = _read(context.named[default], context._replace(named={}))
    return stand_in if stand_in.facts.components == device.facts.components else device


def _read_cal_grey(source: list[Any], context: _Context) -> ColourSpace:
    return Grey(Space(SpaceFamily.CAL_GREY, 1))


def _read_cal_rgb(source: list[Any], context: _Context) -> ColourSpace:
    return RgbSpace(Space(SpaceFamily.CAL_RGB, 3))


def _read_lab(source: list[Any], context: _Context) -> ColourSpace:
    entries = resolved(source[1])
    if not isinstance(entries, DictionaryObject):
        raise _DamagedError("Lab without its white")
    white = numbers(entries.get("/WhitePoint"), 3)
    ranges = numbers(entries.get("/Range"), 4)
    if white is None or (ranges is None and "/Range" in entries):
        raise _DamagedError("Lab without its white")
    x, y, z = white
    a0, a1, b0, b1 = ranges or (-100.0, 100.0, -100.0, 100.0)
    return Lab(Space(SpaceFamily.LAB, 3), (x, y, z), ((a0, a1), (b0, b1)))


def _read_icc(source: list[Any], context: _Context) -> ColourSpace:
    stream = resolved(source[1])
    count = integer(stream, "N")
    if not isinstance(stream, StreamObject) or count not in (1, 3, 4):
        raise _DamagedError("a profile without a number of channels")
    data = None
    try:
        data = decoded(stream, context.limits)
        profile = read_profile(data)
    except Exception as error:
        if not may_be_stepped_over(error):
            raise
        profile = Profile(None, None)
    if profile.data_space == "Lab " and count == 3:
        lab = Lab(
            Space(SpaceFamily.LAB, 3), (0.9642, 1.0, 0.8249), ((-128.0, 127.0), (-128.0, 127.0))
        )
        return Lab(
            Space(SpaceFamily.ICC, 3, lab.facts, (), profile.description), lab.white, lab.ranges
        )
    base = {1: DEVICE_GREY, 3: DEVICE_RGB, 4: DEVICE_CMYK}[count]
    facts = Space(SpaceFamily.ICC, count, base.facts, (), profile.description)
    if count == 3:
        return RgbSpace(facts, data)
    return Grey(facts) if count == 1 else Cmyk(facts)


def _read_indexed(source: list[Any], context: _Context) -> ColourSpace:
    base = _read(source[1], context)
    count = base.facts.components
    given = as_number(resolved(source[2]))
    highest = -1 if given is None else min(int(given), 255)
    if isinstance(base, Indexed | PatternSpace) or highest < 0 or not count:
        raise _DamagedError("Indexed on a space it may not stand on")
    data = _bytes(source[3], context.limits)
    # A table cut short is common in the field; what is missing counts as zero.
    data = data[: count * (highest + 1)].ljust(count * (highest + 1), b"\0")
    table = tuple(
        tuple(
            low + byte / 255 * (high - low)
            for byte, (low, high) in zip(data[at : at + count], base.decode, strict=True)
        )
        for at in range(0, len(data), count)
    )
    return Indexed(Space(SpaceFamily.INDEXED, 1, base.facts), base, table)


def _read_separation(source: list[Any], context: _Context) -> ColourSpace:
    return _colorants(SpaceFamily.SEPARATION, (_name(source[1]),), {}, source, context)


def _read_device_n(source: list[Any], context: _Context) -> ColourSpace:
    names = tuple(map(_name, _list(source[1])))
    if not 0 < len(names) <= MAX_COLORANTS:
        raise _DamagedError("DeviceN without colorants")
    process = _process_names(source[4], context.limits) if len(source) > 4 else {}
    return _colorants(SpaceFamily.DEVICE_N, names, process, source, context)


def _colorants(
    family: SpaceFamily,
    names: tuple[str, ...],
    process: dict[str, str],
    source: list[Any],
    context: _Context,
) -> ColourSpace:
    alternate = _read(source[2], context)
    if alternate.facts.family in (SpaceFamily.PATTERN, SpaceFamily.INDEXED):
        raise _DamagedError("an alternate space may not be a special one")
    tint = read_function(source[3], context.limits)
    if tint.outputs < alternate.facts.components or len(tint.domain) != len(names):
        raise _DamagedError("a tint transform that does not fit its spaces")
    names = tuple(process.get(name, name) for name in names)
    plates = tuple(None if name == NO_INK else name for name in names)
    solids = _solids(tint, len(names), alternate.facts.components)
    facts = Space(family, len(names), alternate.facts, names, solids=solids)
    return Colorants(facts, plates, alternate, tint)


def _solids(tint: Function, count: int, components: int) -> tuple[tuple[float, ...], ...]:
    """Return what stands in for each colorant alone and in full; nothing when not computable."""
    try:
        return tuple(
            tint.at(*(float(each == one) for each in range(count)))[:components]
            for one in range(count)
        )
    except FunctionError:
        return ()


def _process_names(attributes: Any, limits: Limits) -> dict[str, str]:
    """Map the names an NChannel space gives its CMYK components to the process inks."""
    process = dictionary(resolved(attributes), "Process")
    if process is None:
        return {}
    names = [_name(name) for name in _list(process.get("/Components"))]
    space = read_space(process.get("/ColorSpace"), None, limits)
    if space.facts.kind != "cmyk" or len(names) != len(PROCESS_INKS):
        return {}
    return dict(zip(names, PROCESS_INKS, strict=True))


def _read_pattern(source: list[Any], context: _Context) -> ColourSpace:
    base = _read(source[1], context) if len(source) > 1 else None
    if isinstance(base, PatternSpace):
        raise _DamagedError("Pattern on Pattern")
    count = base.facts.components if base else 0
    return PatternSpace(Space(SpaceFamily.PATTERN, count, base.facts if base else None), base)


_READERS = {
    "/CalGray": (_read_cal_grey, 1),
    "/CalRGB": (_read_cal_rgb, 1),
    "/Lab": (_read_lab, 2),
    "/ICCBased": (_read_icc, 2),
    "/Indexed": (_read_indexed, 4),
    "/Separation": (_read_separation, 4),
    "/DeviceN": (_read_device_n, 4),
    "/Pattern": (_read_pattern, 1),
}
"""What reads an array of each family, and how many elements it needs."""


class Profile(NamedTuple):
    """What an ICC profile's header and description tag say (ICC.1:2022, 7.2 and 9.2.41)."""

    data_space: str | None
    description: str | None


def read_profile(data: bytes) -> Profile:
    """Return what an ICC profile says of itself; raises struct.error when it is cut short."""
    if data[36:40] != b"acsp":
        return Profile(None, None)
    (count,) = struct.unpack_from(">I", data, 128)
    for index in range(min(count, 200)):
        tag, at, size = struct.unpack_from(">4sII", data, 132 + 12 * index)
        if tag == b"desc":
            return Profile(data[16:20].decode("latin-1"), _description(data[at : at + size]))
    return Profile(data[16:20].decode("latin-1"), None)


def _description(tag: bytes) -> str | None:
    if tag[:4] == b"desc":
        (length,) = struct.unpack_from(">I", tag, 8)
        text = tag[12 : 12 + length].split(b"\0")[0].decode("latin-1")
    elif tag[:4] == b"mluc":
        length, at = struct.unpack_from(">II", tag, 20)
        text = tag[at : at + length].decode("utf-16-be", "replace")
    else:
        return None
    return text.strip() or None


def _list(value: Any) -> list[Any]:
    found = resolved(value)
    return found if isinstance(found, list) else []


def _name(value: Any) -> str:
    return str(resolved(value)).removeprefix("/")


def _bytes(value: Any, limits: Limits) -> bytes:
    value = resolved(value)
    if isinstance(value, bytes):
        return value
    if isinstance(value, str):
        original = getattr(value, "original_bytes", None)
        return original if isinstance(original, bytes) else value.encode("latin-1", "replace")
    if isinstance(value, StreamObject):
        return decoded(value, limits)
    raise _DamagedError("a table of colours that is no string")


def _unit(value: float) -> float:
    return min(max(value, 0.0), 1.0)


def _lab_cube(value: float) -> float:
    return value**3 if value >= 6 / 29 else 108 / 841 * (value - 4 / 29)


def _gamma(linear: float) -> float:
    linear = _unit(linear)
    return 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055
