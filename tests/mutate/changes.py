"""Ways to change a file, each a function of its bytes and a seed."""

from __future__ import annotations

import random
import re
import struct
import zlib
from collections.abc import Callable

Change = Callable[[bytes, random.Random], bytes]
_OBJECT = re.compile(rb"(?<!\d)(\d+ \d+ obj\b)(.*?)(\bendobj)", re.DOTALL)
_DICTIONARY = re.compile(rb"/[A-Za-z][A-Za-z0-9]*")
_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
_STREAM = re.compile(rb"<<((?:(?!endobj).)*?)>>\s*stream\r?\n(.*?)\r?\nendstream", re.DOTALL)


def flipped(data: bytes, chance: random.Random) -> bytes:
    """Other bits or bytes in a few places."""
    out = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 8, 40))):
        at = chance.randrange(len(out))
        out[at] = (
            chance.randrange(256) if chance.random() < 0.5 else out[at] ^ 1 << chance.randrange(8)
        )
    return bytes(out)


def cut_out(data: bytes, chance: random.Random) -> bytes:
    at, span = _stretch(data, chance)
    return data[:at] + data[at + span :]


def doubled(data: bytes, chance: random.Random) -> bytes:
    at, span = _stretch(data, chance)
    return data[: at + span] + data[at:]


def blanked(data: bytes, chance: random.Random) -> bytes:
    at, span = _stretch(data, chance)
    return data[:at] + bytes([chance.choice((0, 32, 255))]) * span + data[at + span :]


def cut_short(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(1, len(data))]


def exchanged(data: bytes, chance: random.Random) -> bytes:
    """Two stretches change places."""
    a, span = _stretch(data, chance)
    b = chance.randrange(len(data))
    first, last = sorted((a, b))
    one, other = data[first : first + span], data[last : last + span]
    return data[:first] + other + data[first + span : last] + one + data[last + span :]


