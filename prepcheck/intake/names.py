"""Names of files inside archives, made safe to show and to write."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable
from pathlib import PurePosixPath

_MOST_DEPTH = 20
_LONGEST = 120
"""Bytes of one name on disk, below the 255 that file systems allow (POSIX NAME_MAX)."""
_RESERVED = re.compile(r"(?i)(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)")
"""Names that are devices on Windows (from memory)."""
_UTF8 = 0x800
"""The bit that says that a name is UTF-8 (PKWARE APPNOTE, 4.4.4)."""


def entry_name(info: zipfile.ZipInfo) -> str:
    """Return an entry's name as its maker meant it: many write UTF-8 without saying so."""
    # The library cuts a name at a zero byte; `orig_filename` is whole.
    name = info.orig_filename or info.filename
    if info.flag_bits & _UTF8:
        return name
    try:
        return name.encode("cp437").decode("utf-8")
    except UnicodeError:
        return name


def safe_parts(name: str) -> tuple[str, ...]:
    """Return the steps of a path inside an archive: relative, without '..', drives and signs that
    cannot be shown or written. Empty where nothing is left."""
    steps = re.sub(r"^[A-Za-z]:", "", name.replace("\\", "/")).split("/")
    kept = [_clean(step) for step in steps]
    return tuple(step for step in kept if step)[-_MOST_DEPTH:]


def points_out(name: str) -> bool:
    """Say whether a name leads out of the folder it is unpacked to."""
    plain = name.replace("\\", "/")
    return (
        plain.startswith("/")
        or re.match(r"[A-Za-z]:", plain) is not None
        or ".." in PurePosixPath(plain).parts
    )


def is_litter(parts: Iterable[str]) -> bool:
    """Say whether a file is what systems leave in archives and nobody sends on purpose."""
    steps = list(parts)
    return (
        not steps
        or "__MACOSX" in steps
        or steps[-1].startswith(".")
        or steps[-1].casefold() in ("thumbs.db", "desktop.ini")
    )


def apart(parts: tuple[str, ...], taken: set[str]) -> tuple[str, ...]:
    """Return the steps, numbered where they meet another file's (case aside); takes them.

    `taken` holds the files; a folder that is a file elsewhere is numbered as well.
    """
    steps: tuple[str, ...] = ()
    for index, step in enumerate(parts):
        last = index == len(parts) - 1
        own, count = step, 1
        while _meets((*steps, own), taken, file=last):
            count += 1
            own = _numbered(step, count)
        steps = (*steps, own)
    taken.add("/".join(steps).casefold())
    return steps


def _meets(steps: tuple[str, ...], taken: set[str], *, file: bool) -> bool:
    whole = "/".join(steps).casefold()
    return whole in taken or (file and any(name.startswith(f"{whole}/") for name in taken))


def _numbered(step: str, count: int) -> str:
    stem, dot, suffix = step.rpartition(".")
    return f"{stem} ({count}){dot}{suffix}" if stem else f"{step} ({count})"


def _clean(step: str) -> str:
    kept = "".join(c if c.isprintable() and c not in '<>:"|?*' else "_" for c in step).strip()
    kept = kept.encode("utf-8", "replace").decode("utf-8")
    if kept.strip(".") == "":
        return ""
    kept = f"_{kept}" if _RESERVED.match(kept) else kept
    kept = kept.rstrip(". ")
    if len(kept.encode()) <= _LONGEST:
        return kept
    stem, dot, suffix = kept.rpartition(".")
    if not stem or len(suffix) > 10:
        stem, dot, suffix = kept, "", ""
    while len(f"{stem}{dot}{suffix}".encode()) > _LONGEST:
        stem = stem[:-1]
    return f"{stem}{dot}{suffix}"
