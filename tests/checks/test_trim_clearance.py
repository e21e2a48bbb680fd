"""Type and live edges beside the trim; content and view drawn alike, by hand."""

from __future__ import annotations

import math
import random
from functools import partial
from typing import Any

import numpy as np
import pytest
from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.art.facts import DocumentFacts, Layer
from prepcheck.art.model import Content, ImageItem, Space, SpaceFamily
from prepcheck.findings import Severity
from prepcheck.geometry import Affine, Box, FloatArray, Quad
from prepcheck.measure import edges
from prepcheck.said import Clear, Measured, NotApplicable
from prepcheck.sheets.exam import Exam
from tests.checks.exams import (
    BLACK,
    CYAN,
    PITCH,
    WHITE,
    Cover,
    box_cover,
    box_path,
    box_quad,
    circle_path,
    disc_cover,
    edge,
    examine,
    findings,
    frame_cover,
    make_exam,
    path,
    ring_cover,
    scene,
    text,
)  # fmt: skip
from tests.outlined import Set, label
from tests.truth._page import RIM, drawn, exam_of, ground
from tests.truth._page import photo as lively
from tests.truth._page import type_at as set_at
from tests.truth._run import said

STOP, QUERY = Severity.STOP, Severity.QUERY
GROUND = (disc_cover(53), 0.3)


def exam(
    *shapes: tuple[Cover, float], spec: str = "label-pinned", pitch: float = PITCH,
    document: DocumentFacts | None = None, **content: Any,
) -> Exam:  # fmt: skip
    return make_exam(
        spec, content=Content(**content), view=scene(*shapes, pitch=pitch), document=document
    )


def measured(part: Exam) -> object:
    return next(s.value for s in examine("trim.clearance", part) if isinstance(s, Measured))


def type_at(clearance: float, turn: float = 0.0, ground: bool = True) -> Exam:
    """Return a small upright glyph whose outer edge's corners lie `clearance` inside the trim."""
    half = 0.6
    right = np.sqrt((50 - clearance) ** 2 - half**2)
    box = Box(right - 0.8, -half, right, half)
    shapes = [GROUND] if ground else []
    return exam(
        *shapes, (box_cover(box, turn), 1.0), texts=(text([box_quad(box, turn)], "SIDE A"),)
    )


@pytest.mark.parametrize(
    ("clearance", "severity"),
    [
        (-0.4, STOP), (0.0, STOP), (1.85, STOP), (1.95, QUERY), (2.0, QUERY), (2.85, QUERY),
        (2.95, None), (3.0, None), (4.0, None),
    ],
)  # fmt: skip
def test_type_against_both_steps(clearance: float, severity: Severity | None) -> None:
    part = type_at(clearance)
    found = findings("trim.clearance", part)
    assert [f.severity for f in found] == ([] if severity is None else [severity])
    assert measured(part) == pytest.approx(clearance, abs=0.01)
    for finding in found:
        assert finding.measured == pytest.approx(clearance, abs=0.01)
        assert finding.required == (2.0 if severity is STOP else 3.0)
        assert "SIDE A" in finding.where[0].label
        assert ("is cut by the trim" in finding.message) == (clearance < 0)


@pytest.mark.parametrize("turn", [17.0, 90.0, 200.5])
def test_distance_does_not_change_under_rotation(turn: float) -> None:
    assert measured(type_at(1.3, turn)) == pytest.approx(1.3, abs=0.01)


def test_like_lines_are_one_finding_with_a_place_each() -> None:
    boxes = [Box(-1, y, 1, y + 1.5) for y in (47.5, -49.5)]
    runs = tuple(text([box], name) for box, name in zip(boxes, "AB", strict=True))
    part = exam(GROUND, *((box_cover(box), 1.0) for box in boxes), texts=runs)
    (found,) = findings("trim.clearance", part)
    assert len(found.where) == 2
    assert found.measured == pytest.approx(50 - np.hypot(1, 49.5), abs=0.01)
    assert found.where[0].box.y0 == pytest.approx(-49.5)


def test_type_outside_the_trim_is_no_fault() -> None:
    box = Box(-5, 53.5, 5, 55)
    part = exam((box_cover(box), 1.0), texts=(text([box]),))
    assert [type(s) for s in examine("trim.clearance", part)] == [NotApplicable, Measured]


