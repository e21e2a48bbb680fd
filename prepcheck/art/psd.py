"""Photoshop files (PSD): the merged picture. Pillow has neither 16 bits nor extra channels.

Source: Adobe Photoshop File Formats Specification.
"""

from __future__ import annotations

import struct
from functools import partial
from pathlib import Path
from typing import BinaryIO, NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from prepcheck.art.damage import quietly
from prepcheck.art.jpeg import check_size
from prepcheck.art.layered import guides, psd_layers
from prepcheck.art.limits import Limits
from prepcheck.art.model import RasterFacts, RasterLayer, Samples, Space
from prepcheck.art.raster import RasterFile, Stored, raster_page, stated_ppi
from prepcheck.art.resources import (
    PROFILE,
    TRANSPARENCY,
    extra_channels,
    read_resources,
    resolution,
)
from prepcheck.art.samples import (
    CMYK,
    GREY,
    LAB,
    RGB,
    SampleArray,
    inks_space,
    on_paper,
    profile_name,
    to_bytes,
    with_profile,
    with_spots,
)
from prepcheck.art.tiff_strips import inflated
from prepcheck.errors import UnreadableError

HEADER = struct.Struct(">4sH6xHIIHH")
BITMAP, GREYSCALE, INDEXED, RGB_MODE, CMYK_MODE, MULTICHANNEL, DUOTONE, LAB_MODE = (
    0, 1, 2, 3, 4, 7, 8, 9,
)  # fmt: skip
_SPACES = {
    BITMAP: GREY, GREYSCALE: GREY, INDEXED: RGB, RGB_MODE: RGB, CMYK_MODE: CMYK, DUOTONE: GREY,
    LAB_MODE: LAB,
}  # fmt: skip
MOST_LACKING = 0.02
"""Share of the merged picture that may be missing; with more of it gone, the transfer failed."""
READ_BYTES = 1 << 20
_COMPRESSIONS = ("none", "PackBits", "Deflate", "Deflate")


class _Layout(NamedTuple):
    """Where things are in the file and what the channels mean."""

    size: tuple[int, int]
    channels: int
    bits: int
    mode: int
    palette: bytes
    pixels_at: int
    compression: int
    own: int
    """Channels of the colour mode itself."""
    spots: tuple[int, ...]
    """Channels that are inks beyond the mode's own."""
    alpha: int | None
    space: Space

    @property
    def row(self) -> int:
        """Bytes of one row of one channel."""
        return (self.size[0] * self.bits + 7) // 8


def read_psd_file(path: Path, data: bytes, limits: Limits) -> RasterFile:
    """Read a PSD file; raises UnreadableError where it is damaged, too large or has no merged
    picture."""
    with quietly("PSD"):
        layout, resources, merged, layers = _read_layout(data, limits)
    if not merged:
        raise UnreadableError(
            f"{path.name}: the PSD holds layers but no merged picture; "
            "save it with 'maximise compatibility' on, or as TIFF"
        )
    profile = resources.get(PROFILE)
    name = profile_name(profile)
    dpi = resolution(resources)
    named = extra_channels(resources)
    space = layout.space if layout.spots else with_profile(layout.space, name)
    layout = layout._replace(space=space)
    extra = () if layout.mode == MULTICHANNEL else _extra_names(layout, [c.name for c in named])
    facts = RasterFacts(
        samples=layout.size,
        bits=layout.bits,
        space=space,
        ppi=None if dpi is None else stated_ppi(*dpi),
        compression=_COMPRESSIONS[layout.compression],
        extra_channels=extra,
        has_alpha=layout.alpha is not None,
        profile=name,
        profile_data=profile,
        layers=layers,
        guides=guides(resources),
    )
    lacking = _lacking(data, layout)
    page = raster_page(
        0, path.name, facts, partial(_decode, path, layout), partial(_stored, path, layout, True)
    )
    return RasterFile((page,), *_told(lacking, layout))


