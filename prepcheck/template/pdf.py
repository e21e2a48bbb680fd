"""Writes a template as a PDF with its guides on processing-steps layers (ISO 19593-1)."""

from __future__ import annotations

import io
import math
from typing import Any

from prepcheck.geometry import Box, Circle
from prepcheck.proof.pen import set_run
from prepcheck.proof.shipped_fonts import face_name
from prepcheck.proof.theme import FontFile
from prepcheck.proof.typeset import clean, runs
from prepcheck.spec.places import Step
from prepcheck.template.model import ART, LAYER_NAMES, Drawing, Fill, Mark, Stroke, Template, Words
from prepcheck.template.styles import SPOTS
from prepcheck.units import pt_from_mm

_ARCS = 8
"""Bézier arcs to a circle; its radius is true within 2 parts in a million."""
_ART_KEY = "Art"


def template_pdf(template: Template) -> bytes:
    """Return a template as a PDF 1.7 file, the same bytes for the same template."""
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(
        out,
        invariant=1,
        pageCompression=1,
        initialFontName=face_name(FontFile.TEXT),
        pdfVersion=(1, 7),
    )
    canvas.setTitle(f"Template: {template.title}")
    canvas.setCreator("prepcheck")
    canvas.setSubject(f"Template of the spec {template.spec}, at true size")
    layers = _layers(canvas, template)
    for page in template.pages:
        _draw(canvas, page)
        canvas.showPage()
        _put_on(canvas, page, layers)
    canvas.save()
    return out.getvalue()


def _draw(canvas: Any, page: Drawing) -> None:
    canvas.setPageSize((pt_from_mm(page.media.width), pt_from_mm(page.media.height)))
    canvas.setStrokeOverprint(True)
    canvas.setFillOverprint(True)
    canvas.setOverprintMask(1)
    canvas.setLineJoin(0)
    canvas.addLiteral(f"/OC /{_ART_KEY} BDC EMC")
    for layer in page.layers:
        canvas.addLiteral(f"/OC /{layer.step.word} BDC")
        for mark in layer.marks:
            _draw_mark(canvas, mark, page.media)
        canvas.addLiteral("EMC")


def _draw_mark(canvas: Any, mark: Mark, media: Box) -> None:
    from reportlab.lib.colors import CMYKColorSep

    colour = CMYKColorSep(*SPOTS[mark.ink], spotName=mark.ink.word, density=mark.tint)
    if isinstance(mark, Words):
        _draw_words(canvas, mark, media, colour)
        return
    path = canvas.beginPath()
    if isinstance(mark, Stroke) and mark.circle is not None:
        _trace_circle(path, mark.circle, media)
    else:
        (x, y), *rest = mark.points
        path.moveTo(pt_from_mm(x - media.x0), pt_from_mm(y - media.y0))
        for x, y in rest:
            path.lineTo(pt_from_mm(x - media.x0), pt_from_mm(y - media.y0))
        if isinstance(mark, Fill) or mark.closed:
            path.close()
    if isinstance(mark, Fill):
        canvas.setFillColor(colour)
        canvas.drawPath(path, stroke=0, fill=1)
        return
    canvas.setStrokeColor(colour)
    canvas.setLineWidth(pt_from_mm(mark.weight_mm))
    canvas.setDash([pt_from_mm(length) for length in mark.dash_mm])
    canvas.drawPath(path, stroke=1, fill=0)


def _trace_circle(path: Any, circle: Circle, media: Box) -> None:
    x, y, radius = (
        pt_from_mm(circle.x - media.x0), pt_from_mm(circle.y - media.y0), pt_from_mm(circle.radius)
    )  # fmt: skip
    turn = 2 * math.pi / _ARCS
    handle = 4 / 3 * math.tan(turn / 4) * radius
    path.moveTo(x + radius, y)
    for i in range(_ARCS):
        (c0, s0), (c1, s1) = (
            (math.cos(angle), math.sin(angle)) for angle in (i * turn, (i + 1) * turn)
        )
        path.curveTo(
            x + radius * c0 - handle * s0, y + radius * s0 + handle * c0,
            x + radius * c1 + handle * s1, y + radius * s1 - handle * c1,
            x + radius * c1, y + radius * s1,
        )  # fmt: skip
    path.close()


