"""The PDF library's reader, with what it would do slowly or by copying done otherwise."""

from __future__ import annotations

import mmap
import re

from pypdf import PdfReader
from pypdf.generic import (
    DictionaryObject,
    IndirectObject,
    NumberObject,
    PdfObject,
    StreamObject,
)

from prepcheck.art.pdf.lending import LENT_FROM, FileData, Views
from prepcheck.art.pdf.plainly import PlainObjects

HEADER = re.compile(rb"[\0\t\n\f\r ]*(\d+)[\0\t\n\f\r ]+(\d+)[\0\t\n\f\r ]+obj")
_END = re.compile(rb"endobj|stream\r?\n")
_STREAM_END = re.compile(rb"[\t\n\r ]{0,2}endstream")
_LONGEST = 1 << 20
"""Bytes of an object, its stream's data not counted, within which its end is looked for."""


class Reader(PdfReader):
    """Reads plain objects by our own means, and large streams as views of the file, which it would
    copy else."""

    lent: FileData | None = None
    """The file, once it is known to be open to all."""
    large: frozenset[int] = frozenset()
    """Numbers of the objects that may be large."""

    def get_object(self, indirect_reference: int | IndirectObject) -> PdfObject | None:
        if isinstance(indirect_reference, IndirectObject):
            number, generation = indirect_reference.idnum, indirect_reference.generation
        else:
            number, generation = indirect_reference, 0
        held = self.resolved_objects.get((generation, number))
        if held is not None:
            return held
        found = None if self.lent is None else self._plainly(self.lent, number, generation)
        if found is not None:
            return found
        if self.lent is None or number not in self.large:
            return super().get_object(indirect_reference)
        quick, self.stream = self.stream, Views(self.lent)  # type: ignore[assignment]
        try:
            return super().get_object(indirect_reference)
        finally:
            self.stream = quick

    def lend(self, data: FileData) -> None:
        """Have objects of the file read from `data`, which is all of it and not encrypted."""
        self.lent, self._plain, self._unpacked = data, PlainObjects(self), set[int]()
        if len(data) >= LENT_FROM:
            self.large = _large(self, len(data))

    def let_go(self) -> None:
        """Take no memory for what was read of a file where it lies; it is read anew if need be."""
        if isinstance(self.lent, mmap.mmap):
            self.lent.madvise(mmap.MADV_DONTNEED)

    def _plainly(self, data: FileData, number: int, generation: int) -> PdfObject | None:
        """Return an object that is written plainly; None where the library has to read it."""
        if generation == 0 and number in self.xref_objStm:
            self._unpack(self.xref_objStm[number][0])
            return self.resolved_objects.get((0, number))
        place = self.xref.get(generation, {}).get(number)
        if place is None or self.xref_free_entry.get(generation, {}).get(number):
            return None
        found = self._at(data, place, number, generation)
        if found is not None:
            self.cache_indirect_object(generation, number, found)
        return found

    def _at(self, data: FileData, place: int, number: int, generation: int) -> PdfObject | None:
        header = HEADER.match(data, place)
        if header is None or (int(header[1]), int(header[2])) != (number, generation):
            return None
        end = _END.search(data, header.end(), header.end() + _LONGEST)
        if end is None:
            return None
        found = self._plain.object(data[header.end() : end.start()])
        if end[0] == b"endobj" or not isinstance(found, DictionaryObject):
            return found if end[0] == b"endobj" else None
        length = dict.get(found, "/Length")
        if not isinstance(length, NumberObject) or length < 0:
            return None
        start, behind = end.end(), end.end() + length
        if _STREAM_END.match(data, behind) is None:
            return None
        held = memoryview(data)[start:behind] if length >= LENT_FROM else data[start:behind]
        entries = {**dict(dict.items(found)), "__streamdata__": held}
        return StreamObject.initialize_from_dictionary(entries)

    def _unpack(self, number: int) -> None:
        """Take what is plain of an object stream, once; the rest is read by the library."""
        if number in self._unpacked:
            return
        self._unpacked.add(number)
        stream = self.get_object(IndirectObject(number, 0, self))
        if not isinstance(stream, StreamObject) or stream.get("/Type") != "/ObjStm":
            return
        count, first = stream.get("/N"), stream.get("/First")
        if not isinstance(count, NumberObject) or not isinstance(first, NumberObject):
            return
        for held, found in (self._plain.held(stream.get_data(), count, first) or {}).items():
            mine = self.xref_objStm.get(held, (None, None))[0] == number
            if found is not None and mine and (0, held) not in self.resolved_objects:
                self.cache_indirect_object(0, held, found)


def _large(reader: PdfReader, size: int) -> frozenset[int]:
    """Return the numbers of objects behind which much lies until the next one begins."""
    placed = sorted((at, n) for places in reader.xref.values() for n, at in places.items())
    ends = [at for at, _ in placed[1:]] + [size]
    return frozenset(n for (at, n), end in zip(placed, ends, strict=True) if end - at >= LENT_FROM)
