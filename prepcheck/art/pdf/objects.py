"""Typed look-ups in PDF dictionaries: references followed, wrong types answered with None."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    ByteStringObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NullObject,
    StreamObject,
    TextStringObject,
)

MAX_HOPS = 16
"""References that lead to references; a longer chain is taken for a circle."""


LARGEST = 3.403e38
"""The largest number that readers need to know (ISO 32000-1, Annex C.2)."""


def resolved(value: object) -> object | None:
    """Follow references to the object meant; None for null and for what is not in the file."""
    if not isinstance(value, IndirectObject):
        return None if value is None or isinstance(value, NullObject) else value
    for _ in range(MAX_HOPS):
        value = value.get_object()
        if not isinstance(value, IndirectObject):
            return resolved(value)
    return None


def entry(holder: object, *keys: str) -> object | None:
    """Return the value of the first of `keys` (without slash) that a dictionary holds."""
    # Asking for the abstract type takes as long as the rest of the look-up.
    if holder is None or not isinstance(holder, (dict, Mapping)):
        return None
    for key in keys:
        value = holder.get("/" + key)
        if value is not None:  # most are absent, and most others no references
            if isinstance(value, (IndirectObject, NullObject)):
                value = resolved(value)
            if value is not None:
                return value
    return None


def raw_entry(holder: object, key: str) -> object | None:
    """Return the value of `key` with a reference left as it is; None when absent or null."""
    value = holder.get("/" + key) if isinstance(holder, (dict, Mapping)) else None
    return None if isinstance(value, NullObject) else value


def dictionary(holder: object, *keys: str) -> DictionaryObject | None:
    """Return an entry that is a dictionary (a stream is one too)."""
    value = entry(holder, *keys)
    return value if isinstance(value, DictionaryObject) else None


def stream(holder: object, *keys: str) -> StreamObject | None:
    """Return an entry that is a stream."""
    value = entry(holder, *keys)
    return value if isinstance(value, StreamObject) else None


def array(holder: object, *keys: str) -> ArrayObject | None:
    """Return an entry that is an array, its elements unresolved."""
    value = entry(holder, *keys)
    return value if isinstance(value, ArrayObject) else None


def items(value: object) -> Iterator[object]:
    """Yield the resolved elements of an array; those that are null are left out."""
    if isinstance(value, ArrayObject):
        for raw in value:
            item = resolved(raw)
            if item is not None:
                yield item


def name(holder: object, *keys: str) -> str | None:
    """Return an entry that is a name, without its slash."""
    return as_name(entry(holder, *keys))


def as_name(value: object) -> str | None:
    """Return a name without its slash; None for anything else."""
    return str(value)[1:] if isinstance(value, NameObject) else None


def text(holder: object, *keys: str) -> str | None:
    """Return an entry that is a text string or a name, as text."""
    value = entry(holder, *keys)
    if isinstance(value, NameObject):
        return str(value)[1:]
    if isinstance(value, TextStringObject):
        return str(value).replace("\0", "").strip()
    if isinstance(value, ByteStringObject):
        return value.decode("latin-1").replace("\0", "").strip()
    return None


def as_number(value: object) -> float | None:
    """Return a number, held to ±`LARGEST`; None for anything else."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    if -LARGEST <= value <= LARGEST:
        return float(value)
    return None if math.isnan(value) else math.copysign(LARGEST, value)


def number(holder: object, *keys: str) -> float | None:
    """Return an entry that is a finite number."""
    return as_number(entry(holder, *keys))


def integer(holder: object, *keys: str) -> int | None:
    """Return an entry that is a whole number, or a real one cut to whole."""
    value = number(holder, *keys)
    return None if value is None else int(value)


def truth(holder: object, key: str, default: bool = False) -> bool:
    """Return a Boolean entry (a BooleanObject of pypdf is truthy even when false)."""
    value = entry(holder, key)
    return bool(value.value) if isinstance(value, BooleanObject) else default


def numbers(value: object, count: int | None = None) -> tuple[float, ...] | None:
    """Return an array of finite numbers, of the given length if one is given."""
    value = resolved(value)
    if not isinstance(value, ArrayObject) or (count is not None and len(value) != count):
        return None
    found = tuple(as_number(resolved(item)) for item in value)
    return None if None in found else tuple(item for item in found if item is not None)


def object_number(value: object) -> int:
    """Return the object number of a reference or of an object read from one; 0 for a direct one."""
    if isinstance(value, IndirectObject):
        return value.idnum
    reference = getattr(value, "indirect_reference", None)
    return reference.idnum if isinstance(reference, IndirectObject) else 0
