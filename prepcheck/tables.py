"""Reads tables, as TOML and JSON give them, into typed, frozen structures; tells every fault.

What a field may hold stands in its type: a plain one, a `Literal`, an `Enum`, a tuple, a `dict`, a
`Table`, one of several tables told apart by their tag, or any of these with what else must hold in
`Annotated`: a `Meta` of msgspec, `MostText`, `First`, or a function that returns the value put
right. msgspec's own reading stops at the first fault. A library that tells all takes 0.1 s of each
command's processor time to import and to be set up, of which a worker waits for four fifths.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import (
    Annotated,
    Any,
    Literal,
    NamedTuple,
    Self,
    TypeVar,
    Union,
    get_args,
    get_origin,
    get_type_hints,
)

import msgspec
from msgspec import NODEFAULT, Meta

from prepcheck.faults import hint, key_path

Location = tuple[str | int, ...]
T = TypeVar("T", bound="Table")
_WRONG: Any = object()
"""What is returned for a value that a fault was told of."""


class Table(msgspec.Struct, frozen=True):
    """A table whose keys are all known and whose values never change."""

    def replaced(self, **values: Any) -> Self:
        """Return the same with other values, which are taken as they are."""
        return msgspec.structs.replace(self, **values)


class First(NamedTuple):
    """Turns a value into another before it is looked at."""

    turned: Callable[[object], object]


class MostText(NamedTuple):
    """How many characters a text may have."""

    characters: int


class Fault(NamedTuple):
    """What is wrong at a place in a table: one line that begins with the place."""

    location: Location
    words: str


class TableError(Exception):
    """A table does not hold what it should."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.words for fault in self.faults))


def read_table(kind: type[T], table: object) -> T:
    """Return a table as what it is to be; raises TableError with all its faults.

    Numbers may be given as texts that read as such, and what is one of our tables already is taken
    as it is.
    """
    faults: list[Fault] = []
    found = _table(kind, table, (), faults)
    if faults:
        raise TableError(faults)
    made: T = found
    return made


def plain(table: Table, *, given_only: bool = False) -> dict[str, Any]:
    """Return a table as TOML and JSON have it; with `given_only`, without what says no more than
    would be taken for granted."""
    made: dict[str, Any] = {}
    tag = table.__struct_config__.tag_field
    if tag is not None:
        made[tag] = table.__struct_config__.tag
    for field in msgspec.structs.fields(type(table)):
        value = getattr(table, field.name)
        if not (given_only and _is_granted(field, value)):
            made[field.encode_name] = _plain(value, given_only)
    return made


def _is_granted(field: msgspec.structs.FieldInfo, value: object) -> bool:
    if field.default_factory is not NODEFAULT:
        return bool(value == field.default_factory())
    return bool(value == field.default)


def _plain(value: Any, given_only: bool) -> Any:
    match value:
        case Table():
            return plain(value, given_only=given_only)
        case Enum():
            return value.value
        case tuple():
            return [_plain(item, given_only) for item in value]
        case dict():
            return {key: _plain(item, given_only) for key, item in value.items()}
    return value


def _value(kind: Any, value: object, at: Location, faults: list[Fault]) -> Any:
    """Return a value as its type has it, or _WRONG where faults were told."""
    origin = get_origin(kind)
    if origin is Annotated:
        return _ruled(kind, value, at, faults)
    if origin in (Union, UnionType):
        return _one_of(get_args(kind), value, at, faults)
    if origin is Literal:
        return _among(get_args(kind), get_args(kind), value, at, faults)
    if origin is tuple:
        return _several(get_args(kind), value, at, faults)
    if origin is dict:
        return _named(get_args(kind)[1], value, at, faults)
    if issubclass(kind, Table):
        return _table(kind, value, at, faults)
    if issubclass(kind, Enum):
        return _among([one.value for one in kind], [*kind], value, at, faults)
    return _single(kind, value, at, faults)


def _table(kind: type[T], value: object, at: Location, faults: list[Fault]) -> Any:
    if isinstance(value, kind):
        return value
    if not isinstance(value, Mapping):
        return _wrong(at, f"{_shown(value)} is not a table of keys", faults)
    before, hints, made = len(faults), _hints(kind), {}
    for field in _fields(kind):
        place = (*at, field.name)
        if field.name in value:
            made[field.name] = _value(hints[field.name], value[field.name], place, faults)
        elif field.required:
            _wrong(place, "missing; it must be given", faults)
    known = {*hints, *filter(None, (kind.__struct_config__.tag_field,))}
    for name in value:
        if name not in known:
            _wrong((*at, str(name)), f"unknown key; {hint(str(name), known)}", faults)
    if len(faults) > before:
        return _WRONG
    try:
        return kind(**made)
    except ValueError as error:  # what its values must be to each other
        return _wrong(at, str(error), faults)


