"""Opening a PDF: as it says it is laid out, or, where that is wrong, by its objects."""

from __future__ import annotations

import io
from pathlib import Path
from typing import NamedTuple

from pypdf import PasswordType, PdfReader
from pypdf.errors import LimitReachedError
from pypdf.generic import DictionaryObject, IndirectObject, StreamObject

from prepcheck.art.damage import is_ours
from prepcheck.art.limits import Limits
from prepcheck.art.pdf.guard import asks_for_memory
from prepcheck.art.pdf.lending import FileData, as_stream
from prepcheck.art.pdf.reader import HEADER, Reader
from prepcheck.art.pdf.rebuild import Rebuilt, guards_attachments_only, rebuilt
from prepcheck.art.pdf.tree import PageNode, page_nodes
from prepcheck.errors import ArtworkError, PasswordError, UnreadableError

MOST_NAMED = 5
"""Missing objects that are named."""


class OpenedPdf(NamedTuple):
    """An open PDF: its pages, whether their tree is sound, and what the file lacks."""

    reader: Reader
    nodes: list[PageNode]
    sound: bool
    encrypted: bool
    lost: tuple[str, ...] = ()


def opened_pdf(path: Path, data: FileData, limits: Limits, troubles: list[str]) -> OpenedPdf:
    """Open a PDF; where its list of objects is missing or wrong, it is made anew, which is added
    to `troubles`.

    Raises PasswordError where a password is needed, UnreadableError or what the library raises
    for what is damaged beyond use. To be called inside `guard.reading`.
    """
    before = list(troubles)
    error: Exception | None = None
    opened = None
    try:
        opened = _opened(path, data, limits)
        fault = _fault(opened, data, heard=len(troubles) > len(before))
        if fault is None:
            return opened
    except ArtworkError:
        whole = bytes(data)
        if not guards_attachments_only(whole, limits):
            raise
        new = rebuilt(whole, limits, _unpacked, encrypted=False)
        return _opened(path, new.data, limits)._replace(encrypted=True)
    except Exception as raised:  # the library raises nearly anything on damaged files
        if asks_for_memory(raised) or is_ours(raised):
            raise
        fault, error = "cannot be read", raised
    try:
        new = rebuilt(bytes(data), limits, _unpacked)
        again = _opened(path, new.data, limits)
    except PasswordError:
        raise
    except Exception as raised:
        if is_ours(raised):
            raise
        if opened is None or not opened.nodes:
            raise (error or raised) from raised
        return opened
    if opened is not None and len(opened.nodes) > len(again.nodes):
        return opened
    del troubles[len(before) :]
    if new.shortened:
        troubles.append("a number of more than 40 digits was read as a very large one")
    else:
        troubles.append(
            f"the list of the PDF's objects (cross-reference) {fault}; "
            f"it was made anew from the {new.listed} objects found"
        )
    return again._replace(lost=_lost(new))


def _opened(path: Path, data: FileData, limits: Limits) -> OpenedPdf:
    reader = _reader(path, data, limits)
    nodes, sound = page_nodes(reader.root_object, limits)
    return OpenedPdf(reader, nodes, sound, reader.is_encrypted)


def _reader(path: Path, data: FileData, limits: Limits) -> Reader:
    try:
        reader = Reader(as_stream(data), xref_stream_maximum_entries=limits.objects)
        locked = reader.is_encrypted and reader.decrypt("") == PasswordType.NOT_DECRYPTED
    except NotImplementedError as error:
        raise UnreadableError(
            f"{path.name}: the PDF is protected in a way that cannot be opened here; "
            "export it without protection"
        ) from error
    if locked:
        raise PasswordError(
            f"{path.name}: the PDF opens only with a password; export it without protection"
        )
    count = sum(map(len, reader.xref.values())) + len(reader.xref_objStm)
    if count > limits.objects:
        raise LimitReachedError(f"{count} objects")
    if not reader.is_encrypted:
        reader.lend(data)
    return reader


def _fault(opened: OpenedPdf, data: FileData, heard: bool) -> str | None:
    """Return what is wrong with a file's own list of its objects, None where it is right."""
    if heard:
        return "is damaged"
    reader = opened.reader
    for generation, places in reader.xref.items():
        free = reader.xref_free_entry.get(generation, {})
        for number, place in places.items():
            if not place or free.get(number):
                continue
            header = HEADER.match(data, place)
            if header is None or (int(header[1]), int(header[2])) != (number, generation):
                return "points to wrong places"
    root = reader.trailer.raw_get("/Root") if "/Root" in reader.trailer else None
    if not isinstance(root, IndirectObject) or not _is_catalog(reader, root):
        return "does not lead to the pages"
    return None if opened.nodes and opened.sound else "does not lead to all pages"


def _is_catalog(reader: Reader, root: IndirectObject) -> bool:
    held = reader.get_object(root)
    return isinstance(held, DictionaryObject) and held.get("/Type") == "/Catalog"


def _unpacked(data: bytes, number: int) -> bytes:
    """Return the decoded data of one stream; empty where it is none."""
    reader = PdfReader(io.BytesIO(data))
    if reader.is_encrypted:
        reader.decrypt("")
    held = reader.get_object(number)
    return held.get_data() if isinstance(held, StreamObject) else b""


def _lost(new: Rebuilt) -> tuple[str, ...]:
    """Return what a file that was put together again lacks."""
    if not new.missing:
        return ()
    named = ", ".join(map(str, sorted(new.missing)[:MOST_NAMED]))
    more = f" and {len(new.missing) - MOST_NAMED} more" if len(new.missing) > MOST_NAMED else ""
    return (f"objects that the PDF needs are not in it (number {named}{more})",)
