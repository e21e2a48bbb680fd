"""A folder for what is taken out of archives, which is gone whatever becomes of this process."""

from __future__ import annotations

import os
import shutil
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_PREFIX = "prepcheck-"
_HELD = ".held"
"""Locked as long as the folder is in use."""
_NEW_SECONDS = 60.0
"""One that was only just made may not be held yet."""
_WATCH = "import shutil, sys; sys.stdin.buffer.read(); shutil.rmtree(sys.argv[1], True)"
"""Waits for the other end of a pipe to be closed, as it is when its process dies of anything."""


class Aside:
    """A temporary folder that is made when it is first asked for."""

    def __init__(self) -> None:
        self._folder: Path | None = None
        self._held: int | None = None
        self._watch: subprocess.Popen[bytes] | None = None

    def folder(self) -> Path:
        """Return the folder; it is removed at the end, and also if this process is killed: a
        process of its own waits for that. What a machine that lost its power left is removed by
        whoever comes next."""
        if self._folder is None:
            _sweep(Path(tempfile.gettempdir()))
            self._folder = Path(tempfile.mkdtemp(prefix=_PREFIX))
            self._held = _lock(self._folder / _HELD)
            with suppress(OSError):  # where no more processes may be, the next run sweeps
                self._watch = subprocess.Popen(
                    [sys.executable, "-I", "-S", "-c", _WATCH, str(self._folder)],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                    start_new_session=True,
                )
        return self._folder

    def close(self) -> None:
        """Remove the folder."""
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None
        if self._held is not None:
            os.close(self._held)
            self._held = None
        if self._watch is not None:
            self._watch.communicate()
            self._watch = None


@contextmanager
def aside() -> Iterator[Aside]:
    """Give a folder for the time of a block."""
    own = Aside()
    try:
        yield own
    finally:
        own.close()


def _lock(path: Path) -> int | None:
    """Make a file and hold it; the lock ends with this process. None where there are no locks."""
    try:
        import fcntl
    except ImportError:
        return None
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        return None
    return handle


def _sweep(place: Path) -> None:
    """Remove folders of ours that nobody holds any more."""
    if sys.platform == "win32":
        return
    for folder in place.glob(f"{_PREFIX}*"):
        held = folder / _HELD
        with suppress(OSError):
            known = folder.lstat()
            own = stat.S_ISDIR(known.st_mode) and known.st_uid == os.getuid()
            if not own or not held.is_file() or time.time() - held.stat().st_mtime < _NEW_SECONDS:
                continue
            handle = _lock(held)
            if handle is not None:
                shutil.rmtree(folder, ignore_errors=True)
                os.close(handle)
