"""What was planted where: the truth that the tests hold prepcheck to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields


@dataclass(frozen=True)
class Fault:
    """One planted fault.

    `measured` is the true number in `unit`, known from how the file was drawn, `required` the
    limit it breaks, each in words where the report has words; `x` and `y` a point of the fault in
    mm from the trimmed piece's centre. Fields that mean nothing for a fault are None and not
    written.
    """

    file: str
    check: str
    severity: str
    says: str
    spec: str = "label-12in"
    page: int | None = 1
    measured: float | str | None = None
    required: float | str | None = None
    unit: str | None = None
    x: float | None = None
    y: float | None = None


@dataclass(frozen=True)
class Sound:
    """A file that looks suspicious and is not: nothing graver than a note may be said of it."""

    file: str
    spec: str
    says: str


def written(faults: Iterable[Fault], sound: Iterable[Sound]) -> str:
    """Return the manifest as TOML."""
    head = (
        "# Written by make.py: each planted fault with its true number, and files that are sound.\n"
        "# Places are in mm from the trimmed piece's centre, x right, y up.\n"
    )
    tables = [("fault", item) for item in faults] + [("sound", item) for item in sound]
    return head + "".join(f"\n[[{name}]]\n{_table(item)}" for name, item in tables)


def _table(item: Fault | Sound) -> str:
    pairs = ((field.name, getattr(item, field.name)) for field in fields(item))
    return "".join(f"{key} = {value_of(value)}\n" for key, value in pairs if value is not None)


def value_of(value: float | str) -> str:
    """Return a value as TOML."""
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return str(value) if isinstance(value, int) else f"{value:.3f}".rstrip("0").rstrip(".") or "0"
