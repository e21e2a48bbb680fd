"""A client's PDF page as a form on the sheet, its content and resources as they are."""

from __future__ import annotations

from typing import Any

from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    FloatObject,
    IndirectObject,
    NameObject,
    StreamObject,
)

from prepcheck.art.pdf.guard import reading
from prepcheck.art.pdf.objects import dictionary, entry, resolved
from prepcheck.art.pdf.page import PdfPage
from prepcheck.art.pdf.streams import page_content
from prepcheck.geometry import Affine


def pdf_form(page: PdfPage, writer: PdfWriter) -> tuple[IndirectObject, Affine]:
    """Return a page as a Form XObject (ISO 32000-2, 8.10), and the map from its space to the page
    in mm.

    A content stream is copied as it is stored; several are joined, as they are read. The page's
    transparency group becomes the form's, so that it blends as it did. Raises UnreadableError for
    what is damaged.
    """
    handle = page.document
    with reading(handle.path, handle.limits):
        content = resolved(page.source.get("/Contents"))
        form: Any
        if isinstance(content, StreamObject):
            form = content.clone(writer, force_duplicate=True)
            form = form if isinstance(form, StreamObject) else resolved(form)
            reference = form.indirect_reference or writer._add_object(form)
        else:
            form = DecodedStreamObject()
            form.set_data(page_content(page.source, handle.limits))
            form = form.flate_encode()
            reference = writer._add_object(form)
        media = page.to_page.inverse().box(page.boxes.media)
        form[NameObject("/Type")] = NameObject("/XObject")
        form[NameObject("/Subtype")] = NameObject("/Form")
        form[NameObject("/BBox")] = ArrayObject(FloatObject(round(side, 6)) for side in media)
        form[NameObject("/Resources")] = page.resources.clone(writer, force_duplicate=False)
        group = dictionary(page.source, "Group")
        if group is not None and entry(group, "S") == "/Transparency":
            form[NameObject("/Group")] = group.clone(writer)
    return reference, page.to_page
