"""Putting a TIFF's picture together from its strips or tiles, every channel kept."""

from __future__ import annotations

import io
import itertools
import struct
import zlib
from collections.abc import Iterator, Sequence
from typing import BinaryIO, NamedTuple

import numpy as np
from PIL import Image, TiffImagePlugin

from prepcheck.art.predict import tiff_unpredicted
from prepcheck.art.samples import SampleArray, to_bytes
from prepcheck.errors import UnreadableError

PLAIN_COMPRESSIONS = (1, 5, 8, 32773, 32946)
"""None, LZW, Deflate (two numbers) and PackBits."""
_BY_LIBTIFF = (5, 32773)
"""LZW and PackBits."""
BAND_BYTES, READ_BYTES = 1_000_000, 262_144
"""Unpacked bytes that are turned into samples at a time, and bytes read at a time."""
_TURNED = bytes(int(f"{value:08b}"[::-1], 2) for value in range(256))
"""Bytes with their bits in reverse (FillOrder 2)."""
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


def assembled(file: BinaryIO, strips: Strips, *, whole: bool = False) -> SampleArray:
    """Return the samples (rows, columns, channels) as bytes, whatever the depth they are stored in;
    `whole` in that depth.

    `file` is read piece by piece and unpacked a band of rows at a time, so that little more than
    the result is held. Raises UnreadableError where a piece is missing or cut short.
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
    depth = np.uint16 if whole and strips.bits == 16 else np.uint8
    out: SampleArray = np.empty((height, width, strips.channels), depth)
    together = _together(strips, columns, across * deep * strips.bits // 8)
    for plane, place in itertools.product(range(planes), range(0, columns * rows, together)):
        top, left = place // columns * down, place % columns * across
        tall = min(together * down, height - top)
        channels = slice(plane, plane + 1) if strips.planar else slice(None)
        target = out[top : top + tall, left : left + across, channels]
        first = plane * columns * rows + place
        pieces = range(first, first + min(together, columns * rows - place))
        at = 0
        for band in _bands(file, strips, pieces, across, tall, deep, whole):
            part = target[at : at + len(band)]
            part[...] = band[: len(part), : target.shape[1]]
            at += len(band)
    return out


def _together(strips: Strips, columns: int, row: int) -> int:
    """Return how many strips are unpacked at once: to have libtiff begin takes as long as to
    unpack a few rows, which is all that many strips hold. So a gatefold of 1,900 strips is read in
    0.7 s instead of 1.1 (processor time, 2026)."""
    if columns > 1 or strips.compression not in _BY_LIBTIFF:
        return 1
    return max(1, BAND_BYTES // max(1, row * strips.piece[1]))


def _bands(
    file: BinaryIO, strips: Strips, pieces: range, across: int, tall: int, deep: int, whole: bool
) -> Iterator[SampleArray]:
    """Yield the rows of a piece, or of strips one below the other, some at a time: (rows, columns,
    channels)."""
    row = across * deep * strips.bits // 8
    step = max(1, BAND_BYTES // row) * row
    left = row * tall
    held = bytearray()
    for plain in _unpacked(file, strips, pieces, row, tall):
        held += plain
        while left and len(held) >= min(step, left):
            size = min(step, left)
            yield _samples(bytes(held[:size]), strips, (across, deep), row, whole)
            del held[:size]
            left -= size
        if not left:
            return
    if left:
        raise UnreadableError("the TIFF is cut short; send it again")


def _samples(
    plain: bytes, strips: Strips, shape: tuple[int, int], row: int, whole: bool
) -> SampleArray:
    if strips.predictor == 2:
        plain = tiff_unpredicted(plain, row, shape[1], strips.bits, strips.order)
    numbers = np.frombuffer(plain, np.uint8 if strips.bits == 8 else f"{strips.order}u2")
    shaped = numbers.reshape(-1, *shape)
    return shaped if whole else to_bytes(shaped)


def _unpacked(
    file: BinaryIO, strips: Strips, pieces: range, row: int, rows: int
) -> Iterator[bytes]:
    """Yield the data of a piece, or of strips, unpacked, in parts of any length."""
    size, down = sum(strips.counts[pieces.start : pieces.stop]), strips.piece[1]
    if strips.compression in _BY_LIBTIFF and size <= 2 * BAND_BYTES:
        packed = [b"".join(_packed(file, strips, index)) for index in pieces]
        yield from _by_libtiff(packed, strips.compression, row, rows, down)
        return
    for number, index in enumerate(pieces):
        parts = _packed(file, strips, index)
        match strips.compression:
            case 1:
                yield from parts
            case 8 | 32946:
                yield from inflated(parts)
            case compression:  # what claims to be larger packed than unpacked, one by one
                own = min(down, rows - number * down)
                yield from _by_libtiff([b"".join(parts)], compression, row, own, down)


def _packed(file: BinaryIO, strips: Strips, index: int) -> Iterator[bytes]:
    """Yield one piece as stored, its bits in order, in parts."""
    if not 0 <= strips.offsets[index] <= file.seek(0, io.SEEK_END):
        raise UnreadableError("the TIFF is cut short; send it again")
    file.seek(strips.offsets[index])
    left = strips.counts[index]
    while left > 0 and (part := file.read(min(left, READ_BYTES))):
        left -= len(part)
        yield part if strips.fill_order == 1 else part.translate(_TURNED)


def inflated(packed: Iterator[bytes]) -> Iterator[bytes]:
    """Yield deflated data unpacked, in parts of `BAND_BYTES` at most."""
    unpacker = zlib.decompressobj()
    for part in packed:
        while part and not unpacker.eof:
            yield unpacker.decompress(part, BAND_BYTES)
            part = unpacker.unconsumed_tail


def _by_libtiff(
    packed: Sequence[bytes], compression: int, row: int, rows: int, down: int
) -> Iterator[bytes]:
    """Unpack LZW or PackBits as a grey picture of single bytes, in a TIFF made round its strips,
    each but the last of so many rows."""
    count, lists = len(packed), 8 + 2 + 9 * 12 + 4
    alone, counts = count == 1, [*map(len, packed)]
    start = lists if alone else lists + 2 * 4 * count
    offsets = [*itertools.accumulate(counts[:-1], initial=start)]
    # A single number stands in the tag itself.
    tags = (
        (256, 1, row), (257, 1, rows), (258, 1, 8), (259, 1, compression), (262, 1, 1),
        (273, count, start if alone else lists), (277, 1, 1), (278, 1, min(down, rows)),
        (279, count, counts[0] if alone else lists + 4 * count),
    )  # fmt: skip
    head = struct.pack("<2sHIH", b"II", 42, 8, len(tags))
    head += b"".join(struct.pack("<HHII", tag, 4, many, value) for tag, many, value in tags)
    head += b"\0\0\0\0" + (b"" if alone else struct.pack(f"<{2 * count}I", *offsets, *counts))
    picture = TiffImagePlugin.TiffImageFile(io.BytesIO(b"".join((head, *packed))))
    with_room(picture)
    np.empty(row * rows, np.uint8)  # is there as much again? libtiff would call it damage
    step = max(1, BAND_BYTES // row)
    for top in range(0, rows, step):
        yield picture.crop((0, top, row, min(top + step, rows))).tobytes()


def with_room(picture: TiffImagePlugin.TiffImageFile) -> None:
    """Give an opened TIFF the memory it is decoded into: where it has none, Pillow holds it
    against a limit of its own, one for the whole process; ours were asked before."""
    picture.im = Image.new(picture.mode, picture.size).im
