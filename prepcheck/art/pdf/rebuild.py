"""A PDF's list of objects made anew by looking for the objects themselves (ISO 32000-2, 7.5).

What comes out is the same file with a sound cross-reference stream behind it, so that whatever
reads PDFs can read it; nothing of what the file says is changed.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from typing import NamedTuple

from pypdf.errors import PyPdfError
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NumberObject,
    PdfObject,
    StreamObject,
    read_object,
)

from prepcheck.art.limits import Limits
from prepcheck.errors import UnreadableError

MOST_NUMBER = 8_388_607
"""Greatest object number (ISO 32000-1, annex C)."""
LOOK_BEHIND = 20
"""Bytes after a stream's stated length within which its end is looked for."""
MOST_TRAILER = 20_000
"""Bytes of a trailer that are read."""
MOST_HEAD = 2_000_000
"""Bytes of one object that are looked at for what it is."""

_SPACE = rb"[\0\t\n\f\r ]"
_START = re.compile(
    rb"(?<!\d)(\d{1,10})" + _SPACE + rb"{1,20}(\d{1,5})" + _SPACE + rb"{1,20}obj(?![a-zA-Z0-9])"
)
_NEXT = re.compile(
    rb"(?<!\d)\d{1,10}" + _SPACE + rb"{1,20}\d{1,5}" + _SPACE + rb"{1,20}obj(?![a-zA-Z0-9])"
    rb"|endobj|>>" + _SPACE + rb"*stream(?:\r\n|\n|\r)|trailer" + _SPACE + rb"*<<"
)
_LENGTH = re.compile(
    rb"/Length" + _SPACE + rb"*(\d{1,10})(?!\d)(" + _SPACE + rb"+\d+" + _SPACE + rb"+R)?"
)
_TYPE = re.compile(rb"/Type" + _SPACE + rb"*/(Catalog|ObjStm|XRef|Pages)(?![a-zA-Z])")
_TRAILER = re.compile(rb"trailer" + _SPACE + rb"*(?=<<)")
_REFERENCE = re.compile(
    rb"(?<!\d)(\d{1,10})" + _SPACE + rb"+(\d{1,5})" + _SPACE + rb"+R(?![a-zA-Z])"
)
_ENCRYPT = re.compile(
    rb"/Encrypt" + _SPACE + rb"*(\d{1,10})" + _SPACE + rb"+(\d{1,5})" + _SPACE + rb"+R"
)
_LONG = re.compile(rb"(?<=[\0\t\n\f\r \[+-])\d{40,}(?:\.\d*)?(?=[\0\t\n\f\r /\]>])")
"""A number longer than any that means something; the library takes 64 digits."""
_HUGE = b"9999999999"
_DAMAGED = (PyPdfError, ValueError, TypeError, KeyError, AttributeError, AssertionError)
"""What the library raises on damaged objects."""
KEPT = ("/Root", "/Info", "/ID", "/Encrypt")
"""Entries of a trailer that say something of the document."""


class _Nobody:
    """Stands for the file while a dictionary is read whose references are not followed."""

    strict = False

    def get_object(self, _: object) -> None:
        return None


class FoundObject(NamedTuple):
    """An object: where it starts, its generation and type, and where what it says stands."""

    at: int
    generation: int
    kind: bytes
    """Catalog, Pages, ObjStm, XRef or empty."""
    body: tuple[int, int]
    """Bytes of its value, a stream's data left out."""
    stream_at: int | None


class Scan(NamedTuple):
    """All objects of a file by number, the last of each, and the trailers in order."""

    objects: dict[int, FoundObject]
    trailers: tuple[DictionaryObject, ...]
    encrypt: tuple[int, int] | None
    """What the file is encrypted by, where only the reference could be read."""


class Rebuilt(NamedTuple):
    """A file with a new list of objects, how many it lists, and which it lacks."""

    data: bytes
    listed: int
    missing: frozenset[int]
    """Numbers that something refers to."""
    shortened: int = 0
    """Numbers of too many digits that were taken as huge ones."""