@pytest.mark.parametrize("options", [{"mode": 3}, {"fill": WHITE}])
def test_type_that_does_not_show_is_no_fault(options: dict[str, Any]) -> None:
    box = Box(-1, 47.5, 1, 49.5)
    assert findings("trim.clearance", exam(texts=(text([box], **options),))) == []


def ring(radius: float, width: float, **options: Any) -> Exam:
    drawn = circle_path(radius, stroke=BLACK, stroke_mm=width, **options)
    return exam(GROUND, (ring_cover(radius, width), 1.0), paths=(drawn,))


@pytest.mark.parametrize(("clearance", "asks"), [(2.0, True), (4.85, True), (4.95, False)])
def test_a_ring_along_the_rim_wants_more_room(clearance: float, asks: bool) -> None:
    found = findings("trim.clearance", ring(50 - clearance - 0.5, 1.0))
    assert [f.severity for f in found] == ([QUERY] if asks else [])
    if asks:
        assert found[0].measured == pytest.approx(clearance, abs=0.02)
        assert found[0].required == 5.0
        assert "runs along the trim" in found[0].message


@pytest.mark.parametrize(("inner", "outer"), [(46.5, 53.0), (46.5, 51.0), (44.5, 53.0)])
def test_a_band_over_the_trim_is_judged_by_its_inner_edge(inner: float, outer: float) -> None:
    found = findings("trim.clearance", ring((inner + outer) / 2, outer - inner))
    if inner < 45:
        assert found == []
        return
    assert (found[0].severity, found[0].measured) == (QUERY, pytest.approx(3.5, abs=0.02))
    assert "runs along the trim" in found[0].message


def test_what_a_clip_cuts_is_no_picture() -> None:
    box, drawn = square(47.5)
    part = exam(GROUND, (box_cover(box), 1.0), paths=(drawn._replace(clipped=True),))
    (found,) = findings("trim.clearance", part)
    assert found.message.startswith("A shape ends")


@pytest.mark.parametrize("wide", [1.0, 1.9, 2.6])
def test_a_wide_stroke_ends_at_its_cap_and_is_not_found_again_in_pixels(wide: float) -> None:
    """The stroke ends flat, 1.5 mm inside the trim, and a picture stands elsewhere."""

    def draw(canvas: Canvas) -> None:
        canvas.setLineWidth(wide)
        canvas.line(30, 0, 48.5, 0)
        canvas.drawImage(ImageReader(lively(random.Random(1), 60)), -3, 20, 6, 6)

    (finding,) = findings("trim.clearance", exam_of(drawn(draw)))
    assert finding.measured == pytest.approx(1.5, abs=0.02)
    assert finding.message.startswith("A line ends")


def test_a_drawn_ring_is_not_found_again_in_pictures() -> None:
    ground = circle_path(53, fill=CYAN)._replace(clipped=True)
    drawn = (ground, circle_path(47, stroke=BLACK, stroke_mm=0.6))
    (found,) = findings("trim.clearance", exam(GROUND, (ring_cover(47, 0.6), 1.0), paths=drawn))
    assert found.measured == pytest.approx(2.7, abs=0.02)
    assert len(found.where) == 1
    assert len(found.where[0].path) <= 200


def test_a_ground_that_runs_out_is_no_intrusion() -> None:
    part = exam((disc_cover(53), 1.0), paths=(circle_path(53, fill=BLACK),))
    assert [type(s) for s in examine("trim.clearance", part)] == [NotApplicable, Measured]


def test_a_ground_with_short_bleed_is_left_to_the_bleed() -> None:
    for radius in (50.0, 50.9):
        part = exam((disc_cover(radius), 1.0), paths=(circle_path(radius, fill=BLACK),))
        assert findings("trim.clearance", part) == []


def test_a_ground_that_ends_inside_the_trim_is_a_frame() -> None:
    part = exam((disc_cover(48.8), 1.0), paths=(circle_path(48.8, fill=BLACK),))
    (found,) = findings("trim.clearance", part)
    assert (found.measured, found.required) == (pytest.approx(1.2, abs=0.02), 5.0)


