"""Layers: states, memberships, usage and processing steps."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest

from prepcheck.art.facts import Layer
from prepcheck.art.open import open_art
from prepcheck.art.pdf.layers import LayerUse
from prepcheck.art.pdf.page import PdfPage
from tests.factories import Pdf, Ref

Entries = dict[str, object]


def layered(
    folder: Path,
    groups: dict[str, Entries],
    config: dict[str, object],
    members: dict[str, Entries] | None = None,
) -> tuple[PdfPage, tuple[Layer, ...]]:
    """Open a page whose resources name the groups and membership dictionaries.

    `config` and `members` name groups by their letters; lists of letters become references.
    """
    pdf = Pdf("1.7")
    refs = {
        letter: pdf.add({"Type": "OCG", "Name": letter.encode(), **entries})
        for letter, entries in groups.items()
    }

    def referenced(value: object) -> object:
        if isinstance(value, bytes):
            return refs[value.decode()]
        if isinstance(value, list):
            return [referenced(item) for item in value]
        if isinstance(value, dict):
            return {key: referenced(item) for key, item in value.items()}
        return value

    pdf.catalog["OCProperties"] = {"OCGs": list(refs.values()), "D": referenced(config)}
    properties: dict[str, object] = dict(refs)
    for name, entries in (members or {}).items():
        member = referenced(entries)
        assert isinstance(member, dict)
        properties[name] = pdf.add({"Type": "OCMD", **member})
    paints = "".join(
        f"/OC /{name} BDC {10 * place} 0 10 10 re f EMC\n" for place, name in enumerate(properties)
    )
    pdf.page(paints, (10 * len(properties), 10), resources={"Properties": properties})
    path = folder / "art.pdf"
    path.write_bytes(pdf.bytes())
    art = open_art(path)
    page = art.pages[0]
    assert isinstance(page, PdfPage)
    return page, art.document.layers


def use(page: PdfPage, name: str) -> LayerUse:
    properties = page.resources["/Properties"]
    return page.document.layers.use(properties.raw_get(f"/{name}"))  # type: ignore[attr-defined]


def test_base_state_and_exceptions(tmp_path: Path) -> None:
    groups: dict[str, Entries] = {"A": {}, "B": {}}
    _, layers = layered(tmp_path, groups, {"OFF": [b"B"]})
    assert [(layer.name, layer.visible, layer.prints) for layer in layers] == [
        ("A", True, True),
        ("B", False, False),
    ]
    _, layers = layered(tmp_path, groups, {"BaseState": "OFF", "ON": [b"A"]})
    assert [layer.visible for layer in layers] == [True, False]


def test_usage_counts_only_through_auto_state(tmp_path: Path) -> None:
    """ISO 32000-2, 8.11.4.5: usage is applied where the configuration's AS asks for it."""
    guide: Entries = {
        "Usage": {"Print": {"PrintState": "OFF"}, "View": {"ViewState": "ON"}},
    }
    _, (layer,) = layered(tmp_path, {"A": guide}, {})
    assert (layer.visible, layer.prints) == (True, True)
    rules = [{"Event": "Print", "Category": ["Print"], "OCGs": [b"A"]}]
    _, (layer,) = layered(tmp_path, {"A": guide}, {"AS": rules})
    assert (layer.visible, layer.prints) == (True, False)
    rules = [{"Event": "View", "Category": ["View"], "OCGs": [b"A"]}]
    _, (layer,) = layered(tmp_path, {"A": guide}, {"OFF": [b"A"], "AS": rules})
    assert (layer.visible, layer.prints) == (True, False)


def test_intent(tmp_path: Path) -> None:
    """ISO 32000-2, 8.11.2.3: a group whose intent is not the configuration's has no effect."""
    _, (layer,) = layered(tmp_path, {"A": {"Intent": "Design"}}, {"OFF": [b"A"]})
    assert layer.prints
    _, (layer,) = layered(
        tmp_path, {"A": {"Intent": ["View", "Design"]}}, {"OFF": [b"A"], "Intent": "All"}
    )
    assert not layer.prints


