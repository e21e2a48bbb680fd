"""Places and sizes of glyphs against PDFium's character boxes, and text state by hand."""

from __future__ import annotations

import math

import pytest

from prepcheck.geometry import Affine
from prepcheck.units import MM_PER_PT
from tests.art.pdf.walking import (
    add_vera,
    assert_boxes_agree,
    pdfium_characters,
    quads,
    walked,
)
from tests.factories import Pdf, Stream

WORDS = "(Side A Hgpq)"


def with_vera(content: str, **entries: object) -> bytes:
    pdf = Pdf()
    font = add_vera(pdf)
    pdf.page(
        content, (200, 200), millimetres=False, resources={"Font": {"F1": font}}, **entries
    )  # fmt: skip
    return pdf.bytes()


def on_a_circle(radius: float, size: float) -> str:
    """Type set round a circle, one letter a matrix, as drawing programs write it."""
    out = [f"BT /F1 {size:g} Tf"]
    for index, letter in enumerate("MADE IN THE WORKS AT NIGHT"):
        angle = math.radians(90 - index * 13.7)
        x, y = 280 + radius * math.cos(angle), 280 + radius * math.sin(angle)
        cos, sin = math.cos(angle - math.pi / 2), math.sin(angle - math.pi / 2)
        out.append(f"{cos:.6f} {sin:.6f} {-sin:.6f} {cos:.6f} {x:.4f} {y:.4f} Tm ({letter}) Tj")
    return " ".join([*out, "ET"])


PLACED = {
    "plain": f"BT /F1 12 Tf 50 100 Td {WORDS} Tj ET",
    "turned": f"BT /F1 9 Tf 0.8 0.6 -0.6 0.8 50 100 Tm {WORDS} Tj ET",
    "upside down": f"BT /F1 9 Tf -1 0 0 -1 250 100 Tm {WORDS} Tj ET",
    "on a circle": on_a_circle(140, 8),
    "nested": f"q 0.5 0 0 2 30 10 cm q 0 1 -1 0 200 20 cm BT /F1 10 Tf 2 0 0 2 3 4 Tm {WORDS} Tj"
    " ET Q Q",
    "stretched": f"BT /F1 12 Tf 60 Tz 50 100 Td {WORDS} Tj ET",
    "spaced": f"BT /F1 12 Tf 2 Tc 7 Tw 50 100 Td {WORDS} Tj ET",
    "raised": f"BT /F1 12 Tf 4 Ts 50 100 Td {WORDS} Tj -3 Ts {WORDS} Tj ET",
    "kerned": "BT /F1 12 Tf 50 100 Td [(Si) 150 (de) -400 (A)] TJ ET",
    "lines": f"BT /F1 12 Tf 14 TL 50 200 Td {WORDS} Tj T* {WORDS} Tj {WORDS} ' 1 2 {WORDS} \" ET",
    "leading": f"BT /F1 12 Tf 50 200 Td {WORDS} Tj 5 -20 TD {WORDS} Tj T* {WORDS} Tj ET",
    "stretched and spaced": f"BT /F1 12 Tf 150 Tz 3 Tc 50 100 Td {WORDS} Tj ( x) Tj ET",
    "mirrored": f"q -1 0 0 1 300 0 cm BT /F1 12 Tf 50 100 Td {WORDS} Tj ET Q",
}


@pytest.mark.parametrize("content", PLACED.values(), ids=PLACED.keys())
def test_glyphs_lie_where_pdfium_finds_them(content: str) -> None:
    data = with_vera(content)
    assert_boxes_agree(quads(walked(data)), pdfium_characters(data))


def test_user_unit_scales_places_and_sizes() -> None:
    data = with_vera(PLACED["turned"], UserUnit=2.0)
    content = walked(data, Affine.scale(2 * MM_PER_PT))
    theirs = [
        (Affine.scale(2.0).box(box), 2 * size) for box, size in pdfium_characters(data)
    ]  # fmt: skip
    assert_boxes_agree(quads(content), theirs)


def test_glyphs_in_a_form_with_a_matrix() -> None:
    pdf = Pdf()
    font = add_vera(pdf)
    form = pdf.add(
        Stream(
            PLACED["turned"].encode(),
            {
                "Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 500, 500],
                "Matrix": [0.7, 0.2, -0.1, 0.9, 20, 30], "Resources": {"Font": {"F1": font}},
            },
        )
    )  # fmt: skip
    pdf.page(
        "q 1.5 0 0 1.5 5 5 cm /Fm Do Q", (250, 250), millimetres=False,
        resources={"XObject": {"Fm": form}},
    )  # fmt: skip
    data = pdf.bytes()
    assert_boxes_agree(quads(walked(data)), pdfium_characters(data))