def _draw_words(canvas: Any, words: Words, media: Box, colour: Any) -> None:
    parts = runs(clean(words.line), words.style)
    if not parts:
        return
    width = sum(part.width for part in parts) - words.style.tracking
    canvas.saveState()
    canvas.translate(pt_from_mm(words.x - media.x0), pt_from_mm(words.y - media.y0))
    if words.turn:
        canvas.rotate(words.turn)
    text = canvas.beginText(-words.set.value * width, 0)
    text.setFillColor(colour)
    text.setCharSpace(words.style.tracking)
    for part in parts:
        set_run(text, part, words.style.tracking)
    text.setCharSpace(0)
    canvas.drawText(text)
    canvas.restoreState()


def _layers(canvas: Any, template: Template) -> dict[str, Any]:
    """Give a file its layers; return them by the words they go by on its pages."""
    from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFString

    document = canvas._doc

    def names(*words: str) -> Any:
        return PDFArray([PDFName(word) for word in words])

    def table(**entries: Any) -> Any:
        return PDFDictionary(entries)

    def group(name: str, step: Step | None) -> Any:
        own = table(Type=PDFName("OCG"), Name=PDFString(name), Intent=names("View", "Design"))
        if step is not None:
            kind = {} if step.kind is None else {"GTS_ProcStepsType": PDFName(step.kind)}
            own["GTS_Metadata"] = table(GTS_ProcStepsGroup=PDFName(step.group), **kind)
            own["Usage"] = table(
                View=table(ViewState=PDFName("ON")), Print=table(PrintState=PDFName("OFF"))
            )
        return document.Reference(own)

    steps = dict.fromkeys(layer.step for page in template.pages for layer in page.layers)
    art = group(ART, None)
    guides = {step.word: group(LAYER_NAMES[step], step) for step in steps}

    def rule(event: str) -> Any:
        return table(Event=PDFName(event), Category=names(event), OCGs=PDFArray([*guides.values()]))

    properties = table(
        OCGs=PDFArray([art, *guides.values()]),
        D=table(
            Name=PDFString("Template"), Creator=PDFString("prepcheck"), BaseState=PDFName("ON"),
            Order=PDFArray([*reversed(guides.values()), art]), Locked=PDFArray([*guides.values()]),
            ListMode=PDFName("AllPages"), AS=PDFArray([rule("View"), rule("Print")]),
        ),
    )  # fmt: skip
    catalog = document.Catalog
    # What a catalog holds is listed in its class, where layers are not.
    catalog.__Defaults__ = {**catalog.__Defaults__, "OCProperties": properties}
    catalog.PageMode = PDFName("UseOC")
    catalog.ViewerPreferences = table(PrintScaling=PDFName("None"))
    return {_ART_KEY: art, **guides}


def _put_on(canvas: Any, drawing: Drawing, layers: dict[str, Any]) -> None:
    """Give the page that was drawn last its boxes and the layers that are on it."""
    from reportlab.pdfbase.pdfdoc import PDFArray, PDFResourceDictionary

    document = canvas._doc
    page = document.idToObject[f"Page{canvas.getPageNumber() - 1}"]
    own = {_ART_KEY, *(layer.step.word for layer in drawing.layers)}
    resources = PDFResourceDictionary(
        ExtGState=page.ExtGState, Properties={key: layers[key] for key in layers if key in own}
    )
    resources.basicFonts()
    resources.setColorSpace(page._colorsUsed)
    page.Resources = resources
    media = drawing.media
    for key, box in (
        ("MediaBox", media), ("CropBox", media), ("BleedBox", drawing.bleed),
        ("TrimBox", drawing.trim),
    ):  # fmt: skip
        setattr(page, key, PDFArray(_corners(box, media)))


def _corners(box: Box, media: Box) -> list[str]:
    """Return a box in points, as they are written: reportlab would round them."""
    return [
        f"{pt_from_mm(value):.5f}"
        for value in (box.x0 - media.x0, box.y0 - media.y0, box.x1 - media.x0, box.y1 - media.y0)
    ]
