"""Cuts a content stream into operations (ISO 32000-2, 7.8.2) at the speed of one regular
expression, in time that grows no faster than the stream however damaged it is.

An operation is a possessive run of operands and the operator behind them; one match takes both.
The scanner is anchored: it never searches, so a failure costs one attempt, not one a byte. Where
the expression stops (a string nested too deep, a stray byte), a small step-by-step reader takes
over up to the next operator.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from functools import lru_cache, partial
from typing import NamedTuple, TypeAlias

from prepcheck.art.name_bytes import decoded
from prepcheck.errors import ObjectError

_TURNS_BACK = re.fullmatch(rb"(?:x|aa?+(?:b|cd))++ad", b"abad") is not None
"""Whether a possessive repeat goes back to the end of its last whole round, as it should; Python
3.11.2 leaves it in the middle of the round that failed."""


def _kept(group: bytes, repeat: bytes) -> bytes:
    """Return a group repeated (`*`, `+` or `?`) without ever giving back what it took."""
    return group + repeat + b"+" if _TURNS_BACK else b"(?>" + group + repeat + b")"


WHITE = rb"\x00\t\n\x0c\r "
DELIMITERS = rb"()<>\[\]{}/%"
REGULAR = rb"[^" + WHITE + DELIMITERS + rb"]"

STRING_DEPTH = 5
"""Parentheses nested this deep are matched by the expression; deeper ones by counting."""
NEST_LIMIT = 64
"""Arrays and dictionaries nested deeper than this are dropped."""
USUAL_NAME = 60
"""Longer names are read anew each time."""
LARGEST_NUMBER = 1e9
"""Operands are held to this size, so that products of a few of them stay finite."""


def _string(depth: int) -> bytes:
    inner = rb"|" + _string(depth - 1) if depth else b""
    return rb"\(" + _kept(rb"(?:[^()\\]++|\\." + inner + rb")", b"*") + rb"\)"


_STRING = _string(STRING_DEPTH)
_HEX = rb"<[0-9A-Fa-f" + WHITE + rb"]*+>"
_NAME = rb"/" + REGULAR + rb"*+"
_KEYWORD = rb"(?:true|false|null)(?!" + REGULAR + rb")"
_COMMENT = rb"%[^\r\n]*+"
_OPERANDS = _kept(
    rb"(?:[" + WHITE + rb"0-9+\-.\[\]]++|"
    + rb"|".join((_NAME, _STRING, _HEX, rb"<<", rb">>", _COMMENT, _KEYWORD))
    + rb")", b"*",
)  # fmt: skip
_OPERATOR = rb"[A-Za-z'\"][A-Za-z0-9*'\"]*+"

_NUMBER = rb"[+\-]?+(?:[0-9]{1,9}+(?:\.[0-9]*+)?+|\.[0-9]++)"
_SPACE = rb"[\t\n\x0c\r ]"
_PAIR = _NUMBER + _SPACE + rb"++" + _NUMBER + _SPACE
_PATH_END = rb"(?![A-Za-z0-9*'\"])"
_PLAIN_PATH = _kept(
    rb"(?:" + _SPACE + rb"*+(?:h|" + _PAIR + rb"*+(?:[ml]|(?<=" + _SPACE + rb")"
    + _PAIR + rb"*+(?:[vy]|re|(?<=" + _SPACE + rb")" + _PAIR + rb"*+c)))" + _PATH_END + rb")",
    b"+",
)  # fmt: skip
_ANY_PATH = _kept(rb"(?:[" + WHITE + rb"0-9+\-.]*+(?:[mlcvyh]|re)" + _PATH_END + rb")", b"+")

_BREAK = rb"(?![A-Za-z0-9*'\"])"
_MATRIX = rb"(?:" + _NUMBER + _SPACE + rb"++){6}Tm"
_FONT = _NAME + _SPACE + rb"++" + _NUMBER + _SPACE + rb"++Tf"
_LEADING = _NUMBER + _SPACE + rb"++TL"


def _set(*what: bytes) -> bytes:
    """Return what sets any of some things, each as often as may be."""
    one = _SPACE + rb"*+(?:" + rb"|".join(what) + rb")" + _BREAK
    return _kept(rb"(?:" + one + rb")", b"*")


_MOVE = _NUMBER + _SPACE + rb"++" + _NUMBER + _SPACE + rb"++Td"
_SET_MATRIX = _SPACE + rb"*+" + _MATRIX + _BREAK + _set(_MATRIX, _FONT, _LEADING)
_SHOWN = (
    _SPACE + rb"*+\([^()\\\r]*+\)" + _SPACE + rb"*+Tj" + _BREAK
    + _kept(rb"(?:" + _SPACE + rb"*+T\*" + _BREAK + rb")", b"?")
)  # fmt: skip
_PLAIN_SHOW = _set(_FONT, _LEADING) + _SET_MATRIX + _SHOWN
_FIRST_SHOW = (
    _set(_FONT, _LEADING) + rb"(?:" + _SPACE + rb"*+" + _MOVE + _BREAK + _set(_FONT, _LEADING)
    + rb"|" + _SET_MATRIX + rb")" + _SHOWN
)  # fmt: skip
_TEXT_OBJECT = (
    _SPACE + rb"*+BT" + _BREAK + _FIRST_SHOW + _kept(rb"(?:" + _PLAIN_SHOW + rb")", b"*")
    + _SPACE + rb"*+ET" + _BREAK
)  # fmt: skip
_TEXT_OBJECTS = re.compile(_kept(rb"(?:" + _TEXT_OBJECT + rb")", b"+"), re.DOTALL)
_SOME = rb"[0-9+\-.\t\n\x0c\r ]++"
_SHOWS = re.compile(
    rb"(?:" + _SPACE + rb"*+(?:BT|ET|T\*|(" + _SOME + rb")Tm|(" + _SOME + rb")TL|("
    + _SOME + rb")Td|(" + _NAME + _SOME + rb")Tf))*"
    + _SPACE + rb"*+\(([^()]*+)\)" + _SPACE + rb"*+Tj",
    re.DOTALL,
)  # fmt: skip
_LONGEST_TYPE = 4_000_000
"""Bytes of text objects that are taken together."""


class PlainType(NamedTuple):
    """Text objects in a row that set nothing but font, leading and a place for each string, and
    show only strings that stand for themselves: type on a curve, and lines placed one by one. The
    place is a matrix, or for the first string of a text object a step from the origin.

    Of each string the operands of the last matrix, of the leading and of the font that are set
    before it, empty where none is.
    """

    matrices: tuple[bytes, ...]
    leadings: tuple[bytes, ...]
    fonts: tuple[bytes, ...]
    strings: tuple[bytes, ...]
    next_line: bool
    """Whether the last leads to the next line."""
    end: int
    """Where they end in the stream."""
    operators: int
    """About as many operators there are."""

    @classmethod
    def at(cls, data: bytes, start: int) -> PlainType | None:
        """Return those that begin at a place of a stream; None where there are none. They need not
        be all there are."""
        match = _TEXT_OBJECTS.match(data, start, start + _LONGEST_TYPE)
        if match is None:
            return None
        shows = _SHOWS.findall(match[0])
        own, leadings, steps, fonts, strings = zip(*shows, strict=True)
        matrices = own
        if any(steps):  # the text object's own matrix is none
            matrices = tuple(
                one or b"1 0 0 1 " + step for one, step in zip(own, steps, strict=True)
            )
        next_line = match[0][: -len(b"ET")].rstrip().endswith(b"T*")
        return cls(matrices, leadings, fonts, strings, next_line, match.end(), 4 * len(shows))


class Paths(NamedTuple):
    """Which path construction operators (8.5.2) in a row are taken as one: the expression for
    them alone, and the one for an operation with what it finds of them in front."""

    alone: re.Pattern[bytes]
    operation: re.Pattern[bytes]

    @classmethod
    def of(cls, path: bytes) -> Paths:
        first = _kept(rb"(?:" + path + rb")", b"?")
        operation = rb"(" + first + rb")(" + _OPERANDS + rb")(" + _OPERATOR + rb")"
        return cls(re.compile(path), re.compile(operation, re.DOTALL))


_OPERATION = re.compile(rb"()(" + _OPERANDS + rb")(" + _OPERATOR + rb")", re.DOTALL)
IN_STEPS = Paths(re.compile(rb"(?!)"), _OPERATION)
"""None: each is an operation of its own."""
PLAIN = Paths.of(_PLAIN_PATH)
"""Those with as many plain numbers as are due, and nothing else."""
WITH_NUMBERS = Paths.of(_ANY_PATH)
"""Those with any numbers, well made or not, and nothing else."""

OPERANDS = re.compile(_OPERANDS, re.DOTALL)
OPERATOR = re.compile(_OPERATOR)
JUNK = re.compile(rb".[^" + WHITE + DELIMITERS + rb"0-9+\-.A-Za-z'\"]*+", re.DOTALL)
PARENTHESES = re.compile(rb"\\.|[()]", re.DOTALL)
OPERAND = re.compile(
    rb"(?P<number>[0-9+\-.]++)|(?P<name>" + _NAME + rb")|(?P<string>" + _STRING
    + rb")|(?P<hex>" + _HEX + rb")|(?P<open><<|\[)|(?P<close>>>|\])|(?P<keyword>" + _KEYWORD
    + rb")|(?P<skip>[" + WHITE + rb"]++|" + _COMMENT + rb")|(?P<deep>\()|(?P<junk>.)",
    re.DOTALL,
)  # fmt: skip
LONE_STRING = re.compile(rb"[" + WHITE + rb"]*+\(([^()\\\r]*+)\)[" + WHITE + rb"]*+", re.DOTALL)
"""One string that stands for itself, and nothing else."""
NAME_ESCAPE = re.compile(rb"#([0-9A-Fa-f]{2})")
STRING_ESCAPE = re.compile(rb"\\([0-7]{1,3}|\r\n|.|\Z)|\r\n?", re.DOTALL)
NUMBER_START = re.compile(rb"([+\-]*)([0-9]*\.?[0-9]*)")
IMAGE_END = re.compile(rb"[" + WHITE + rb"]*+EI(?!" + REGULAR + rb")")
IMAGE_END_AHEAD = re.compile(rb"[" + WHITE + rb"]EI(?=[" + WHITE + rb"]|\Z)")
PLAIN_TEXT = b"\x00\t\n\x0c\r" + bytes(range(0x20, 0x7F))
PLAIN_AHEAD = 12
"""Bytes behind an `EI` that must be plain text for it to end an image whose length is unknown."""

_ESCAPES = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}
_KEYWORDS: dict[bytes, bool | None] = {b"true": True, b"false": False, b"null": None}


class Name(str):
    """A name with its slash, spelled as pypdf spells the keys of a resource dictionary."""

    __slots__ = ()


Operand: TypeAlias = "float | bool | Name | bytes | list[Operand] | dict[str, Operand] | None"


class Operation(NamedTuple):
    """One operator with its operands.

    `raw` are the operands as written; `start` and `end` bound operands and operator in the
    stream. An inline image is one operation `BI` up to and including its `EI`: `raw` is its
    dictionary without brackets, `image` its samples as stored. `path` is the piece of path
    construction right in front of it that was taken as one.
    """

    operator: bytes
    raw: bytes
    start: int
    end: int
    image: bytes | None = None
    path: bytes = b""


def operators(
    data: bytes,
    paths: Paths = IN_STEPS,
    text: Callable[[int], int] | None = None,
    position: int = 0,
) -> Iterator[Operation]:
    """Yield the operations of a content stream in order, from a place between two of them; damage
    is stepped over, never raised.

    Operands behind the last operator are dropped. The pieces lie in the stream without overlap,
    and what lies between two of them is only what the step-by-step reader dropped.

    Path construction operators that `paths` takes together are no operations of their own: they
    are the `path` of the operation behind them, whose operator is empty where no other follows.

    `text` is asked at the `BT` of each text object, by its place, up to where it has followed the
    stream by itself; nothing of that is yielded.
    """
    size = len(data)
    halts = frozenset((b"BI",) if text is None else (b"BI", b"BT"))
    make = partial(tuple.__new__, Operation)
    while position < size:
        for match in iter(paths.operation.scanner(data, position).match, None):  # type: ignore[attr-defined]
            path, raw, operator = match.groups()
            start, position = match.start(2), match.end()
            if operator in halts:
                break
            yield make((operator, raw, start, position, None, path))
        else:
            operator = b"BI"
            if alone := paths.alone.match(data, position):
                position = alone.end()
                yield Operation(b"", b"", position, position, None, alone[0])
            path, found = b"", _step(data, position)
            if found is None:
                return
            position = found.end
            if found.operator != b"BI":
                yield found
                continue
            start = found.start
        if operator == b"BT":
            end = text(position - len(operator)) if text is not None and not path else position
            if end <= position:
                yield make((operator, raw, start, position, None, path))
            position = max(position, end)
            continue
        image = _inline_image(data, start, position)
        position = image.end
        yield image._replace(path=path) if path else image


def _step(data: bytes, start: int) -> Operation | None:
    """Return the next operation read step by step; None when only operands are left."""
    position = start
    while True:
        position = OPERANDS.match(data, position).end()  # type: ignore[union-attr]
        if position >= len(data):
            return None
        if match := OPERATOR.match(data, position):
            return Operation(match[0], data[start:position], start, match.end())
        if data[position] == 0x28:
            position = string_end(data, position)
        else:
            position = JUNK.match(data, position).end()  # type: ignore[union-attr]


def string_end(data: bytes, start: int) -> int:
    """Return where the string that opens at `start` ends; the end of data when it never does."""
    depth = 0
    for match in PARENTHESES.finditer(data, start):
        if match[0] == b"(":
            depth += 1
        elif match[0] == b")":
            depth -= 1
            if depth == 0:
                return match.end()
    return len(data)


def operands(raw: bytes) -> list[Operand]:
    """Parse operands as written into numbers (float), names, strings, arrays and dictionaries.

    Malformed numbers are read as far as they go; stray brackets and bytes are skipped.
    """
    if lone := LONE_STRING.fullmatch(raw):
        return [lone[1]]
    try:
        return [*plain_numbers(raw)]
    except ValueError:
        return _parse(raw)


def named(raw: bytes) -> Name | None:
    """Return the last operand where it is a name; programs name few things, and often."""
    return _named(raw) if len(raw) <= USUAL_NAME else _last_name(raw)


def _last_name(raw: bytes) -> Name | None:
    last = next(reversed(operands(raw)), None)
    return last if isinstance(last, Name) else None


_named = lru_cache(1000)(_last_name)


def plain_numbers(raw: bytes) -> list[float]:
    """Parse operands that are plain numbers; raises ValueError where there is anything else."""
    values = [*map(float, raw.split())]
    if len(raw) < len("1000000000") or (
        min(values) >= -LARGEST_NUMBER and max(values) <= LARGEST_NUMBER
    ):
        return values
    return [held(value) for value in values]


def last_numbers(raw: bytes, count: int) -> list[float]:
    """Return the last `count` operands, all numbers; raises ObjectError when there are not."""
    try:
        values = plain_numbers(raw)
    except ValueError:
        values = [value for value in _parse(raw) if type(value) is float]
    if len(values) < count:
        raise ObjectError(f"{count} numbers are owed, {len(values)} are given")
    return values if len(values) == count else values[-count:]


def held(value: float) -> float:
    """Return a number held to ±`LARGEST_NUMBER`; 0 for what is no number."""
    if -LARGEST_NUMBER <= value <= LARGEST_NUMBER:
        return value
    return 0.0 if math.isnan(value) else math.copysign(LARGEST_NUMBER, value)


def number(text: bytes) -> float:
    """Return a number as written, read as far as it goes ('--5' is -5, '1.2.3' is 1.2)."""
    try:
        return held(float(text))
    except ValueError:
        signs, digits = NUMBER_START.match(text).groups()  # type: ignore[union-attr]
        value = float(digits) if digits.strip(b".") else 0.0
        return held(-value if b"-" in signs else value)


def name(text: bytes) -> Name:
    """Return a name from its source, slash included, with #xx resolved (7.3.5)."""
    plain = NAME_ESCAPE.sub(lambda m: bytes((int(m[1], 16),)), text) if b"#" in text else text
    return Name(decoded(plain))


