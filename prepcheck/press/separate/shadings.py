"""Shadings (ISO 32000-2, 8.7.4.5) with other colours: a copy's three channels for each colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

import numpy as np
from pypdf.generic import DictionaryObject, IndirectObject, NameObject, StreamObject

from prepcheck.art.limits import DEFAULT, Demand, Limits
from prepcheck.art.pdf.colour import ColourSpace
from prepcheck.art.pdf.functions import Function, read_function
from prepcheck.art.pdf.objects import entry, integer, numbers
from prepcheck.art.pdf.streams import decoded
from prepcheck.errors import ObjectError
from prepcheck.geometry import FloatArray
from prepcheck.press.separate.writer import PdfWriter, pdf_object, stream_object


class Channels(Protocol):
    """From components of a colour space to a copy's channels, 0..1."""

    def __call__(self, components: Sequence[float]) -> tuple[float, float, float]:
        """Return the channels of one colour."""

    def many(self, components: FloatArray) -> FloatArray:
        """Return the channels (n, 3) of colours (n, components)."""


LINE_SAMPLES = 1025
"""Samples of a function of one input, where it is asked anywhere."""
PDFIUM_STEP = 1 / 256
"""PDFium paints axial and radial shadings in steps of this, each in the colour of its start;
functions are read half a step ahead to make that the colour of its middle."""
PLANE_SAMPLES = 65
MAX_MESH_BYTES = 200_000_000


def reshaded(
    shading: DictionaryObject,
    space: ColourSpace,
    channels: Channels,
    writer: PdfWriter,
    limits: Limits = DEFAULT,
) -> IndirectObject:
    """Return a copy of a shading in DeviceRGB whose colours went through `channels`.

    Raises ObjectError when the shading is damaged.
    """
    kind = integer(shading, "ShadingType") or 0
    entries = {
        key: value for key, value in shading.items()
        if key not in ("/ColorSpace", "/Function", "/Background", "/Length", "/Filter",
                       "/DecodeParms")
    }  # fmt: skip
    entries[NameObject("/ColorSpace")] = NameObject("/DeviceRGB")
    background = numbers(entry(shading, "Background"))
    if background is not None:
        entries[NameObject("/Background")] = pdf_object([*channels(background)])
    given = entry(shading, "Function")
    function = None if given is None else read_function(given, limits)
    if function is not None:
        sampled = _sampled(shading, kind, function, channels)
        entries[NameObject("/Function")] = writer.add(sampled)
    if not isinstance(shading, StreamObject):
        if function is None:
            raise ObjectError("a shading without a function")
        made = DictionaryObject()
        made.update(entries)
        return writer.add(made)
    data = decoded(shading, limits)
    if function is None:
        data, decode = _remeshed(shading, kind, data, space, channels, limits)
        entries[NameObject("/Decode")] = pdf_object(decode)
        entries[NameObject("/BitsPerComponent")] = pdf_object(16)
    mesh = stream_object(data, {})
    mesh.update(entries)
    return writer.add(mesh)


def _sampled(
    shading: DictionaryObject, kind: int, function: Function, channels: Channels
) -> StreamObject:
    """Return a function from the shading's own inputs to three channels, as a 16-bit table."""
    places: list[tuple[float, ...]]
    if kind == 1:
        x0, x1, y0, y1 = numbers(entry(shading, "Domain"), 4) or (0.0, 1.0, 0.0, 1.0)
        xs, ys = np.linspace(x0, x1, PLANE_SAMPLES), np.linspace(y0, y1, PLANE_SAMPLES)
        places = [(x, y) for y in ys.tolist() for x in xs.tolist()]
        domain, size = [x0, x1, y0, y1], [PLANE_SAMPLES, PLANE_SAMPLES]
    else:
        if kind in (2, 3):
            low, high = numbers(entry(shading, "Domain"), 2) or (0.0, 1.0)
        else:
            decode = numbers(entry(shading, "Decode"))
            if decode is None or len(decode) < 6:
                raise ObjectError("a mesh without Decode")
            low, high = decode[4:6]
        # Axial and radial ones are asked at their steps alone.
        stepped = kind in (2, 3)
        count = round(1 / PDFIUM_STEP) + 1 if stepped else LINE_SAMPLES
        ahead = PDFIUM_STEP / 2 * (high - low) if stepped else 0.0
        places = [(t + ahead,) for t in np.linspace(low, high, count).tolist()]
        domain, size = [low, high], [count]
    values = channels.many(function.over(np.array(places)))
    return stream_object(
        np.rint(values.clip(0.0, 1.0) * 65535).astype(">u2").tobytes(),
        {
            "FunctionType": 0, "Domain": domain, "Range": [0, 1, 0, 1, 0, 1], "Size": size,
            "BitsPerSample": 16,
        },
    )  # fmt: skip


