"""Draws the marks of a sheet: everything on it that is not the client's."""

from __future__ import annotations

import io
import math
from typing import Any

from prepcheck.geometry import Box, Point
from prepcheck.labelsheet.model import CutMark, Layout
from prepcheck.labelsheet.plan import ARC_MM, REGISTER_MM
from prepcheck.labelsheet.slug import NAME, TEXT, Band
from prepcheck.proof.pen import set_run
from prepcheck.proof.shipped_fonts import face_name
from prepcheck.proof.theme import TextStyle
from prepcheck.proof.typeset import clean, runs
from prepcheck.units import pt_from_mm

ALL = "AllPlates"
"""The colour space, among the page's resources, of every plate in use."""
LINE_MM, CROSS_MM, CASING_MM = 0.1, 0.12, 0.7
CROSS_REACH = 0.8
"""Share of the hole's radius that the drill cross takes: the rest is left to the drill."""


def one_plate(index: int) -> str:
    """Return the name among the page's resources of the space of one plate."""
    return f"Plate{index + 1}"


def marks_pdf(layout: Layout, band: Band, plates: int, *, title: str, creator: str) -> bytes:
    """Return a one-page PDF of the marks; its colour spaces `ALL` and `one_plate` are still to be
    put among its resources."""
    from reportlab.pdfgen.canvas import Canvas

    from prepcheck.proof.theme import FontFile

    paper = layout.paper
    out = io.BytesIO()
    canvas = Canvas(
        out, (pt_from_mm(paper.width), pt_from_mm(paper.height)), invariant=1, pageCompression=1,
        initialFontName=face_name(FontFile.TEXT),
    )  # fmt: skip
    canvas.setTitle(title)
    canvas.setCreator(creator)
    canvas.setLineCap(0)
    _in_all(canvas, plates, 1)
    canvas.setLineWidth(pt_from_mm(LINE_MM))
    for mark in layout.cut_marks:
        _cut_mark(canvas, mark)
    for place in layout.register_marks:
        _register_mark(canvas, place)
    _grain(canvas, band.grain, layout)
    x, y = band.text
    for line in band.lines:
        y -= TEXT.leading * 25.4 / 72
        _words(canvas, x, y + 0.7, line, TEXT)
    if layout.piece.hole is not None:
        _crosses(canvas, layout, layout.piece.hole, plates)
    for index, patch in enumerate(band.patches):
        canvas.addLiteral(f"/{one_plate(index)} cs 1 scn")
        box = patch.box
        _rectangle(canvas, box)
        _words(canvas, box.x0, box.y0 - 2.2, patch.ink, NAME)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _in_all(canvas: Any, plates: int, amount: int) -> None:
    tints = f"{amount} " * plates
    canvas.addLiteral(f"/{ALL} cs {tints}scn /{ALL} CS {tints}SCN")


def _line(canvas: Any, *points: tuple[float, float]) -> None:
    path = canvas.beginPath()
    (x, y), *rest = points
    path.moveTo(pt_from_mm(x), pt_from_mm(y))
    for x, y in rest:
        path.lineTo(pt_from_mm(x), pt_from_mm(y))
    canvas.drawPath(path, stroke=1, fill=0)


def _cut_mark(canvas: Any, mark: CutMark) -> None:
    cos, sin = math.cos(math.radians(mark.angle)), math.sin(math.radians(mark.angle))
    x, y = mark.centre
    _line(
        canvas,
        (x + mark.inner * cos, y + mark.inner * sin),
        (x + mark.outer * cos, y + mark.outer * sin),
    )
    half = math.degrees(ARC_MM / mark.inner)
    path = canvas.beginPath()
    left, low = pt_from_mm(x - mark.inner), pt_from_mm(y - mark.inner)
    right, high = pt_from_mm(x + mark.inner), pt_from_mm(y + mark.inner)
    path.arc(left, low, right, high, mark.angle - half, 2 * half)
    canvas.drawPath(path, stroke=1, fill=0)


def _register_mark(canvas: Any, at: Point) -> None:
    half = REGISTER_MM / 2
    _line(canvas, (at.x - half, at.y), (at.x + half, at.y))
    _line(canvas, (at.x, at.y - half), (at.x, at.y + half))
    canvas.circle(pt_from_mm(at.x), pt_from_mm(at.y), pt_from_mm(half * 0.6), stroke=1, fill=0)


def _grain(canvas: Any, box: Box, layout: Layout) -> None:
    """Draw an arrow with two heads along the fibres, and the word."""
    _words(canvas, box.x0, box.y1 - 2.0, "grain", NAME)
    x, y = box.x0 + 5.0, box.y0 + 3.0
    reach, head = 3.0, 1.2
    level = layout.paper.grain_is_level
    if not level:
        x = box.x1 - 2.0
        y = box.centre.y
    for sign in (-1, 1):
        tip = (x + sign * reach, y) if level else (x, y + sign * reach)
        for side in (-0.5, 0.5):
            back = (
                (tip[0] - sign * head, y + side * head)
                if level
                else (x + side * head, tip[1] - sign * head)
            )
            _line(canvas, (x, y), tip, back)


def _crosses(canvas: Any, layout: Layout, hole: float, plates: int) -> None:
    """Draw a cross in each hole, left clear round it so that it shows on any art."""
    reach = hole / 2 * CROSS_REACH
    for amount, width, arm in ((0, CASING_MM, reach), (1, CROSS_MM, reach - CASING_MM / 4)):
        _in_all(canvas, plates, amount)
        canvas.setLineWidth(pt_from_mm(width))
        for position in layout.positions:
            x, y = position.centre
            _line(canvas, (x - arm, y), (x + arm, y))
            _line(canvas, (x, y - arm), (x, y + arm))


def _rectangle(canvas: Any, box: Box) -> None:
    canvas.rect(
        pt_from_mm(box.x0), pt_from_mm(box.y0), pt_from_mm(box.width), pt_from_mm(box.height),
        stroke=0, fill=1,
    )  # fmt: skip


def _words(canvas: Any, x: float, y: float, line: str, style: TextStyle) -> None:
    text = canvas.beginText(pt_from_mm(x), pt_from_mm(y))
    for part in runs(clean(line), style):
        set_run(text, part, 0)
    canvas.drawText(text)
