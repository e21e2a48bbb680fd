"""Lays a spec's table over the one it extends, and keeps book of which file set what.

A citation belongs to the file that sets the limit: whoever changes a limit must cite it anew, so
that no finding is ever backed by a source for another value.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from prepcheck.frozen import dataclass

_WHOLE = ("outline.panels", "outline.flaps", "pages", "colour.allowed", "colour.process_inks")
_NOT_LIMITS = (
    "name", "title", "extends", "format", "kind", "abstract", "outline.kind", "severity",
)  # fmt: skip
_NOT_INHERITED = ("name", "title", "extends", "abstract")


@dataclass(frozen=True)
class Layered:
    """A spec's values after inheriting, unvalidated, and which file each key came from."""

    path: Path
    abstract: bool
    values: dict[str, Any]
    files: dict[str, Path]
    """File of each leaf, by its dotted key."""
    sources: Any
    citing: dict[str, Path]
    """File of each citation."""
    uncited: dict[str, Path]
    """Leaves that the file which set them cites no source for."""

    def file_of(self, location: tuple[str | int, ...]) -> Path:
        """Return the file that a place in the spec came from; the spec's own where none did."""
        key = ".".join(str(step) for step in location)
        if location[:1] == ("sources",):
            return self.citing.get(key.partition(".")[2], self.path)
        if self._wants(location):
            return self.path
        while key:
            if key in self.files:
                return self.files[key]
            below = [path for name, path in self.files.items() if name.startswith(f"{key}.")]
            if below:
                return self.path if self.path in below else below[-1]
            key = key.rpartition(".")[0]
        return self.path

    def _wants(self, location: tuple[str | int, ...]) -> bool:
        """Say whether a place is a key that a table, inherited or not, does not have."""
        at: Any = self.values
        for step in location:
            if not isinstance(at, dict):
                return False
            if step not in at:
                return True
            at = at[step]
        return False


def joined(base: Layered | None, table: Mapping[str, Any], path: Path) -> Layered:
    """Return the table of `path` laid over what it extends."""
    own = {key: value for key, value in table.items() if key not in ("sources", "abstract")}
    stated = table.get("sources", {})
    cited = _flat(stated) if isinstance(stated, dict) else {}
    inherited = {k: v for k, v in base.values.items() if k not in _NOT_INHERITED} if base else {}
    values = _laid_over(inherited, own)
    present = set(leaves(values))
    set_here = set(leaves(own))
    files = {k: p for k, p in base.files.items() if k in present} if base else {}
    files |= dict.fromkeys(sorted(set_here & present), path)
    sources: dict[str, Any] = {}
    citing: dict[str, Path] = {}
    if base is not None and isinstance(base.sources, dict):
        kept = [k for k in base.sources if k not in set_here and _covers(k, present)]
        sources = {k: base.sources[k] for k in kept}
        citing = {k: base.citing[k] for k in kept}
    sources |= cited
    citing |= dict.fromkeys(cited, path)
    uncited = {k: p for k, p in base.uncited.items() if k in present} if base else {}
    for key in set_here | {k for k in uncited if _is_cited(k, cited)}:
        uncited.pop(key, None)
        if not _is_cited(key, cited):
            uncited[key] = path
    return Layered(
        path,
        table.get("abstract", False) is True,
        values,
        files,
        sources if isinstance(stated, dict) else stated,
        citing,
        dict(sorted(uncited.items())),
    )


def leaves(values: Mapping[str, Any], prefix: str = "") -> Iterator[str]:
    """Yield the dotted key of every value; lists and what they hold count as one."""
    for key, value in values.items():
        name = f"{prefix}{key}"
        if isinstance(value, dict) and value:
            yield from leaves(value, f"{name}.")
        else:
            yield name


def limits(values: Mapping[str, Any]) -> set[str]:
    """Return the leaves that need a source: everything that artwork is judged by."""
    return {
        key
        for key in leaves(values)
        if not any(key == name or key.startswith(f"{name}.") for name in _NOT_LIMITS)
    }


def _laid_over(base: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    result = dict(base)
    for key, value in own.items():
        below = result.get(key)
        if isinstance(value, dict) and isinstance(below, dict):
            other_kind = value.get("kind", below.get("kind")) != below.get("kind")
            result[key] = dict(value) if other_kind else _laid_over(below, value)
        else:
            result[key] = value
    return result


def _flat(table: Mapping[str, Any], prefix: str = "") -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            flat |= _flat(value, f"{prefix}{key}.")
        else:
            flat[f"{prefix}{key}"] = value
    return flat


def _covers(key: str, present: set[str]) -> bool:
    return any(leaf == key or leaf.startswith(f"{key}.") for leaf in present)


def _is_cited(key: str, cited: Mapping[str, Any]) -> bool:
    while key:
        if key in cited:
            return True
        key = key.rpartition(".")[0]
    return False
