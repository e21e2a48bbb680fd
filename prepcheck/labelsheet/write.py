"""Writes a sheet as a PDF: the client's art, untouched, under the marks."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    RectangleObject,
    StreamObject,
)

from prepcheck import __version__
from prepcheck.art.pdf.guard import reading
from prepcheck.art.pdf.page import PdfHandle, PdfPage
from prepcheck.art.raster import RasterPage
from prepcheck.errors import UnreadableError, UsageError
from prepcheck.geometry import Affine
from prepcheck.labelsheet.art_pdf import pdf_form
from prepcheck.labelsheet.art_picture import picture_image
from prepcheck.labelsheet.catalog import common_intents, merged_layers
from prepcheck.labelsheet.mark_colours import ink_space
from prepcheck.labelsheet.marks import ALL, marks_pdf, one_plate
from prepcheck.labelsheet.model import Art, Layout
from prepcheck.labelsheet.slug import Band
from prepcheck.output import SHEET_MARK
from prepcheck.units import pt_from_mm

_ARCS = 16
"""Bézier arcs to the circle of the bleed; its radius is true within a part in ten million."""


def sheet_pdf(
    layout: Layout,
    arts: Sequence[Art],
    band: Band,
    inks: Sequence[str],
    looks: Mapping[str, tuple[float, ...]],
    *,
    title: str,
) -> bytes:
    """Return a sheet as a PDF file, the same bytes for the same sheet.

    Raises UnreadableError for art that is damaged, and UsageError for files meant for different
    output.
    """
    creator = f"prepcheck {__version__}"
    drawn = marks_pdf(layout, band, len(inks), title=title, creator=creator)
    writer = PdfWriter()
    writer.add_metadata({"/Title": title, "/Creator": creator, "/Subject": SHEET_MARK})
    page = writer.add_page(PdfReader(io.BytesIO(drawn)).pages[0])
    resources = page["/Resources"].get_object()
    assert isinstance(resources, DictionaryObject)
    spaces = {ALL: ink_space(inks, looks, writer)}
    spaces |= {one_plate(at): ink_space([ink], looks, writer) for at, ink in enumerate(inks)}
    resources[NameObject("/ColorSpace")] = DictionaryObject(
        {NameObject(f"/{key}"): writer._add_object(space) for key, space in spaces.items()}
    )
    objects = DictionaryObject()
    maps: list[Affine] = []
    for index, art in enumerate(arts):
        reference, to_page = _placed(art, writer)
        objects[NameObject(f"/Label{index + 1}")] = reference
        maps.append(to_page.then(art.to_piece))
    resources[NameObject("/XObject")] = objects
    below = StreamObject()
    below.set_data(_labels(layout, maps).encode())
    marks = page.raw_get("/Contents")
    page[NameObject("/Contents")] = ArrayObject(
        (writer._add_object(below.flate_encode()), *_references(marks, writer))
    )
    box = RectangleObject(
        (0, 0, *(FloatObject(round(pt_from_mm(s), 5)) for s in layout.paper.box[2:]))
    )
    for key in ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox"):
        page[NameObject(key)] = box
    _said_of_files(arts, writer)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _placed(art: Art, writer: PdfWriter) -> tuple[IndirectObject, Affine]:
    if isinstance(art.page, PdfPage):
        return pdf_form(art.page, writer)
    if isinstance(art.page, RasterPage):
        try:
            return picture_image(art.page, art.data, writer)
        except UnreadableError as error:
            raise UnreadableError(*(f"{art.name}: {line}" for line in error.lines)) from None
    raise UnreadableError(f"{art.name}: is of a kind that cannot be put on a sheet")


def _references(contents: object, writer: PdfWriter) -> list[IndirectObject]:
    if isinstance(contents, IndirectObject):
        held = contents.get_object()
        return list(held) if isinstance(held, ArrayObject) else [contents]
    assert isinstance(contents, StreamObject)
    return [writer._add_object(contents)]


def _labels(layout: Layout, maps: Sequence[Affine]) -> str:
    """Return the content that places each label, clipped to the circle of its bleed."""
    to_points = Affine.scale(pt_from_mm(1.0))
    radius = layout.piece.printed / 2
    lines = []
    for position in layout.positions:
        x, y = position.centre
        matrix = maps[position.label].then(Affine.turn(position.turn)).then(Affine.move(x, y))
        placed = " ".join(_number(value) for value in matrix.then(to_points))
        lines.append(
            f"q {_circle(pt_from_mm(x), pt_from_mm(y), pt_from_mm(radius))} W n "
            f"{placed} cm /Label{position.label + 1} Do Q"
        )
    return "\n".join(lines) + "\n"


def _number(value: float) -> str:
    return f"{value:.8f}".rstrip("0").rstrip(".").replace("-0.00000000", "0")


def _circle(x: float, y: float, radius: float) -> str:
    turn = 2 * math.pi / _ARCS
    handle = 4 / 3 * math.tan(turn / 4) * radius
    words = [f"{x + radius:.5f} {y:.5f} m"]
    for arc in range(_ARCS):
        (c0, s0), (c1, s1) = (
            (math.cos(angle), math.sin(angle)) for angle in (arc * turn, (arc + 1) * turn)
        )
        words.append(
            f"{x + radius * c0 - handle * s0:.5f} {y + radius * s0 + handle * c0:.5f} "
            f"{x + radius * c1 + handle * s1:.5f} {y + radius * s1 - handle * c1:.5f} "
            f"{x + radius * c1:.5f} {y + radius * s1:.5f} c"
        )
    return " ".join((*words, "h"))


def _said_of_files(arts: Sequence[Art], writer: PdfWriter) -> None:
    """Give the sheet what the files say as a whole: layers, output intent, version."""
    writer.pdf_header = "%PDF-1.7"
    handles: dict[int, tuple[str, PdfHandle]] = {}
    for art in arts:
        if isinstance(art.page, PdfPage):
            handles.setdefault(id(art.page.document), (art.name, art.page.document))
    if not handles:
        return
    first = next(iter(handles.values()))[1]
    with reading(first.path, first.limits):
        if any(handle.reader.pdf_header.startswith("%PDF-2") for _, handle in handles.values()):
            writer.pdf_header = "%PDF-2.0"
        catalogs = [(name, handle.reader.root_object) for name, handle in handles.values()]
        layers = merged_layers(catalogs, writer)
        intents, clash = common_intents(catalogs, writer)
    if clash:
        raise UsageError(clash)
    if layers is not None:
        writer.root_object[NameObject("/OCProperties")] = layers
    if intents is not None:
        writer.root_object[NameObject("/OutputIntents")] = intents