def _remeshed(
    shading: DictionaryObject,
    kind: int,
    data: bytes,
    space: ColourSpace,
    channels: Channels,
    limits: Limits,
) -> tuple[bytes, list[float]]:
    """Return mesh data with three 16-bit channels for each colour, and its Decode."""
    decode = numbers(entry(shading, "Decode"))
    place_bits = integer(shading, "BitsPerCoordinate") or 0
    colour_bits = integer(shading, "BitsPerComponent") or 0
    flag_bits = (integer(shading, "BitsPerFlag") or 0) if kind != 5 else 0
    count = space.facts.components
    if decode is None or len(decode) < 4 + 2 * count or not count:
        raise ObjectError("a mesh without Decode")
    if kind not in RECORDS:
        raise ObjectError("a shading without a function")
    if not (
        0 < place_bits <= 32 and 0 < colour_bits <= 16 and 0 <= flag_bits <= 8
        and len(data) <= MAX_MESH_BYTES
    ):  # fmt: skip
        raise ObjectError("a mesh with impossible bit counts")
    limits.spend(Demand.VERTICES, len(data) * 8 // (2 * place_bits + count * colour_bits))
    new_decode = [*decode[:4], 0.0, 1.0, 0.0, 1.0, 0.0, 1.0]
    pairs = [(decode[4 + 2 * i], decode[5 + 2 * i]) for i in range(count)]
    most = (1 << colour_bits) - 1
    layout = _Layout(flag_bits, *RECORDS[kind], place_bits, colour_bits, count)
    alike = _remeshed_at_once(data, layout, np.array(pairs), channels)
    if alike is not None:
        return alike, new_decode
    # Patches of which some take an edge from the one before.
    reader, writer = _Bits(data), _BitSink()

    def put(places: int, colours: int) -> None:
        for _ in range(places):
            writer.put(reader.take(place_bits), place_bits)
            writer.put(reader.take(place_bits), place_bits)
        for _ in range(colours):
            raw = [reader.take(colour_bits) for _ in range(count)]
            values = [
                low + value / most * (high - low)
                for value, (low, high) in zip(raw, pairs, strict=True)
            ]
            for channel in channels(values):
                writer.put(round(min(max(channel, 0.0), 1.0) * 65535), 16)

    while reader.left >= flag_bits + 2 * place_bits:
        flag = reader.take(flag_bits) & 3
        writer.put(flag, flag_bits)
        # Where it takes an edge, four places and two colours are those of the one before.
        shared = flag != 0
        places, colours = layout.places - 4 * shared, layout.colours - 2 * shared
        if reader.left < 2 * place_bits * places + colours * count * colour_bits:
            raise ObjectError("a mesh cut short")
        put(places, colours)
        reader.align()
        writer.align()
    return writer.bytes(), new_decode


RECORDS = {4: (1, 1), 5: (1, 1), 6: (12, 4), 7: (16, 4)}
"""Places and colours of a record of each kind of mesh that takes none from the one before."""
AT_ONCE = 20_000
"""Records turned at a time."""


class _Layout(NamedTuple):
    """How many bits flag, places and colours of each record take, and how many there are."""

    flag_bits: int
    places: int
    colours: int
    place_bits: int
    colour_bits: int
    components: int

    @property
    def head(self) -> int:
        """Bits before the colours."""
        return self.flag_bits + 2 * self.places * self.place_bits

    @property
    def bytes(self) -> int:
        """Bytes of a record."""
        return -(-(self.head + self.colours * self.components * self.colour_bits) // 8)


def _remeshed_at_once(
    data: bytes, layout: _Layout, pairs: FloatArray, channels: Channels
) -> bytes | None:
    """Return mesh data as `_remeshed` does where all records are alike; None where they are not:
    patches that take an edge from the one before (8.7.4.5.7)."""
    size, number = layout.bytes, len(data) // layout.bytes
    patches = layout.places > 1
    if patches and len(data) - number * size:
        return None
    records = np.frombuffer(data, np.uint8, number * size).reshape(number, size)
    weights = 1 << np.arange(layout.colour_bits - 1, -1, -1)
    low, high = pairs.T
    out = []
    for first in range(0, number, AT_ONCE):
        bits = np.unpackbits(records[first : first + AT_ONCE], axis=1)
        bits[:, : max(0, layout.flag_bits - 2)] = 0
        if patches and bits[:, : layout.flag_bits].any():
            return None
        end = layout.head + layout.colours * layout.components * layout.colour_bits
        raw = (
            bits[:, layout.head : end].reshape(-1, layout.components, layout.colour_bits) @ weights
        )
        values = low + raw / (weights.sum() or 1) * (high - low)
        words = np.rint(channels.many(values).clip(0.0, 1.0) * 65535).astype(">u2")
        colours = np.unpackbits(words.view(np.uint8).reshape(len(bits), -1), axis=1)
        out.append(np.packbits(np.hstack((bits[:, : layout.head], colours)), axis=1).tobytes())
    return b"".join(out)


class _Bits:
    """Reads numbers of any width from bytes, most significant bit first."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._at = 0

    @property
    def left(self) -> int:
        return len(self._data) * 8 - self._at

    def take(self, bits: int) -> int:
        start, end = self._at, self._at + bits
        piece = int.from_bytes(self._data[start // 8 : -(-end // 8)], "big")
        self._at = end
        return (piece >> (-end % 8)) & ((1 << bits) - 1)

    def align(self) -> None:
        self._at = -(-self._at // 8) * 8


class _BitSink:
    """Collects numbers of any width."""

    def __init__(self) -> None:
        self._out = bytearray()
        self._pending = 0
        self._bits = 0

    def put(self, value: int, bits: int) -> None:
        self._pending = (self._pending << bits) | value
        self._bits += bits
        while self._bits >= 8:
            self._bits -= 8
            self._out.append((self._pending >> self._bits) & 0xFF)
        self._pending &= (1 << self._bits) - 1

    def align(self) -> None:
        if self._bits:
            self.put(0, 8 - self._bits)

    def bytes(self) -> bytes:
        return bytes(self._out)