@pytest.mark.parametrize(
    ("policy", "both", "one", "none"),
    [
        # ISO 32000-2, Table 97
        (None, True, True, False),
        ("AnyOn", True, True, False),
        ("AllOn", True, False, False),
        ("AnyOff", False, True, True),
        ("AllOff", False, False, True),
    ],
)
def test_membership_policies(
    tmp_path: Path, policy: str | None, both: bool, one: bool, none: bool
) -> None:
    entries: Entries = {"OCGs": [b"A", b"B"]} | ({"P": policy} if policy else {})
    for off, expected in (([], both), ([b"B"], one), ([b"A", b"B"], none)):
        page, _ = layered(tmp_path, {"A": {}, "B": {}}, {"OFF": off}, {"M": entries})
        assert use(page, "M") == LayerUse("A + B", expected, expected)


def test_membership_of_nothing_is_visible(tmp_path: Path) -> None:
    page, _ = layered(tmp_path, {"A": {}}, {"OFF": [b"A"]}, {"M": {"OCGs": []}, "N": {}})
    assert use(page, "M").prints
    assert use(page, "N").prints


def test_visibility_expression_goes_before_the_policy(tmp_path: Path) -> None:
    expression = ["And", b"A", ["Not", ["Or", b"B", b"C"]]]
    member: Entries = {"VE": expression, "OCGs": [b"A", b"B"], "P": "AllOn"}
    for a, b, c in itertools.product((True, False), repeat=3):
        off = [letter for letter, on in ((b"A", a), (b"B", b), (b"C", c)) if not on]
        page, _ = layered(tmp_path, {"A": {}, "B": {}, "C": {}}, {"OFF": off}, {"M": member})
        assert use(page, "M").prints == (a and not (b or c))


def test_processing_steps(tmp_path: Path) -> None:
    """ISO 19593-1: GTS_Metadata on the group names what it is for."""
    cutting: Entries = {
        "GTS_Metadata": {"GTS_ProcStepsGroup": "Structural", "GTS_ProcStepsType": "Cutting"}
    }
    white: Entries = {"GTS_Metadata": {"GTS_ProcStepsGroup": "White"}}
    _, layers = layered(tmp_path, {"A": cutting, "B": white, "C": {}}, {})
    assert [layer.step for layer in layers] == [("Structural", "Cutting"), ("White", None), None]


def test_circles_end(tmp_path: Path) -> None:
    pdf = Pdf()
    group = pdf.add({"Type": "OCG", "Name": b"A"})
    loop = pdf.add(None)
    pdf.put(loop, ["And", loop, group])
    member = pdf.add({"Type": "OCMD", "VE": loop})
    pdf.catalog["OCProperties"] = {"OCGs": [group, group, Ref(999)], "D": {"OFF": [group]}}
    pdf.page("", (10, 10), resources={"Properties": {"M": member}})
    path = tmp_path / "art.pdf"
    path.write_bytes(pdf.bytes())
    art = open_art(path)
    page = art.pages[0]
    assert isinstance(page, PdfPage)
    assert len(art.document.layers) == 1
    assert not use(page, "M").prints


def test_against_pdfium(tmp_path: Path) -> None:
    """What PDFium paints when it is told that it prints, layer by layer."""
    quiet: Entries = {"Usage": {"Print": {"PrintState": "OFF"}}}
    members: dict[str, Entries] = {
        f"M{place}": {"OCGs": [b"A", b"B"], "P": policy}
        for place, policy in enumerate(("AllOn", "AnyOn", "AnyOff", "AllOff"))
    }
    page, _ = layered(
        tmp_path,
        {"A": {}, "B": {}, "C": quiet},
        {"OFF": [b"B"], "AS": [{"Event": "Print", "Category": ["Print"], "OCGs": [b"C"]}]},
        members,
    )
    names = ["A", "B", "C", *members]
    with pdfium.PdfDocument(tmp_path / "art.pdf") as document:
        width = len(names) * 10
        bitmap = pdfium.PdfBitmap.new_native(width, 10, pdfium_c.FPDFBitmap_Gray)
        bitmap.fill_rect((255, 255, 255, 255), 0, 0, width, 10)
        pdfium_c.FPDF_RenderPageBitmap(
            bitmap, document[0], 0, 0, width, 10, 0, pdfium_c.FPDF_PRINTING
        )
        pixels = np.array(bitmap.to_numpy()).reshape(10, width)
    painted = {name: pixels[5, 10 * place + 5] < 128 for place, name in enumerate(names)}
    assert painted == {name: use(page, name).prints for name in names}
