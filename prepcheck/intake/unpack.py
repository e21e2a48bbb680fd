"""Unpacks ZIP archives: every file in them under a name that tells where it came from.

Nothing an archive says is trusted. Names are never used as paths, links are not followed, sizes
are counted as bytes come out, and each limit holds over all archives of a delivery together.
"""

from __future__ import annotations

import shutil
import stat
import zipfile
import zlib
from collections.abc import Iterable
from dataclasses import field
from pathlib import Path
from typing import IO

from prepcheck.art.sniff import HEAD_BYTES, READ, is_zip
from prepcheck.errors import said_by
from prepcheck.frozen import dataclass
from prepcheck.intake.names import apart, entry_name, is_litter, points_out, safe_parts

_CHUNK = 1 << 20
_METHODS = {
    1: "Shrink", 6: "Implode", 9: "Deflate64", 12: "bzip2", 14: "LZMA", 93: "Zstandard",
    95: "XZ", 97: "WavPack", 98: "PPMd", 99: "AES",
}  # fmt: skip
"""Ways to pack that are not read (PKWARE APPNOTE, 4.4.5)."""
_AGAIN = "send it again"


@dataclass(frozen=True, slots=True)
class UnpackLimits:
    """What all archives of one delivery may come to. What is beyond is refused, by name."""

    files: int = 500
    """Files taken out; the largest box sets have about a hundred."""
    file_bytes: int = 2_000_000_000
    """Size of one file unpacked, as of any artwork."""
    total_bytes: int = 8_000_000_000
    """Size of all files unpacked."""
    entries: int = 10_000
    """Entries one archive may list, litter included."""
    depth: int = 3
    """Archives in archives."""
    free_bytes: int = 1_000_000_000
    """What must stay free on the disk."""


DEFAULT = UnpackLimits()


@dataclass(frozen=True, slots=True)
class Delivered:
    """One file of a delivery: `name` as it is told to people, 'archive.zip/label-a.pdf' where it
    came in an archive, and `path`, where it lies now."""

    name: str
    path: Path


@dataclass(frozen=True, slots=True)
class RefusedFile:
    """A file that was not taken out, or an archive that could not be read, and why."""

    name: str
    why: str

    def __str__(self) -> str:
        return f"{self.name}: {self.why}"


