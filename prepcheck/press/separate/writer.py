"""Writes a small PDF of new objects and of originals that keep their numbers."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping, Sequence

from pypdf import PdfReader
from pypdf.errors import PyPdfError
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    NumberObject,
    PdfObject,
    StreamObject,
)

LEFT_OUT = frozenset((
    "/Parent", "/Metadata", "/PieceInfo", "/OC", "/StructParent", "/StructParents", "/OPI", "/Ref",
    "/Measure", "/PtData", "/Alternates", "/LastModified", "/Thumb", "/AF", "/ID",
))  # fmt: skip
"""Keys that do not change what is painted and may lead through the whole file."""
_PLAIN = re.compile(r"/[A-Za-z0-9_.+*-]*")
"""Names that are written as they are."""
_AT_ONCE = 1 << 16
"""Bytes of a stream from which it is written as soon as it is added, so that it is not held twice:
a check that enlarges places of a page of 20 pictures of 4 MB took 571 MB instead of 620 (all of its
processes, 2026)."""


class PdfWriter:
    """Collects objects for a file that PDFium is to paint."""

    def __init__(self, reader: PdfReader) -> None:
        self._reader = reader
        self._new: dict[int, PdfObject] = {}
        self._next = 1 + max((max(xref, default=0) for xref in reader.xref.values()), default=0)
        self._next = max(self._next, 1 + max(reader.xref_objStm, default=0))
        self._pages: list[IndirectObject] = []
        self._out = io.BytesIO()
        self._out.write(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")
        self._places: dict[tuple[int, int], int] = {}
        self._met: list[tuple[int, int]] = []

    def add(self, value: PdfObject) -> IndirectObject:
        """Add a new object, to which nothing is to be done any more, and return its reference."""
        number = self._next
        self._next += 1
        if isinstance(value, StreamObject) and len(value._data) >= _AT_ONCE:
            self._put(number, 0, value)
        else:
            self._new[number] = value
        return IndirectObject(number, 0, self._reader)

    def page(self, entries: Mapping[str, object]) -> None:
        """Add a page."""
        self._pages.append(self.add(pdf_object(entries)))

    def bytes(self) -> bytes:
        """Return the file; what the new objects refer to in the original comes along.

        To be called once: objects are let go of as they are written.
        """
        tree = self.add(
            pdf_object({"Type": "Pages", "Kids": self._pages, "Count": len(self._pages)})
        )
        root = self.add(pdf_object({"Type": "Catalog", "Pages": tree}))
        out, places, waiting = self._out, self._places, self._met
        waiting += [(number, 0) for number in self._new]
        while waiting:
            number, generation = waiting.pop()
            if (number, generation) not in places:
                value = self._new.pop(number, None)
                if value is None:
                    value = self._original(number, generation)
                self._put(number, generation, value)
        start = out.tell()
        out.write(b"xref\n")
        for (number, generation), place in sorted(places.items()):
            out.write(b"%d 1\n%010d %05d n \n" % (number, place, generation))
        size = max(number for number, _ in places) + 1
        out.write(
            b"trailer\n<</Size %d/Root %d 0 R>>\nstartxref\n%d\n%%%%EOF\n"
            % (size, root.idnum, start)
        )
        return out.getvalue()

    def _put(self, number: int, generation: int, value: PdfObject) -> None:
        """Write an object; what it refers to is to follow."""
        self._places[number, generation] = self._out.tell()
        self._out.write(b"%d %d obj\n" % (number, generation))
        _write(_slim(value), self._out, self._met)
        self._out.write(b"\nendobj\n")

    def _original(self, number: int, generation: int) -> PdfObject:
        try:
            found = IndirectObject(number, generation, self._reader).get_object()
        except PyPdfError:  # what cannot be read is not painted either
            found = None
        return BooleanObject(False) if found is None else found


def _slim(value: PdfObject) -> PdfObject:
    """Return an object without the entries that lead away from painting."""
    if not isinstance(value, DictionaryObject) or not LEFT_OUT.intersection(value):
        return value
    if isinstance(value, StreamObject):
        slim: DictionaryObject = StreamObject()
        slim._data = value._data  # type: ignore[attr-defined]
    else:
        slim = DictionaryObject()
    slim.update({key: raw for key, raw in value.items() if key not in LEFT_OUT})
    return slim


def _write(value: PdfObject, out: io.BytesIO, met: list[tuple[int, int]]) -> None:
    """Write an object, and add what it refers to to `met`."""
    parts: list[bytes] = []
    _serial(value, parts, met)
    if not isinstance(value, StreamObject):
        out.write(b"".join(parts))
        return
    data = value._data
    parts[-1] = b"/Length %d>>\nstream\n" % len(data)
    out.write(b"".join(parts))
    out.write(data)
    out.write(b"\nendstream")


def _serial(value: object, parts: list[bytes], met: list[tuple[int, int]]) -> None:
    """Add an object's text to `parts`, and what it refers to to `met`.

    The library writes names letter by letter, and each part of an object by a call of its own:
    for 16,000 small objects that takes 0.16 s, this 0.06 s.
    """
    kind = type(value)
    if kind is NameObject:
        parts.append(_name(value))  # type: ignore[arg-type]
    elif kind is IndirectObject:
        pair: tuple[int, int] = value.idnum, value.generation  # type: ignore[attr-defined]
        met.append(pair)
        parts.append(b"%d %d R" % pair)
    elif kind is NumberObject:
        parts.append(b"%d" % value)  # type: ignore[str-format]
    elif isinstance(value, DictionaryObject):
        parts.append(b"<<")
        for key, item in dict.items(value):
            if key != "/Length" or not isinstance(value, StreamObject):
                parts += _name(key), b" "
                _serial(item, parts, met)
                parts.append(b"\n")
        parts.append(b">>")
    elif isinstance(value, ArrayObject):
        parts.append(b"[")
        for item in list.__iter__(value):
            parts.append(b" ")
            _serial(item, parts, met)
        parts.append(b"]")
    else:
        text = io.BytesIO()
        value.write_to_stream(text)  # type: ignore[attr-defined]
        parts.append(text.getvalue())


def _name(name: NameObject) -> bytes:
    return name.encode() if _PLAIN.fullmatch(name) else name.renumber()


def pdf_object(value: object) -> PdfObject:
    """Return a Python value as an object of the PDF library: str is a name without its slash."""
    match value:
        case PdfObject():
            return value
        case Mapping():
            return DictionaryObject(
                {NameObject("/" + key): pdf_object(item) for key, item in value.items()}
            )
        case str():
            return NameObject("/" + value)
        case bool():
            return BooleanObject(value)
        case int():
            return NumberObject(value)
        case float():
            return FloatObject(value)
        case Sequence():
            return ArrayObject(pdf_object(item) for item in value)
    raise TypeError(type(value))


def stream_object(data: bytes | memoryview, entries: Mapping[str, object]) -> StreamObject:
    """Return an unfiltered stream; a view, of bytes, is good only for `PdfWriter`."""
    made = StreamObject()
    made.update({NameObject("/" + key): pdf_object(item) for key, item in entries.items()})
    made._data = data  # type: ignore[assignment]
    return made
