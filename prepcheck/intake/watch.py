"""A watched folder: which of its files are whole, and for which order they lie there.

Knows no book: what is taken is told by whoever takes it.
"""

from __future__ import annotations

import os
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from prepcheck.intake.unpack import looks_like_zip

_BEGINNINGS = (".", "~$", "~")
_ENDINGS = (
    ".part", ".tmp", ".temp", ".crdownload", ".download", ".partial", ".filepart", ".opdownload",
    ".swp", "~",
)  # fmt: skip
"""Names that programs give to what they are still writing (common practice, no source)."""
_LITTER = ("thumbs.db", "desktop.ini", "__macosx")
_PATIENCE = 20
"""An archive that stays broken this many times as long is taken as it is."""


@dataclass(frozen=True, slots=True)
class Lying:
    """A file as it lies in the inbox: its path there, its size, and its time in ns.

    `folder` is the sub-folder of the inbox that it is in, empty for the inbox itself.
    """

    path: Path
    place: str
    folder: str
    bytes: int
    time_ns: int


@dataclass
class Inbox:
    """The files of a folder as they were at the last look; `still_s` is how long a file must not
    have changed before it counts as whole."""

    root: Path
    still_s: float = 5.0
    _since: dict[Lying, float] = field(default_factory=dict)

    def look(self, now: float, taken: frozenset[Lying]) -> list[list[Lying]]:
        """Return what is whole and not taken, a list for each sub-folder and one for the rest.

        `now` is a time in s that only ever grows. A sub-folder waits until all in it is whole.
        Raises OSError when the folder cannot be read.
        """
        lying = [one for one in _lying(self.root) if one not in taken]
        self._since = {one: self._since.get(one, now) for one in lying}
        held = open_for_writing({one.path for one in lying if self._still(one, now)})
        groups: dict[str, list[Lying]] = {}
        waiting: set[str] = set()
        for one in lying:
            if self._whole(one, now) and one.path not in held:
                groups.setdefault(one.folder, []).append(one)
            else:
                waiting.add(one.folder)
        return [own for folder, own in groups.items() if folder == "" or folder not in waiting]

    @property
    def pending(self) -> int:
        """How many files were there at the last look and not taken."""
        return len(self._since)

    def _still(self, one: Lying, now: float) -> bool:
        return now - self._since[one] >= self.still_s

    def _whole(self, one: Lying, now: float) -> bool:
        if not self._still(one, now):
            return False
        if now - self._since[one] >= _PATIENCE * max(self.still_s, 1.0):
            return True
        return whole_archive(one.path)


def whole_archive(path: Path) -> bool:
    """Say whether a file is whole as far as an archive can tell; other files always are."""
    if not (looks_like_zip(path) or path.suffix.lower() == ".zip"):
        return True
    try:
        with zipfile.ZipFile(path):
            return True
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return False


def temporary(name: str) -> bool:
    """Say whether a name is one that programs give to what they are still writing, or litter."""
    low = name.lower()
    return low.startswith(_BEGINNINGS) or low.endswith(_ENDINGS) or low in _LITTER


def _lying(root: Path) -> Iterator[Lying]:
    """Yield the files below a folder, by name; links are left alone."""
    stack = [root]
    while stack:
        folder = stack.pop()
        try:
            with os.scandir(folder) as found:
                entries = sorted(found, key=lambda entry: entry.name)
        except OSError:
            if folder == root:
                raise
            continue  # gone while it was looked at
        for entry in entries:
            if temporary(entry.name):
                continue
            path = Path(entry.path)
            try:
                if entry.is_dir(follow_symlinks=False):
                    stack.append(path)
                elif entry.is_file(follow_symlinks=False):
                    known = entry.stat(follow_symlinks=False)
                    inside = path.relative_to(root)
                    first = inside.parts[0] if len(inside.parts) > 1 else ""
                    yield Lying(path, inside.as_posix(), first, known.st_size, known.st_mtime_ns)
            except OSError:
                continue


def open_for_writing(paths: Iterable[Path]) -> set[Path]:
    """Return those files that some program of this machine has open to write to.

    Told by Linux's /proc, as far as we may look there; elsewhere, and for what another machine
    writes on a network drive, stillness alone decides.
    """
    wanted = {}
    for path in paths:
        try:
            known = path.stat()
        except OSError:
            continue
        wanted[known.st_dev, known.st_ino] = path
    if not wanted:
        return set()
    found = set()
    for process in Path("/proc").glob("[0-9]*"):
        try:
            for handle in (process / "fd").iterdir():
                known = handle.stat()
                held = wanted.get((known.st_dev, known.st_ino))
                if held is not None and _writes(process / "fdinfo" / handle.name):
                    found.add(held)
        except OSError:
            continue  # ended, or another person's
    return found


def _writes(fdinfo: Path) -> bool:
    for line in fdinfo.read_text().splitlines():
        if line.startswith("flags:"):
            return int(line.split()[1], 8) & (os.O_WRONLY | os.O_RDWR) != 0
    return False
