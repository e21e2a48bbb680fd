"""Locks between processes on one folder, which go with the process that holds them."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from prepcheck.errors import OutputError

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]


@contextmanager
def held(folder: Path, name: str) -> Iterator[bool]:
    """Give True where the lock was free, and hold it until the block ends; False otherwise.

    Raises OutputError when the folder cannot be written.
    """
    path = folder / f"{hashlib.sha256(name.encode()).hexdigest()[:24]}.lock"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror or error}); see to the folder"
        ) from None
    try:
        yield _locked(handle)
    finally:
        os.close(handle)


def _locked(handle: int) -> bool:
    if fcntl is None:  # the database alone then keeps two from recording the same
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