def _lacking(data: bytes, layout: _Layout) -> int:
    """Return how many bytes are missing at the end of the merged picture as stored.

    Raises UnreadableError where more is missing than a slip of the transfer could explain. What is
    deflated is not asked: it ends where it ends.
    """
    _, height = layout.size
    rows = layout.channels * height
    match layout.compression:
        case 0:
            owed = rows * layout.row
        case 1 if layout.pixels_at + 2 * rows <= len(data):
            counts = np.frombuffer(data, ">u2", rows, layout.pixels_at)
            owed = 2 * rows + int(counts.sum(dtype=np.int64))
        case 1:
            owed = len(data)  # not even the lengths are whole
        case _:
            return 0
    lacking = max(0, owed - (len(data) - layout.pixels_at))
    if lacking > owed * MOST_LACKING:
        raise UnreadableError("the PSD is cut short; send it again")
    return lacking


def _told(lacking: int, layout: _Layout) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what is lost and what was mended where bytes are missing."""
    if not lacking:
        return (), ()
    one = f"the PSD is {lacking} bytes short; "
    if layout.compression == 0 and lacking <= layout.row:
        return (), (f"{one}the end of its last row was left without ink",)
    return (f"{one}what is missing at its lower edge was left without ink",), ()


def _read_layout(
    data: bytes, limits: Limits
) -> tuple[_Layout, dict[int, bytes], bool, tuple[RasterLayer, ...] | None]:
    _, version, channels, height, width, bits, mode = HEADER.unpack_from(data)
    if version != 1 or not 0 < channels <= 56 or bits not in (1, 8, 16):
        raise UnreadableError(
            f"a PSD of version {version}, {channels} channels of {bits} bits is not read; "
            "save it as TIFF with 8 bits a channel"
        )
    check_size((width, height), channels * max(1, bits // 8), limits)
    place = HEADER.size
    palette, place = _section(data, place)
    block, place = _section(data, place)
    resources = read_resources(block)
    layers, place = _section(data, place)
    (compression,) = struct.unpack_from(">H", data, place)
    if compression >= len(_COMPRESSIONS):
        raise UnreadableError(f"a PSD compressed by method {compression} is not read")
    named = extra_channels(resources)
    own, space = channels, inks_space(_extra_names_of(channels, [c.name for c in named]))
    spots: tuple[int, ...] = ()
    alpha = None
    if mode != MULTICHANNEL:
        if mode not in _SPACES:
            raise UnreadableError(f"a PSD of colour mode {mode} is not read; save it as CMYK")
        base = _SPACES[mode]
        own = 1 if mode == INDEXED else base.components
        if channels < own:
            raise UnreadableError("the PSD has fewer channels than its colour mode; save it again")
        extra = list(enumerate(named, own))[: channels - own]
        if base.kind in ("cmyk", "grey"):
            spots = tuple(at for at, channel in extra if channel.spot)
        alpha = next((at for at, channel in extra if channel.name == TRANSPARENCY), None)
        # A negative layer count says that the first extra channel is the merged transparency.
        if alpha is None and channels > own and _layer_count(layers) < 0 and own not in spots:
            alpha = own
        space = with_spots(base, tuple(named[at - own].name for at in spots))
    layout = _Layout(
        (width, height), channels, bits, mode, palette, place + 2, compression, own, spots, alpha,
        space,
    )  # fmt: skip
    return layout, resources, _has_merged(resources), psd_layers(layers)


def _section(data: bytes, place: int) -> tuple[bytes, int]:
    (size,) = struct.unpack_from(">I", data, place)
    end = place + 4 + size
    if end > len(data):
        raise UnreadableError("the PSD is cut short; send it again")
    return data[place + 4 : end], end


def _layer_count(layers: bytes) -> int:
    if len(layers) < 6:
        return 0
    count: int = struct.unpack_from(">h", layers, 4)[0]
    return count


def _has_merged(resources: dict[int, bytes]) -> bool:
    """Return whether the version block (1057) says that merged data is real; so without one."""
    block = resources.get(1057, b"")
    return len(block) < 5 or block[4] != 0


def _extra_names(layout: _Layout, names: list[str]) -> tuple[str, ...]:
    return _extra_names_of(layout.channels - layout.own, names)


def _extra_names_of(count: int, names: list[str]) -> tuple[str, ...]:
    return tuple(
        names[at] if at < len(names) and names[at] else f"channel {at + 1}" for at in range(count)
    )


def _decode(path: Path, layout: _Layout) -> Samples:
    stored = _stored(path, layout, False)
    data = stored.data
    if stored.alpha is not None:
        data = on_paper(data, stored.alpha, layout.space, premultiplied=False)
    return Samples(data, layout.space)


def _stored(path: Path, layout: _Layout, whole: bool) -> Stored:
    """Return the samples and their opacity, as bytes, or `whole` in the depth they have."""
    with quietly("PSD"):
        wanted = (*range(layout.own), *layout.spots)
        if layout.alpha is not None:
            wanted = (*wanted, layout.alpha)
        width, height = layout.size
        deep = np.dtype(np.uint16 if whole and layout.bits == 16 else np.uint8)
        data: SampleArray = np.empty((height, width, layout.own + len(layout.spots)), deep)
        alpha = None if layout.alpha is None else np.empty((height, width), deep)
        # A channel at a time: little more than the result is held.
        with path.open("rb") as file:
            for place, channel in enumerate(wanted):
                plane = data[:, :, place] if place < data.shape[2] else alpha
                assert plane is not None
                lines = np.frombuffer(_channel(file, layout, channel), np.uint8)
                plane[...] = _plane(lines.reshape(height, layout.row), layout, whole)
        data = _in_own_sense(data, layout)
        most = (100.0, *(np.iinfo(data.dtype).max / 256 - 128,) * 2)
        deep_lab = layout.space.kind == "lab" and data.dtype != np.uint8
        return Stored(data, layout.space, alpha, None, most if deep_lab else ())


def _in_own_sense(data: SampleArray, layout: _Layout) -> SampleArray:
    """Turn stored numbers (the greatest is no ink) into ink, where they lie, where the space is one
    of inks; an indexed picture is made anew."""
    if layout.mode == 2:
        table = np.frombuffer(layout.palette.ljust(768, b"\0")[:768], np.uint8)
        return table.reshape(3, 256).T[data[:, :, 0]]
    if layout.mode in (4, 7) or layout.spots:  # CMYK, multichannel
        np.subtract(np.iinfo(data.dtype).max, data, out=data)
    return data


def _plane(lines: NDArray[np.uint8], layout: _Layout, whole: bool) -> SampleArray:
    if layout.bits == 1:  # a bitmap's 1 is black
        return 255 * (1 - np.unpackbits(lines, axis=1)[:, : layout.size[0]])
    if layout.bits != 16:
        return lines
    deep = lines.view(">u2")
    return deep.astype(np.uint16) if whole else to_bytes(deep)


def _channel(file: BinaryIO, layout: _Layout, channel: int) -> bytes:
    (_, height), row, start = layout.size, layout.row, layout.pixels_at
    size = row * height
    match layout.compression:
        case 0:
            plain = _read(file, start + channel * size, size)
        case 1:
            listed = _read(file, start, 2 * layout.channels * height)
            if len(listed) < 2 * layout.channels * height:
                raise UnreadableError("the PSD is cut short; send it again")
            counts = np.frombuffer(listed, ">u2", layout.channels * height).astype(np.int64)
            ends = np.concatenate(((0,), counts.cumsum())) + start + 2 * counts.size
            first, last = ends[channel * height], ends[(channel + 1) * height]
            own = ends[channel * height + 1 : (channel + 1) * height + 1]
            whole = int(np.searchsorted(own, file.seek(0, 2), "right"))
            if not whole:
                return b"\xff" * size
            packed = _read(file, int(first), int(last - first))
            plain = _unpacked(packed, row, whole)
        case _:
            if layout.compression == 3:
                raise UnreadableError("a merged picture stored with prediction is not read")
            plain = _inflated(file, layout, channel * size, size)
            if len(plain) < size:
                raise UnreadableError("the PSD is cut short; send it again")
    return plain.ljust(size, b"\xff")


def _unpacked(packed: bytes, row: int, rows: int) -> bytes:
    try:
        return Image.frombytes("L", (row, rows), packed, "packbits", "L").tobytes()
    except ValueError as error:  # more or less comes out than the rows hold
        raise UnreadableError("the PSD's packed rows are damaged; export it again") from error


def _read(file: BinaryIO, start: int, size: int) -> bytes:
    file.seek(start)
    return file.read(size)


def _inflated(file: BinaryIO, layout: _Layout, skipped: int, size: int) -> bytes:
    """Return so many bytes of the picture's deflated data, behind those skipped."""
    out = bytearray()
    file.seek(layout.pixels_at)
    for plain in inflated(iter(partial(file.read, READ_BYTES), b"")):
        out += plain[skipped:]
        skipped = max(0, skipped - len(plain))
        if len(out) >= size:
            break
    return bytes(out[:size])
