"""Classes of damage to a PDF's structure, each a function of the sound bytes and a seed.

Those in `STRUCTURE` leave every object as it is: a reader that finds the objects anew must see
what it saw in the sound file. Those in `OBJECTS` may lose something.
"""

from __future__ import annotations

import random
import re
import zlib
from collections.abc import Callable

Damage = Callable[[bytes, random.Random], bytes]

_OBJECT = re.compile(rb"(?<!\d)(\d+) (\d+) obj\b(.*?)\bendobj", re.DOTALL)


def end_of_objects(data: bytes) -> int:
    """Return where the classical cross-reference table starts, or the trailer's startxref."""
    at = data.rfind(b"\nxref")
    return at + 1 if at >= 0 else data.rfind(b"startxref")


def cut_before_table(data: bytes, rng: random.Random) -> bytes:
    return data[: end_of_objects(data)]


def cut_in_table(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(end_of_objects(data) + 5, data.rfind(b"startxref"))]


def cut_before_startxref(data: bytes, rng: random.Random) -> bytes:
    return data[: data.rfind(b"startxref")]


def cut_after_startxref(data: bytes, rng: random.Random) -> bytes:
    start = data.rfind(b"startxref")
    return data[: rng.randrange(start + 3, data.rfind(b"%%EOF"))]


def no_end_mark(data: bytes, rng: random.Random) -> bytes:
    return data[: data.rfind(b"%%EOF")]


def looping_previous(data: bytes, rng: random.Random) -> bytes:
    """Give the trailer a /Prev that leads to itself, or to the place of an object."""
    start = int(data[data.rfind(b"startxref") + 9 :].split()[0])
    at = data.rfind(b">>", 0, data.rfind(b"startxref"))
    place = rng.choice((start, start, rng.randrange(start)))
    return data[:at] + b" /Prev %d " % place + data[at:]


def bad_bytes_in_table(data: bytes, rng: random.Random) -> bytes:
    first = end_of_objects(data)
    return _bad_bytes(data, first, data.rfind(b"trailer"), rng.randint(1, 5), rng)


def bad_bytes_in_trailer(data: bytes, rng: random.Random) -> bytes:
    return _bad_bytes(data, data.rfind(b"trailer"), len(data), rng.randint(1, 4), rng)


def table_of_noise(data: bytes, rng: random.Random) -> bytes:
    first, last = end_of_objects(data), data.rfind(b"trailer")
    return data[:first] + rng.randbytes(last - first) + data[last:]


def wrong_offsets(data: bytes, rng: random.Random) -> bytes:
    """Move what the table points to: one, some or all of its numbers are wrong."""
    share = rng.choice((0.1, 0.5, 1.0))
    shift = rng.choice((-40, -7, -1, 1, 3, 12, 1000))

    def moved(entry: re.Match[bytes]) -> bytes:
        if rng.random() > share:
            return entry[0]
        return b"%010d 00000 n" % max(int(entry[1]) + shift, 0)

    first = end_of_objects(data)
    return data[:first] + re.sub(rb"(\d{10}) 00000 n", moved, data[first:])


