"""The files in a folder: which are art, which are left out and why, which no order names."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from prepcheck.art.sniff import HEAD_BYTES, is_zip, sniff
from prepcheck.errors import OrderError, UnreadableError
from prepcheck.faults import TomlError, read_toml
from prepcheck.order import Order, load_order, part_path
from prepcheck.output import is_ours

_MOST = 2_000
"""Files of a folder that are looked into; one with more is no folder of an order."""


_ART_SUFFIXES = (".pdf", ".tif", ".tiff", ".jpg", ".jpeg", ".png", ".psd", ".eps", ".ai")


def not_art(path: Path) -> str | None:
    """Say why a file is no artwork, by its content; None when it is of a kind that is read."""
    try:
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
        sniff(head)
    except OSError as error:
        return f"it cannot be opened ({error.strerror})"
    except UnreadableError as error:
        return str(error)
    return "prepcheck wrote it" if is_ours(path) else None


def holds_files(reason: str) -> bool:
    """Say whether what is no art holds files that may be, by the reason: an archive, a mail."""
    return any(word in reason for word in ("an archive", "a mail", "compressed", "split archive"))


def is_writing(path: Path) -> bool:
    """Say whether a file is plain text, such as a note that goes with the art, or a page that
    prepcheck wrote; a mail or a drawing is none."""
    if path.suffix.lower() in _ART_SUFFIXES:
        return False  # what calls itself art and is none is worth a finding
    reason = not_art(path) or ""
    return "a plain text" in reason or "prepcheck wrote it" in reason


def spare_files(order: Order, path: Path) -> tuple[str, ...]:
    """Return the names of art and archives that lie beside an order file and that no part of an
    order in that folder names, sorted."""
    folder = path.parent
    try:
        entries = sorted(e for e in folder.iterdir() if not e.name.startswith("."))[: _MOST + 1]
    except OSError:
        return ()
    if len(entries) > _MOST:
        return ()
    named = set(_named(order, folder))
    for entry in entries:
        if entry.suffix.lower() == ".toml" and entry.is_file() and entry.name != path.name:
            named |= _of_another(entry)
    return tuple(
        e.name.encode("utf-8", "replace").decode("utf-8")
        for e in entries
        if e.is_file() and e.resolve() not in named and _is_artwork(e)
    )


def is_order(path: Path) -> bool:
    """Say whether a TOML file is an order; one that cannot be read counts, so that it is told."""
    try:
        table = read_toml(path)
    except TomlError:
        return True
    return "order" in table or "part" in table


def _is_artwork(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            if is_zip(file.read(HEAD_BYTES)):
                return True
    except OSError:
        return False
    return not_art(path) is None


def _named(order: Order, folder: Path) -> Iterator[Path]:
    for part in order.part:
        file = part_path(part, folder)
        if file is not None:
            yield file.resolve()


def _of_another(path: Path) -> set[Path]:
    try:
        return set(_named(load_order(path), path.parent))
    except OrderError:
        return set()
