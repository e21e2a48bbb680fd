"""A template with art on it, a plant's own template, and a press sheet.

Template and sheet are what prepcheck itself writes; the plant's template is drawn here.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    StreamObject,
)

from drawing.brand import CLAY, NIGHT, TEAL, Ink
from drawing.manifest import Sound
from drawing.page import STRONG, Art
from prepcheck.labelsheet.paper import paper_of
from prepcheck.run.press_sheet import write_sheet
from prepcheck.run.sheet_task import Wish
from prepcheck.template.write import write_templates

SPEC = "label-12in"
SOUND = (Sound("templates/label-a-on-template.pdf", SPEC, "Label A drawn on its template"),)

RINGS: tuple[tuple[str, float, Ink, Sequence[float]], ...] = (
    ("Beschnitt", 108.0, TEAL, (3.0, 1.5)),
    ("Stanzform", 101.6, NIGHT, ()),
    ("Sicherheitszone", 96.0, TEAL, (0.8, 0.8)),
    ("Bohrzone", 20.0, TEAL, (0.8, 0.8)),
    ("Bohrung", 7.3, CLAY, ()),
)
"""The plant's template: what its lines are called, their diameters in mm, inks and dashes."""


def make(folder: Path, clear: Path) -> None:
    """Write the templates; `clear` is the folder of the order that is clear."""
    for kind in ("pdf", "svg"):
        write_templates([SPEC], folder, kind)
    on_template(folder / f"{SPEC}-template.pdf", clear / "label-a.pdf",
                folder / "label-a-on-template.pdf")  # fmt: skip
    plant_label(folder / "plant-label.pdf")


def make_sheet(folder: Path, clear: Path) -> None:
    """Write the press sheet of the clear order's labels."""
    wish = Wish(
        paper_of("SRA3"), quantity=500, overs_percent=Fraction(6), made_on=date(2026, 11, 28)
    )
    write_sheet([clear / "order.toml"], wish, out=folder)


def on_template(template: Path, art: Path, out: Path) -> None:
    """Put finished art on the layer for it, as a designer draws it there."""
    writer = PdfWriter(clone_from=template)
    page, source = writer.pages[0], PdfReader(art).pages[0]
    content = source["/Contents"].get_object()
    form = DecodedStreamObject()
    assert isinstance(content, StreamObject)
    form.set_data(content.get_data())
    form = form.flate_encode()
    form[NameObject("/Type")] = NameObject("/XObject")
    form[NameObject("/Subtype")] = NameObject("/Form")
    form[NameObject("/BBox")] = ArrayObject(FloatObject(side) for side in source.mediabox)
    form[NameObject("/Resources")] = source["/Resources"].clone(writer)
    resources = page["/Resources"]
    assert isinstance(resources, DictionaryObject)
    resources[NameObject("/XObject")] = DictionaryObject(
        {NameObject("/LabelA"): writer._add_object(form)}
    )
    x, y = (
        float(a) - float(b)
        for a, b in zip(page.trimbox.lower_left, source.trimbox.lower_left, strict=True)
    )
    drawn = f"/OC /Art BDC q 1 0 0 1 {x:.5f} {y:.5f} cm /LabelA Do Q EMC"
    old = page["/Contents"].get_object()
    assert isinstance(old, StreamObject)
    data = old.get_data()
    assert data.count(b"/OC /Art BDC EMC") == 1
    new = DecodedStreamObject()
    new.set_data(data.replace(b"/OC /Art BDC EMC", drawn.encode()))
    page[NameObject("/Contents")] = writer._add_object(new.flate_encode())
    with out.open("wb") as file:
        writer.write(file)


def plant_label(path: Path) -> None:
    """Draw a label's template as a plant without layers does: rings, names beside them."""
    art = Art(path, (120.0, 120.0), page=(210.0, 130.0), trim_box=False, shift=(-42.0, 0.0))
    art.text("Etikett 12 Zoll", 64.0, 44.0, 14, NIGHT, STRONG)
    art.text("Presswerk Lanternfold", 64.0, 38.0, 8, NIGHT)
    for row, (name, diameter, ink, dashes) in enumerate(RINGS):
        art.canvas.setDash(list(dashes))
        art.ring(diameter / 2, 0.25, ink)
        y = 26.0 - 8.0 * row
        art.line([(64.0, y + 1.0), (74.0, y + 1.0)], 0.25, ink)
        art.text(f"{name} {diameter:g} mm".replace(".", ","), 77.0, y, 8, NIGHT)
    art.save()
