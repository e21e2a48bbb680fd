"""Samples of placed pictures (ISO 32000-2, 8.9.5): filters, bits, Decode and Indexed undone."""

from __future__ import annotations

import io
import struct
from collections.abc import Mapping
from concurrent.futures import Executor

import numpy as np
from numpy.typing import NDArray
from PIL import Image, Jpeg2KImagePlugin, TiffImagePlugin
from pypdf.generic import DictionaryObject, StreamObject

from prepcheck.art.damage import quietly, taking
from prepcheck.art.decoded_ahead import MOST_BYTES, DecodedAhead
from prepcheck.art.jpeg import as_array, check_size, read_jpeg
from prepcheck.art.limits import DEFAULT, Demand, Limits
from prepcheck.art.model import Samples, SpaceFamily
from prepcheck.art.pdf.colour import (
    DEVICE_CMYK,
    DEVICE_GREY,
    DEVICE_RGB,
    ColourSpace,
    Indexed,
    read_space,
)
from prepcheck.art.pdf.content.paints import items_of
from prepcheck.art.pdf.objects import dictionary, entry, integer, name, numbers, truth
from prepcheck.art.pdf.streams import (
    FilterStep,
    Stored,
    filter_names,
    lent,
    raw,
    run_filters,
    steps,
)
from prepcheck.art.predict import unpacked_bits
from prepcheck.art.samples import to_bytes
from prepcheck.errors import ArtworkError, BudgetError, UnreadableError

ByteArray = NDArray[np.uint8]
LEAST_AHEAD = 500_000
"""Samples across times down from which a picture is worth decoding ahead."""
_DEVICES: Mapping[int, ColourSpace] = {1: DEVICE_GREY, 3: DEVICE_RGB, 4: DEVICE_CMYK}


def picture_samples(
    image: StreamObject,
    resources: DictionaryObject | None,
    limits: Limits = DEFAULT,
    shrink: int = 1,
    ahead: DecodedAhead | None = None,
) -> Samples | None:
    """Return the samples of a picture object; None for what cannot be decoded.

    A JPEG that is not decoded `ahead` comes out smaller by 2, 4 or 8, at most by `shrink`.
    """
    return decoded_picture(image, lent(image), resources, limits, shrink, ahead)


def begin_largest(
    resources: DictionaryObject, ahead: DecodedAhead, pool: Executor, limits: Limits = DEFAULT
) -> None:
    """Have the largest JPEG among resources decoded ahead, unless it takes too much memory."""
    found: dict[int, StreamObject] = {}
    for image in items_of(dictionary(resources, "XObject")):
        if isinstance(image, StreamObject) and name(image, "Subtype") == "Image":
            size = (integer(image, "Width") or 0) * (integer(image, "Height") or 0)
            if filter_names(image) == ("DCTDecode",) and LEAST_AHEAD <= size <= MOST_BYTES // 4:
                found[size] = image
    if found:
        largest = found[max(found)]
        (step,) = steps(largest)
        ahead.begin(pool, raw(largest), limits, integer(step.parms, "ColorTransform"))


def decoded_picture(
    entries: object,
    data: Stored,
    resources: DictionaryObject | None,
    limits: Limits = DEFAULT,
    shrink: int = 1,
    ahead: DecodedAhead | None = None,
) -> Samples | None:
    """Return the samples of a picture or inline picture with the given dictionary and data.

    Inks are 255 where solid; grey and RGB 255 where white; Lab is L* × 2.55, a* + 128, b* + 128.
    Indexed is expanded to its base. An image mask is grey, 0 where it paints. None for JBIG2, an
    unknown space or filter, damage beyond use, and pictures beyond the limits.
    """
    try:
        return _decoded(entries, data, resources, limits, shrink, ahead)
    except BudgetError:
        raise
    except ArtworkError:
        return None


