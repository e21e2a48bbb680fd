"""Template guides left in printing inks, and frames that only look like them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from prepcheck.art.facts import DocumentFacts, Layer
from prepcheck.art.model import Content, PathItem
from prepcheck.findings import Severity
from prepcheck.geometry import Box
from prepcheck.said import Clear
from prepcheck.sheets.exam import Exam
from tests.checks.exams import (
    BLACK,
    PITCH,
    Cover,
    box_cover,
    box_path,
    circle_path,
    disc_cover,
    examine,
    findings,
    frame_cover,
    make_exam,
    path,
    ring_cover,
    scene,
)  # fmt: skip

GROUND = (disc_cover(53), 0.3)


def exam(
    *shapes: tuple[Cover, float], paths: tuple[PathItem, ...] = (), pitch: float = PITCH,
    spec: str = "label-pinned", document: DocumentFacts | None = None,
) -> Exam:  # fmt: skip
    return make_exam(
        spec, content=Content(paths=paths), view=scene(*shapes, pitch=pitch), document=document
    )


def ring(radius: float, width: float = 0.25, **options: Any) -> Exam:
    document = options.pop("document", None)
    return exam(
        GROUND,
        (ring_cover(radius, width), 1.0),
        paths=(circle_path(radius, stroke=BLACK, stroke_mm=width, **options),),
        document=document,
    )


@pytest.mark.parametrize(
    ("radius", "name"),
    [
        (50.0, "trim"), (50.1, "trim"), (53.0, "bleed"), (52.0, "bleed"), (47.0, "safe area"),
        (48.0, "safe area"), (3.62, "hole"), (6.62, "safe ring of the hole"),
    ],
)  # fmt: skip
def test_strokes_on_the_outlines_of_the_spec(radius: float, name: str) -> None:
    (found,) = findings("guide.printing", ring(radius))
    assert found.severity is Severity.STOP
    assert f"follows the {name}." in found.message
    assert found.where[0].label == f"guide on the {name}"
    assert found.where[0].box.x1 == pytest.approx(radius, abs=0.15)


@pytest.mark.parametrize("radius", [46.5, 45.6, 42.0, 4.1])
def test_rings_elsewhere_are_art(radius: float) -> None:
    assert [type(s) for s in examine("guide.printing", ring(radius))] == [Clear]


@pytest.mark.parametrize(("radius", "where"), [(49.0, "1.0 mm inside"), (50.8, "0.8 mm outside")])
def test_the_trim_of_another_template_is_asked_about(radius: float, where: str) -> None:
    (found,) = findings("guide.printing", ring(radius))
    assert (found.severity, found.code) == (Severity.QUERY, "beside")
    assert where in found.message


def test_rings_about_one_centre_are_an_ornament() -> None:
    radii = np.arange(32.0, 50.0, 3.0)
    part = exam(
        GROUND,
        *((ring_cover(r, 0.25), 1.0) for r in radii),
        paths=tuple(circle_path(r, stroke=BLACK, stroke_mm=0.25) for r in radii),
    )
    assert findings("guide.printing", part) == []


def test_a_wide_ring_is_a_frame() -> None:
    assert findings("guide.printing", ring(47.0, 0.8)) == []


def test_a_ring_off_the_centre_is_art() -> None:
    part = exam(
        GROUND, (ring_cover(47, 0.25, (0.5, 0)), 1.0),
        paths=(circle_path(47, at=(0.5, 0), stroke=BLACK, stroke_mm=0.25),),
    )  # fmt: skip
    assert findings("guide.printing", part) == []


def test_an_arc_is_art() -> None:
    angle = np.radians(np.arange(0, 300))
    arc = path(
        np.column_stack((47 * np.cos(angle), 47 * np.sin(angle))),
        stroke=BLACK, stroke_mm=0.25, closed=False,
    )  # fmt: skip

    def cover(x, y):  # type: ignore[no-untyped-def]
        on = np.degrees(np.arctan2(y, x)) % 360 < 299
        return ring_cover(47, 0.25)(x, y) * on

    assert findings("guide.printing", exam(GROUND, (cover, 1.0), paths=(arc,))) == []


def test_stripes_that_slant_past_a_side_are_art() -> None:
    steps = np.arange(-70, 71) * 1.4
    turned = np.radians(76)
    along = np.array((np.cos(turned), np.sin(turned)))
    across = np.array((-along[1], along[0]))
    stripes = tuple(
        path(np.array((step * across - 80 * along, step * across + 80 * along)),
             stroke=BLACK, stroke_mm=0.25, closed=False)
        for step in steps
    )  # fmt: skip

    def cover(x, y):  # type: ignore[no-untyped-def]
        off = (x * across[0] + y * across[1] + 0.7) % 1.4 - 0.7
        return np.abs(off) < 0.125

    part = exam((cover, 1.0), paths=stripes, pitch=0.06)
    assert findings("guide.printing", part) == []


def test_dashed_guides_are_guides() -> None:
    assert findings("guide.printing", ring(50.0, dashed=True)) != []


def test_a_processing_steps_layer_is_where_guides_belong() -> None:
    document = DocumentFacts(layers=(Layer("die", True, True, ("Structural", "Cutting")),))
    assert findings("guide.printing", ring(50.0, layer="die", document=document)) == []
    plain = DocumentFacts(layers=(Layer("die", True, True),))
    (found,) = findings("guide.printing", ring(50.0, layer="die", document=plain))
    assert "(on layer die)" in found.message


def test_a_guide_that_is_covered_does_not_print() -> None:
    part = exam(GROUND, paths=(circle_path(47, stroke=BLACK, stroke_mm=0.25),))
    assert findings("guide.printing", part) == []


def test_a_guide_in_a_picture() -> None:
    (found,) = findings("guide.printing", exam(GROUND, (ring_cover(47, 0.25), 1.0)))
    assert "safe area" in found.message


def test_art_that_ends_at_the_trim_or_bleed_is_no_guide() -> None:
    for radius in (47, 50, 53):
        assert findings("guide.printing", exam((disc_cover(radius), 1.0))) == []


SLEEVE = Box(-61.5, -30, 61.5, 30)
PAPER = (box_cover(Box(-70, -40, 70, 40), pitch=0.1), 0.2)


def test_sleeve_trim_as_a_box_and_as_four_rules() -> None:
    shown = (frame_cover(SLEEVE, 0.25, 0.1), 1.0)
    corners = [(x, y) for x, y in SLEEVE.corners]
    rules = tuple(
        path([start, end], stroke=BLACK, stroke_mm=0.25, closed=False)
        for start, end in zip(corners, corners[1:] + corners[:1], strict=True)
    )
    for paths in ((box_path(SLEEVE, stroke=BLACK, stroke_mm=0.25),), rules):
        (found,) = findings(
            "guide.printing", exam(PAPER, shown, paths=paths, spec="sleeve-pinned", pitch=0.1)
        )
        assert found.message.endswith("follows the trim.")
    assert (
        findings("guide.printing", exam(PAPER, paths=rules[:3], spec="sleeve-pinned", pitch=0.1))
        == []
    )


def test_safe_area_of_a_face_and_a_fold() -> None:
    face = Box(-61.5, -30, -1.5, 30).grown(-3)
    fold = path([(1.5, -30), (1.5, 30)], stroke=BLACK, stroke_mm=0.25, closed=False)
    part = exam(
        PAPER, (frame_cover(face, 0.25, 0.1), 1.0),
        (box_cover(Box(1.375, -30, 1.625, 30), pitch=0.1), 1.0),
        paths=(box_path(face, stroke=BLACK, stroke_mm=0.25), fold),
        spec="sleeve-pinned", pitch=0.1,
    )  # fmt: skip
    (found,) = findings("guide.printing", part)
    assert "the fold between spine and front and the safe area of the back" in found.message
    assert found.measured == 2.0


def test_a_line_narrower_than_the_pixels_of_a_jacket_is_seen() -> None:
    """A jacket is looked at with some 155 ppi: the line is 0.15 mm wide, a pixel 0.164."""
    fold = box_cover(Box(1.5 - 0.075, -30, 1.5 + 0.075, 30), pitch=0.164)
    (found,) = findings(
        "guide.printing", exam(PAPER, (fold, 0.8), spec="sleeve-pinned", pitch=0.164)
    )
    assert "the fold between spine and front" in found.message
