"""What outputs and loose files are named after."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

MOST_SLUG_BYTES = 80
"""Two such names and a suffix fit into the 255 bytes that file systems allow."""


def slug(text: str) -> str:
    """Return text as a part of a file name: letters, digits, '.', '_' and '-' of any script.

    File systems count bytes, so it is cut by bytes.
    """
    kept = "".join(c if c.isalnum() or c in "._-" else "-" for c in text)
    name = "-".join(filter(None, kept.split("-"))).strip(".-")
    return name.encode()[:MOST_SLUG_BYTES].decode("utf-8", "ignore") or "art"


def stem_in(folder: str, stem: str) -> str:
    """Return the stem of an order's outputs with its folder's name before it, once."""
    name = slug(folder)
    if stem.casefold().startswith(name.casefold()):
        return stem
    return name if name.casefold().startswith(stem.casefold()) else f"{name}-{stem}"


def distinct(stems: Sequence[str], sources: Sequence[Path | None]) -> tuple[str, ...]:
    """Return stems that all differ, so that no output replaces another, by case neither.

    Of those that are alike each is told apart by the folder of what it comes from, then by that
    file's name, and only then by a count: an order that is gone renames none of the others.
    """
    named = list(stems)
    folders = [None if s is None else s.absolute().parent.name for s in sources]
    files = [None if s is None else s.stem for s in sources]
    for tellers in (folders, files):
        alike = _alike(named)
        for index, teller in enumerate(tellers):
            if teller and named[index].casefold() in alike:
                named[index] = stem_in(teller, named[index])
    used: set[str] = set()
    for index, stem in enumerate(named):
        count = 1
        while named[index].casefold() in used:
            count += 1
            named[index] = f"{stem}-{count}"
        used.add(named[index].casefold())
    return tuple(named)


def _alike(stems: Sequence[str]) -> set[str]:
    folded = [stem.casefold() for stem in stems]
    return {stem for stem in folded if folded.count(stem) > 1}


def shown_name(name: str) -> str:
    """Return a file's name as text that can be written; names need not be valid Unicode."""
    return name.encode("utf-8", "replace").decode("utf-8")


def file_names(files: Sequence[Path]) -> list[str]:
    """Return a name a file: its stem, or its whole name, or with a number, until all differ."""
    stems = [file.stem for file in files]
    names = [f.name if stems.count(f.stem) > 1 else f.stem for f in files]
    return [
        name if names.count(name) == 1 else f"{name} ({names[: i + 1].count(name)})"
        for i, name in enumerate(names)
    ]