def _one_of(kinds: Sequence[Any], value: object, at: Location, faults: list[Fault]) -> Any:
    """Return a value that may be None, or one of several tables told apart by a key."""
    if value is None and NoneType in kinds:
        return None
    others = [kind for kind in kinds if kind is not NoneType]
    if len(others) == 1 or isinstance(value, tuple(others)):
        own = next((kind for kind in others if len(others) > 1 and isinstance(value, kind)), None)
        return _value(own or others[0], value, at, faults)
    key = others[0].__struct_config__.tag_field
    tags = {kind.__struct_config__.tag: kind for kind in others}
    if not isinstance(value, Mapping):
        return _wrong(at, f"{_shown(value)} is not a table of keys", faults)
    if key not in value:
        return _wrong(at, f"{key} is missing; it must be given", faults)
    told = value[key]
    if not isinstance(told, str) or told not in tags:
        allowed = ", ".join(map(repr, tags))
        return _wrong(at, f"{key} {told!r} is not allowed; allowed: {allowed}", faults)
    return _table(tags[told], value, at, faults)


def _among(
    known: Sequence[object], made: Sequence[Any], value: object, at: Location, faults: list[Fault]
) -> Any:
    for one, own in zip(known, made, strict=True):
        if value == one or value is own:
            return own
    *most, last = map(repr, known)
    allowed = f"{', '.join(most)} or {last}" if most else last
    return _wrong(at, f"{_shown(value)} is not allowed here; allowed: {allowed}", faults)


def _several(kinds: Sequence[Any], value: object, at: Location, faults: list[Fault]) -> Any:
    if not isinstance(value, list | tuple):
        return _wrong(at, f"{_shown(value)} is not a list; put it in [ ]", faults)
    if kinds[-1] is Ellipsis:
        kinds = [kinds[0]] * len(value)
    elif len(kinds) != len(value):
        return _wrong(at, f"{len(value)} entries are given, and {len(kinds)} are needed", faults)
    pairs = zip(kinds, value, strict=True)
    made = tuple(_value(kind, one, (*at, n), faults) for n, (kind, one) in enumerate(pairs))
    return _WRONG if any(one is _WRONG for one in made) else made


def _named(kind: Any, value: object, at: Location, faults: list[Fault]) -> Any:
    if not isinstance(value, Mapping):
        return _wrong(at, f"{_shown(value)} is not a table of keys", faults)
    made = {str(key): _value(kind, one, (*at, str(key)), faults) for key, one in value.items()}
    return _WRONG if any(one is _WRONG for one in made.values()) else made


def _ruled(kind: Any, value: object, at: Location, faults: list[Fault]) -> Any:
    """Return a value that must keep to more than its type."""
    own, *rules = get_args(kind)
    for rule in rules:
        if isinstance(rule, First):
            value = rule.turned(value)
    found = _value(own, value, at, faults)
    for rule in rules:
        if found is _WRONG or isinstance(rule, First):
            continue
        if isinstance(rule, Meta | MostText):
            why = _broken(rule, found, value)
            found = found if why is None else _wrong(at, why, faults)
            continue
        try:
            found = rule(found)
        except ValueError as error:
            found = _wrong(at, str(error), faults)
    return found


def _broken(rule: Meta | MostText, found: Any, value: object) -> str | None:
    """Return how a value breaks a rule, if it does; None where it keeps to it."""
    if isinstance(rule, MostText):
        if len(found) <= rule.characters:
            return None
        return f"{len(found)} characters are too many; at most {rule.characters}"
    if rule.min_length is not None and len(found) < rule.min_length:
        return "at least one entry must be given"
    for keeps, wanted, limit in (
        (rule.gt is None or found > rule.gt, "greater than", rule.gt),
        (rule.ge is None or found >= rule.ge, "at least", rule.ge),
        (rule.le is None or found <= rule.le, "at most", rule.le),
    ):
        if not keeps:
            return f"{_shown(value)} is not allowed; it must be {wanted} {limit:g}"
    return None


def _single(kind: type[Any], value: object, at: Location, faults: list[Fault]) -> Any:
    number = _number(value) if kind in (int, float) else None
    if number is not None and (kind is float or number == int(number)):
        return kind(number)
    if kind in (bool, str) and isinstance(value, kind):
        return value
    told = {
        bool: "neither true nor false",
        str: "not text; put it in quotes",
        int: "not a whole number; write one such as 2",
        float: "not a number; write one such as 3.0",
    }
    return _wrong(at, f"{_shown(value)} is {told[kind]}", faults)


def _number(value: object) -> float | int | None:
    """Return a finite number, or the one that a text is; None for anything else."""
    if isinstance(value, str):
        try:
            value = float(value)
        except ValueError:
            return None
    if not isinstance(value, int | float) or isinstance(value, bool):
        return None
    try:
        return value if math.isfinite(value) else None
    except OverflowError:  # of a whole number
        return None


def _wrong(at: Location, words: str, faults: list[Fault]) -> Any:
    faults.append(Fault(at, f"{key_path(at) or 'the file'}: {words}"))
    return _WRONG


def _shown(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    text = str(value).lower() if isinstance(value, bool) else repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


@cache
def _hints(kind: type[Any]) -> dict[str, Any]:
    known = get_type_hints(kind, include_extras=True)
    return {name: known[name] for name in kind.__struct_fields__}


@cache
def _fields(kind: type[Any]) -> tuple[msgspec.structs.FieldInfo, ...]:
    return msgspec.structs.fields(kind)
