"""What tests of closing the circle share: art on a template, and what guide.printing misses of it.

The art is put on the template by pypdf, which shares no code with what draws templates or looks
for guides.
"""

from __future__ import annotations

import io
import re
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

import numpy as np
from pypdf import PdfReader, PdfWriter
from pypdf.generic import NameObject, StreamObject

from prepcheck.art.open import open_art
from prepcheck.measure.trim import locate_trim
from prepcheck.run.printing import Printing
from prepcheck.run.settings import Settings
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.load import load_spec
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


ONE_OF_EACH = (
    "label-7in-large-hole", "label-12in", "sticker-round-50mm", "sticker-square-50mm",
    "insert-12in", "inner-7in", "obi-12in", "jacket-7in", "jacket-12in-flaps", "gatefold-12in",
    "gatefold-7in-flat",
)  # fmt: skip
"""A piece of each kind that is drawn otherwise; others differ from these in size only."""


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
        places = places[np.argsort(places[:, 0])]
        for place in places_of(exam.spec, sheet.outline):
            ends = np.roll(place.points, -1, axis=0)
            walk = np.linspace(place.points, ends, 41)[:-1].reshape(-1, 2)
            if not place.closed:
                walk = np.linspace(place.points[0], place.points[1], 41)
            near = [_has_near(places, at) for at in walk[:: max(1, len(walk) // 160)]]
            if np.mean(near) < 0.9:
                found[place.name] = float(np.mean(near))
    return found


def _has_near(places: np.ndarray, at: np.ndarray) -> bool:
    """Say whether one of places (n, 2), sorted by x, lies within 1 mm of another."""
    first, end = np.searchsorted(places[:, 0], (at[0] - 1.0, at[0] + 1.0))
    return bool((np.hypot(*(places[first:end] - at).T) < 1.0).any())