@dataclass(frozen=True, slots=True)
class Unpacked:
    """What came: the files, what was refused, and what else is to be told (`notes`)."""

    files: tuple[Delivered, ...] = ()
    refused: tuple[RefusedFile, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass
class _Taken:
    """What has been taken out so far."""

    into: Path
    limits: UnpackLimits
    files: list[Delivered] = field(default_factory=list)
    refused: list[RefusedFile] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    bytes: int = 0
    unpacked: int = 0
    archives: int = 0


class _TooMuchError(Exception):
    """Unpacking a file went beyond a limit; the text says which."""


def looks_like_zip(path: Path) -> bool:
    """Say whether a file is a ZIP archive, by its content; False where it cannot be read."""
    try:
        if not path.is_file():
            return False
        with path.open("rb") as file:
            return is_zip(file.read(HEAD_BYTES))
    except OSError:
        return False


def unpack(
    paths: Iterable[Path | Delivered], into: Path, limits: UnpackLimits = DEFAULT
) -> Unpacked:
    """Return the files of a delivery, those in ZIP archives (stored or deflated) taken out.

    Each archive is unpacked to a folder of its own below `into`, which must be there and is the
    caller's to remove; the folders inside it are kept. Files that are no ZIP stay where they are,
    whatever they are. Never raises for what an archive holds: it is in `refused`, a file a line.
    """
    taken = _Taken(into, limits)
    for given in paths:
        one = given if isinstance(given, Delivered) else Delivered(shown(given.name), given)
        if looks_like_zip(one.path):
            _archive(one, taken, 1)
        else:
            taken.files.append(one)
    return Unpacked(tuple(taken.files), tuple(taken.refused), tuple(taken.notes))


def shown(name: str) -> str:
    """Return a file's name as text that can be written; names need not be valid Unicode."""
    return name.encode("utf-8", "replace").decode("utf-8")


def _archive(archive: Delivered, taken: _Taken, depth: int) -> None:
    if depth > taken.limits.depth:
        why = f"archives lie {depth} deep in each other; send the artwork itself as {READ}"
        taken.refused.append(RefusedFile(archive.name, why))
        return
    try:
        with zipfile.ZipFile(archive.path) as packed:
            entries = [entry for entry in packed.infolist() if not entry.is_dir()]
            if len(entries) > taken.limits.entries:
                why = f"the archive lists {len(entries)} files; send the artwork alone"
                taken.refused.append(RefusedFile(archive.name, why))
                return
            before = len(taken.files) + len(taken.refused)
            _entries(packed, entries, archive, taken, depth)
            if len(taken.files) + len(taken.refused) == before:
                taken.refused.append(RefusedFile(archive.name, f"the archive is empty; {_AGAIN}"))
    except (OSError, zipfile.BadZipFile, NotImplementedError, ValueError, RecursionError) as error:
        reason = said_by(error)
        why = f"the archive is damaged or cut off ({reason}); {_AGAIN}"
        taken.refused.append(RefusedFile(archive.name, why))


def _entries(
    packed: zipfile.ZipFile,
    entries: Iterable[zipfile.ZipInfo],
    archive: Delivered,
    taken: _Taken,
    depth: int,
) -> None:
    taken.archives += 1
    folder = taken.into / f"archive-{taken.archives}"
    names: set[str] = set()
    for entry in entries:
        said = entry_name(entry)
        parts = safe_parts(said)
        if is_litter(parts):
            continue
        parts = apart(parts, names)
        name = f"{archive.name}/{'/'.join(parts)}"
        why = _refusal(entry, taken)
        if why is None:
            if points_out(said):
                taken.notes.append(f"{name}: the archive would put it outside its folder; it was "
                                   "taken out inside")  # fmt: skip
            target = folder.joinpath(*parts)
            why = _taken_out(packed, entry, target, taken)
        if why is not None:
            taken.refused.append(RefusedFile(name, why))
        elif looks_like_zip(target):
            _archive(Delivered(name, target), taken, depth + 1)
            target.unlink(missing_ok=True)
        else:
            taken.files.append(Delivered(name, target))


def _refusal(entry: zipfile.ZipInfo, taken: _Taken) -> str | None:
    """Say why an entry is not even tried; None where it is."""
    mode = entry.external_attr >> 16
    kind = stat.S_IFMT(mode)
    if kind == stat.S_IFLNK:
        return "this is a link to a file, not the file; send the file itself"
    if kind not in (0, stat.S_IFREG):
        return "this is no plain file; send the artwork itself"
    if entry.flag_bits & 0x1:
        return "it is locked with a password; send the archive without one"
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        way = _METHODS.get(entry.compress_type, f"method {entry.compress_type}")
        return f"it is packed in a way that is not read ({way}); pack it as an ordinary ZIP"
    if entry.file_size > taken.limits.file_bytes:
        return _too_large(taken.limits)
    if taken.unpacked >= taken.limits.files:
        return f"more than {taken.limits.files} files came; send the artwork alone"
    return None


def _taken_out(
    packed: zipfile.ZipFile, entry: zipfile.ZipInfo, target: Path, taken: _Taken
) -> str | None:
    """Take one file out; return why that could not be done, and leave nothing of it then."""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with packed.open(entry) as source, target.open("xb") as out:
            _copied(source, out, taken)
    except _TooMuchError as error:
        why = str(error)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        reason = said_by(error)
        why = f"it is damaged in the archive ({reason}); {_AGAIN}"
    except (OSError, ValueError) as error:
        why = f"it could not be unpacked ({getattr(error, 'strerror', None) or error}); {_AGAIN}"
    else:
        taken.unpacked += 1
        return None
    target.unlink(missing_ok=True)
    return why


def _copied(source: IO[bytes], out: IO[bytes], taken: _Taken) -> None:
    limits, size = taken.limits, 0
    room = shutil.disk_usage(taken.into).free - limits.free_bytes
    while data := source.read(_CHUNK):
        size += len(data)
        taken.bytes += len(data)  # what is thrown away again counts too: it took its time
        if size > limits.file_bytes:
            raise _TooMuchError(_too_large(limits))
        if taken.bytes > limits.total_bytes:
            raise _TooMuchError(
                f"all files together unpack to more than {limits.total_bytes / 1e6:.0f} MB; send "
                "them in several deliveries"
            )
        if size > room:
            raise _TooMuchError(
                "there is no room on the disk to unpack it; make room and check again"
            )
        out.write(data)


def _too_large(limits: UnpackLimits) -> str:
    return (
        f"it unpacks to more than {limits.file_bytes / 1e6:.0f} MB, more than a label or sleeve "
        "needs; send it flattened, at 300 to 600 ppi"
    )
