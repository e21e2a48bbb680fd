"""Geometry of PDFs from the factories, through the reader and the renderer, in mm."""

from __future__ import annotations

from pathlib import Path

import pytest

from prepcheck.art.open import open_art
from prepcheck.measure.trim import locate_trim
from prepcheck.press.render import render_view
from prepcheck.sheets.exam import Exam, Sheet
from tests.checks.exams import findings, label_spec
from tests.factories import disc_path, one_page


def label(path: Path, content: str, **options: object) -> Exam:
    path.write_bytes(one_page(content, (106, 106), trim_mm=(3, 3, 103, 103), **options))
    art, spec = open_art(path), label_spec()
    outline = spec.outline_of()
    place = locate_trim(art.pages[0], outline, 3.0, 0.5, True, art.document.layers)

    def render(sheet: Sheet):  # type: ignore[no-untyped-def]
        return render_view(sheet.page, place.to_piece, outline.bounds.grown(6), 600)

    return Exam(spec, art, (Sheet(1, art.pages[0], outline, place, render),))


@pytest.mark.parametrize("reach", [0.0, 1.2, 1.85, 3.0])
def test_bleed(tmp_path: Path, reach: float) -> None:
    exam = label(tmp_path / "a.pdf", f"0.6 0 0 0.1 k {disc_path(53, 53, 50 + reach)} f")
    check = "bleed.missing" if reach < 0.3 else "bleed.short"
    found = findings(check, exam)
    assert [f.measured for f in found] == ([] if reach == 3 else [pytest.approx(reach, abs=0.1)])


def test_object_beside_the_hole_and_ring_at_the_rim(tmp_path: Path) -> None:
    ground = f"0.2 0 0 0 k {disc_path(53, 53, 53)} f"
    block = "0 0 0 1 k 58.62 52 3 2 re f"
    ring = f"0 0 0 1 K 0.6 w {disc_path(53, 53, 46.2)} S"
    exam = label(tmp_path / "a.pdf", "\n".join((ground, block, ring)))
    (hole,) = findings("hole.clearance", exam)
    (rim,) = findings("trim.clearance", exam)
    assert hole.measured == pytest.approx(2.0, abs=0.05)
    assert rim.measured == pytest.approx(3.5, abs=0.05)


@pytest.mark.parametrize(("radius", "prints"), [(50.0, True), (47.0, True), (45.8, False)])
def test_guides(tmp_path: Path, radius: float, prints: bool) -> None:
    content = f"0 1 0 0 K 0.2 w {disc_path(53, 53, radius)} S"
    assert bool(findings("guide.printing", label(tmp_path / "a.pdf", content))) == prints


def test_blanked_hole(tmp_path: Path) -> None:
    content = f"0.6 0 0 0 k {disc_path(53, 53, 53)} f 0 0 0 0 k {disc_path(53, 53, 3.62)} f"
    (found,) = findings("hole.drawn", label(tmp_path / "a.pdf", content))
    assert found.measured == pytest.approx(7.24, abs=0.05)
