"""Stream filters (ISO 32000-2, 7.4), each with a cap on what it may grow to.

Damaged data gives what could be decoded before the damage, as viewers do.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Sequence
from itertools import chain
from typing import NamedTuple

import numpy as np
from PIL import Image
from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

from prepcheck.art.limits import DEFAULT, Demand, Limits
from prepcheck.art.lzw import lzw_decoded
from prepcheck.art.pdf.objects import as_name, entry, integer, items, resolved
from prepcheck.art.predict import tiff_unpredicted
from prepcheck.errors import UnreadableError

WHITE_SPACE = b"\0\t\n\x0c\r "
PICTURE_FILTERS = ("DCTDecode", "JPXDecode", "CCITTFaxDecode", "JBIG2Decode")
SHORT_NAMES = {
    "AHx": "ASCIIHexDecode",
    "A85": "ASCII85Decode",
    "LZW": "LZWDecode",
    "Fl": "FlateDecode",
    "RL": "RunLengthDecode",
    "CCF": "CCITTFaxDecode",
    "DCT": "DCTDecode",
}
"""Short filter names of inline images (ISO 32000-2, Table 92)."""


Stored = bytes | memoryview
"""Data as it stands in the file; of large streams it is lent, not copied."""


class FilterStep(NamedTuple):
    """One filter with its parameters."""

    name: str
    parms: DictionaryObject | None


class Decoded(NamedTuple):
    """Data with the filters that are still on it: none, or one that makes a picture."""

    data: bytes
    rest: FilterStep | None
    whole: bool = True
    """False where packed data breaks off, so that the end of what was packed is missing."""


def steps(holder: object) -> tuple[FilterStep, ...]:
    """Return the filters of a stream dictionary or an inline image's, first applied first."""
    filters = entry(holder, "Filter", "F")
    parms = entry(holder, "DecodeParms", "DP")
    names = list(filters) if isinstance(filters, ArrayObject) else [filters]
    given = list(parms) if isinstance(parms, ArrayObject) else [parms]
    found = []
    for place, raw in enumerate(names):
        name = as_name(resolved(raw))
        if name is None:
            continue
        parm = resolved(given[place]) if place < len(given) else None
        found.append(
            FilterStep(
                SHORT_NAMES.get(name, name), parm if isinstance(parm, DictionaryObject) else None
            )
        )
    return tuple(found)


def filter_names(holder: object) -> tuple[str, ...]:
    """Return the full names of the filters of a stream dictionary or an inline image's."""
    return tuple(step.name for step in steps(holder))


def run_filters(
    data: Stored,
    filters: Sequence[FilterStep],
    use: Demand = Demand.STREAM,
    limits: Limits = DEFAULT,
    expected: int = 0,
) -> Decoded:
    """Undo filters until the data is plain or only a picture filter is left.

    Room for so many bytes as are `expected` is made at once, so that no more is taken.

    Raises UnreadableError for an unknown filter or a chain too long, BudgetError for data beyond
    the limit for that use.
    """
    cap: int = getattr(limits, use.limit)
    whole = True
    if len(filters) > limits.filters:
        raise UnreadableError(f"a stream passes through {len(filters)} filters; export it again")
    for place, step in enumerate(filters):
        if step.name in PICTURE_FILTERS:
            if place + 1 < len(filters):
                raise UnreadableError(f"a stream is filtered again after {step.name}")
            return Decoded(bytes(data), step, whole)
        if step.name == "FlateDecode":
            unpacked = inflated(data, cap, expected)
            # Content is cut into pieces that must be bytes; samples may lie where they were put.
            plain = unpacked.data if use is Demand.PICTURE else bytes(unpacked.data)
            whole = whole and unpacked.whole
            limits.hold(use, len(plain))
            data = unpredicted(plain, step.parms, cap)
        else:
            data = _undone(bytes(data), step, cap)
            limits.hold(use, len(data))
    if isinstance(data, memoryview) and use is not Demand.PICTURE:
        data = bytes(data)
    return Decoded(data, None, whole)  # type: ignore[arg-type]


def decoded(stream: StreamObject, limits: Limits = DEFAULT) -> bytes:
    """Return a stream's data with all filters undone; for streams that are no pictures.

    Raises BudgetError beyond `limits`, UnreadableError for a filter that is not one.
    """
    return whole_or_not(stream, limits).data


def whole_or_not(stream: StreamObject, limits: Limits = DEFAULT) -> Decoded:
    """Return what `decoded` does, and whether it is whole."""
    result = run_filters(lent(stream), steps(stream), Demand.STREAM, limits)
    if result.rest is not None:
        raise UnreadableError(f"a stream that is no picture is filtered by {result.rest.name}")
    limits.spend(Demand.UNPACKED, len(result.data))
    return result


def raw(stream: StreamObject) -> bytes:
    """Return a stream's data as stored, decrypted."""
    return bytes(stream._data)


def lent(stream: StreamObject) -> Stored:
    """Return what `raw` does, without copying what is large."""
    data: Stored = stream._data
    return data