def square(x: float, side: float = 2.0, paint: Any = BLACK) -> tuple[Box, Any]:
    box = Box(x - side, -side / 2, x, side / 2)
    return box, box_path(box, fill=paint)


@pytest.mark.parametrize(("x", "asks"), [(45.0, False), (47.5, True), (49.0, True), (50.5, True)])
def test_an_object_near_the_trim_is_a_query(x: float, asks: bool) -> None:
    box, drawn = square(x)
    part = exam(GROUND, (box_cover(box), 1.0), paths=(circle_path(53, fill=CYAN), drawn))
    found = findings("trim.clearance", part)
    assert [f.severity for f in found] == ([QUERY] if asks else [])
    if asks:
        assert found[0].measured == pytest.approx(50 - np.hypot(x, 1), abs=0.02)
        assert found[0].required == 3.0


def test_an_object_that_does_not_show_is_no_fault() -> None:
    _, drawn = square(49.0)
    assert findings("trim.clearance", exam(GROUND, paths=(drawn,))) == []


def test_letters_drawn_as_outlines_are_one_place_a_word() -> None:
    boxes = [Box(x, 47.3, x + 1.0, 48.8) for x in (-3.0, -1.5, 0.0, 1.5)]
    part = exam(
        GROUND, *((box_cover(b), 1.0) for b in boxes),
        paths=tuple(box_path(b, fill=BLACK) for b in boxes),
    )  # fmt: skip
    (found,) = findings("trim.clearance", part)
    assert len(found.where) == 1
    assert len(found.where) == 1


def test_a_rule_across_the_trim_is_no_intrusion() -> None:
    rule = Box(40, -0.2, 53, 0.2)
    drawn = path([(40, 0), (53, 0)], stroke=BLACK, stroke_mm=0.4, closed=False)
    assert findings("trim.clearance", exam((box_cover(rule), 1.0), paths=(drawn,))) == []


def test_cut_lines_on_a_processing_step_are_no_art() -> None:
    document = DocumentFacts(layers=(Layer("die", True, True, ("Structural", "Cutting")),))
    drawn = circle_path(48, stroke=BLACK, stroke_mm=1.0, layer="die")
    shapes = (GROUND, (ring_cover(48, 1.0), 1.0))
    assert findings("trim.clearance", exam(*shapes, paths=(drawn,), document=document)) == []
    assert findings("trim.clearance", exam(*shapes, paths=(drawn,))) != []


def test_a_guide_is_not_reported_as_a_frame_as_well() -> None:
    part = ring(47.0, 0.25)
    assert findings("guide.printing", part) != []
    assert findings("trim.clearance", part) == []


def test_sleeve_type_near_a_side_and_a_frame_round_a_face() -> None:
    box = Box(59.0, 0, 60.2, 2)
    frame = Box(-57.5, -26, -5, 26)
    part = exam(
        (box_cover(Box(-70, -40, 70, 40), pitch=0.1), 0.3), (box_cover(box, pitch=0.1), 1.0),
        (frame_cover(frame, 1.0, 0.1), 1.0), spec="sleeve-pinned", pitch=0.1,
        texts=(text([box]),), paths=(box_path(frame, stroke=BLACK, stroke_mm=1.0),),
    )  # fmt: skip
    kind, ring_ = findings("trim.clearance", part)
    assert (kind.severity, kind.measured) == (STOP, pytest.approx(1.3, abs=0.01))
    assert (ring_.severity, ring_.measured) == (QUERY, pytest.approx(3.5, abs=0.02))


def picture(*shapes: tuple[Cover, float]) -> Exam:
    """Return a label that is one picture: only the view tells what is in it."""
    box = Box.centred(106, 106)
    space = Space(SpaceFamily.CMYK, 4)
    image = ImageItem(
        "p", Quad(*box.corners), box, (1252, 1252), 8, space, (), (300, 300), False, None, False,
        None,
    )  # fmt: skip
    return exam(*shapes, images=(image,))