def rebuilt(
    data: bytes,
    limits: Limits,
    unpacked: Callable[[bytes, int], bytes],
    *,
    encrypted: bool = True,
) -> Rebuilt:
    """Return a PDF whose objects were found by looking for them.

    `unpacked(data, number)` returns the decoded data of a stream of a PDF that lists the objects
    outside of object streams. Without `encrypted` the file is taken as not encrypted whatever it
    says. Raises UnreadableError where no catalogue of pages is found, or too many objects.
    """
    scan = scanned(data, limits)
    data, shortened = _shortened(data, scan)
    trailer = _trailer(scan, encrypted)
    places = {number: (1, found.at, found.generation) for number, found in scan.objects.items()}
    packed = [n for n, found in scan.objects.items() if found.kind == b"ObjStm"]
    pointing = _pointing(data, scan)
    catalogs = [(found.at, n) for n, found in scan.objects.items() if found.kind == b"Catalog"]
    if packed:
        interim = _with_table(data, places, trailer)
        for number in sorted(packed, key=lambda one: scan.objects[one].at):
            for index, (inner, source) in enumerate(_inside(unpacked, interim, number, scan, data)):
                known = scan.objects.get(inner)
                if known is not None and known.at > scan.objects[number].at:
                    continue
                places[inner] = (2, number, index)
                pointing |= {int(m[1]) for m in _REFERENCE.finditer(source)}
                kind = _TYPE.search(source)
                if kind is not None and kind[1] == b"Catalog":
                    catalogs.append((scan.objects[number].at, inner))
    stated = trailer.raw_get("/Root") if "/Root" in trailer else None
    roots = [number for _, number in sorted(catalogs)]
    if not isinstance(stated, IndirectObject) or stated.idnum not in roots:
        if not roots:
            raise UnreadableError("the PDF is damaged (no list of pages is left in it)")
        generation = places[roots[-1]][2] if places[roots[-1]][0] == 1 else 0
        trailer[NameObject("/Root")] = IndirectObject(roots[-1], generation, None)
    missing = frozenset(number for number in pointing if number not in places and number)
    return Rebuilt(_with_table(data, places, trailer), len(places), missing, shortened)


def scanned(data: bytes, limits: Limits) -> Scan:
    """Return the objects that stand in a file, in one pass, the insides of streams left out."""
    objects: dict[int, FoundObject] = {}
    trailers: list[DictionaryObject] = []
    encrypt: tuple[int, int] | None = None
    at = count = 0
    while (start := _later(data, at)) is not None:
        if start[0] == b"trailer":
            entries = _dictionary(data, start[1], start[1] + MOST_TRAILER)
            if entries is not None:
                trailers.append(entries)
            if (named := _ENCRYPT.search(data, start[1], start[1] + 2000)) is not None:
                encrypt = int(named[1]), int(named[2])
            at = start[1]
            continue
        header = start[2]
        found, at = _one(data, header, objects)
        count += 1
        if count > limits.objects:
            raise UnreadableError(f"the PDF holds more than {limits.objects} objects")
        number = int(header[1])
        cut = at >= len(data)  # the older one is whole
        if 0 < number <= MOST_NUMBER and not (cut and number in objects):
            objects[number] = found
        if found.kind == b"XRef" and (entries := _dictionary(data, *found.body)) is not None:
            trailers.append(entries)
    return Scan(objects, tuple(trailers), encrypt)


def _later(data: bytes, at: int) -> tuple[bytes, int, re.Match[bytes]] | None:
    """Return the next object's header or trailer: its kind, where its value starts, the match."""
    header, trailer = _START.search(data, at), None
    end = len(data) if header is None else header.start()
    trailer = _TRAILER.search(data, at, end)
    if trailer is not None:
        return b"trailer", trailer.end(), trailer
    return None if header is None else (b"obj", header.end(), header)


def _one(
    data: bytes, header: re.Match[bytes], known: dict[int, FoundObject]
) -> tuple[FoundObject, int]:
    """Return the object that a header begins, and where to look for the next."""
    first = header.end()
    ending = _NEXT.search(data, first)
    last = len(data) if ending is None else ending.start()
    after, stream_at = last, None
    if ending is not None and ending[0] == b"endobj":
        after = ending.end()
    elif ending is not None and ending[0].startswith(b">>"):
        last = ending.start() + 2
        stream_at = ending.end()
        after = _stream_end(data, stream_at, data[first:last], known)
    kind = _TYPE.search(data, first, min(last, first + MOST_HEAD))
    name = b"" if kind is None else kind[1]
    return FoundObject(header.start(), int(header[2]), name, (first, last), stream_at), after


def _stream_end(data: bytes, start: int, head: bytes, known: dict[int, FoundObject]) -> int:
    """Return where a stream's data ends: by its length if that is right, else by its end mark."""
    stated = _LENGTH.search(head)
    if stated is not None:
        length: int | None = int(stated[1])
        if stated[2]:
            held = known.get(int(stated[1]))
            text = b"" if held is None else data[held.body[0] : held.body[1]].strip()
            length = int(text) if text.isdigit() and len(text) < 11 else None
        if length is not None:
            end = data.find(b"endstream", start + length, start + length + LOOK_BEHIND)
            if end >= 0:
                return end
    end = data.find(b"endstream", start)
    return start if end < 0 else end


def _dictionary(data: bytes, start: int, end: int) -> DictionaryObject | None:
    """Return the dictionary that stands at a place; None where it is damaged."""
    try:
        value = read_object(io.BytesIO(data[start:end].lstrip()), _Nobody())  # type: ignore[arg-type]
    except _DAMAGED:
        return None
    return value if isinstance(value, DictionaryObject) else None