def literal(text: bytes) -> bytes:
    """Return the bytes of a literal string from its source, parentheses included (7.3.4.2)."""
    inner = text[1:-1] if text.endswith(b")") else text[1:]
    return STRING_ESCAPE.sub(_unescaped, inner) if b"\\" in inner or b"\r" in inner else inner


def _unescaped(match: re.Match[bytes]) -> bytes:
    code = match[1]
    if code is None:
        return b"\n"
    if code.isdigit() and code < b"8":
        return bytes((int(code, 8) & 0xFF,))
    return b"" if code in (b"\r\n", b"\r", b"\n") else _ESCAPES.get(code, code)


def hexadecimal(text: bytes) -> bytes:
    """Return the bytes of a hexadecimal string from its source, brackets included (7.3.4.3)."""
    digits = text[1:-1].translate(None, b"\x00\t\n\x0c\r ")
    return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii"))


def _parse(raw: bytes) -> list[Operand]:
    top: list[Operand] = []
    stack: list[tuple[list[Operand], bytes]] = [(top, b"")]
    position, dropped = 0, 0
    while position < len(raw):
        match = OPERAND.match(raw, position)
        assert match is not None  # the last alternative takes any byte
        position = match.end()
        text, current = match[0], stack[-1][0]
        match match.lastgroup:
            case "number":
                current.append(number(text))
            case "name":
                current.append(name(text))
            case "string":
                current.append(literal(text))
            case "hex":
                current.append(hexadecimal(text))
            case "keyword":
                current.append(_KEYWORDS[text])
            case "deep":
                position = string_end(raw, match.start())
                current.append(literal(raw[match.start() : position]))
            case "open" if len(stack) > NEST_LIMIT:
                dropped += 1
            case "open":
                stack.append(([], text))
            case "close" if dropped:
                dropped -= 1
            case "close" if len(stack) > 1:
                items, opened = stack.pop()
                stack[-1][0].append(_pairs(items) if opened == b"<<" else items)
    while len(stack) > 1:
        items, opened = stack.pop()
        stack[-1][0].append(_pairs(items) if opened == b"<<" else items)
    return top