@pytest.mark.parametrize("turn", [0.0, 45.0, 133.0])
def test_an_object_in_a_picture_is_a_query_with_its_distance(turn: float) -> None:
    box = Box(46.0, -1.0, 48.2, 1.0)
    part = picture(GROUND, (box_cover(box, turn), 1.0))
    (found,) = findings("trim.clearance", part)
    assert found.severity is QUERY
    assert found.measured == pytest.approx(50 - np.hypot(48.2, 1.0), abs=0.1)
    at = found.where[0].box.centre
    place = Affine.turn(turn).at(48, 0)
    assert np.hypot(at.x - place.x, at.y - place.y) < 2.5


def test_a_ring_in_a_picture_is_a_frame() -> None:
    part = picture(GROUND, (ring_cover(46.5, 0.6), 1.0))
    (found,) = findings("trim.clearance", part)
    assert (found.required, found.measured) == (5.0, pytest.approx(3.2, abs=0.1))


def test_bands_that_run_out_of_a_picture_are_no_intrusion() -> None:
    bands = [(box_cover(Box(-60, y, 60, y + 4), 30.0), 1.0) for y in (-45, -20, 5, 30)]
    assert findings("trim.clearance", picture(GROUND, *bands)) == []


def photo(x: FloatArray, y: FloatArray) -> FloatArray:
    """Return a hard, busy texture over all of the page."""
    rng = np.random.default_rng(4)
    grain = rng.random((400, 400))
    i, j = ((y + 60) / 0.3).astype(int) % 400, ((x + 60) / 0.3).astype(int) % 400
    return grain[i, j]


def test_a_full_bleed_photograph_is_no_intrusion() -> None:
    part = picture((lambda x, y: photo(x, y), 1.0))
    assert findings("trim.clearance", part) == []


def test_an_edge_that_is_faint_where_it_crosses_the_trim_is_no_intrusion() -> None:
    """This ensures that a horizon is one edge though its contrast passes the threshold on it."""

    def hill(x: FloatArray, y: FloatArray) -> FloatArray:
        contrast = np.clip(0.12 + (48.5 - x) * 0.08, 0.12, 0.5)
        return edge(-y, PITCH) * contrast

    assert findings("trim.clearance", picture(GROUND, (hill, 1.0))) == []


def test_a_soft_gradient_is_no_intrusion() -> None:
    part = picture((lambda x, y: np.clip(np.hypot(x, y) / 60, 0, 1), 1.0))
    assert findings("trim.clearance", part) == []


def test_type_over_a_picture_is_judged_once() -> None:
    box = Box(46.0, -1.0, 48.2, 1.0)
    part = picture(GROUND, (box_cover(box), 1.0))
    content = Content(images=part.sheets[0].content.images, texts=(text([box]),))
    both = make_exam(content=content, view=scene(GROUND, (box_cover(box), 1.0)))
    (found,) = findings("trim.clearance", both)
    assert found.severity is STOP


def test_clear_says_what_was_measured() -> None:
    said = examine("trim.clearance", type_at(6.0))
    assert isinstance(said[0], Clear)
    assert said[0].measured == pytest.approx(6.0, abs=0.01)


def test_outlined_type_is_type(tmp_path) -> None:
    """Letters of an open font, their feet 0.8 mm inside the trim, and others 2.4 mm off the hole;
    2 mm and 3 mm are the least."""
    lines = (
        Set("Lanternfold Recordings", 0, 0, 8, "SourceSansPro-Regular", 270, 48.6, inward=False),
        Set("Halden Orrery", 0, 6.0, 9, "SourceSerifPro-Regular"),
    )
    art = label(tmp_path / "label.pdf", lines)
    for check, least in (("trim.clearance", 2.0), ("hole.clearance", 3.0)):
        (finding,) = said(art, check)
        assert (finding.code, finding.severity, finding.required) == ("type", "stop", least)
        assert finding.message.startswith("Outlined type")


def test_rows_of_outlined_type_across_the_hole_are_no_texture(tmp_path) -> None:
    words = "Recorded live at the Sluice House"
    rows = tuple(Set(words, 0, 2.3 * n, 6, "Jost-Regular") for n in range(-6, 7))
    (finding,) = said(label(tmp_path / "label.pdf", rows), "hole.clearance")
    assert (finding.code, finding.severity) == ("type", "stop")


