"""Finds a spec by name or path, inherits, validates, and says in one line what is wrong."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

from prepcheck.errors import SpecError
from prepcheck.faults import (
    TomlError,
    hint,
    key_path,
    nearest,
    no_plain_file,
    read_toml,
)
from prepcheck.spec.inherit import Layered, joined, leaves, limits
from prepcheck.spec.model import DiscOutline, Spec
from prepcheck.tables import TableError, plain, read_table

_PACKAGE = Path(__file__).parent.parent
_DEEPEST = 20


def profiles_folder() -> Path:
    """Return the folder of the specs that prepcheck brings: in the wheel, else the checkout.

    Raises SpecError when neither is there.
    """
    for folder in (_PACKAGE / "profiles", _PACKAGE.parent / "profiles"):
        if (folder / "piece.toml").is_file():
            return folder
    raise SpecError(f"{_PACKAGE / 'profiles'}: the specs are missing; install prepcheck again")


def spec_names() -> tuple[str, ...]:
    """Return the names of the specs that prepcheck brings, sorted; shared bases are left out."""
    names = []
    for path in sorted(profiles_folder().glob("*.toml")):
        try:
            if not read_toml(path).get("abstract", False):
                names.append(path.stem)
        except TomlError as fault:
            raise SpecError(str(fault)) from None
    return tuple(sorted(names))


def load_spec(name_or_path: str | Path) -> Spec:
    """Return a spec by its name or from a TOML file, with all it inherits.

    A `str` is a path when it ends in '.toml' or holds a separator. Raises SpecError, one line a
    fault: file, key, what is wrong, what is allowed.
    """
    path = _path_of(name_or_path)
    if path is None:
        raise SpecError(_unknown(str(name_or_path)))
    layered = _inherit(path, ())
    if layered.abstract:
        raise SpecError(
            f"{path}: {path.stem!r} is a base that other specs extend, not a piece; "
            f"specs are: {', '.join(spec_names())}"
        )
    return _validated(layered)


def _path_of(name_or_path: str | Path) -> Path | None:
    if isinstance(name_or_path, Path):
        return name_or_path
    if name_or_path.endswith(".toml") or "/" in name_or_path or "\\" in name_or_path:
        return Path(name_or_path)
    path = profiles_folder() / f"{name_or_path}.toml"
    return path if no_plain_file(path) is None else None


def _unknown(name: str) -> str:
    name, names = name[:80], spec_names()
    close = nearest(name, names, count=3)
    said = f"did you mean {' or '.join(close)}?" if close else f"specs are: {', '.join(names)}"
    return f"there is no spec named {name!r}; {said}"


def _inherit(path: Path, below: tuple[Path, ...]) -> Layered:
    resolved = path.resolve()
    if resolved in below:
        circle = " -> ".join(p.name for p in (*below[below.index(resolved) :], resolved))
        raise SpecError(f"{path}: extends: specs extend each other in a circle: {circle}")
    if len(below) >= _DEEPEST:
        raise SpecError(f"{path}: extends: more than {_DEEPEST} specs extend each other in a row")
    try:
        table = read_toml(path)
    except TomlError as fault:
        raise SpecError(str(fault)) from None
    condition = table.get("print_condition")
    if isinstance(condition, str) and condition.endswith(".toml"):
        table = {**table, "print_condition": str(path.parent / condition)}
    base = table.get("extends")
    if base is None:
        return joined(None, table, path)
    return joined(_inherit(_base_path(base, path), (*below, resolved)), table, path)


def _base_path(base: object, path: Path) -> Path:
    if not isinstance(base, str):
        raise SpecError(f"{path}: extends: {base!r} is not text; name a spec or a TOML file")
    if base.endswith(".toml"):
        return path.parent / base
    found = profiles_folder() / f"{base}.toml"
    if no_plain_file(found) is not None:
        known = {p.stem for p in profiles_folder().glob("*.toml")}
        named = repr(base[:80])
        raise SpecError(
            f"{path}: extends: there is no spec named {named}; {hint(base[:80], known)}"
        )
    return found


def _validated(layered: Layered) -> Spec:
    try:
        spec = read_table(Spec, {**layered.values, "sources": layered.sources})
    except TableError as error:
        wrong = {key_path(location) for location, _ in error.faults}
        lines = [f"{layered.file_of(location)}: {words}" for location, words in error.faults]
        raise SpecError(*dict.fromkeys(lines), *_uncited(layered, wrong)) from None
    lines = [*_uncited(layered), *_inconsistent(spec, layered)]
    if lines:
        raise SpecError(*lines)
    return spec


def _uncited(layered: Layered, wrong: Collection[str] = ()) -> Iterator[str]:
    """Yield a line for each limit without a source, and each source without a limit.

    Keys in `wrong` have been complained of already.
    """
    cited = limits(layered.values)
    for key, path in layered.uncited.items():
        if key in cited and key not in wrong:
            yield (
                f"{path}: {key}: no source; cite one under [sources], or write "
                "'common practice, no source' or 'from memory'"
            )
    known = {name for key in cited for name in _and_tables(key)}
    for key, path in layered.citing.items():
        if key not in known:
            yield f"{path}: sources: {key!r} is no limit of this spec; {hint(key, known)}"


def _and_tables(key: str) -> Iterator[str]:
    while key:
        yield key
        key = key.rpartition(".")[0]


def _inconsistent(spec: Spec, layered: Layered) -> Iterator[str]:
    """Yield a line for each thing that is right by itself but does not fit the rest."""
    if spec.hole is None and spec.clearance.hole is not None:
        yield f"{layered.file_of(('clearance', 'hole'))}: clearance.hole: the piece has no hole"
    if spec.hole is not None and spec.clearance.hole is None:
        yield f"{layered.file_of(('hole',))}: clearance.hole: missing; the piece has a hole"
    if isinstance(spec.outline, DiscOutline):
        if spec.hole is not None and spec.hole.diameter_mm >= spec.outline.diameter_mm:
            yield f"{layered.file_of(('hole',))}: hole.diameter_mm: as wide as the piece or wider"
        for number, page in enumerate(spec.pages):
            if page.panels or page.flaps:
                key = key_path(("pages", number))
                yield f"{layered.file_of(('pages',))}: {key}: a disc has neither panels nor flaps"
        return
    if spec.hole is not None:
        yield f"{layered.file_of(('hole',))}: hole: only a disc has a hole"
    faces = [("outline", spec.outline.panels, spec.outline.flaps)]
    for number, page in enumerate(spec.pages):
        panels = spec.outline.panels if page.panels is None else page.panels
        flaps = spec.outline.flaps if page.flaps is None else page.flaps
        if page.panels is not None or page.flaps is not None:
            faces.append((key_path(("pages", number)), panels, flaps))
    for key, panels, flaps in faces:
        path = layered.file_of((key.partition("[")[0],))
        names = [panel.name for panel in panels]
        for name in sorted({name for name in names if names.count(name) > 1}):
            yield f"{path}: {key}.panels: two panels are named {name!r}; each needs its own name"
        for flap in flaps:
            if flap.panel not in names:
                yield (
                    f"{path}: {key}.flaps: {flap.name!r} hangs on {flap.panel!r}, which is no "
                    f"panel; {hint(flap.panel, names)}"
                )


def resolved_toml(spec: Spec) -> str:
    """Return the spec as TOML with everything it inherits and all its sources.

    Saved to a file it loads again as the same spec.
    """
    values = plain(spec, given_only=True)
    values.pop("extends", None)
    sources = values.pop("sources")
    lines = list(_toml_table(values, ()))
    lines += ["", "[sources]"]
    lines += [f"{_toml_value(key)} = {_toml_value(sources[key])}" for key in _in_order(values)
              if key in sources]  # fmt: skip
    return "\n".join(lines) + "\n"


def _in_order(values: dict[str, Any]) -> Iterator[str]:
    seen = set()
    for key in leaves(values):
        for name in reversed(list(_and_tables(key))):
            if name not in seen:
                seen.add(name)
                yield name


def _toml_table(values: dict[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    plain = {k: v for k, v in values.items() if not isinstance(v, dict)}
    if path and plain:
        yield ""
        yield f"[{'.'.join(path)}]"
    for key, value in plain.items():
        yield f"{key} = {_toml_value(value)}"
    for key, value in values.items():
        if isinstance(value, dict):
            yield from _toml_table(value, (*path, _bare(key)))


def _bare(key: str) -> str:
    return key if key.replace("_", "").replace("-", "").isalnum() else _toml_value(key)


def _toml_value(value: object) -> str:
    match value:
        case bool():
            return str(value).lower()
        case int() | float():
            return repr(value)
        case str():
            escaped = "".join(
                {"\\": "\\\\", '"': '\\"'}.get(c, c) if c >= " " and c != "\x7f"
                else f"\\u{ord(c):04x}" for c in value
            )  # fmt: skip
            return f'"{escaped}"'
        case list() if any(isinstance(item, dict) for item in value):
            return "[\n" + "".join(f"    {_toml_value(item)},\n" for item in value) + "]"
        case list():
            return f"[{', '.join(_toml_value(item) for item in value)}]"
        case dict():
            inner = ", ".join(f"{_bare(k)} = {_toml_value(v)}" for k, v in value.items())
            return f"{{ {inner} }}"
    raise TypeError(type(value))
