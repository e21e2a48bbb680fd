"""Room between art and folds. Folds of the hand-made sleeve lie at x = -1.5 and 1.5 mm."""

from functools import partial

import numpy as np
import pytest
from reportlab.lib.colors import CMYKColor
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import BLACK, box_path, examine, findings, label_spec, make_exam
from tests.checks.folded import folded_exam, letters
from tests.truth import clear_seams
from tests.truth._page import FOLDS, as_picture, drawn, exam_of, flattened, ground, type_at

CHECK = "fold.clearance"


def front(clear: float) -> Box:
    """Return a place for type on the front, so far from the fold."""
    return Box(1.5 + clear, 5, 20, 8)


# Limits 0.5 mm (stop) and 1 mm (query), judged with 0.1 mm of measuring tolerance.
@pytest.mark.parametrize(
    ("clear", "severity"),
    [
        (0.38, Severity.STOP),
        (0.42, Severity.QUERY),
        (0.88, Severity.QUERY),
        (0.92, None),
        (5.0, None),
    ],
)
def test_type_on_a_face(clear: float, severity: Severity | None) -> None:
    found = findings(CHECK, folded_exam(letters(front(clear))))
    assert [f.severity for f in found] == ([] if severity is None else [severity])
    assert [f.measured for f in found] == (
        [] if severity is None else [pytest.approx(clear, abs=0.01)]
    )


def test_type_across_a_fold_is_a_stop_with_its_place() -> None:
    (found,) = findings(CHECK, folded_exam(letters(Box(-0.5, 5, 8, 8), "SALT", count=2)))
    assert found.severity is Severity.STOP
    # The first letter runs from -0.5 to 3.325 mm; 1.825 mm of it lie beyond the fold.
    assert found.measured == pytest.approx(-1.83, abs=0.01)
    assert "runs across the fold between spine and front" in found.message
    (mark,) = found.where
    assert mark.box.overlap(Box(1.5, 5, 1.5, 8)) is not None


def test_type_on_the_spine_owes_the_least_only() -> None:
    # 1.6 mm of type in a spine of 3 mm leaves 0.7 mm: less than a face wants, enough for a spine.
    exam = folded_exam(letters(Box(-0.8, -20, 0.8, 20), top="right"))
    said = examine(CHECK, exam)
    (clear,) = [item for item in said if isinstance(item, Clear)]
    assert clear.measured == pytest.approx(0.7, abs=0.01)
    (found,) = findings(CHECK, folded_exam(letters(Box(-1.2, -20, 1.2, 20), top="right")))
    assert found.severity is Severity.STOP
    assert found.measured == pytest.approx(0.3, abs=0.01)


def test_an_object_that_ends_beside_a_fold_is_a_query() -> None:
    exam = folded_exam(paths=(box_path(Box(2.1, -5, 20, 5), fill=BLACK),))
    (found,) = findings(CHECK, exam)
    assert found.severity is Severity.QUERY
    assert found.measured == pytest.approx(0.6, abs=0.02)


@pytest.mark.parametrize(
    "box",
    [
        Box(-20, -5, 20, 5),  # runs across both folds
        Box(2.6, -5, 20, 5),  # keeps clear
        Box(1.5, -33, 63, 33),  # a ground that ends on the fold: a matter of colour
    ],
)
def test_what_runs_across_or_keeps_clear_is_no_fault(box: Box) -> None:
    assert findings(CHECK, folded_exam(paths=(box_path(box, fill=BLACK),))) == []


def test_a_pattern_that_runs_across_is_no_fault() -> None:
    dots = tuple(
        box_path(Box(x, y, x + 0.6, y + 0.6), fill=BLACK)
        for y in range(-29, 29, 2)
        for x in np.arange(-9.0, 12.0, 1.6).tolist()
    )
    assert findings(CHECK, folded_exam(paths=dots)) == []
    one_side = tuple(path for path in dots if path.box.x0 > 1.6)
    assert len(findings(CHECK, folded_exam(paths=one_side))) == 1


