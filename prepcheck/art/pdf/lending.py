"""The bytes of a PDF file as the PDF library reads them: lent, not copied, where they are many."""

from __future__ import annotations

import io
import mmap
from typing import IO, Any, Never, cast

FileData = bytes | mmap.mmap
"""A file as a whole, in memory or where it lies on disk."""
LENT_FROM = 1 << 20
"""Bytes read at once from which they are lent."""


class _Held(io.BytesIO):
    """A file in memory without `getbuffer`, by which the library asks for its length and which
    makes a copy of all of it."""

    @property
    def getbuffer(self) -> Never:
        raise AttributeError("getbuffer")


def as_stream(data: FileData) -> IO[Any]:
    """Return a file as a stream; what is read from it is copied."""
    if isinstance(data, mmap.mmap):
        data.seek(0)
        return cast(IO[Any], data)
    return _Held(data)


class Views:
    """A file as a stream that lends what much is read of; slower than `as_stream`."""

    def __init__(self, data: FileData) -> None:
        self._data, self._at = memoryview(data), 0

    def read(self, size: int = -1) -> bytes | memoryview:
        end = len(self._data) if size < 0 else min(self._at + size, len(self._data))
        piece = self._data[self._at : end]
        self._at += len(piece)
        return piece if len(piece) >= LENT_FROM else bytes(piece)

    def tell(self) -> int:
        return self._at

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        base = (0, self._at, len(self._data))[whence]
        self._at = max(0, base + offset)
        return self._at
