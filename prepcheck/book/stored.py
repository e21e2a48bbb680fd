"""Frozen records as JSON and back, and text that any database can hold."""

from __future__ import annotations

import json
import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")


def to_json(value: object) -> str:
    """Return a tree of dataclasses, tuples, mappings and plain values as JSON text.

    The same value gives the same text; no character in it is one that a database refuses.
    """
    return json.dumps(_plain(value), ensure_ascii=True, sort_keys=True, separators=(",", ":"))


def from_json(kind: type[T], text: str) -> T:
    """Return the dataclass `kind` that `to_json` wrote.

    Keys that `kind` does not have are left out, and those it has more keep their defaults, so
    that what an earlier version wrote can be read. Raises ValueError where that cannot be.
    """
    try:
        value: T = _typed(kind, json.loads(text))
    except (KeyError, TypeError) as fault:
        raise ValueError(f"not a {kind.__name__}: {fault}") from None
    return value


def storable(text: str) -> str:
    """Return text without what a database cannot hold: NUL, and halves of surrogate pairs."""
    return text.replace("\0", "�").encode("utf-8", "replace").decode("utf-8")


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return value


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _typed(kind: Any, value: Any) -> Any:
    origin = get_origin(kind)
    if origin in (Union, types.UnionType):
        return _one_of(get_args(kind), value)
    if origin is tuple:
        items = get_args(kind)
        if len(items) == 2 and items[1] is Ellipsis:
            return tuple(_typed(items[0], item) for item in value)
        return tuple(_typed(item, part) for item, part in zip(items, value, strict=True))
    if origin is not None and issubclass(origin, Mapping):
        of = get_args(kind)[1]
        return {key: _typed(of, item) for key, item in value.items()}
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind(value)
    if isinstance(kind, type) and issubclass(kind, tuple) and hasattr(kind, "_fields"):
        wanted = _hints(kind)
        return kind(*(_typed(wanted[k], v) for k, v in zip(kind._fields, value, strict=False)))
    if isinstance(kind, type) and is_dataclass(kind):
        hints = _hints(kind)
        known = {f.name for f in fields(kind) if f.init}
        return kind(**{k: _typed(hints[k], v) for k, v in value.items() if k in known})
    if kind is float and isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    return value


def _one_of(kinds: tuple[Any, ...], value: Any) -> Any:
    """Return a value as the alternative that fits; numbers and words stay what they are."""
    if value is None:
        return None
    for kind in kinds:
        origin = get_origin(kind) or kind
        wants_items = isinstance(origin, type) and issubclass(origin, tuple)
        wants_table = isinstance(origin, type) and is_dataclass(origin)
        if (wants_items and isinstance(value, list)) or (wants_table and isinstance(value, dict)):
            return _typed(kind, value)
        if isinstance(origin, type) and issubclass(origin, Enum) and isinstance(value, str):
            return origin(value)
    return value