def _decoded(
    entries: object,
    data: Stored,
    resources: DictionaryObject | None,
    limits: Limits,
    shrink: int,
    ahead: DecodedAhead | None,
) -> Samples | None:
    width, height = integer(entries, "Width", "W") or 0, integer(entries, "Height", "H") or 0
    mask = truth(entries, "ImageMask") or truth(entries, "IM")
    source = entry(entries, "ColorSpace", "CS")
    space = (
        DEVICE_GREY if mask else None if source is None else read_space(source, resources, limits)
    )
    bits = 1 if mask else integer(entries, "BitsPerComponent", "BPC") or 8
    across = width * (space.facts.components if space is not None else 1) * bits // 8 + 1
    chain = steps(entries)
    # A predictor takes a byte more in each row.
    rest = run_filters(data, chain, Demand.PICTURE, limits, max(0, (across + 1) * height))
    tables: tuple[tuple[int, ...], ...] = ()
    match rest.rest:
        case None:
            if space is None or not space.facts.components:
                return None
            values = _plain(rest.data, (width, height), space.facts.components, bits, limits)
        case FilterStep(name="DCTDecode", parms=parms):
            transform = integer(parms, "ColorTransform")
            jpeg = None if ahead is None else ahead.picture(rest.data, transform)
            jpeg = jpeg or read_jpeg(rest.data, limits, transform, shrink)
            values, bits, tables = jpeg.data, 8, jpeg.tables
        case FilterStep(name="JPXDecode"):
            values, own = _jpeg2000(rest.data, limits)
            bits = 8
            space = own if space is None else space
        case FilterStep(name="CCITTFaxDecode", parms=parms):
            values, bits = _fax(rest.data, parms, (width, height), limits), 1
        case _:
            return None
    if space is None or space.facts.components != values.shape[2]:
        space = _DEVICES.get(values.shape[2])
        if space is None:
            return None
    # Decode does not apply to JPEG 2000 data (8.9.5.2).
    by_decode = "JPXDecode" not in (step.name for step in chain)
    decode = numbers(entry(entries, "Decode", "D")) if by_decode else None
    return _in_own_sense(values, bits, space, decode, tables)