def _stretch(data: bytes, chance: random.Random) -> tuple[int, int]:
    span = chance.choice((1, 4, 16, 64, 512, len(data) // 10 + 1))
    return chance.randrange(len(data)), chance.randrange(1, span + 1)


BYTES: dict[str, Change] = {
    one.__name__: one for one in (flipped, cut_out, doubled, blanked, cut_short, exchanged)
}


# PDF


def objects_exchanged(data: bytes, chance: random.Random) -> bytes:
    """The bodies of two objects change places."""
    found = list(_OBJECT.finditer(data))
    if len(found) < 2:
        return data
    one, other = sorted(chance.sample(found, 2), key=lambda match: match.start())
    return (
        data[: one.start(2)] + other[2] + data[one.end(2) : other.start(2)] + one[2]
        + data[other.end(2) :]
    )  # fmt: skip


def object_lost(data: bytes, chance: random.Random) -> bytes:
    found = list(_OBJECT.finditer(data))
    if not found:
        return data
    one = chance.choice(found)
    return (
        data[: one.start(2)]
        + chance.choice((b" null ", b" ", b" [] ", b" << >> "))
        + data[one.end(2) :]
    )


def number_changed(data: bytes, chance: random.Random) -> bytes:
    """A number outside packed data becomes another."""
    places = [m for m in _NUMBER.finditer(data) if data[m.end() : m.end() + 1] in b" ]/>\n\r"]
    if not places:
        return data
    one = chance.choice(places)
    other = chance.choice((
        b"0", b"-1", b"1", b"0.0001", b"-0.5", b"65536", b"4294967296", b"1e9", b"9" * 40, b"null",
        b"%d" % chance.randrange(200), one[0] + b"0",
    ))  # fmt: skip
    return data[: one.start()] + other + data[one.end() :]


def key_changed(data: bytes, chance: random.Random) -> bytes:
    """A name becomes another that stands elsewhere in the file."""
    names = list(_DICTIONARY.finditer(data))
    if len(names) < 2:
        return data
    one, other = chance.sample(names, 2)
    return data[: one.start()] + other[0] + data[one.end() :]


def content_changed(data: bytes, chance: random.Random) -> bytes:
    """What a stream unpacks to is changed, and stored unpacked."""
    streams = [m for m in _STREAM.finditer(data) if b"FlateDecode" in m[1]]
    chance.shuffle(streams)
    for one in streams[:6]:
        try:
            plain = zlib.decompress(one[2])
        except zlib.error:
            continue
        if not plain:
            continue
        change = chance.choice(
            (flipped, cut_out, doubled, cut_short, number_changed, key_changed, exchanged)
        )
        packed = zlib.compress(change(plain, chance))
        entries = re.sub(rb"/Length \d+", b"/Length %d" % len(packed), one[1])
        return (
            data[: one.start()] + b"<<" + entries + b">>\nstream\n" + packed + b"\nendstream"
            + data[one.end() :]
        )  # fmt: skip
    return data


PDF: dict[str, Change] = {
    one.__name__: one
    for one in (objects_exchanged, object_lost, number_changed, key_changed, content_changed)
}


# Pictures


def tags_changed(data: bytes, chance: random.Random) -> bytes:
    """An entry of a TIFF's directory gets another tag, kind, count or value, or changes places."""
    order = "<" if data[:2] == b"II" else ">"
    if len(data) < 16:
        return data
    (at,) = struct.unpack_from(order + "I", data, 4)
    if at + 2 > len(data):
        return data
    (count,) = struct.unpack_from(order + "H", data, at)
    places = [at + 2 + 12 * n for n in range(count) if at + 14 + 12 * n <= len(data)]
    if len(places) < 2:
        return data
    out = bytearray(data)
    one, other = chance.sample(places, 2)
    wild = chance.choice((0, 1, 2, 3, 5, 8, 16, 255, 65535, 65536, 2**31, 2**32 - 1))
    match chance.randrange(5):
        case 0:
            out[one : one + 12], out[other : other + 12] = (
                out[other : other + 12],
                out[one : one + 12],
            )
        case 1:
            out[one + 8 : one + 12], out[other + 8 : other + 12] = (
                out[other + 8 : other + 12], out[one + 8 : one + 12],
            )  # fmt: skip
        case 2:
            struct.pack_into(order + "H", out, one + 2, chance.randrange(0, 20))
        case 3:
            struct.pack_into(order + "I", out, one + 4, wild)
        case _:
            struct.pack_into(order + "I", out, one + 8, wild)
    return bytes(out)


def markers_changed(data: bytes, chance: random.Random) -> bytes:
    """Segments of a JPEG change places, go, come twice or get another length or marker."""
    segments, at = [], 2
    while at + 4 <= len(data) and data[at] == 0xFF and data[at + 1] != 0xDA:
        size = 2 + struct.unpack_from(">H", data, at + 2)[0]
        segments.append(data[at : at + size])
        at += size
    if len(segments) < 2:
        return data
    one, other = chance.sample(range(len(segments)), 2)
    match chance.randrange(5):
        case 0:
            segments[one], segments[other] = segments[other], segments[one]
        case 1:
            del segments[one]
        case 2:
            segments.insert(other, segments[one])
        case 3:
            part = segments[one]
            segments[one] = part[:2] + struct.pack(">H", chance.randrange(65536)) + part[4:]
        case _:
            part = segments[one]
            segments[one] = b"\xff" + bytes([chance.randrange(0xC0, 0xFF)]) + part[2:]
    return data[:2] + b"".join(segments) + data[at:]


def lengths_changed(data: bytes, chance: random.Random) -> bytes:
    """A length of a PSD's or PNG's head becomes another; a PNG's sums are made right again."""
    out = bytearray(data)
    if data[:4] == b"8BPS":
        places, at = [12, 14, 18, 22, 24, 26], 26
        for _ in range(3):
            places.append(at)
            if at + 4 > len(data):
                break
            at += 4 + struct.unpack_from(">I", data, at)[0]
        places.append(at)
        place = chance.choice([one for one in places if one + 4 <= len(data)] or [0])
        if place < 26:
            struct.pack_into(">H", out, place, chance.choice((0, 1, 3, 4, 8, 9, 16, 57, 65535)))
        else:
            struct.pack_into(
                ">I", out, place, chance.choice((0, 1, 8, 999, 65536, 2**31, 2**32 - 1))
            )
        return bytes(out)
    chunks, at = [], 8
    while at + 12 <= len(data):
        size = struct.unpack_from(">I", data, at)[0]
        chunks.append(bytearray(data[at + 4 : at + 8 + size]))
        at += 12 + size
    if len(chunks) < 2:
        return data
    one, other = chance.sample(range(len(chunks)), 2)
    match chance.randrange(4):
        case 0:
            chunks[one], chunks[other] = chunks[other], chunks[one]
        case 1:
            del chunks[one]
        case 2:
            chunks.insert(other, chunks[one])
        case _ if len(chunks[one]) > 4:
            chunks[one][chance.randrange(4, len(chunks[one]))] = chance.randrange(256)
    return data[:8] + b"".join(
        struct.pack(">I", len(one) - 4) + one + struct.pack(">I", zlib.crc32(one)) for one in chunks
    )


def changes_of(data: bytes) -> dict[str, Change]:
    """Return the ways in which a file of this kind may be changed."""
    if data[:4] == b"%PDF":
        return BYTES | PDF
    if data[:2] in (b"II", b"MM"):
        return BYTES | {"tags_changed": tags_changed}
    if data[:2] == b"\xff\xd8":
        return BYTES | {"markers_changed": markers_changed}
    return BYTES | {"lengths_changed": lengths_changed}
