"""Turning what decoders raise into our own errors, and naming the file in them."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from prepcheck.errors import PasswordError, UnreadableError


@contextmanager
def quietly(kind: str) -> Iterator[None]:
    """Decode inside this block: warnings are muted, and whatever the decoder raises leaves as
    UnreadableError naming the kind of picture."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except UnreadableError:
        raise
    except Exception as error:
        reason = " ".join(str(error).split())[:120] or type(error).__name__
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
