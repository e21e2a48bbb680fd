"""The plant's own specs: TOML files in the book's folder, each held to what a spec must be."""

from __future__ import annotations

import hashlib
import re
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from prepcheck.errors import SpecError
from prepcheck.output import write_whole
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.spec.model import Spec

FOLDER = "specs"
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")
_HEADER = re.compile(r"\s*\[\[?([^\]]+)\]\]?\s*(?:#.*)?")
_KEY = re.compile(r"\s*((?:\"[^\"]*\"|'[^']*'|[A-Za-z0-9_-]+)(?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*=")
_AT = re.compile(r"\s*\(at line (\d+), column \d+\)")


@dataclass(frozen=True, slots=True)
class SpecFault:
    """What is wrong with a spec's text, and the line (from 1) it is about; None for the whole."""

    line: int | None
    words: str


@dataclass(frozen=True)
class OwnSpecs:
    """The folder of a plant's own specs, each a file by its name."""

    folder: Path

    def names(self) -> tuple[str, ...]:
        """Return their names, sorted."""
        found = (path.stem for path in self.folder.glob("*.toml"))
        return tuple(sorted(name for name in found if _NAME.fullmatch(name)))

    def text(self, name: str) -> str | None:
        """Return the text of one; None where there is none of the name."""
        path = self.folder / f"{name}.toml"
        if not _NAME.fullmatch(name) or not path.is_file():
            return None
        return path.read_text("utf-8")

    def load(self, name: str) -> Spec:
        """Return a shipped spec or one of the plant's own. Raises SpecError."""
        if self.text(name) is None:
            return load_spec(name)
        return load_spec(self.folder / f"{name}.toml")

    def faults(self, text: str) -> tuple[SpecFault, ...]:
        """Return what is wrong with the text of a spec."""
        return self._read(text)[1]

    def save(self, text: str, *, over: str) -> tuple[str, tuple[SpecFault, ...]]:
        """Keep a spec under the name it gives itself and return that; or what is wrong with it.

        `over` is the digest of the text that it takes the place of, empty where it is new.
        """
        name, faults = self._read(text)
        if not faults and digest_of(self.text(name)) != over:
            said = "is there already" if not over else "was changed by somebody else meanwhile"
            faults = (SpecFault(line_of(text, "name"), f"name: {name!r} {said}"),)
        if not faults:
            self.folder.mkdir(exist_ok=True)
            write_whole(self.folder / f"{name}.toml", text.encode())
        return name, faults

    def _read(self, text: str) -> tuple[str, tuple[SpecFault, ...]]:
        try:
            table = tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            at = _AT.search(str(error))
            words = f"not valid TOML: {_AT.sub('', str(error))[:200]}"
            return "", (SpecFault(int(at[1]) if at else len(text.splitlines()) or 1, words),)
        except (RecursionError, ValueError):
            return "", (
                SpecFault(None, "its tables or numbers are too long to be those of a spec"),
            )
        own = tuple(_not_here(table, self.names()))
        if own:
            return "", tuple(SpecFault(line_of(text, key), f"{key}: {words}") for key, words in own)
        name = str(table["name"])
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"{name}.toml"
            path.write_text(text, "utf-8")
            try:
                load_spec(path)
            except SpecError as fault:
                return name, tuple(_placed(text, line, path) for line in fault.lines)
        return name, ()


def _not_here(table: dict[str, Any], own: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return keys that may not stand in a spec that came from a browser, and why: no path of
    theirs is ever opened."""
    found = []
    name, base, paper = table.get("name"), table.get("extends"), table.get("print_condition")
    if not isinstance(name, str) or not _NAME.fullmatch(name):
        found.append(("name", "write a short name of a-z, 0-9 and dashes, such as our-label"))
    elif name in spec_names():
        found.append(("name", f"{name!r} is a spec that is shipped; choose another name"))
    if base is not None and not (isinstance(base, str) and _NAME.fullmatch(base)):
        found.append(("extends", "name a spec that is shipped, such as label-12in"))
    elif base in own:
        found.append(("extends", "name a spec that is shipped, not one of your own"))
    if paper is not None and not (isinstance(paper, str) and _NAME.fullmatch(paper)):
        found.append(("print_condition", "name one that is shipped, such as uncoated-label"))
    return found


def _placed(text: str, line: str, path: Path) -> SpecFault:
    words = line.removeprefix(f"{path}: ").replace(str(path.parent), "")
    key = words.partition(":")[0]
    if key == "sources":  # sources: 'clearance.x' is no limit …
        named = re.search(r"'([^']+)'", words)
        key = f"sources.{named[1]}" if named else key
    return SpecFault(line_of(text, key), words)


def line_of(text: str, key: str) -> int | None:
    """Return the line (from 1) on which a key is set, else that of the nearest table around it;
    None where neither stands in the text."""
    wanted = re.sub(r"\[\d+\]", "", key)
    best: tuple[int, int] | None = None
    table = ""
    for number, line in enumerate(text.splitlines(), 1):
        header, setting = _HEADER.fullmatch(line), _KEY.match(line)
        if header:
            table = full = _plain(header[1])
        elif setting:
            full = ".".join(filter(None, (table, _plain(setting[1]))))
        else:
            continue
        if wanted == full or wanted.startswith(f"{full}."):
            length = len(full)
        elif full.startswith(f"{wanted}."):
            length = len(wanted)
        else:
            continue
        if best is None or length > best[0]:
            best = (length, number)
    return None if best is None else best[1]


def _plain(key: str) -> str:
    return re.sub(r"\s*\.\s*", ".", key.strip().replace('"', "").replace("'", ""))


def digest_of(text: str | None) -> str:
    """Return what tells one text from another; empty for none."""
    return "" if text is None else hashlib.sha256(text.encode()).hexdigest()
