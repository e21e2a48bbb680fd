"""Chunks of a PNG file (PNG, 3rd edition, 5 and 11) that Pillow holds to limits of its own."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from typing import NamedTuple

from prepcheck.art.limits import Limits

SIGNATURE = b"\x89PNG\r\n\x1a\n"
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


def png_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield each whole chunk's kind and what is in it."""
    for kind, start, end in _chunks(data):
        yield kind, data[start + 8 : end - 4]
