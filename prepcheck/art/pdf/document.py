"""A PDF as a whole: opened, its pages laid out in mm, and what it says of itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple, TypeVar

from pypdf.errors import LimitReachedError
from pypdf.generic import DictionaryObject

from prepcheck.art.damage import is_ours
from prepcheck.art.facts import DocumentFacts, OutputIntent
from prepcheck.art.limits import Limits
from prepcheck.art.model import Page
from prepcheck.art.pdf import active, claims
from prepcheck.art.pdf.boxes import page_geometry
from prepcheck.art.pdf.fonts import page_fonts
from prepcheck.art.pdf.guard import reading
from prepcheck.art.pdf.layers import LayerStates, read_layers
from prepcheck.art.pdf.lending import FileData
from prepcheck.art.pdf.objects import dictionary
from prepcheck.art.pdf.opening import OpenedPdf, opened_pdf
from prepcheck.art.pdf.page import PdfHandle, PdfPage
from prepcheck.art.pdf.tree import PageNode
from prepcheck.art.sniff import BLANK
from prepcheck.errors import ArtworkError, UnreadableError

HEADER_WITHIN = 1024
"""Bytes within which the header is looked for; writers put junk before it (from memory, the
implementation notes of the PDF Reference 1.7)."""

T = TypeVar("T")


class PdfFile(NamedTuple):
    """What is read from a PDF."""

    facts: DocumentFacts
    pages: tuple[Page, ...]
    lost: tuple[str, ...] = ()
    """What the file lacks, one sentence each."""


def read_pdf(path: Path, data: FileData, limits: Limits) -> PdfFile:
    """Read a PDF's structure; the content of pages is walked when it is asked for.

    Raises PasswordError where a password is needed and UnreadableError for what is damaged
    beyond use or above the limits.
    """
    troubles: list[str] = []
    start = max(data.find(b"%PDF-", 0, HEADER_WITHIN), 0)
    stray = len(data[:start].strip(BLANK))
    if start:
        data = data[start:]
        troubles += [] if stray else [f"{start} blank bytes stand before the PDF header"]
    with reading(path, limits, troubles):
        opened = opened_pdf(path, data, limits, troubles)
        if not opened.nodes:
            raise UnreadableError(f"{path.name}: the PDF has no pages; export it again")
        if not opened.sound:
            troubles.append(
                f"the page tree is damaged or too large; {len(opened.nodes)} pages were read"
            )
        read = _read(opened, path, data, limits, troubles)
    return read._replace(facts=replace(read.facts, stray_bytes=start if stray else 0))


def _read(
    opened: OpenedPdf, path: Path, data: FileData, limits: Limits, troubles: list[str]
) -> PdfFile:
    reader, nodes = opened.reader, opened.nodes
    catalog = reader.root_object
    sources = [node.page for node in nodes]

    def either(what: str, read: Callable[[], T], otherwise: T) -> T:
        return _either(troubles, what, read, otherwise)

    layers = either("the layers", lambda: read_layers(catalog), LayerStates())
    handle = PdfHandle(path, reader, layers, limits)
    pages = tuple(_page(index, node, handle, troubles) for index, node in enumerate(nodes))
    info = either("the Info dictionary", lambda: dictionary(reader.trailer, "Info"), None)
    said = either("the metadata", lambda: claims.claims(info, catalog, limits), claims.NOTHING)
    intents: tuple[OutputIntent, ...] = either(
        "the output intents", lambda: claims.output_intents(catalog, sources, limits), ()
    )
    files: tuple[str, ...] = either(
        "the embedded files", lambda: active.embedded_files(catalog, sources, limits), ()
    )
    troubles += said.troubles
    facts = DocumentFacts(
        version=claims.version(data[:HEADER_WITHIN], catalog),
        encrypted=opened.encrypted,
        pdfx=said.pdfx,
        trapped=said.trapped,
        producer=said.producer,
        output_intents=intents,
        layers=layers.layers,
        scripts=either("the actions", lambda: active.scripts(catalog, sources, limits), ()),
        form_fields=either("the form", lambda: len(active.form_fields(catalog, limits)), 0),
        embedded_files=files,
        media=either("the media", lambda: active.media(sources, limits), ()),
        troubles=tuple(dict.fromkeys(troubles)),
    )
    return PdfFile(facts, pages, opened.lost)


def _page(index: int, node: PageNode, handle: PdfHandle, troubles: list[str]) -> PdfPage:
    where, limits = f"page {index + 1}", handle.limits
    geometry = page_geometry(node)
    troubles += (f"{where}: {trouble}" for trouble in geometry.troubles)
    given = node.attribute("Resources")
    resources = given if isinstance(given, DictionaryObject) else DictionaryObject()
    return PdfPage(
        index=index,
        boxes=geometry.boxes,
        rotate=geometry.rotate,
        user_unit=geometry.user_unit,
        annotations=_either(
            troubles,
            f"{where}: the annotations",
            lambda: active.page_annotations(node.page, geometry.to_page, limits),
            (),
        ),
        fonts=_either(
            troubles,
            f"{where}: the fonts",
            lambda: page_fonts(node.page, resources, limits),
            (),
        ),
        document=handle,
        source=node.page,
        resources=resources,
        to_page=geometry.to_page,
    )


def _either(troubles: list[str], what: str, read: Callable[[], T], otherwise: T) -> T:
    """Return one fact, or a stand-in with a trouble where the file is damaged there."""
    try:
        return read()
    except (ArtworkError, MemoryError, LimitReachedError):
        raise
    except Exception as error:  # the library raises nearly anything on damaged objects
        if is_ours(error):
            raise
        troubles.append(f"{what} could not be read")
        return otherwise