def _plain(
    data: bytes, size: tuple[int, int], components: int, bits: int, limits: Limits
) -> NDArray[np.uint8] | NDArray[np.uint16]:
    """Return unpacked numbers (rows, columns, components); what is missing counts as zero."""
    width, height = size
    check_size((max(width, 0), max(height, 0)), components * max(1, bits // 8), limits)
    if bits not in (1, 2, 4, 8, 16):
        raise UnreadableError(f"a picture of {bits} bits a component")
    row = (width * components * bits + 7) // 8
    if len(data) < row * height:
        data = data.ljust(row * height, b"\0")
    lines = np.frombuffer(data, np.uint8, row * height).reshape(height, row)
    if bits == 16:
        return lines.view(">u2").reshape(height, width, components)
    if bits < 8:
        lines = unpacked_bits(lines, bits)[:, : width * components]
    return lines.reshape(height, width, components)


def _jpeg2000(data: bytes, limits: Limits) -> tuple[ByteArray, ColourSpace]:
    with quietly("JPEG 2000"):
        picture: Image.Image = Jpeg2KImagePlugin.Jpeg2KImageFile(io.BytesIO(data))
        check_size(picture.size, 4, limits)
        with taking(_jpeg2000_bytes(data, picture.size)):
            picture.load()
        if picture.mode.startswith("I"):
            wide = np.array(picture).astype(np.uint32)
            return (wide * 255 // 65535).astype(np.uint8)[:, :, None], DEVICE_GREY
        if picture.mode in ("P", "PA"):
            picture = picture.convert("RGB")
        if picture.mode in ("LA", "RGBA"):
            picture = picture.convert(picture.mode[:-1])
        values = as_array(picture)
    return values, _DEVICES.get(values.shape[2], DEVICE_GREY)


_SIZE_MARKER = b"\xff\x4f\xff\x51"
"""The start of a codestream and its SIZ, which stand side by side (ITU-T T.800, A.5.1)."""


def _jpeg2000_bytes(data: bytes, size: tuple[int, int]) -> int:
    """Return how much memory it takes to decode JPEG 2000 data, at most: the picture, the data
    twice, and of one tile each sample in the decoder's 32 bits and in the width it has."""
    width, height = size
    head = data.find(_SIZE_MARKER) + 8
    across, down, channels = width, height, 4
    if 8 <= head <= len(data) - 34:
        *_, across, down, _, _, channels = struct.unpack_from(">8IH", data, head)
    tile = min(across, width) * min(down, height)
    return 4 * width * height + 2 * len(data) + 8 * tile * channels


def _fax(
    data: bytes, parms: DictionaryObject | None, size: tuple[int, int], limits: Limits
) -> ByteArray:
    """Decode CCITT fax data through a TIFF made round it; 0 is black unless BlackIs1."""
    kind = integer(parms, "K") or 0
    width = integer(parms, "Columns") or 1728
    height = size[1] or integer(parms, "Rows") or 0
    if truth(parms, "EncodedByteAlign"):
        raise UnreadableError("fax data aligned to bytes is not read")
    check_size((max(width, 0), max(height, 0)), 1, limits)
    tags = (
        (256, width), (257, height), (258, 1), (259, 4 if kind < 0 else 3), (262, 0),
        (273, 8 + 2 + 10 * 12 + 4), (277, 1), (278, height), (279, len(data)),
        (292 if kind >= 0 else 293, 1 if kind > 0 else 0),
    )  # fmt: skip
    head = struct.pack("<2sHIH", b"II", 42, 8, len(tags))
    head += b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in tags)
    with quietly("fax"):
        picture = TiffImagePlugin.TiffImageFile(io.BytesIO(head + b"\0\0\0\0" + data))
        bits = np.array(picture, np.uint8)[:, :, None]
    return 1 - bits if truth(parms, "BlackIs1") else bits


def _in_own_sense(
    values: NDArray[np.uint8] | NDArray[np.uint16],
    bits: int,
    space: ColourSpace,
    decode: tuple[float, ...] | None,
    tables: tuple[tuple[int, ...], ...],
) -> Samples:
    """Apply Decode (8.9.5.2) and look up Indexed; numbers come out as bytes."""
    count = values.shape[2]
    most = (1 << bits) - 1
    if bits == 16:
        values, most = to_bytes(values), 255
    pairs = None
    if decode is not None and len(decode) >= 2 * count:
        pairs = [(decode[2 * i], decode[2 * i + 1]) for i in range(count)]
    steps_of = np.arange(most + 1, dtype=np.float64) / most
    if isinstance(space, Indexed):
        low, high = pairs[0] if pairs else (0.0, float(most))
        index = np.rint(low + steps_of * (high - low)).clip(0, len(space.table) - 1).astype(int)
        table = _bytes_of(np.array(space.table, np.float64), space.base)
        return Samples(table[index][values[:, :, 0]], space.base.facts, tables)
    lab = _is_lab(space)
    if pairs is None and most == 255 and not lab:
        return Samples(np.ascontiguousarray(values, np.uint8), space.facts, tables)
    if most == 255 and not lab and pairs == [(high, low) for low, high in space.decode]:
        room = values if values.flags.writeable and values.dtype == np.uint8 else None
        return Samples(np.subtract(255, values, out=room, dtype=np.uint8), space.facts, tables)
    out = np.empty(values.shape, np.uint8)
    for place, (low, high) in enumerate(pairs or space.decode):
        column = np.zeros((most + 1, count))
        column[:, place] = low + steps_of * (high - low)
        out[:, :, place] = _bytes_of(column, space)[:, place][values[:, :, place]]
    return Samples(out, space.facts, tables)


def _bytes_of(colours: NDArray[np.float64], space: ColourSpace) -> ByteArray:
    """Return colours (n, components) of a space as bytes in its own sense."""
    if _is_lab(space):
        scaled = colours * (2.55, 1.0, 1.0) + (0.0, 128.0, 128.0)
    else:
        low, high = np.array(space.decode).T
        scaled = (colours - low) / (high - low) * 255
    found: ByteArray = np.rint(scaled.clip(0, 255)).astype(np.uint8)
    return found


def _is_lab(space: ColourSpace) -> bool:
    return SpaceFamily.LAB in (space.facts.family, getattr(space.facts.base, "family", None)) and (
        space.facts.family in (SpaceFamily.LAB, SpaceFamily.ICC)
    )