def _pairs(items: list[Operand]) -> dict[str, Operand]:
    found: dict[str, Operand] = {}
    for key, value in zip(items[::2], items[1::2], strict=False):
        if isinstance(key, Name):
            found.setdefault(key, value)
    return found


def image_entries(raw: bytes) -> dict[str, Operand]:
    """Return an inline image's dictionary, keys spelled out in full (8.9.7, Table 91)."""
    return {IMAGE_KEYS.get(key, key): value for key, value in _pairs(operands(raw)).items()}


IMAGE_KEYS = {
    "/BPC": "/BitsPerComponent", "/CS": "/ColorSpace", "/D": "/Decode", "/DP": "/DecodeParms",
    "/F": "/Filter", "/H": "/Height", "/IM": "/ImageMask", "/I": "/Interpolate", "/W": "/Width",
    "/L": "/Length",
}  # fmt: skip
"""Short keys of inline images and what they stand for."""

_COMPONENTS = {
    "/G": 1, "/DeviceGray": 1, "/CalGray": 1, "/I": 1, "/Indexed": 1, "/RGB": 3, "/DeviceRGB": 3,
    "/CalRGB": 3, "/Lab": 3, "/CMYK": 4, "/DeviceCMYK": 4,
}  # fmt: skip


def _inline_image(data: bytes, start: int, position: int) -> Operation:
    """Return the inline image whose `BI` ends at `position` as one operation."""
    match = IN_STEPS.operation.match(data, position)
    if match is None or match[3] != b"ID":
        return Operation(b"BI", b"", start, position)
    raw, begin = match[2], match.end()
    if data[begin : begin + 1] in (b" ", b"\n", b"\r", b"\t", b"\x00", b"\x0c"):
        begin += 1
    length = _stored_length(image_entries(raw))
    if length is not None and length <= len(data):
        # A carriage return and a line feed behind ID count as one white space in practice.
        for first in (begin, begin + 1):
            if end := IMAGE_END.match(data, first + length):
                return Operation(b"BI", raw, start, end.end(), data[first : first + length])
    for end in IMAGE_END_AHEAD.finditer(data, begin - 1):
        if not data[end.end() : end.end() + PLAIN_AHEAD].translate(None, PLAIN_TEXT):
            return Operation(b"BI", raw, start, end.end(), data[begin : end.start()])
    return Operation(b"BI", raw, start, len(data), data[begin:])


def _stored_length(entries: dict[str, Operand]) -> int | None:
    """Return the number of bytes of an inline image, where its dictionary alone tells it."""
    width, height = entries.get("/Width"), entries.get("/Height")
    bits = entries.get("/BitsPerComponent", 8.0)
    space = entries.get("/ColorSpace")
    if isinstance(space, list):
        space = space[0] if space else None
    components = _COMPONENTS.get(space) if isinstance(space, str) else None
    if entries.get("/ImageMask") is True:
        bits, components = 1.0, 1
    if entries.get("/Filter") not in (None, []) or components is None:
        return None
    if not (isinstance(width, float) and isinstance(height, float) and isinstance(bits, float)):
        return None
    return max(-(-int(width) * int(bits) * components // 8) * int(height), 0)
