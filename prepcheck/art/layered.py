"""Layers that a PSD or a TIFF carries beside its merged picture.

Source: Adobe Photoshop File Formats Specification, Layer and Mask Information Section; Adobe
Photoshop TIFF Technical Notes (tag 37724, ImageSourceData). Divider kinds are from memory.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import NamedTuple

from prepcheck.art.model import RasterLayer

SOURCE_DATA = b"Adobe Photoshop Document Data Block\0"
GUIDES = 1032
MOST_LAYERS = 8000
_HIDDEN = 2
"""Bit of a layer's flags that is set where it is hidden."""
_GROUP_END = 3
_TEXT_KEYS, _GROUP_KEYS = (b"TySh", b"tySh"), (b"lsct", b"lsdk")
_INFO_KEYS = (b"Layr", b"Lr16", b"Lr32")


class _Reader(NamedTuple):
    """Data with its byte order: '>' in a PSD, the TIFF's own in a TIFF."""

    data: bytes
    order: str

    def numbers(self, kind: str, at: int) -> tuple[int, ...]:
        return struct.unpack_from(self.order + kind, self.data, at)

    def key(self, at: int) -> bytes:
        key = self.data[at : at + 4]
        return key if self.order == ">" else key[::-1]


def psd_layers(section: bytes) -> tuple[RasterLayer, ...] | None:
    """Return the layers of a PSD's layer and mask section; None where it is damaged."""
    reader = _Reader(section, ">")
    try:
        (size,) = reader.numbers("I", 0) if len(section) >= 4 else (0,)
        if size >= 2:
            return tuple(_records(reader, 4))
        # Deep pictures keep their layers in a block behind the global mask.
        (mask,) = reader.numbers("I", 4 + size) if len(section) >= 8 + size else (0,)
        return tuple(_in_blocks(reader, 8 + size + mask))
    except (struct.error, IndexError, ValueError):  # it ends before what it speaks of
        return None


def tiff_layers(data: bytes) -> tuple[RasterLayer, ...] | None:
    """Return the layers in a TIFF's tag 37724, none where it is another program's; None where it
    is damaged."""
    if not data.startswith(SOURCE_DATA):
        return ()
    place = len(SOURCE_DATA)
    reader = _Reader(data, ">" if data[place : place + 4] == b"8BIM" else "<")
    try:
        return tuple(_in_blocks(reader, place))
    except (struct.error, IndexError, ValueError):  # it ends before what it speaks of
        return None


def guides(resources: dict[int, bytes]) -> int:
    """Return how many guides the image resources hold."""
    block = resources.get(GUIDES, b"")
    return int(struct.unpack_from(">I", block, 12)[0]) if len(block) >= 16 else 0


def _in_blocks(reader: _Reader, place: int) -> Iterator[RasterLayer]:
    for key, start, _ in _blocks(reader, place, len(reader.data)):
        if key in _INFO_KEYS:
            yield from _records(reader, start)
            return


def _blocks(reader: _Reader, place: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Yield tagged blocks: key, where the data starts, and its length."""
    while place + 12 <= end and reader.key(place) in (b"8BIM", b"8B64"):
        (size,) = reader.numbers("I", place + 8)
        yield reader.key(place + 4), place + 12, size
        place += 12 + (size + 3) // 4 * 4 if reader.order == "<" else 12 + (size + 1) // 2 * 2
        while place + 4 <= end and reader.data[place : place + 1] == b"\0":
            place += 1


def _records(reader: _Reader, place: int) -> Iterator[RasterLayer]:
    (count,) = reader.numbers("h", place)
    place += 2
    for _ in range(min(abs(count), MOST_LAYERS)):
        top, left, bottom, right, channels = reader.numbers("4iH", place)
        place += 18 + 6 * channels + 8  # channel lengths, signature and blend mode
        _, clipping, flags, _ = reader.data[place : place + 4]
        (extra,) = reader.numbers("I", place + 4)
        start, end = place + 8, place + 8 + extra
        place = end
        (mask,) = reader.numbers("I", start)
        start += 4 + mask
        (ranges,) = reader.numbers("I", start)
        start += 4 + ranges
        length = reader.data[start]
        name = reader.data[start + 1 : start + 1 + length].decode("mac-roman")
        start += (length + 4) // 4 * 4
        text = divider = False
        kind = 0
        for key, at, _ in _blocks(reader, start, end):
            if key == b"luni":
                (letters,) = reader.numbers("I", at)
                coding = "utf-16-be" if reader.order == ">" else "utf-16-le"
                name = reader.data[at + 4 : at + 4 + 2 * letters].decode(coding, "replace")
            text = text or key in _TEXT_KEYS
            if key in _GROUP_KEYS:
                divider, kind = True, reader.numbers("I", at)[0]
        empty = (bottom <= top or right <= left) and not text and not divider
        if kind == _GROUP_END or empty:
            continue
        yield RasterLayer(name.rstrip("\0"), not flags & _HIDDEN, text, bool(clipping), divider)