def wrong_startxref(data: bytes, rng: random.Random) -> bytes:
    at = data.rfind(b"startxref")
    start = int(data[at + 9 :].split()[0])
    wrong = rng.choice((0, 1, start - 5, start + 9, len(data) + 50, 10**12, start // 2))
    return data[:at] + b"startxref\n%d\n%%%%EOF\n" % wrong


def line_ends_changed(data: bytes, rng: random.Random) -> bytes:
    """Put bytes between two objects, as transfers and editors do; all places after them move."""
    spots = [m.end() for m in re.finditer(rb"\bendobj\s", data)]
    for at in sorted(rng.sample(spots, min(3, len(spots))), reverse=True):
        data = data[:at] + rng.choice((b"\r\n", b"\n\n\n", b"% a remark\n")) + data[at:]
    return data


def junk_before(data: bytes, rng: random.Random) -> bytes:
    return b"".join(b"X-Header-%d: mail\r\n" % n for n in range(rng.randint(1, 40))) + data


def junk_after(data: bytes, rng: random.Random) -> bytes:
    return data + rng.choice((b"\0", b"\r\n--boundary--", rng.randbytes(16))) * rng.choice((9, 999))


def no_trailer(data: bytes, rng: random.Random) -> bytes:
    first, last = data.rfind(b"trailer"), data.rfind(b"startxref")
    return data[:first] + data[last:]


def trailer_without_root(data: bytes, rng: random.Random) -> bytes:
    at = data.rfind(b"/Root")
    return data[:at] + rng.choice((b"/Ruut", b"/Toor", b"/Rot ")) + data[at + 5 :]


def wrong_root(data: bytes, rng: random.Random) -> bytes:
    at = data.rfind(b"/Root")
    return data[:at] + re.sub(rb"/Root \d+", b"/Root %d" % rng.choice((1, 2, 9999)), data[at:])


def _packed(data: bytes, rng: random.Random, table: Callable[[bytes], bytes]) -> bytes:
    """Return the file with object streams and a cross-reference stream that `table` damages."""
    trailer = data[data.rfind(b"trailer") : data.rfind(b"startxref")]
    root = re.search(rb"/Root (\d+)", trailer)
    assert root is not None
    found = [(int(m[1]), m[3].strip()) for m in _OBJECT.finditer(data)]
    out = bytearray(b"%PDF-1.5\n%\xe2\xe3\xcf\xd3\n")
    entries: dict[int, tuple[int, int, int]] = {0: (0, 0, 255)}
    small: list[tuple[int, bytes]] = []
    for number, source in found:
        if b"stream" in source:
            entries[number] = (1, len(out), 0)
            out += b"%d 0 obj\n" % number + source + b"\nendobj\n"
        else:
            small.append((number, source))
    free = max(number for number, _ in found) + 1
    for first in range(0, len(small), 6):
        group = small[first : first + 6]
        head, body = b"", b""
        for index, (number, source) in enumerate(group):
            entries[number] = (2, free, index)
            head += b"%d %d " % (number, len(body))
            body += source + b"\n"
        stored = zlib.compress(head + body)
        entries[free] = (1, len(out), 0)
        out += b"%d 0 obj\n<</Type/ObjStm/N %d/First %d/Filter/FlateDecode/Length %d>>" % (
            free, len(group), len(head), len(stored),
        ) + b"\nstream\n" + stored + b"\nendstream\nendobj\n"  # fmt: skip
        free += 1
    start = len(out)
    entries[free] = (1, start, 0)
    rows = b"".join(
        kind.to_bytes(1, "big") + place.to_bytes(4, "big") + rest.to_bytes(2, "big")
        for kind, place, rest in (entries.get(n, (0, 0, 0)) for n in range(free + 1))
    )
    stored = zlib.compress(rows)
    head = b"%d 0 obj\n<</Type/XRef/W[1 4 2]/Size %d/Root %d 0 R/Filter/FlateDecode/Length %d>>" % (
        free, free + 1, int(root[1]), len(stored),
    )  # fmt: skip
    out += table(head + b"\nstream\n" + stored + b"\nendstream\nendobj\n")
    return bytes(out) + b"startxref\n%d\n%%%%EOF\n" % start


def packed_sound(data: bytes, rng: random.Random) -> bytes:
    return _packed(data, rng, lambda table: table)


def packed_noise(data: bytes, rng: random.Random) -> bytes:
    """The cross-reference stream's own data is damaged."""

    def noise(table: bytes) -> bytes:
        at = table.find(b"stream\n") + 7
        return _bad_bytes(table, at, table.find(b"\nendstream"), rng.randint(3, 9), rng)

    return _packed(data, rng, noise)


def packed_cut(data: bytes, rng: random.Random) -> bytes:
    """The file ends before its cross-reference stream does."""
    whole = packed_sound(data, rng)
    return whole[: whole.rfind(b"/Type/XRef") + rng.choice((-12, 3, 40, 90))]


def packed_moved(data: bytes, rng: random.Random) -> bytes:
    """Bytes were put before the objects: all places in the cross-reference stream are wrong."""
    whole = packed_sound(data, rng)
    at = whole.find(b"obj") - 4
    at = whole.rfind(b"\n", 0, at) + 1
    return whole[:at] + b"% put in later\n" * rng.randint(1, 3) + whole[at:]


def flipped(data: bytes, rng: random.Random) -> bytes:
    """Bytes changed outside streams."""
    outside = _outside_streams(data)
    out = bytearray(data)
    for _ in range(rng.randint(1, 6)):
        out[rng.choice(outside)] = rng.randrange(256)
    return bytes(out)


def cut_anywhere(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data) // 4, len(data))]


def stretch_lost(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(20, len(data) - 20)
    return data[:at] + data[at + rng.randint(1, 60) :]


def stretch_zeroed(data: bytes, rng: random.Random) -> bytes:
    at, long = rng.randrange(20, len(data) - 20), rng.randint(1, 200)
    return data[:at] + bytes(min(long, len(data) - at)) + data[at + long :]


def keyword_lost(data: bytes, rng: random.Random) -> bytes:
    """One of the words that hold the structure together is misspelt."""
    word = rng.choice((b"endobj", b"endstream", b"obj", b"/Length", b"xref", b"trailer", b"/Type"))
    spots = [m.start() for m in re.finditer(re.escape(word), data)]
    if not spots:
        return data
    at = rng.choice(spots)
    return data[:at] + b"Q" + data[at + 1 :]


def wrong_length(data: bytes, rng: random.Random) -> bytes:
    spots = list(re.finditer(rb"/Length (\d+)(?! \d+ R)\b", data))
    if not spots:
        return data
    spot = rng.choice(spots)
    wrong = max(0, int(spot[1]) + rng.choice((-20, -1, 1, 7, 5000, 10**9)))
    return data[: spot.start(1)] + b"%d" % wrong + data[spot.end(1) :]


def huge_box_number(data: bytes, rng: random.Random) -> bytes:
    """A number of hundreds of digits stands in a page's box."""
    spots = list(re.finditer(rb"/(?:TrimBox|BleedBox|CropBox|ArtBox)\s*\[([^\]]*)\]", data))
    if not spots:
        return data
    spot = rng.choice(spots)
    numbers = spot[1].split()
    numbers[rng.choice((2, 3))] = rng.choice((b"", b"-")) + b"9" * rng.randint(200, 900)
    return data[: spot.start(1)] + b" ".join(numbers) + data[spot.end(1) :]


def _outside_streams(data: bytes) -> list[int]:
    places: list[int] = []
    at = 9
    while True:
        start = data.find(b"stream", at)
        if start < 0:
            return places + list(range(at, len(data)))
        places += range(at, start)
        end = data.find(b"endstream", start + 6)
        at = len(data) if end < 0 else end


def _bad_bytes(data: bytes, first: int, last: int, count: int, rng: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(count):
        out[rng.randrange(first, last)] = rng.randrange(256)
    return bytes(out)


STRUCTURE: dict[str, Damage] = {
    damage.__name__: damage
    for damage in (
        cut_before_table, cut_in_table, cut_before_startxref, cut_after_startxref, no_end_mark,
        looping_previous, bad_bytes_in_table, bad_bytes_in_trailer, table_of_noise, wrong_offsets,
        wrong_startxref, line_ends_changed, junk_before, junk_after, no_trailer,
        trailer_without_root, wrong_root, packed_sound, packed_noise, packed_cut, packed_moved,
    )
}  # fmt: skip
OBJECTS: dict[str, Damage] = {
    damage.__name__: damage
    for damage in (
        flipped, cut_anywhere, stretch_lost, stretch_zeroed, keyword_lost, wrong_length,
        huge_box_number,
    )
}  # fmt: skip
