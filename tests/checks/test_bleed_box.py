"""Declared bleed and the nesting of page boxes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from prepcheck.art.facts import PageBoxes
from prepcheck.art.model import RasterFacts, Space, SpaceFamily
from prepcheck.findings import Finding
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from prepcheck.sheets.exam import Exam
from tests.checks.exams import edge, examine, findings, ink_view, make_exam

TRIM = Box(10, 10, 110, 110)


def exam(
    bleed: Box | None, *, reach: float = 3.0, crop: Box | None = None, trim: Box = TRIM
) -> Exam:
    pitch = 25.4 / 300
    boxes = PageBoxes(Box(0, 0, 120, 120), crop=crop, bleed=bleed, trim=trim)
    return make_exam(
        boxes=boxes,
        view=lambda outline: ink_view(
            outline, lambda x, y: edge(50 + reach - np.hypot(x, y), pitch), pitch=pitch
        ),
    )


@pytest.mark.parametrize(("margin", "asks"), [(2.0, True), (2.88, True), (2.92, False), (3, False)])
def test_declared_bleed_against_what_is_wanted(margin: float, asks: bool) -> None:
    found = findings("bleed.box", exam(TRIM.grown(margin), reach=4))
    assert [f.measured for f in found] == ([pytest.approx(margin)] if asks else [])


def test_short_ink_is_not_the_boxes_fault() -> None:
    assert findings("bleed.box", exam(TRIM.grown(1), reach=1.0)) == []


def test_bare_edge_needs_no_declared_bleed() -> None:
    assert findings("bleed.box", exam(TRIM.grown(1), reach=-6)) == []


def test_no_bleed_box_on_a_page_with_room() -> None:
    assert [type(said) for said in examine("bleed.box", exam(None))] == [Clear]


@pytest.mark.parametrize(
    ("bleed", "crop", "words"),
    [
        (Box(12, 7, 113, 113), None, ["the BleedBox cuts into the TrimBox"]),
        (TRIM.grown(3), Box(0, 0, 109, 120), ["the CropBox cuts into the TrimBox"]),
        (TRIM.grown(3), TRIM.grown(1), ["the CropBox cuts into the BleedBox"]),
        (TRIM.grown(3), TRIM.grown(3), []),
        (Box(9.95, 7, 113, 113), None, []),
    ],
)
def test_nesting(bleed: Box, crop: Box | None, words: list[str]) -> None:
    found = findings("bleed.box", exam(bleed, crop=crop, reach=0))
    assert [word for word in words if word in found[0].message] == words if words else not found


def test_a_bleed_box_beyond_the_page() -> None:
    """ISO 32000-2, 14.11.2: the boxes do not ordinarily extend beyond the MediaBox."""
    boxes = PageBoxes(Box(0, 0, 104, 104), None, Box(0, 0, 104, 104), Box(2, 2, 102, 102), None)
    assert findings("bleed.box", make_exam(boxes=boxes)) == []
    (found,) = findings("bleed.box", make_exam(boxes=replace(boxes, cut=("BleedBox",))))
    assert "the BleedBox runs past the MediaBox" in found.message


def test_a_trim_box_that_holds_the_bleed_is_not_reported_twice() -> None:
    boxes = PageBoxes(Box(0, 0, 106, 106), trim=Box(0, 0, 106, 106))
    part = make_exam(boxes=boxes)
    assert not any(isinstance(said, Finding) for said in examine("bleed.box", part))


def test_pictures_have_no_boxes() -> None:
    raster = RasterFacts((1252, 1252), 8, Space(SpaceFamily.CMYK, 4), (300, 300), "none")
    (said,) = examine("bleed.box", make_exam(raster=raster))
    assert isinstance(said, NotApplicable)
