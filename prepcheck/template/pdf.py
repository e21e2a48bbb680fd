"""Writes a template as a PDF with its guides on processing-steps layers (ISO 19593-1)."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import Any

from prepcheck.geometry import Box, Circle
from prepcheck.proof.fonts import face_name
from prepcheck.proof.pen import set_run
from prepcheck.proof.theme import Face
from prepcheck.proof.typeset import clean, runs
from prepcheck.spec.places import Step
from prepcheck.template.look import SPOTS
from prepcheck.template.model import ART, LAYER_NAMES, Drawing, Fill, Mark, Stroke, Template, Words
from prepcheck.units import pt_from_mm

_ARCS = 8
"""Bézier arcs to a circle; its radius is true within 2 parts in a million."""
_ART_KEY = "Art"


def template_pdf(template: Template) -> bytes:
    """Return a template as a PDF 1.7 file, the same bytes for the same template."""
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1, initialFontName=face_name(Face.TEXT))
    canvas.setTitle(f"Template: {template.title}")
    canvas.setCreator("prepcheck")
    canvas.setSubject(f"Template of the spec {template.spec}, at true size")
    for page in template.pages:
        _draw(canvas, page)
        canvas.showPage()
    canvas.save()
    return _layered(out.getvalue(), template)


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


def _layered(data: bytes, template: Template) -> bytes:
    """Give a drawn file its layers, its boxes and its version."""
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import (
        ArrayObject,
        DictionaryObject,
        FloatObject,
        IndirectObject,
        NameObject,
        RectangleObject,
        TextStringObject,
    )  # fmt: skip

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
    writer.pdf_header = "%PDF-1.7"

    def names(*words: str) -> ArrayObject:
        return ArrayObject(NameObject(f"/{word}") for word in words)

    def table(**entries: Any) -> DictionaryObject:
        return DictionaryObject({NameObject(f"/{key}"): value for key, value in entries.items()})

    def group(name: str, step: Step | None) -> IndirectObject:
        own = table(Type=NameObject("/OCG"), Name=TextStringObject(name),
                    Intent=names("View", "Design"))  # fmt: skip
        if step is not None:
            kind = {} if step.kind is None else {"GTS_ProcStepsType": step.kind}
            own[NameObject("/GTS_Metadata")] = table(
                GTS_ProcStepsGroup=NameObject(f"/{step.group}"),
                **{key: NameObject(f"/{value}") for key, value in kind.items()},
            )
            own[NameObject("/Usage")] = table(
                View=table(ViewState=NameObject("/ON")), Print=table(PrintState=NameObject("/OFF"))
            )
        return writer._add_object(own)

    steps = list(dict.fromkeys(layer.step for page in template.pages for layer in page.layers))
    art = group(ART, None)
    guides = {step: group(LAYER_NAMES[step], step) for step in steps}
    listing = ArrayObject((*reversed(guides.values()), art))

    def rule(event: str) -> DictionaryObject:
        return table(Event=NameObject(f"/{event}"), Category=names(event),
                     OCGs=ArrayObject(guides.values()))  # fmt: skip

    writer.root_object[NameObject("/OCProperties")] = table(
        OCGs=ArrayObject((art, *guides.values())),
        D=table(
            Name=TextStringObject("Template"), Creator=TextStringObject("prepcheck"),
            BaseState=NameObject("/ON"), Order=listing, Locked=ArrayObject(guides.values()),
            ListMode=NameObject("/AllPages"), AS=ArrayObject((rule("View"), rule("Print"))),
        ),
    )  # fmt: skip
    writer.root_object[NameObject("/PageMode")] = NameObject("/UseOC")
    writer.root_object[NameObject("/ViewerPreferences")] = table(PrintScaling=NameObject("/None"))
    for page, drawing in zip(writer.pages, template.pages, strict=True):
        resources = page["/Resources"].get_object()
        own_steps = [layer.step for layer in drawing.layers]
        assert isinstance(resources, DictionaryObject)
        resources[NameObject("/Properties")] = table(
            **{_ART_KEY: art}, **{step.word: guides[step] for step in own_steps}
        )
        for key, box in (
            ("MediaBox", drawing.media), ("CropBox", drawing.media),
            ("BleedBox", drawing.bleed), ("TrimBox", drawing.trim),
        ):  # fmt: skip
            page[NameObject(f"/{key}")] = RectangleObject(_corners(box, drawing.media, FloatObject))
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _corners(box: Box, media: Box, kind: Any) -> Sequence[Any]:
    return tuple(
        kind(round(pt_from_mm(value), 5))
        for value in (
            box.x0 - media.x0, box.y0 - media.y0, box.x1 - media.x0, box.y1 - media.y0
        )
    )  # fmt: skip
