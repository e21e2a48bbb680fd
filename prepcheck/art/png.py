"""Chunks of a PNG file (PNG, 3rd edition, 5 and 11) that Pillow holds to limits of its own, and
the samples of one that is large."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from prepcheck.art.limits import Limits
from prepcheck.errors import UnreadableError

STRIP_BYTES = 16 << 20
"""Samples that are decoded at once."""
SIGNATURE = b"\x89PNG\r\n\x1a\n"
_PAETH = 4
"""The last of the filters that a line may name (PNG, 9.2)."""
_NOTES = (b"tEXt", b"zTXt", b"iTXt", b"iCCP")
"""Text of any length, and the profile, which is read here."""


class PlainPng(NamedTuple):
    """A PNG without its texts and its profile, and the profile's chunk."""

    data: bytes
    profile: bytes | None


def png_without_notes(data: bytes) -> PlainPng:
    """Return a PNG without what may be larger than Pillow allows; the same bytes where it has
    nothing of the kind."""
    kept: list[bytes] = []
    profile: bytes | None = None
    last = 0
    for kind, start, end in _chunks(data):
        if kind in _NOTES:
            kept.append(data[last:start])
            last = end
            if kind == b"iCCP" and profile is None:
                profile = data[start + 8 : end - 4]
    if not last:
        return PlainPng(data, None)
    return PlainPng(b"".join((*kept, data[last:])), profile)


def png_profile(chunk: bytes | None, limits: Limits) -> bytes | None:
    """Return the ICC profile of an iCCP chunk; None for none, a damaged or an endless one."""
    name, _, packed = (chunk or b"").partition(b"\0")
    if not name or packed[:1] != b"\0":
        return None
    unpacker = zlib.decompressobj()
    try:
        profile = unpacker.decompress(packed[1:], limits.profile_bytes)
    except zlib.error:
        return None
    return profile if unpacker.eof else None


def _chunks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    """Yield each whole chunk's kind and where it starts and ends."""
    place = len(SIGNATURE)
    while place + 12 <= len(data):
        (size,) = struct.unpack_from(">I", data, place)
        end = place + 12 + size
        if end > len(data):
            return
        yield data[place + 4 : place + 8], place, end
        place = end


def png_samples(data: bytes, size: tuple[int, int], channels: int) -> NDArray[np.uint8]:
    """Return the samples (rows, columns, channels) of a PNG of 8 bits in grey (1) or RGB (3), not
    interlaced.

    A strip at a time: Pillow would hold four bytes a pixel beside them. Raises UnreadableError for
    data that is damaged or breaks off.
    """
    width, height = size
    row = width * channels
    samples = np.empty((height, row), np.uint8)
    unpacker = zlib.decompressobj()
    waiting, top = bytearray(), 0
    whole = max(1, STRIP_BYTES // (row + 1)) * (row + 1)
    for kind, start, end in _chunks(data):
        if kind != b"IDAT":
            continue
        packed = memoryview(data)[start + 8 : end - 4]
        (said,) = struct.unpack_from(">I", data, end - 4)
        if zlib.crc32(packed, zlib.crc32(kind)) != said:
            raise UnreadableError("the PNG data is damaged (a checksum is wrong); export it again")
        fresh: bytes | memoryview = packed
        while len(fresh) and top < height:
            try:
                waiting += unpacker.decompress(fresh, STRIP_BYTES)
            except zlib.error as error:
                raise UnreadableError("the PNG data is damaged; export it again") from error
            fresh = unpacker.unconsumed_tail
            last = (height - top) * (row + 1)
            while len(waiting) >= min(whole, last) and top < height:
                top += _put_strip(samples, top, bytes(waiting[: min(whole, last)]), channels)
                del waiting[: min(whole, last)]
                last = (height - top) * (row + 1)
    if top < height:
        raise UnreadableError("the PNG data is damaged (it breaks off); export it again")
    return samples.reshape(height, width, channels)


def _put_strip(samples: NDArray[np.uint8], top: int, lines: bytes, channels: int) -> int:
    """Undo the filters of some lines (PNG, 9) that go to rows from `top` on; return how many."""
    row: int = samples.shape[1]
    count = len(lines) // (row + 1)
    if max(lines[:: row + 1]) > _PAETH:
        raise UnreadableError("the PNG data is damaged (an unknown filter); export it again")
    # A line is told by its difference from the one above, which is put before it as it is.
    above = samples[top - 1].tobytes() if top else bytes(row)
    mode = {1: "L", 3: "RGB"}[channels]
    packed = zlib.compress(b"\0" + above + lines, 0)
    strip = Image.frombytes(mode, (row // channels, count + 1), packed, "zip", mode)
    samples[top : top + count] = np.asarray(strip).reshape(count + 1, row)[1:]
    return count


def png_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield each whole chunk's kind and what is in it."""
    for kind, start, end in _chunks(data):
        yield kind, data[start + 8 : end - 4]
