"""What transparency groups paint, in mm², worked out by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from prepcheck.art.open import open_art
from prepcheck.geometry import Affine
from tests.factories import Pdf, Ref, Stream


def group(pdf: Pdf, content: bytes, **drawn: Ref) -> Ref:
    entries = {
        "Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 900, 900],
        "Group": {"S": "Transparency"}, "Resources": {"XObject": drawn},
    }  # fmt: skip
    return pdf.add(Stream(content, entries))


def test_groups_count_with_what_they_paint_and_not_with_their_boxes(tmp_path: Path) -> None:
    pdf = Pdf()
    # In mm; a group that paints round another holds the other's square beside its own.
    small = group(pdf, b"10 10 20 20 re f")
    round_it = group(pdf, b"0 0 10 10 re f /S Do 30 30 10 10 re f", S=small)
    pdf.page(
        "/S Do q 1 0 0 1 30 0 cm /S Do Q /R Do 9 9 80 80 re f",
        (100, 100),
        resources={"XObject": {"S": small, "R": round_it}},
    )
    path = tmp_path / "art.pdf"
    path.write_bytes(pdf.bytes())
    found = open_art(path).pages[0].content(Affine.identity()).grouped
    assert found.painted_mm2 == pytest.approx(3 * 400 + 1600)
    assert found.nested_mm2 == pytest.approx(400 + 1600)