def test_an_object_that_runs_a_little_across_is_a_query() -> None:
    exam = folded_exam(paths=(box_path(Box(1.1, -5, 20, 5), fill=BLACK),))
    assert [f.measured for f in findings(CHECK, exam)] == [pytest.approx(0.4, abs=0.02)]


def test_hidden_edges_do_not_count() -> None:
    exam = make_exam(
        folded_exam().spec, content=folded_exam(paths=(box_path(Box(2, -5, 20, 5), fill=BLACK),))
        .sheets[0].content,
    )  # fmt: skip
    assert findings(CHECK, exam) == []


def test_a_label_has_no_fold() -> None:
    said = examine(CHECK, make_exam(label_spec()))
    assert [item.why for item in said if isinstance(item, NotApplicable)] == [
        "the piece has no fold"
    ]


def test_a_word_beside_a_fold_in_a_flattened_page_is_told_as_a_word() -> None:
    def draw(canvas) -> None:
        ground(canvas, CMYKColor(0.2, 0.1, 0.3, 0))
        type_at(canvas, "Halden", 3, FOLDS[1] + 1.0, 5, 0, CMYKColor(0, 0, 0, 1))

    page = as_picture(flattened(drawn(draw, sleeve=True)), sleeve=True)
    (found,) = findings(CHECK, exam_of(page, sleeve=True))
    assert found.message.startswith("A word ends 1.")


@pytest.mark.parametrize("seed", [2, 8])
def test_a_picture_that_ends_beside_a_fold_is_told_as_a_picture(seed: int) -> None:
    """Also where an edge within it is found beside its frame."""
    (case,) = [case for case in clear_seams.cases(seed) if case.faulty]
    page, sleeve = clear_seams.page_of(case)
    (finding,) = findings(CHECK, exam_of(page, sleeve))
    assert finding.message.startswith("A picture ends")


@pytest.mark.parametrize("flat", [False, True])
def test_the_dashes_of_a_guide_that_is_told_of_are_no_shapes(flat: bool) -> None:
    """A fold line of a template, its dashes expanded to shapes, along a fold, which is a guide's
    place: one fault. A bar beside the fold is another."""

    def draw(beside: bool, canvas: Canvas) -> None:
        ground(canvas, CMYKColor(0.1, 0, 0.2, 0))
        canvas.setFillColor(CMYKColor(0, 0, 0, 1))
        for n in range(20):
            canvas.rect(FOLDS[0] - 0.1, -33 + 3.3 * n, 0.2, 2.1, stroke=0, fill=1)
        if beside:
            canvas.rect(3.0, -5, 8, 10, stroke=0, fill=1)

    for beside in (False,) if flat else (False, True):
        page = drawn(partial(draw, beside), True)
        exam = exam_of(as_picture(flattened(page), True) if flat else page, True)
        assert [found.code for found in findings("guide.printing", exam)] == ["line"]
        found = [one for one in findings(CHECK, exam) if one.code == "edge"]
        assert [len(one.where) for one in found] == ([1] if beside else [])
        assert all(one.measured == pytest.approx(1.5, abs=0.1) for one in found)


def test_the_corner_of_a_wide_slanting_square_cap_is_where_a_stroke_ends() -> None:
    """ISO 32000-2, Table 53: half the width beyond the end, so that at 45 degrees a corner lies a
    half times the root of 2 nearer than where the stroke's line ends."""
    half, room = 1.0, 2.7

    def draw(canvas: Canvas) -> None:
        canvas.setLineWidth(2 * half)
        canvas.setLineCap(2)
        x = FOLDS[1] + room + half * 2**0.5
        canvas.line(x, 0, x + 5, 5)

    (finding,) = findings("fold.clearance", exam_of(drawn(draw, sleeve=True), sleeve=True))
    assert finding.measured == pytest.approx(room, abs=0.05)
