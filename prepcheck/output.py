"""Writes outputs aside and moves them into place, so that each is whole or not there at all."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path

from prepcheck.errors import OutputError, UsageError


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` as a whole; folders are made as needed.

    Raises OutputError when the place cannot be written; what stood there then stays as it was,
    and nothing is left beside it.
    """
    aside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        aside.write_bytes(data)
        aside.replace(path)
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror or error}); choose another place "
            "for this output"
        ) from None
    finally:
        with suppress(OSError):
            aside.unlink(missing_ok=True)


def why_not(write: Callable[[], None]) -> tuple[str, ...]:
    """Write an output, and return why it failed, a sentence a line; nothing if it did not."""
    try:
        write()
    except OutputError as error:
        return error.lines
    return ()


def refuse_inputs(outputs: Iterable[Path], inputs: Iterable[Path]) -> None:
    """Raise UsageError when an output would replace an input, by whatever name."""
    taken = {path.resolve(): path for path in inputs}
    lines = [
        f"{output}: this is one of the files to check and would be overwritten; "
        "choose another name for the output"
        for output in outputs
        if output.resolve() in taken
    ]
    if lines:
        raise UsageError(*lines)
