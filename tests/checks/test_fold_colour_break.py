"""Colour that changes on a fold. Folds of the hand-made sleeve lie at x = -1.5 and 1.5 mm."""

from pathlib import Path

import numpy as np
import pytest

from prepcheck.findings import Finding
from prepcheck.geometry import Box
from prepcheck.said import NotApplicable
from tests.checks.exams import box_cover, examine, findings, label_spec, make_exam, scene
from tests.checks.folded import exam_of_file, folded_spec
from tests.factories import one_page

CHECK = "fold.colour-break"


def fields(*parts: tuple[Box, float]) -> list[Finding]:
    view = scene(*((box_cover(box), amount) for box, amount in parts))
    return findings(CHECK, make_exam(folded_spec(), view=view))


def two_inks(at: float) -> list[Finding]:
    """A grey sheet whose front, from x = `at`, is black."""
    return fields((Box(-70, -40, 70, 40), 0.4), (Box(at, -40, 70, 40), 1.0))


# At most 0.5 mm off is allowed, judged with 0.1 mm of measuring tolerance.
@pytest.mark.parametrize("off", [-1.2, -0.7, -0.45, 0.0, 0.45, 0.55, 0.7, 1.4, 2.5])
def test_change_between_two_colours(off: float) -> None:
    found = two_inks(1.5 + off)
    assert [f.measured for f in found] == (
        [pytest.approx(abs(off), abs=0.05)] if abs(off) > 0.6 else []
    )


def test_the_place_is_the_line_where_the_colour_changes() -> None:
    (found,) = two_inks(3.0)
    (mark,) = found.where
    assert mark.box.x0 == pytest.approx(3.0, abs=0.05)
    assert mark.box.height > 50
    assert "on the front" in found.message


def test_a_change_far_from_the_fold_has_nothing_to_do_with_it() -> None:
    assert two_inks(6.0) == []


# A solid beside bare paper owes 1 mm of overlap; more than 2 mm is off the fold.
@pytest.mark.parametrize(
    ("overlap", "words"),
    [
        (-0.8, "ends 0.8 mm short of"),
        (0.0, "ends exactly on"),
        (0.5, "runs only 0.5 mm past"),
        (0.82, "runs only 0.8 mm past"),
        (0.95, None),
        (1.3, None),
    ],
)
def test_a_solid_beside_bare_paper(overlap: float, words: str | None) -> None:
    found = fields((Box(1.5 - overlap, -40, 70, 40), 1.0))
    assert [words in f.message for f in found if words] == ([] if words is None else [True])
    if words is not None:
        assert "white will show" in found[0].message
        assert found[0].measured == pytest.approx(overlap, abs=0.06)


def test_an_overlap_far_on_to_the_face_is_off_the_fold() -> None:
    (found,) = fields((Box(-70, -40, 4.0, 40), 1.0))
    assert found.measured == pytest.approx(2.5, abs=0.05)
    assert "off the fold" in found.message


def test_a_black_spine_that_ends_on_both_folds() -> None:
    (found,) = fields((Box(-1.5, -40, 1.5, 40), 1.0))
    assert "(2 folds)" in found.message
    assert len(found.where) == 2


def test_a_picture_across_the_fold_is_no_change_on_it() -> None:
    rng = np.random.default_rng(7)
    blocks = [
        (Box(x, y, x + w, y + h), a)
        for x, y, w, h, a in zip(
            rng.uniform(-10, 8, 120), rng.uniform(-30, 28, 120), rng.uniform(1, 6, 120),
            rng.uniform(1, 6, 120), rng.uniform(0, 1, 120), strict=True,
        )
    ]  # fmt: skip
    assert fields((Box(-70, -40, 70, 40), 0.5), *blocks) == []


def test_nothing_to_judge_without_a_change_or_a_fold() -> None:
    for exam, why in (
        (make_exam(folded_spec()), "no colour changes along a fold"),
        (make_exam(label_spec()), "the piece has no fold"),
    ):
        assert [i.why for i in examine(CHECK, exam) if isinstance(i, NotApplicable)] == [why]


def test_of_a_pdf(tmp_path: Path) -> None:
    # Trim 123 x 60 mm at (3, 3); the front begins at x = 66 on the page, drawn at 66.9.
    file = tmp_path / "a.pdf"
    content = "0 0.3 0.6 0 k 0 0 129 66 re f 0.8 0.2 0 0 k 66.9 0 63 66 re f"
    file.write_bytes(one_page(content, (129, 66), trim_mm=(3, 3, 126, 63)))
    (found,) = findings(CHECK, exam_of_file(file, folded_spec()))
    assert found.measured == pytest.approx(0.9, abs=0.05)
