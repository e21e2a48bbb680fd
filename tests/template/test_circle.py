"""Closing the circle: art drawn on a template, sent back with its layers in place, without its
TrimBox, and flattened into inks; as a picture it is tried beside this.

Every shipped spec is tried in layers, one of each kind flattened; a line counts as found where
found guides run along nine tenths of it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from prepcheck.art.open import open_art
from prepcheck.measure.trim import TrimRule, locate_trim
from prepcheck.spec.load import load_spec, spec_names
from tests.checks.exams import findings
from tests.template.closing import ONE_OF_EACH, drawn_on, exam_of, missed, own_pages


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


@pytest.mark.parametrize("name", ONE_OF_EACH)
def test_flattened_into_inks_every_line_is_found(name: str, tmp_path: Path) -> None:
    path = tmp_path / "art.pdf"
    path.write_bytes(drawn_on(name, flattened=True))
    assert missed(exam_of(path, name, own_pages(name))) == {}