def test_a_path_of_very_many_subpaths_is_looked_at_in_portions(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Boxes round the label, all of them one path, the last one nearest; and a picture."""
    turns = np.radians(np.arange(0, 300, 10))
    rooms = 2.4 - np.arange(len(turns)) / 25
    boxes = [
        Box.centred(1.0, 1.0, ((50 - room) * math.cos(turn), (50 - room) * math.sin(turn)))
        for turn, room in zip(turns.tolist(), rooms.tolist(), strict=True)
    ]
    every = [box_path(box, fill=BLACK) for box in boxes]
    whole = every[0]._replace(
        box=Box.around(corner for one in boxes for corner in one.corners),
        segments=tuple(part for one in every for part in one.segments),
    )
    frame = Box(46.0, -10.0, 48.6, -8.0)
    image = ImageItem(
        "p", Quad(*frame.corners), frame, (60, 60), 8, Space(SpaceFamily.CMYK, 4), (), (300, 300),
        False, None, False, None,
    )  # fmt: skip
    covers = [(box_cover(box), 1.0) for box in (*boxes, frame)]
    part = exam(GROUND, *covers, paths=(whole,), images=(image,))
    at_once = findings("trim.clearance", part)
    assert at_once
    monkeypatch.setattr(edges, "_CORNERS_AT_ONCE", 21)
    part = exam(GROUND, *covers, paths=(whole,), images=(image,))
    assert findings("trim.clearance", part) == at_once
    reach = max(float(np.hypot(*corner)) for box in (*boxes, frame) for corner in box.corners)
    assert at_once[0].measured == pytest.approx(50 - reach, abs=0.1)


def test_a_word_of_which_only_parts_lie_near_the_trim_is_one() -> None:
    """Set aslant outside the trim, its letters apart: those far off are not looked at."""

    def draw(canvas: Canvas) -> None:
        ground(canvas, CMYKColor(0.1, 0, 0.1, 0))
        set_at(canvas, "H   E   T", 5, -23.5, 45.2, 28, CMYKColor(0, 0, 0, 1))

    (found,) = (f for f in findings("trim.clearance", exam_of(drawn(draw))) if f.code == "outside")
    assert found.message.startswith("A word is printed")
    assert len(found.where) == 1


def test_two_frames_of_one_extent_are_one() -> None:
    """A tint laid over a picture or a panel has the same edge."""

    def draw(radii: tuple[float, ...], canvas: Canvas) -> None:
        ground(canvas, CMYKColor(0.5, 0, 0.1, 0))
        for n, radius in enumerate(radii):
            canvas.setFillColor(CMYKColor(0, 0.6 - 0.3 * n, 0.1, 0))
            canvas.circle(0, 0, radius, stroke=0, fill=1)

    for radii, places in (((48.0, 48.0), 1), ((48.0, 46.0), 2)):
        (found,) = findings("trim.clearance", exam_of(drawn(partial(draw, radii))))
        assert (found.code, len(found.where)) == ("frame", places)
        assert found.message.startswith(("A shape runs", "2 shapes run")[places - 1])


def test_type_that_is_half_covered_is_told_once() -> None:
    """The cover shows where it ends, on the letters alone."""

    def draw(canvas: Canvas) -> None:
        ground(canvas, CMYKColor(0.1, 0.2, 0.0, 0.0))
        set_at(canvas, "HH", 4, RIM - 6.5, -1.5, 0, CMYKColor(0, 0, 0, 1))
        canvas.setFillColor(CMYKColor(0.1, 0.2, 0.0, 0.0))
        canvas.rect(40, 0, 15, 5, stroke=0, fill=1)

    found = findings("trim.clearance", exam_of(drawn(draw)))
    assert [one.code for one in found] == ["type"]


def test_bare_paper_outside_the_trim_is_not_said_to_be_printed() -> None:
    def draw(canvas: Canvas) -> None:
        ground(canvas, CMYKColor(0.8, 0.4, 0.0, 0.0))
        canvas.setFillColor(CMYKColor(0, 0, 0, 0))
        canvas.circle(RIM + 1.5, 0, 1.0, stroke=0, fill=1)

    (found,) = findings("trim.clearance", exam_of(drawn(draw)))
    assert (found.code, found.severity) == ("outside", QUERY)
    assert found.message.startswith("A bare place lies 0.5 mm outside the trim;")