def _trailer(scan: Scan, encrypted: bool) -> DictionaryObject:
    """Return what the trailers say of the document, the last word first."""
    trailer = DictionaryObject()
    for said in reversed(scan.trailers):
        for key in KEPT:
            if key in said and key not in trailer:
                trailer[NameObject(key)] = said.raw_get(key)
    if not encrypted:
        trailer.pop("/Encrypt", None)
    elif "/Encrypt" not in trailer and scan.encrypt is not None:
        trailer[NameObject("/Encrypt")] = IndirectObject(*scan.encrypt, None)
    return trailer


def _shortened(data: bytes, scan: Scan) -> tuple[bytes, int]:
    """Return the file with numbers of hundreds of digits written as a huge one, places kept, and
    how many there were."""
    if _LONG.search(data) is None:
        return data, 0
    out, count = bytearray(data), 0
    for found in scan.objects.values():
        for number in _LONG.finditer(data, *found.body):
            first, last = number.span()
            out[first:last] = _HUGE.ljust(last - first)
            count += 1
    return bytes(out), count


def _pointing(data: bytes, scan: Scan) -> set[int]:
    """Return the numbers that plain objects refer to."""
    numbers: set[int] = set()
    for found in scan.objects.values():
        first, last = found.body
        numbers.update(int(m[1]) for m in _REFERENCE.finditer(data, first, last))
    return numbers


def _inside(
    unpacked: Callable[[bytes, int], bytes], interim: bytes, number: int, scan: Scan, data: bytes
) -> Iterator[tuple[int, bytes]]:
    """Yield the number and the source of each object in an object stream; none where damaged."""
    head = _dictionary(data, *scan.objects[number].body)
    start = None if head is None else head.get("/First")
    try:
        plain = unpacked(interim, number)
    except _DAMAGED:
        return
    if not isinstance(start, NumberObject) or not 0 <= int(start) <= len(plain):
        return
    numbers = [int(part) for part in plain[: int(start)].split() if part.isdigit()]
    places = [int(start) + place for place in numbers[1::2]]
    for index, inner in enumerate(numbers[: 2 * len(places) : 2]):
        end = places[index + 1] if index + 1 < len(places) else len(plain)
        if 0 < inner <= MOST_NUMBER and inner != number:
            yield inner, plain[places[index] : end]


def _with_table(
    data: bytes, places: dict[int, tuple[int, int, int]], trailer: DictionaryObject
) -> bytes:
    """Return the file with a cross-reference stream behind it (7.5.8)."""
    own = max(places, default=0) + 1
    start = len(data) + 1
    rows = bytearray()
    index: list[list[int]] = []
    ordered = sorted({**places, own: (1, start, 0)}.items())
    for number, (kind, place, rest) in ordered:
        rows += kind.to_bytes(1, "big") + place.to_bytes(8, "big") + rest.to_bytes(4, "big")
        if index and index[-1][0] + index[-1][1] == number:
            index[-1][1] += 1
        else:
            index.append([number, 1])
    table = StreamObject()
    table.update(trailer)
    table.update(
        {
            NameObject("/Type"): NameObject("/XRef"),
            NameObject("/Size"): NumberObject(own + 1),
            NameObject("/W"): _numbers([1, 8, 4]),
            NameObject("/Index"): _numbers([part for pair in index for part in pair]),
        }
    )
    table._data = bytes(rows)
    out = io.BytesIO()
    out.write(b"\n%d 0 obj\n" % own)
    _written(table, out)
    out.write(b"\nendobj\nstartxref\n%d\n%%%%EOF\n" % start)
    return data + out.getvalue()


def _written(value: PdfObject, out: io.BytesIO) -> None:
    value.write_to_stream(out)


def _numbers(values: list[int]) -> ArrayObject:
    return ArrayObject(NumberObject(value) for value in values)


def guards_attachments_only(data: bytes, limits: Limits) -> bool:
    """Say whether a file's encryption leaves strings and streams as they are and can be left
    alone: only embedded files are behind it (ISO 32000-2, 7.6.6 and Table 27)."""
    scan = scanned(data, limits)
    trailer = _trailer(scan, encrypted=True)
    held: object = trailer.raw_get("/Encrypt") if "/Encrypt" in trailer else None
    if isinstance(held, IndirectObject):
        found = scan.objects.get(held.idnum)
        held = None if found is None else _dictionary(data, *found.body)
    if not isinstance(held, DictionaryObject) or held.get("/V") not in (4, 5):
        return False
    if held.get("/Filter") != "/Standard" or held.get("/EFF", "/Identity") == "/Identity":
        return False
    return all(held.get(key, "/Identity") == "/Identity" for key in ("/StmF", "/StrF"))