BROKEN_OFF = "breaks off, and what comes behind is missing"
"""What is said of content whose packed data is not whole."""


def page_content(
    page: DictionaryObject, limits: Limits = DEFAULT, troubles: list[str] | None = None
) -> bytes:
    """Return a page's content streams joined by a line end (ISO 32000-2, 7.7.3.3).

    That one breaks off is added to `troubles`. Raises BudgetError beyond `limits`.
    """
    contents = entry(page, "Contents")
    parts: list[bytes] = []
    size = 0
    if isinstance(contents, ArrayObject):
        limits.hold(Demand.CONTENT_STREAMS, len(contents))
    for part in items(contents) if isinstance(contents, ArrayObject) else [contents]:
        if isinstance(part, StreamObject):
            found = whole_or_not(part, limits)
            if troubles is not None and not found.whole:
                troubles.append(f"the page's content {BROKEN_OFF}")
            parts.append(found.data)
            size += len(parts[-1])
            limits.hold(Demand.CONTENT, size)
    return b"\n".join(parts)


def _undone(data: bytes, step: FilterStep, cap: int) -> bytes:
    match step.name:
        case "LZWDecode":
            early = integer(step.parms, "EarlyChange")
            plain = lzw_decoded(data, cap, 1 if early is None else early)
            return unpredicted(plain, step.parms, cap)
        case "ASCII85Decode":
            return _ascii85(data)
        case "ASCIIHexDecode":
            return _hex(data)
        case "RunLengthDecode":
            return _run_lengths(data, cap)
        case "Crypt":
            return data
    raise UnreadableError(f"a stream is filtered by {step.name[:40]}, which is not known")


AT_ONCE = 4 << 20
"""Bytes unpacked at once."""
BEHIND = 8
"""Bytes behind the last block of deflated data: a sum of four, and ends of lines."""


class Inflated(NamedTuple):
    """Deflated data unpacked, and whether its last block ends in it."""

    data: bytes
    whole: bool


MOST_DEFLATED = 1032
"""Bytes that one byte of deflated data unpacks to at most (zlib, "Technical Details")."""


def inflated(data: Stored, cap: int, expected: int = 0) -> Inflated:
    """Return deflated data unpacked, at most `cap` + 1 bytes of it.

    It is whole where the last block is, with or without the sum behind it, which some writers
    leave out and others cut off.
    """
    unpacker = zlib.decompressobj()
    try:
        room = min(expected, cap, MOST_DEFLATED * len(data))
        plain = _inflated_whole(unpacker, data, cap, room)
        if unpacker.eof or len(plain) > cap:
            return Inflated(plain, whole=True)
    except zlib.error:
        found = _inflated_so_far(data, zlib.MAX_WBITS, cap)
        bare = _inflated_so_far(data[2:], -zlib.MAX_WBITS, cap)
        return bare if bare.whole or not found.data else found
    bare = _inflated_so_far(data[2:], -zlib.MAX_WBITS, cap)
    return Inflated(plain, bare.whole)


def _inflated_whole(unpacker: zlib._Decompress, data: Stored, cap: int, room: int) -> bytes:
    """Return what `cap` + 1 bytes at most come to; raises zlib.error.

    What is large comes in pieces put together where they lie, since zlib itself joins them in
    twice the memory, and bytes that grow take an eighth more.
    """
    # Of data given whole zlib would copy what it has not come to.
    first = data[:AT_ONCE]
    plain = unpacker.decompress(first, min(cap + 1, AT_ONCE))
    at = len(first) - len(unpacker.unconsumed_tail)
    if unpacker.eof or (at == len(data) and len(plain) < AT_ONCE):
        return plain
    out, end = bytearray(room), 0
    for piece in chain((plain,), _pieces(unpacker, data, at, cap + 1 - len(plain))):
        out[end : end + len(piece)] = piece
        end += len(piece)
    del out[end:]
    return out  # type: ignore[return-value]


def _pieces(unpacker: zlib._Decompress, data: Stored, at: int, most: int) -> Iterator[bytes]:
    """Yield what data unpacks to from a place on, at most so many bytes."""
    while at < len(data) and most > 0 and not unpacker.eof:
        fresh: Stored = data[at : at + AT_ONCE]
        at += len(fresh)
        while fresh and most > 0:
            piece = unpacker.decompress(fresh, min(AT_ONCE, most))
            most -= len(piece)
            yield piece
            fresh = unpacker.unconsumed_tail


def _inflated_so_far(data: Stored, wbits: int, cap: int, piece: int = 256) -> Inflated:
    unpacker = zlib.decompressobj(wbits)
    out = bytearray()
    start = 0
    try:
        for start in range(0, len(data), piece):
            out += unpacker.decompress(data[start : start + piece], cap + 1 - len(out))
            if len(out) > cap or unpacker.eof:
                break
    except zlib.error:
        pass
    left = len(data) - start - piece + len(unpacker.unused_data)
    return Inflated(bytes(out), unpacker.eof and left <= BEHIND)


