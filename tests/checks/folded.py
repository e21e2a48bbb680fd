"""Small sleeves with type where a test wants it, for tests of folds and spines."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from prepcheck.art.facts import DocumentFacts
from prepcheck.art.model import Content, PathItem, TextRun
from prepcheck.art.open import open_art
from prepcheck.geometry import Box, Point, Quad
from prepcheck.measure.trim import locate_trim
from prepcheck.order import Order
from prepcheck.press.render import render_view
from prepcheck.press.separate.plates import make_plates
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.model import Spec
from prepcheck.tables import read_table
from tests.checks.exams import box_cover, make_exam, scene, sleeve_spec, text

SIDE = 60.0
"""Width and height of a face."""

_TURNS = {"up": 0, "left": 1, "down": 2, "right": 3}


def folded_spec(spine_mm: float = 3.0, **changes: Any) -> Spec:
    """Return back, spine, front of 60 mm with folds 0.5 mm / 1 mm clear and rules for the spine."""
    face = {"width_mm": SIDE, "height_mm": SIDE}
    values: dict[str, Any] = {
        "outline": {
            "kind": "panels",
            "trim_tolerance_mm": 1.0,
            "panels": [
                {"name": "back", **face},
                {"name": "spine", "kind": "spine", "width_mm": spine_mm, "height_mm": SIDE},
                {"name": "front", **face},
            ],
        },
        "clearance": {
            "print_to_cut_mm": 1.5,
            "trim": {"least_mm": 2, "wanted_mm": 3, "frame_wanted_mm": 5},
            "fold": {"least_mm": 0.5, "wanted_mm": 1.0},
        },
        "fold": {"tolerance_mm": 1.0, "colour_off_mm": 0.5, "colour_overlap_mm": 1.0},
        "glue": {"ink_overlap_mm": 3.0},
        "spine": {
            "widths": [
                {"discs": 1, "least_mm": 3.0, "most_mm": 4.1},
                {"discs": 2, "least_mm": 5.0, "most_mm": 5.0},
            ],
            "width_tolerance_mm": 0.5,
            "off_centre": {"wanted_mm": 0.5, "most_mm": 1.0},
        },
        **changes,
    }
    return sleeve_spec(**values)


def letters(box: Box, string: str = "TYPE", top: str = "up", count: int = 4) -> TextRun:
    """Return type that fills a box, its top pointing up, down, left or right."""
    across = top in ("up", "down")
    step = (box.width if across else box.height) / count
    cells = [
        Box(box.x0 + i * step, box.y0, box.x0 + (i + 0.9) * step, box.y1)
        if across
        else Box(box.x0, box.y0 + i * step, box.x1, box.y0 + (i + 0.9) * step)
        for i in range(count)
    ]
    turn = _TURNS[top]
    quads = [Quad(*(cell.corners[(i + turn) % 4] for i in range(4))) for cell in cells]
    return text(quads, string)


def folded_exam(
    *runs: TextRun,
    paths: tuple[PathItem, ...] = (),
    spec: Spec | None = None,
    document: DocumentFacts | None = None,
    order: Order | None = None,
    hidden: Content | None = None,
) -> Exam:
    """Return a sleeve with type and paths, both black in the view."""
    boxes = [Box.around(c for c in quad) for run in runs for quad in run.glyphs]
    boxes += [path.box for path in paths]
    view = scene(*((box_cover(box), 1.0) for box in boxes))
    content = Content(texts=runs, paths=paths, hidden=hidden)
    return make_exam(
        spec or folded_spec(), content=content, view=view, document=document, order=order
    )


def order_of(discs: int) -> Order:
    """Return an order for so many discs."""
    head = {
        "number": "1", "client": "Lanternfold", "title": "Salt Roads", "catalogue": "LFR 014",
        "format": "12-inch", "discs": discs,
    }  # fmt: skip
    return read_table(Order, {"order": head, "part": [{"name": "Jacket", "file": "a.pdf"}]})


def line(x0: float, y0: float, x1: float, y1: float) -> list[Point]:
    return [Point(x0, y0), Point(x1, y1)]


def exam_of_file(path: Path, spec: Spec, order: Order | None = None, ppi: float = 300) -> Exam:
    """Return the first page of a PDF, rendered and separated over trim and 6 mm round it."""
    art = open_art(path)
    outline = spec.outline_of()
    place = locate_trim(
        art.pages[0], outline, 3.0, spec.outline.trim_tolerance_mm, True, art.document.layers
    )
    box = outline.bounds.grown(6)
    sheet = Sheet(
        1, art.pages[0], outline, place,
        lambda sheet: render_view(sheet.page, place.to_piece, box, ppi),
        lambda sheet: make_plates(sheet.page, place.to_piece, box, ppi),
    )  # fmt: skip
    return Exam(spec, art, (sheet,), None, order)
