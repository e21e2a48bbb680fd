"""Closing the circle: art drawn on a template, sent back in the four ways it comes.

The art is put on the template by pypdf, and pictures are made of it by poppler: neither shares
code with what draws templates or looks for guides. Every shipped spec is tried; a line counts as
found where found guides run along nine tenths of it.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.generic import NameObject, StreamObject

from prepcheck.art.open import open_art
from prepcheck.measure.trim import TrimRule, locate_trim
from prepcheck.run.printing import Printing
from prepcheck.run.settings import Settings
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.spec.places import places_of
from prepcheck.template.draw import draw_template
from prepcheck.template.pdf import template_pdf
from tests.checks.exams import findings

GROUND = "0.1 0.2 0.3 0 k"
SETTINGS = Settings()


@cache
def template_of(name: str) -> bytes:
    return template_pdf(draw_template(load_spec(name)))


def drawn_on(name: str, *, boxes: bool = True, flattened: bool = False) -> bytes:
    """Return a template with a ground out to the bleed on its layer for the art."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(template_of(name))))
    for page in writer.pages:
        left, bottom, right, top = (float(value) for value in page.bleedbox)
        ground = f"q {GROUND} {left} {bottom} {right - left} {top - bottom} re f Q"
        source = page.get_contents().get_data()  # type: ignore[union-attr]
        assert source.count(b"/OC /Art BDC EMC") == 1
        source = source.replace(b"/OC /Art BDC EMC", f"/OC /Art BDC {ground} EMC".encode())
        if flattened:
            source = re.sub(rb"/OC /\w+ BDC", b"", source).replace(b"EMC", b"")
        stream = StreamObject()
        stream.set_data(source)
        page[NameObject("/Contents")] = writer._add_object(stream.flate_encode())
        if not boxes:
            del page["/TrimBox"], page["/BleedBox"]
    if flattened:
        del writer.root_object["/OCProperties"]
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def own_pages(name: str) -> int:
    """Return how many pages of a piece differ from each other."""
    return 2 if name == "gatefold-12in" else 1


def exam_of(path: Path, name: str, pages: int | None = None) -> Exam:
    spec, art = load_spec(name), open_art(path)
    sheets = []
    with ThreadPoolExecutor(1) as pool:
        for page in art.pages[:pages]:
            outline = spec.outline_of(page.index)
            placement = locate_trim(
                page, outline, spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm, True,
                art.document.layers,
            )  # fmt: skip
            box = outline.bounds.grown(spec.bleed.wanted_mm + SETTINGS.margin_mm)
            made = Printing.begun(pool, page, placement.to_piece, box, SETTINGS).printing.result()
            sheets.append(
                Sheet(
                    page.index + 1, page, outline, placement, lambda _, view=made.view: view,
                    lambda _, plates=made.plates: plates,
                )
            )  # fmt: skip
    return Exam(spec, art, tuple(sheets))


def missed(exam: Exam) -> dict[str, float]:
    """Return the lines of the template that guide.printing did not mark, with the share marked."""
    marked: dict[int, list[np.ndarray]] = {}
    for finding in findings("guide.printing", exam):
        for mark in finding.where:
            path = np.array(mark.path, np.float64)
            steps = np.linspace(path[:-1], path[1:], 400 if len(path) < 20 else 8)
            marked.setdefault(finding.page or 1, []).append(steps.reshape(-1, 2))
    found: dict[str, float] = {}
    for sheet in exam.sheets:
        places = np.concatenate([np.empty((0, 2)), *marked.get(sheet.number, [])])
        for place in places_of(exam.spec, sheet.outline):
            ends = np.roll(place.points, -1, axis=0)
            walk = np.linspace(place.points, ends, 41)[:-1].reshape(-1, 2)
            if not place.closed:
                walk = np.linspace(place.points[0], place.points[1], 41)
            near = [
                bool((np.hypot(*(places - at).T) < 1.0).any())
                for at in walk[:: max(1, len(walk) // 160)]
            ]
            if np.mean(near) < 0.9:
                found[place.name] = float(np.mean(near))
    return found


@pytest.mark.parametrize("name", spec_names())
def test_with_its_layers_nothing_is_said_of_guides(name: str, tmp_path: Path) -> None:
    path = tmp_path / "art.pdf"
    path.write_bytes(drawn_on(name))
    exam = exam_of(path, name, own_pages(name))
    assert {sheet.placement.found_by for sheet in exam.sheets} == {TrimRule.TRIM_BOX}
    for check in (
        "guide.printing", "size.trim", "size.off-centre", "colour.inks", "colour.spot-clash",
        "file.layers", "text.unembedded", "hole.drawn",
    ):  # fmt: skip
        assert findings(check, exam) == []


@pytest.mark.parametrize("name", spec_names())
def test_without_its_trim_box_the_cut_lines_tell(name: str, tmp_path: Path) -> None:
    path = tmp_path / "art.pdf"
    path.write_bytes(drawn_on(name, boxes=False))
    art, spec = open_art(path), load_spec(name)
    for page in art.pages:
        bounds = spec.outline_of(page.index).bounds
        placement = locate_trim(
            page, spec.outline_of(page.index), 3.0, 1.0, True, art.document.layers
        )
        assert placement.found_by is TrimRule.CUT_LINES
        assert placement.size_mm == pytest.approx((bounds.width, bounds.height), abs=0.01)


@pytest.mark.parametrize("name", spec_names())
def test_flattened_into_inks_every_line_is_found(name: str, tmp_path: Path) -> None:
    path = tmp_path / "art.pdf"
    path.write_bytes(drawn_on(name, flattened=True))
    assert missed(exam_of(path, name, own_pages(name))) == {}


@pytest.mark.outside
@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="poppler is not installed")
@pytest.mark.parametrize("name", spec_names())
def test_flattened_into_a_picture_every_line_is_found(name: str, tmp_path: Path) -> None:
    path = tmp_path / "art.pdf"
    ppi = 300 if load_spec(name).outline_of().bounds.width < 200 else 200
    path.write_bytes(drawn_on(name, flattened=True))
    page = PdfReader(path).pages[0]
    subprocess.run(
        ["pdftoppm", "-r", str(ppi), "-f", "1", "-l", "1", "-singlefile", path, tmp_path / "art"],
        check=True,
    )
    left, bottom, right, top = (float(value) for value in page.bleedbox)
    high = float(page.mediabox.height)
    box = [round(v * ppi / 72) for v in (left, high - top, right, high - bottom)]
    # A pixel more on each side, so that rounding cuts no line at the edge.
    around = (box[0] - 1, box[1] - 1, box[2] + 1, box[3] + 1)
    picture = Image.open(tmp_path / "art.ppm").crop(around)
    picture.convert("CMYK").save(tmp_path / "art.tif", dpi=(ppi, ppi))
    exam = exam_of(tmp_path / "art.tif", name)
    assert missed(exam) == {}
