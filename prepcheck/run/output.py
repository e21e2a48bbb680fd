"""Writes outputs aside and moves them into place, so that each is whole or not there at all."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path

from prepcheck.errors import OutputError, UsageError


def write_whole(path: Path, write: Callable[[Path], None]) -> None:
    """Call `write` with a path beside `path` and move what it wrote there.

    Folders are made as needed. Raises OutputError when the place cannot be written; what stood
    at `path` then stays as it was, and nothing is left beside it.
    """
    aside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write(aside)
        aside.replace(path)
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror or error}); choose another place "
            "with --out, --proof or --json"
        ) from None
    finally:
        with suppress(OSError):
            aside.unlink(missing_ok=True)


def written(path: Path, write: Callable[[Path], None]) -> tuple[str, ...]:
    """Write as in `write_whole`, and return why it failed, a sentence a line; nothing if not."""
    try:
        write_whole(path, write)
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
