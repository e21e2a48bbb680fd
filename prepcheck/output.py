"""Writes outputs aside and moves them into place, so that each is whole or not there at all."""

from __future__ import annotations

import errno
import os
import secrets
import stat
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import IO

from prepcheck.errors import OutputError, UsageError

LETTER_MARK = "Written with prepcheck"
"""How the last line of a letter begins, by which it is known again."""
MAIL_MARK = "prepcheck"
"""How a message says what wrote it (X-Mailer)."""
TABLE_MARK = "order,client,title,verdict"
"""How a table of orders begins (CSV)."""
SHEET_MARK = "Press sheet of labels"
"""The subject that the PDF of a press sheet states."""
_DRAWN_BY, _DRAWN_MARKS = b"/Creator (prepcheck", (f"/Subject ({SHEET_MARK})".encode(),)
_PROOF_MARKS = (b"/Creator (prepcheck ", b"/Subject (Artwork proof)")
_PLATE_MARK = b": 255 is solid ink, 0 bare paper"
PICTURE_MARK = "prepcheck"
"""What the Software entry of a picture says (PNG, tEXt)."""
_ENDS_BYTES = 65_536


def is_ours(path: Path) -> bool:
    """Say whether prepcheck wrote a file, by what stands in it: a proof, a report, a letter, a
    message, a plate, an ink map, a press sheet or a table of orders.

    False where it cannot be read.
    """
    try:
        if not path.is_file():
            return False
        with path.open("rb") as file:
            return _is_ours(file)
    except OSError:
        return False


def _is_ours(file: IO[bytes]) -> bool:
    head = file.read(_ENDS_BYTES)
    size = file.seek(0, os.SEEK_END)
    file.seek(max(size - _ENDS_BYTES, 0))
    tail = file.read(_ENDS_BYTES)
    if head.startswith(b"%PDF-"):
        if _DRAWN_BY in head and any(mark in head for mark in _DRAWN_MARKS):
            return True
        if b"ReportLab" not in head:  # what every proof is written with says so in its first lines
            return False
        file.seek(0)
        whole = file.read()  # the marks stand before the pictures or behind, as it happens
        return all(mark in whole for mark in _PROOF_MARKS)
    if head.startswith((b"II*\0", b"MM\0*")):
        return _PLATE_MARK in head or _PLATE_MARK in tail
    if head.startswith(b"\x89PNG"):
        return f"Software\0{PICTURE_MARK}".encode() in head
    if head.lstrip().startswith(b"{"):
        return b'"schema": "prepcheck-' in head[:200]
    if head.startswith((TABLE_MARK.encode(), f"\ufeff{TABLE_MARK}".encode())):
        return True
    last = tail.rstrip().rsplit(b"\n", 1)[-1]
    # Only the message's own heading counts, not one of a message that it encloses.
    heading = head.replace(b"\r\n", b"\n").partition(b"\n\n")[0]
    mailed = f"\nX-Mailer: {MAIL_MARK} ".encode() in heading
    return mailed or last.startswith(LETTER_MARK.encode())


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` as a whole; folders are made as needed.

    What is no plain file (a device, a pipe that is read at its other end) is written to, and never
    replaced. Raises OutputError when the place cannot be written; what stood there then stays as
    it was, and nothing is left beside it.
    """
    try:
        if _is_special(path):
            _write_through(path, data)
            return
        path.parent.mkdir(parents=True, exist_ok=True)
        _replace(path, data)
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror or error}); choose another place "
            "for this output"
        ) from None


def why_not(write: Callable[[], None]) -> tuple[str, ...]:
    """Write an output, and return why it failed, a sentence a line; nothing if it did not."""
    try:
        write()
    except OutputError as error:
        return error.lines
    return ()


def refuse_inputs(outputs: Iterable[Path], inputs: Iterable[Path]) -> None:
    """Raise UsageError when an output would replace an input, by whatever name, another output,
    or a file that prepcheck did not write."""
    taken = {path.resolve(): path for path in inputs}
    outputs = list(outputs)
    lines = [
        f"{output}: this is one of the files to check and would be overwritten; "
        "choose another name for the output"
        for output in outputs
        if output.resolve() in taken
    ]
    lines += [
        f"{output}: prepcheck did not write this file and would overwrite it; choose another name "
        "for the output, or move the file away"
        for output in outputs
        if output.resolve() not in taken and output.is_file() and not is_ours(output)
    ]
    names = [output.resolve() for output in outputs]
    lines += [
        f"{output}: two outputs have this name; choose another for one of them"
        for output, name in zip(outputs, names, strict=True)
        if names.count(name) > 1 and not _is_special(output)
    ][:1]
    if lines:
        raise UsageError(*dict.fromkeys(lines))


def _is_special(path: Path) -> bool:
    """Say whether something is there that is neither a file nor a folder."""
    try:
        mode = path.stat().st_mode
    except OSError:  # nothing is there, or writing will tell what is wrong
        return False
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def _write_through(path: Path, data: bytes) -> None:
    # A pipe that nobody reads would wait for ever.
    with os.fdopen(os.open(path, os.O_WRONLY | getattr(os, "O_NONBLOCK", 0)), "wb") as file:
        os.set_blocking(file.fileno(), True)
        file.write(data)


def _replace(path: Path, data: bytes) -> None:
    aside = path.with_name(f".{secrets.token_hex(6)}.part")
    try:
        if not _written_without_name(aside, data):
            aside.write_bytes(data)
        aside.replace(path)
    finally:
        with suppress(OSError):
            aside.unlink(missing_ok=True)


def _written_without_name(aside: Path, data: bytes) -> bool:
    """Write a file that has no name until it is whole, and so leaves nothing if this process is
    killed; False where the system has no such files."""
    kind = getattr(os, "O_TMPFILE", None)
    if kind is None:
        return False
    folder = os.open(aside.parent, os.O_RDONLY)
    try:
        handle = os.open(".", kind | os.O_WRONLY, 0o666, dir_fd=folder)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            # Only with a folder's handle is the link followed to the file itself (linkat(2)).
            os.link(f"/proc/self/fd/{handle}", aside, src_dir_fd=folder, follow_symlinks=True)
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            raise
        return False
    finally:
        os.close(folder)
    return True
