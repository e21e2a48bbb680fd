"""Writes the order files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from drawing.manifest import value_of

Value = str | int | tuple[str, ...]


def order_text(head: Mapping[str, Value], parts: Iterable[Mapping[str, Value]]) -> str:
    """Return an order file as TOML."""
    tables = ["[order]\n" + _pairs(head)]
    tables += ["[[part]]\n" + _pairs(part) for part in parts]
    return "\n".join(tables)


def _pairs(table: Mapping[str, Value]) -> str:
    return "".join(f"{key} = {_value(value)}\n" for key, value in table.items())


def _value(value: Value) -> str:
    if isinstance(value, tuple):
        return "[" + ", ".join(value_of(item) for item in value) + "]"
    return value_of(value)
