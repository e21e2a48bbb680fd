"""Files kept by what they hold: written aside, flushed, moved into place, never replaced."""

from __future__ import annotations

import contextlib
import hashlib
import os
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from prepcheck.errors import BookError, OutputError

_CHUNK = 1 << 20
_ASIDE = "aside"


@dataclass(frozen=True, slots=True)
class Kept:
    """A file that is in the book's folder: its SHA-256 (64 hex digits) and its size."""

    digest: str
    bytes: int


@dataclass(frozen=True, slots=True)
class Store:
    """The folder of files: `ab/cdef…` by the hex digits of their SHA-256."""

    folder: Path

    def path(self, digest: str) -> Path:
        """Return where a file with this SHA-256 lies or would lie."""
        return self.folder / digest[:2] / digest[2:]

    def keep(self, source: Path) -> Kept:
        """Keep a copy of a file and return what it is known by.

        What is kept is what was read: the digest is taken while copying. Raises BookError when
        the file cannot be read, and OutputError when the folder cannot be written.
        """
        try:
            with source.open("rb") as file:
                return self.keep_stream(file, str(source))
        except OSError as error:
            raise _unreadable(source, error) from None

    def take(self, source: Path) -> Kept:
        """Keep a file that nobody else writes to, without copying it where it lies on the same
        file system; `source` is the store's once it is kept. As for `keep`."""
        try:
            with source.open("rb+") as file:
                kept = Kept(hashlib.file_digest(file, "sha256").hexdigest(), file.tell())
                os.fsync(file.fileno())
        except OSError as error:
            raise _unreadable(source, error) from None
        with self._aside() as aside:
            try:
                source.rename(aside)
            except OSError:  # on another file system
                return self.keep(source)
            try:
                with self._writing():
                    self._settle(aside, kept)
            except BaseException:  # an interrupt too: what is left aside is removed
                with contextlib.suppress(OSError):
                    if aside.stat().st_nlink == 1:  # not in the store: it can be tried again
                        aside.chmod(0o644)
                        aside.rename(source)
                raise
        return kept

    def keep_bytes(self, data: bytes) -> Kept:
        """Keep bytes; as for `keep`."""
        import io

        return self.keep_stream(io.BytesIO(data), "")

    def keep_stream(self, stream: IO[bytes], name: str) -> Kept:
        """Keep what a stream holds; as for `keep`. Memory stays flat."""
        sha = hashlib.sha256()
        size = 0
        with self._aside() as aside, self._writing():
            with aside.open("xb") as copy:
                while chunk := _read(stream, name):
                    sha.update(chunk)
                    size += len(chunk)
                    copy.write(chunk)
                copy.flush()
                os.fsync(copy.fileno())
            kept = Kept(sha.hexdigest(), size)
            self._settle(aside, kept)
        return kept

    def read(self, digest: str) -> bytes:
        """Return a kept file's bytes. Raises BookError when it is missing or altered."""
        path = self.path(digest)
        try:
            data = path.read_bytes()
        except OSError as error:
            raise BookError(
                f"{path}: cannot be read ({error.strerror or error}); put the file back from a "
                "backup, then run `prepcheck book verify`"
            ) from None
        if hashlib.sha256(data).hexdigest() != digest:
            raise BookError(
                f"{path}: is not what was kept under this name; put the file back from a backup, "
                "then run `prepcheck book verify`"
            )
        return data

    def sound(self, digest: str) -> bool:
        """Say whether a kept file holds what its name says, reading it whole."""
        return self.path(digest).is_file() and _digest_of(self.path(digest)) == digest

    def digests(self) -> Iterator[str]:
        """Yield the name of every file in the folder, kept or strayed into it."""
        for first in sorted(self.folder.iterdir()):
            if first.is_dir() and first.name != _ASIDE:
                for path in sorted(first.iterdir()):
                    yield first.name + path.name

    def left_aside(self) -> tuple[Path, ...]:
        """Return what a copy that was broken off left behind; nothing in the book needs it."""
        folder = self.folder / _ASIDE
        return tuple(sorted(folder.iterdir())) if folder.is_dir() else ()

    def make(self) -> None:
        """Make the folder, where it is not there. Raises OutputError."""
        with self._writing():
            (self.folder / _ASIDE).mkdir(parents=True, exist_ok=True)

    def _settle(self, aside: Path, kept: Kept) -> None:
        final = self.path(kept.digest)
        final.parent.mkdir(exist_ok=True)
        aside.chmod(0o444)
        try:
            os.link(aside, final)
        except FileExistsError:
            if _digest_of(final) != kept.digest:
                # The altered copy is kept too, beside the sound one.
                final.rename(final.with_name(f"{final.name}.altered-{uuid.uuid4().hex[:8]}"))
                os.link(aside, final)
        except OSError:  # a file system without hard links
            if not final.exists():
                aside.rename(final)
        _flush_folder(final.parent)
        _flush_folder(self.folder)

    @contextlib.contextmanager
    def _aside(self) -> Iterator[Path]:
        """Give a path of its own to write to; what is left there at the end is removed."""
        path = self.folder / _ASIDE / uuid.uuid4().hex
        try:
            yield path
        finally:
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)

    @contextlib.contextmanager
    def _writing(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise OutputError(
                f"{self.folder}: cannot be written ({error.strerror or error}); nothing was "
                "recorded, see to the folder and try again"
            ) from None


def _read(stream: IO[bytes], name: str) -> bytes:
    try:
        return stream.read(_CHUNK)
    except OSError as error:
        raise _unreadable(name, error) from None


def _unreadable(name: object, error: OSError) -> BookError:
    return BookError(f"{name}: cannot be read ({error.strerror or error}); it is not in the book")


def _digest_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _flush_folder(folder: Path) -> None:
    """Have the folder's own entries on disk; where folders cannot be flushed, that is left."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
