"""Files out of a form as they come in: straight to disk, however large they are.

The form is read by python-multipart (RFC 7578). What a browser says of a file's path is its name
at most; files are written under numbers of our own.
"""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from python_multipart.exceptions import FormParserError
from python_multipart.multipart import MultipartParser, parse_options_header
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from prepcheck.intake.unpack import Delivered

_MOST_FIELD = 20_000
_MOST_FIELDS = 50
_MOST_HEADER = 4_000
_HELD = 1 << 20
"""Bytes of a file that are written at once."""


@dataclass
class Received:
    """What came: fields, and files under the names they were sent by."""

    fields: dict[str, str] = field(default_factory=dict)
    files: list[Delivered] = field(default_factory=list)


async def receive_form(
    kind: str,
    stream: AsyncIterator[bytes],
    folder: Path,
    *,
    most_files: int,
    allowed: Callable[[dict[str, str]], None],
) -> Received:
    """Read a form with files into a folder, which is there.

    `allowed` is called with the fields before the first file is written, and raises what keeps it
    from being taken. Raises HTTPException for what is no such form, or too much.
    """
    name, options = parse_options_header(kind)
    boundary = options.get(b"boundary", b"")
    if name != b"multipart/form-data" or not boundary:
        raise HTTPException(415, "this is no form with files")
    parts = _Parts(folder, most_files, allowed)
    parser = MultipartParser(
        boundary,
        {
            "on_part_begin": parts.begin,
            "on_part_data": parts.data,
            "on_part_end": parts.end,
            "on_header_begin": parts.header_begin,
            "on_header_field": parts.header_field,
            "on_header_value": parts.header_value,
            "on_header_end": parts.header_end,
            "on_headers_finished": parts.headers_finished,
            "on_end": parts.finish,
        },
    )
    try:
        async for chunk in stream:
            parser.write(chunk)
            if parts.held >= _HELD:  # a disk that is slow makes nobody wait but this form
                await run_in_threadpool(parts.flush)
        parser.finalize()
    except FormParserError:
        raise HTTPException(400, "the form came damaged; send it again") from None
    finally:
        parts.close()
    if not parts.whole:
        raise HTTPException(400, "the form was cut off; send it again")
    allowed(parts.received.fields)
    return parts.received


class _Parts:
    """Puts the pieces of a form together as they come."""

    def __init__(
        self, folder: Path, most_files: int, allowed: Callable[[dict[str, str]], None]
    ) -> None:
        self.received = Received()
        self.whole = False
        self._folder, self._most, self._allowed = folder, most_files, allowed
        self._headers: dict[bytes, bytes] = {}
        self._field = self._value = b""
        self._name = ""
        self._text = bytearray()
        self._file: IO[bytes] | None = None
        self._path: Path | None = None
        self._shown = ""
        self._pieces: list[bytes] = []
        self.held = 0

    def begin(self) -> None:
        self._headers, self._text = {}, bytearray()
        self._file = self._path = None

    def header_begin(self) -> None:
        self._field = self._value = b""

    def header_field(self, data: bytes, start: int, end: int) -> None:
        self._field += data[start:end]

    def header_value(self, data: bytes, start: int, end: int) -> None:
        self._value += data[start:end]
        if len(self._value) > _MOST_HEADER:
            raise HTTPException(400, "the form came damaged; send it again")

    def header_end(self) -> None:
        self._headers[self._field.lower()] = self._value

    def headers_finished(self) -> None:
        _, options = parse_options_header(self._headers.get(b"content-disposition", b""))
        self._name = options.get(b"name", b"").decode("utf-8", "replace")
        given = options.get(b"filename")
        if given is None:
            if len(self.received.fields) >= _MOST_FIELDS:
                raise HTTPException(400, "the form has too many fields")
            return
        self._shown = name_of(given.decode("utf-8", "replace"))
        if not self._shown:  # a field for files in which none was chosen
            self._path = self._folder / "none"
            self._file = self._path.open("wb")
            return
        self._allowed(self.received.fields)
        number = len(self.received.files)
        if number >= self._most:
            raise HTTPException(413, f"these are more than {self._most} files; send a ZIP")
        self._path = self._folder / f"{number}"
        self._file = self._path.open("xb")

    def data(self, data: bytes, start: int, end: int) -> None:
        if self._file is not None:
            self._pieces.append(data[start:end])
            self.held += end - start
            return
        self._text += data[start:end]
        if len(self._text) > _MOST_FIELD:
            raise HTTPException(413, f"{self._name[:40]}: is too long")

    def end(self) -> None:
        if self._file is None or self._path is None:
            self.received.fields.setdefault(
                self._name, self._text.decode("utf-8", "replace").strip()
            )
            return
        self.flush()
        self._file.close()
        self._file = None
        if self._shown:
            self.received.files.append(Delivered(self._shown, self._path))

    def flush(self) -> None:
        """Write what is held of a file."""
        if self._file is not None:
            self._file.writelines(self._pieces)
        self._pieces.clear()
        self.held = 0

    def finish(self) -> None:
        self.whole = True

    def close(self) -> None:
        if self._file is not None:
            self._file.close()


def name_of(given: str) -> str:
    """Return the last step of a name as it is shown: without what controls a terminal or page."""
    last = re.split(r"[/\\]", given)[-1]
    return "".join(c if c.isprintable() else "_" for c in last)[-240:].strip()