def unpredicted(data: bytes, parms: DictionaryObject | None, cap: int) -> bytes:
    """Undo a predictor (ISO 32000-2, 7.4.4.4)."""
    predictor = integer(parms, "Predictor") or 1
    if predictor == 1 or not data:
        return data
    columns = integer(parms, "Columns") or 1
    colours = integer(parms, "Colors") or 1
    bits = integer(parms, "BitsPerComponent") or 8
    if not (columns > 0 and 0 < colours <= 64 and bits in (1, 2, 4, 8, 16)):
        raise UnreadableError("a stream's predictor has impossible parameters")
    row = (columns * colours * bits + 7) // 8
    if row > cap:
        raise UnreadableError("a stream's predictor has impossible parameters")
    # What is large is worked on where it lies.
    plain = data if isinstance(data, bytearray) else bytearray(data)
    if predictor == 2:
        _tiff_unpredict(plain, row, colours, bits)
    else:
        _png_unpredict(plain, row, max(1, colours * bits // 8))
    return plain if isinstance(data, bytearray) else bytes(plain)


def _tiff_unpredict(data: bytearray, row: int, colours: int, bits: int) -> None:
    for first, last in _strips(data, row):
        data[first:last] = tiff_unpredicted(bytes(data[first:last]), row, colours, bits)


def _png_unpredict(data: bytearray, row: int, step: int) -> None:
    above, end = bytes(row), 0
    for first, last in _strips(data, row + 1):
        plain = _png_lines(above, data[first:last], row, step)
        data[end : end + len(plain)] = plain
        end += len(plain)
        above = plain[-row:]
    del data[end:]


def _strips(data: bytearray, row: int) -> Iterator[tuple[int, int]]:
    """Fill up the last row, and yield where strips of whole rows begin and end."""
    data += bytes(-len(data) % row)
    at_once = max(1, AT_ONCE // row) * row
    for first in range(0, len(data), at_once):
        yield first, min(first + at_once, len(data))


def _png_lines(above: bytes, data: bytearray, row: int, step: int) -> bytes:
    """Undo the filters of rows, each behind its filter's number; `above` is the row before them."""
    # Taken as it stands, so that the first row may be told by its difference from it.
    data = bytearray(b"\0" + above + data)
    rows = len(data) // (row + 1)
    mode = {1: "L", 3: "RGB", 4: "RGBA"}.get(step)
    if mode and row % step == 0:
        return _png_rows(data, mode, row // step, rows)[row:]
    # Bytes `step` apart depend on each other only, so each lane is a grey picture of its own.
    lines = np.frombuffer(data, np.uint8).reshape(rows, row + 1)
    out = np.empty((rows, row), np.uint8)
    for lane in range(step):
        own = np.hstack((lines[:, :1], lines[:, 1 + lane :: step]))
        width = own.shape[1] - 1
        if width:
            plain = _png_rows(own.tobytes(), "L", width, rows)
            out[:, lane::step] = np.frombuffer(plain, np.uint8).reshape(rows, width)
    return out[1:].tobytes()


def _png_rows(data: bytes | bytearray, mode: str, width: int, rows: int) -> bytes:
    try:
        picture = Image.frombytes(mode, (width, rows), zlib.compress(data, 0), "zip", mode)
    except (ValueError, OSError) as error:
        raise UnreadableError("a stream's PNG predictor is damaged") from error
    return picture.tobytes()


def _ascii85(data: bytes) -> bytes:
    data = data.translate(None, WHITE_SPACE)
    data = data.removeprefix(b"<~").split(b"~", 1)[0].replace(b"z", b"!!!!!")
    rest = -len(data) % 5
    digits = np.frombuffer(data + b"u" * rest, np.uint8).reshape(-1, 5).astype(np.int64) - 33
    if digits.size and (digits.min() < 0 or digits.max() > 84):
        raise UnreadableError("a stream is no ASCII85 data")
    words = digits @ np.array((85**4, 85**3, 85**2, 85, 1))
    plain: bytes = (words & 0xFFFFFFFF).astype(">u4").tobytes()
    return plain[: len(plain) - rest] if rest else plain


def _hex(data: bytes) -> bytes:
    data = data.split(b">", 1)[0].translate(None, WHITE_SPACE)
    try:
        return bytes.fromhex((data + b"0" * (len(data) % 2)).decode("ascii"))
    except ValueError as error:
        raise UnreadableError("a stream is no hexadecimal data") from error


def _run_lengths(data: bytes, cap: int) -> bytes:
    out: list[bytes] = []
    place = size = 0
    while place < len(data) and data[place] != 128 and size <= cap:
        length = data[place]
        if length < 128:
            out.append(data[place + 1 : place + 2 + length])
            place += 2 + length
        else:
            out.append(data[place + 1 : place + 2] * (257 - length))
            place += 2
        size += len(out[-1])
    return b"".join(out)
