"""Closing the circle from an SVG template: art drawn in its art layer, made a print PDF.

That is done twice: by Chromium, where it is installed, and by a reading of the SVG's elements of
our own, which shares no code with what writes them. A piece of each kind of outline is tried: a
disc with its hole, an upright sheet, panels with folds, and panels with a zone for the barcode.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Callable
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import RectangleObject

from prepcheck.measure.trim import TrimRule
from prepcheck.spec.load import load_spec
from prepcheck.template.draw import draw_template
from prepcheck.template.svg import STEP_ATTRIBUTE, template_svg
from tests.checks.exams import findings
from tests.factories import disc_path, one_page
from tests.template.closing import exam_of, missed

SVG = "{http://www.w3.org/2000/svg}"
PIECES = ("label-12in", "sticker-square-50mm", "obi-12in", "jacket-7in")
PRINTED = ("label-12in", "obi-12in")
"""Those that Chromium prints."""
PT = 72 / 25.4
CHROMIUM = shutil.which("chromium")


@cache
def template_of(name: str) -> bytes:
    return template_svg(draw_template(load_spec(name)), 0)


def layers_of(svg: ElementTree.Element) -> dict[str, ElementTree.Element]:
    """Return the groups of an SVG by the processing step that each names."""
    return {g.get(STEP_ATTRIBUTE, g.get("id", "")): g for g in svg.iter(f"{SVG}g")}


def box_of(layer: ElementTree.Element) -> tuple[float, float, float, float]:
    """Return the box round what a layer draws, in mm from the left and the top."""
    corners = []
    for element in layer:
        if element.tag == f"{SVG}circle":
            x, y, r = (float(element.get(key, "")) for key in ("cx", "cy", "r"))
            corners += [(x - r, y - r), (x + r, y + r)]
        else:
            corners += points_of(element)
    (left, top), (right, bottom) = np.min(corners, axis=0), np.max(corners, axis=0)
    return float(left), float(top), float(right), float(bottom)


def points_of(element: ElementTree.Element) -> list[tuple[float, float]]:
    places = (pair.split(",") for pair in element.get("points", "").split())
    return [(float(x), float(y)) for x, y in places]


def drawn_on(name: str, *, guides: bool) -> ElementTree.Element:
    """Return a template with a ground out to the bleed in its art layer, its guides shown or, as
    drawing programs do it with layers that are switched off, left out."""
    svg = ElementTree.fromstring(template_of(name))
    layers = layers_of(svg)
    left, top, right, bottom = box_of(layers["Structural/Bleed"])
    place = {"x": left, "y": top, "width": right - left, "height": bottom - top}
    ground = {key: str(value) for key, value in place.items()}
    ElementTree.SubElement(layers["art"], f"{SVG}rect", {**ground, "fill": "#d8c8a8"})
    if not guides:
        for step, layer in layers.items():
            if step != "art" and layer in list(svg):
                svg.remove(layer)
    return svg


def by_chromium(svg: ElementTree.Element, folder: Path) -> bytes:
    """Return an SVG printed by Chromium on a page of its own size."""
    page = f"@page {{ size: {svg.get('width')} {svg.get('height')}; margin: 0 }}"
    style = f"<style>{page} body {{ margin: 0 }} svg {{ display: block }}</style>"
    ElementTree.register_namespace("", SVG.strip("{}"))
    html = folder / "page.html"
    html.write_text(f"<!DOCTYPE html>{style}{ElementTree.tostring(svg, 'unicode')}")
    made = folder / "page.pdf"
    subprocess.run(
        [
            str(CHROMIUM), "--headless=new", "--no-sandbox", "--disable-gpu",
            "--no-pdf-header-footer", f"--user-data-dir={folder / 'profile'}",
            f"--print-to-pdf={made}", html.as_uri(),
        ],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    return made.read_bytes()


def by_hand(svg: ElementTree.Element, folder: Path) -> bytes:
    """Return the rectangles, circles and polygons of an SVG as a PDF page in inks."""
    wide, high = (float(value) for value in svg.get("viewBox", "").split()[2:])
    parts = [f"1 0 0 -1 0 {high} cm"]
    for element in svg.iter():
        kind = element.tag.removeprefix(SVG)
        if kind == "rect":
            x, y, w, h = (element.get(key) for key in ("x", "y", "width", "height"))
            path = f"{x} {y} {w} {h} re"
        elif kind == "circle":
            x, y, r = (float(element.get(key, "")) for key in ("cx", "cy", "r"))
            path = disc_path(x, y, r)
        elif kind in ("polygon", "polyline"):
            first, *rest = points_of(element)
            path = f"{first[0]} {first[1]} m " + " ".join(f"{x} {y} l" for x, y in rest)
            path += " h" if kind == "polygon" else ""
        else:
            continue
        fill, stroke = element.get("fill", "none"), element.get("stroke", "none")
        if fill != "none":
            parts.append(f"{inks_of(fill)} k {path} f")
        if stroke != "none":
            dash = element.get("stroke-dasharray", "")
            width = element.get("stroke-width")
            parts.append(f"q {width} w [{dash}] 0 d {inks_of(stroke)} K {path} S Q")
    return one_page("\n".join(parts), (wide, high))


def inks_of(colour: str) -> str:
    red, green, blue = (int(part, 16) / 255 for part in re.findall("..", colour[1:]))
    return f"{1 - red:.3f} {1 - green:.3f} {1 - blue:.3f} 0"


def cropped(pdf: bytes, name: str, path: Path) -> Path:
    """Write a page cut to the bleed, with the TrimBox that drawing programs give such a page."""
    layers = layers_of(ElementTree.fromstring(template_of(name)))
    (page,) = PdfReader(io.BytesIO(pdf)).pages
    top = float(page.mediabox.top)

    def box(layer: str) -> RectangleObject:
        left, high, right, low = (value * PT for value in box_of(layers[layer]))
        return RectangleObject((left, top - low, right, top - high))

    page.mediabox = page.cropbox = page.bleedbox = box("Structural/Bleed")
    page.trimbox = box("Structural/Cutting")
    writer = PdfWriter()
    writer.add_page(page)
    writer.write(path)
    return path


Way = Callable[[ElementTree.Element, Path], bytes]
_OUTSIDE = [
    pytest.mark.outside,
    pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed"),
]
TRIED = [
    *(pytest.param(name, by_hand, id=f"{name}-by-hand") for name in PIECES),
    *(pytest.param(n, by_chromium, id=f"{n}-chromium", marks=_OUTSIDE) for n in PRINTED),
]


@pytest.mark.parametrize(("name", "made"), TRIED)
def test_art_alone_passes_with_nothing_about_guides(name: str, made: Way, tmp_path: Path) -> None:
    pdf = made(drawn_on(name, guides=False), tmp_path)
    exam = exam_of(cropped(pdf, name, tmp_path / "art.pdf"), name)
    (sheet,) = exam.sheets
    assert sheet.placement.found_by is TrimRule.TRIM_BOX
    for check in ("guide.printing", "size.trim", "size.off-centre", "hole.drawn", "bleed.short"):
        assert findings(check, exam) == []


@pytest.mark.parametrize(("name", "made"), TRIED)
def test_with_its_guides_printed_every_line_is_found(name: str, made: Way, tmp_path: Path) -> None:
    pdf = made(drawn_on(name, guides=True), tmp_path)
    exam = exam_of(cropped(pdf, name, tmp_path / "art.pdf"), name)
    assert missed(exam) == {}
