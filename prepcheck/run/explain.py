"""What the checks look for and what the specs ask, in words for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from prepcheck.errors import UsageError
from prepcheck.faults import nearest
from prepcheck.judging.registry import declarations, order_declarations
from prepcheck.said import Declaration
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.spec.model import Spec
from prepcheck.words import listed

WIDTH = 80


def checks_text() -> str:
    """Return one line a check: its identifier and its title."""
    found = _all()
    width = max(map(len, found), default=0)
    return "".join(_row(f"{name:<{width}}  ", each.title) for name, each in found.items())


def check_text(identifier: str) -> str:
    """Return what a check looks for, why it matters, its source and its limits.

    Raises UsageError, with the nearest identifiers, for one that does not exist.
    """
    found = _all()
    if identifier not in found:
        close = nearest(identifier, found, count=3)
        said = f"did you mean {' or '.join(close)}?" if close else "see: prepcheck explain"
        raise UsageError(f"there is no check {identifier!r}; {said}")
    return "\n".join(_explained(found[identifier])) + "\n"


def _all() -> dict[str, Declaration]:
    return dict(sorted({**declarations(), **order_declarations()}.items()))


def specs_text() -> str:
    """Return one line a spec: its name, its size and its title."""
    specs = [load_spec(name) for name in spec_names()]
    width = max(len(spec.name) for spec in specs)
    return "".join(_row(f"{s.name:<{width}}  {_size(s):<16}  ", s.title) for s in specs)


def _row(lead: str, text: str) -> str:
    """Return a text behind its lead, its further lines under its first."""
    lines = textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))
    return "\n".join(lines or [lead.rstrip()]) + "\n"


def _explained(declaration: Declaration) -> Iterator[str]:
    words = listed([severity.value for severity in declaration.severities], "or")
    yield f"{declaration.identifier}  ({words})"
    yield from _paragraph("Makes sure", declaration.title)
    yield from _paragraph("Why", declaration.rationale)
    yield from _paragraph("Found, without us,", declaration.found_at.value)
    yield from _paragraph("Source", declaration.source)
    yield from _paragraph("Codes of its findings", ", ".join(declaration.codes))
    if declaration.limits:
        yield ""
        yield "Limits in the specs that prepcheck brings"
        specs = [load_spec(name) for name in spec_names()]
        for key in declaration.limits:
            yield from _limit(key, specs)


def _paragraph(title: str, text: str) -> Iterator[str]:
    yield ""
    yield title
    yield from _wrapped(text)


def _wrapped(text: str, indent: str = "  ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent)


def _limit(key: str, specs: list[Spec]) -> Iterator[str]:
    """Yield the values of a limit, each with the specs that have it and its source."""
    groups: dict[tuple[str, str], list[str]] = {}
    for spec in specs:
        value = _value(spec, key)
        if value is not None:
            groups.setdefault((value, spec.source_of(key)), []).append(spec.name)
    if not groups:
        yield from _wrapped(f"{key} (set by none of them)")
    for (value, source), names in groups.items():
        where = "every spec" if len(names) == len(specs) else ", ".join(names)
        yield from _wrapped(f"{key} {value}".rstrip() + f" ({where})")
        yield from _wrapped(source, "      ")


def _value(spec: Spec, key: str) -> str | None:
    """Return a limit's value as text, '' for a table, None where the spec has none."""
    value: object = spec
    for step in key.split("."):
        value = getattr(value, step, None)
        if value is None or value == ():
            return None
    if isinstance(value, float | int):
        return f"= {value:g}"
    if isinstance(value, tuple) and all(isinstance(item, str) for item in value):
        return f"= {', '.join(value)}"
    return f"= {value}" if isinstance(value, str) else ""


def _size(spec: Spec) -> str:
    box = spec.outline_of().bounds
    if spec.outline.kind == "disc":
        return f"{box.width:g} mm round"
    return f"{box.width:g} × {box.height:g} mm"
