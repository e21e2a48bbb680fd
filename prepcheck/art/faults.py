"""Turning what decoders raise into our own errors, and naming the file in them."""

from __future__ import annotations

import threading
import warnings
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from prepcheck.errors import PasswordError, UnreadableError, said_by


class _Mute:
    """Warnings are muted while any thread is inside: Python has one list of filters for all, so a
    thread that put back what it had found would take the mute away from the others."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._inside = 0
        self._before: AbstractContextManager[object] = warnings.catch_warnings()

    def __enter__(self) -> None:
        with self._lock:
            self._inside += 1
            if self._inside == 1:
                self._before = warnings.catch_warnings()
                self._before.__enter__()
                warnings.simplefilter("ignore")

    def __exit__(self, *_: object) -> None:
        with self._lock:
            self._inside -= 1
            if not self._inside:
                self._before.__exit__(None, None, None)


muted = _Mute()


@contextmanager
def quietly(kind: str) -> Iterator[None]:
    """Decode inside this block: warnings are muted, and whatever the decoder raises leaves as
    UnreadableError naming the kind of picture; but want of memory is no damage."""
    try:
        with muted:
            yield
    except (UnreadableError, MemoryError):
        raise
    except Exception as error:
        reason = said_by(error)
        raise UnreadableError(f"the {kind} data is damaged ({reason}); export it again") from error


@contextmanager
def about(path: Path) -> Iterator[None]:
    """Put the file's name before errors that do not begin with it."""
    try:
        yield
    except (UnreadableError, PasswordError) as error:
        start = f"{path.name}: "
        if all(line.startswith(start) for line in error.lines):
            raise
        lines = (line if line.startswith(start) else start + line for line in error.lines)
        raise type(error)(*lines) from error
