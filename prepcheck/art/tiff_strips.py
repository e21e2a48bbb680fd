"""Putting a TIFF's picture together from its strips or tiles, every channel kept."""

from __future__ import annotations

import io
import struct
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import TiffImagePlugin

from prepcheck.art.predict import tiff_unpredicted
from prepcheck.errors import UnreadableError

PLAIN_COMPRESSIONS = (1, 5, 8, 32773, 32946)
"""None, LZW, Deflate (two numbers) and PackBits."""
MAX_PIECES = 1_000_000
MAX_OVERHANG = 8192
"""Pixels by which a tile may be larger than the picture."""


class Strips(NamedTuple):
    """How a picture of 8- or 16-bit channels is stored. `piece` is a strip's or tile's size."""

    size: tuple[int, int]
    channels: int
    bits: int
    order: str
    compression: int
    predictor: int
    planar: bool
    fill_order: int
    tiled: bool
    piece: tuple[int, int]
    offsets: tuple[int, ...]
    counts: tuple[int, ...]


def assembled(data: bytes, strips: Strips) -> NDArray[Any]:
    """Return the numbers as stored (rows, columns, channels), uint8 or uint16.

    Raises UnreadableError where a piece is missing or cut short.
    """
    width, height = strips.size
    across, down = strips.piece
    sound = 0 < across <= width + MAX_OVERHANG and 0 < down <= height + MAX_OVERHANG
    if not sound or strips.predictor not in (1, 2):
        raise UnreadableError("the TIFF is stored in a way that is not read; save it as LZW")
    columns, rows = -(-width // across), -(-height // down)
    planes = strips.channels if strips.planar else 1
    count = columns * rows * planes
    if count > MAX_PIECES or len(strips.offsets) < count or len(strips.counts) < count:
        raise UnreadableError("the TIFF is cut short; send it again")
    deep = 1 if strips.planar else strips.channels
    out = np.empty((height, width, strips.channels), np.uint8 if strips.bits == 8 else np.uint16)
    for index in range(count):
        plane, place = divmod(index, columns * rows)
        top, left = place // columns * down, place % columns * across
        tall = min(down, height - top)
        stored = down if strips.tiled else tall
        piece = _piece(data, strips, index, (across, stored), deep)
        channels = slice(plane, plane + 1) if strips.planar else slice(None)
        target = out[top : top + tall, left : left + across, channels]
        target[...] = piece[:tall, : target.shape[1]]
    return out


def _piece(
    data: bytes, strips: Strips, index: int, size: tuple[int, int], deep: int
) -> NDArray[Any]:
    across, tall = size
    row = across * deep * strips.bits // 8
    start = strips.offsets[index]
    packed = data[start : start + strips.counts[index]]
    if strips.compression == 1 and strips.fill_order == 1:
        plain = packed[: row * tall]
    else:
        plain = _unpacked(packed, strips, row, tall)
    if len(plain) < row * tall:
        raise UnreadableError("the TIFF is cut short; send it again")
    if strips.predictor == 2:
        plain = tiff_unpredicted(plain, row, deep, strips.bits, strips.order)
    numbers = np.frombuffer(plain, np.uint8 if strips.bits == 8 else f"{strips.order}u2")
    return numbers.reshape(tall, across, deep)


def _unpacked(packed: bytes, strips: Strips, row: int, rows: int) -> bytes:
    """Unpack one piece as a grey picture of single bytes, in a TIFF made round it."""
    tags = (
        (256, row), (257, rows), (258, 8), (259, strips.compression), (262, 1),
        (266, strips.fill_order), (273, 8 + 2 + 10 * 12 + 4), (277, 1), (278, rows),
        (279, len(packed)),
    )  # fmt: skip
    head = struct.pack("<2sHIH", b"II", 42, 8, len(tags))
    head += b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in tags)
    picture = TiffImagePlugin.TiffImageFile(io.BytesIO(head + b"\0\0\0\0" + packed))
    return picture.tobytes()
