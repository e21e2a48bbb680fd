"""Objects of a PDF that are written plainly, as nearly all are (ISO 32000-2, 7.3 and 7.5.7).

The library reads every object letter by letter: of 16,000 small ones that takes 0.6 s, this 0.2 s
(one core, 2026). Whatever is not plain is left to it: escapes, comments, odd numbers, all damage.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

from pypdf import PdfReader
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    NullObject,
    NumberObject,
    create_string_object,
)

MOST_TOKENS = 200_000
"""Tokens of an object; more are counted by the library, which knows the limits."""
DEEPEST = 40
"""Levels of arrays and dictionaries in one another; deeper ones are the library's to refuse."""
_BEHIND = rb"(?=[\t\n\r ()<>\[\]/]|$)"
_TOKENS = re.compile(
    rb"/[A-Za-z0-9_.+*-]{1,100}" + _BEHIND
    + rb"|[0-9]{1,7}[\n\r ][0-9]{1,5}[\n\r ]R" + _BEHIND
    + rb"|[+-]?(?:[0-9]{1,9}(?:\.[0-9]{0,8})?|\.[0-9]{1,8})" + _BEHIND
    + rb"|<<|>>|\[|\]|(?:true|false|null)" + _BEHIND
    + rb"|\([ -'*-\[\]-~]*\)"
    # What is none of these is taken with all that follows it.
    + rb"|[^\t\n\r ][\s\S]*"
)  # fmt: skip
_HEADS = re.compile(rb"(?:[0-9]{1,9}[\n\r ]+){2,}")

_SLASH, _R, _BRACKET = b"/R("
_OPENING = {b"<<": b">>", b"[": b"]"}
_CLOSING = frozenset(_OPENING.values())
_FIXED = frozenset((*_OPENING, *_CLOSING, b"true", b"false", b"null"))

Container = DictionaryObject | ArrayObject
Held = dict[int, Container | None]
"""Objects of an object stream by their numbers; None for those that are not plain."""


class PlainObjects:
    """Reads plain objects for one reader of the library."""

    def __init__(self, reader: PdfReader) -> None:
        self._reader = reader
        self._names: dict[bytes, NameObject] = {}

    def object(self, data: bytes) -> Container | None:
        """Return the one dictionary or array that is all of the data; None if that is not plain."""
        tokens = _TOKENS.findall(data)
        # What is not plain, or unfinished, ends in something else.
        if len(tokens) > MOST_TOKENS or not tokens or tokens[-1] not in _CLOSING:
            return None
        names, fixed, reader = self._names, _FIXED, self._reader
        held: list[Any] = []
        outer: list[tuple[list[Any], bytes]] = []
        for token in tokens:
            if token in fixed:
                if token in _OPENING:
                    outer.append((held, _OPENING[token]))
                    held = []
                    if len(outer) > DEEPEST:
                        return None
                elif token in _CLOSING:
                    if not outer or outer[-1][1] != token:
                        return None
                    made = ArrayObject(held) if token == b"]" else _dictionary(held)
                    if made is None:
                        return None
                    held, _ = outer.pop()
                    held.append(made)
                else:
                    held.append(
                        NullObject() if token == b"null" else BooleanObject(token == b"true")
                    )
            elif token[0] == _SLASH:
                name = names.get(token)
                if name is None:
                    name = names[token] = NameObject(token.decode("ascii"))
                held.append(name)
            elif token[-1] == _R:
                number, generation, _ = token.split()
                held.append(IndirectObject(int(number), int(generation), reader))
            elif token[0] == _BRACKET:
                held.append(create_string_object(token[1:-1]))
            else:
                held.append(FloatObject(token) if b"." in token else NumberObject(token))
        whole = not outer and len(held) == 1 and isinstance(held[0], Container)
        return held[0] if whole else None

    def held(self, data: bytes, count: int, first: int) -> Held | None:
        """Return the objects of an object stream; None where its own list of them is not plain."""
        heads = _HEADS.match(data[:first] + b" ")
        numbers = list(map(int, data[:first].split())) if heads and heads.end() > first else []
        if len(numbers) != 2 * count or count < 1:
            return None
        starts = [first + offset for offset in numbers[1::2]]
        ends = [*starts[1:], len(data)]
        if any(a >= b for a, b in pairwise([*starts, len(data)])):
            return None
        found = {
            number: self.object(data[start:end])
            for number, start, end in zip(numbers[::2], starts, ends, strict=True)
        }
        return found if len(found) == count else None


def _dictionary(held: list[Any]) -> DictionaryObject | None:
    """Return keys and values as a dictionary; None where a key is no name, or comes twice."""
    keys = held[::2]
    if len(held) % 2 or any(type(key) is not NameObject for key in keys):
        return None
    made = DictionaryObject(zip(keys, held[1::2], strict=True))
    return made if len(made) == len(keys) else None
