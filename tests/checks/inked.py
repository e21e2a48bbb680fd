"""Labels drawn as PDFs and separated, for tests of what is judged on plates."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from prepcheck.art.open import open_art
from prepcheck.measure.trim import locate_trim
from prepcheck.order import OrderPart
from prepcheck.press.render import render_view
from prepcheck.press.separate.plates import Plates, make_plates
from prepcheck.press.view import View
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.model import Spec
from tests.checks.exams import label_spec
from tests.factories import one_page

PPI = 150
INK_LIMITS = {
    "most_total_percent": 250,
    "window_mm2": 15,
    "heavy_total_percent": 200,
    "heavy_share_percent": 40,
    "least_tint_percent": 3,
    "least_tint_mm2": 25,
    "least_plate_mm2": 3,
    "most_fine_inks": 1,
    "black_solid_mm2": 1000,
    "most_rich_black_percent": 220,
}
STATES = {
    "OP0": {"OP": True, "op": True, "OPM": 0},
    "OP1": {"OP": True, "op": True, "OPM": 1},
    "Off": {"OP": False, "op": False},
}


def spot(name: str, c: float, m: float, y: float, k: float) -> list[object]:
    """Return a Separation with a linear tint to CMYK."""
    tint = {"FunctionType": 2, "Domain": [0, 1], "N": 1, "C0": [0.0] * 4, "C1": [c, m, y, k]}
    return ["Separation", name, "DeviceCMYK", tint]


SPACES: dict[str, object] = {
    "Gold": spot("Gold", 0.0, 0.2, 0.8, 0.1),
    "Ink": spot("Black", 0.0, 0.0, 0.0, 1.0),
}


def ink_spec(**changes: object) -> Spec:
    """Return the pinned label with every limit of ink given."""
    tables: dict[str, object] = {
        "ink": INK_LIMITS,
        "text": {
            "least_pt": 5, "least_reversed_pt": 7, "wanted_several_pt": 9,
            "wanted_rich_black_pt": 24, "overprint_black_pt": 12,
        },
        "line": {
            "least_mm": 0.15, "least_reversed_mm": 0.25, "least_several_mm": 0.18,
            "wanted_several_mm": 0.25,
        },
        **changes,
    }  # fmt: skip
    return label_spec(**tables)


def ordered(*inks: str) -> OrderPart:
    """Return a part that an order pays these inks for."""
    return OrderPart(name="Label A", file="label.pdf", inks=inks)


def label(
    folder: Path,
    content: str,
    *,
    resources: Mapping[str, object] | None = None,
    part: OrderPart | None = None,
    spec: Spec | None = None,
) -> Exam:
    """Return a 12-inch label as a PDF, read and separated; places in mm from its centre."""
    path = folder / "label.pdf"
    own = {
        "ExtGState": STATES,
        "ColorSpace": SPACES,
        "Font": {"F": {"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica-Bold"}},
        **(resources or {}),
    }
    path.write_bytes(
        one_page(f"1 0 0 1 53 53 cm {content}", (106, 106), trim_mm=(3, 3, 103, 103),
                 resources=own)
    )  # fmt: skip
    return from_file(path, part, spec or ink_spec())


def from_file(path: Path, part: OrderPart | None, spec: Spec) -> Exam:
    """Return a label from a file, with plates."""
    art = open_art(path)
    outline = spec.outline_of()
    place = locate_trim(art.pages[0], outline, 3.0, 0.5, True, art.document.layers)
    box = outline.bounds.grown(6)

    def view(sheet: Sheet) -> View:
        return render_view(sheet.page, place.to_piece, box, PPI)

    def plates(sheet: Sheet) -> Plates:
        return make_plates(sheet.page, place.to_piece, box, PPI)

    return Exam(spec, art, (Sheet(1, art.pages[0], outline, place, view, plates),), part)


def flood(colour: str) -> str:
    """Return a flood past the bleed in a colour as PDF operators."""
    return f"{colour} -53 -53 106 106 re f"


def box(colour: str, x: float, y: float, w: float, h: float) -> str:
    return f"{colour} {x} {y} {w} {h} re f"


def words(colour: str, x: float, y: float, pt: float, string: str = "LANTERN") -> str:
    """Return a line of type of a size in points."""
    return f"BT {colour} /F {pt * 25.4 / 72:.6f} Tf {x} {y} Td ({string}) Tj ET"
