"""Faces that stand upright once folded: of two rows, the upper one folds back over the top."""

import pytest

from prepcheck.findings import Severity
from prepcheck.geometry import Box
from prepcheck.measure.type_direction import opposite
from prepcheck.said import Clear, NotApplicable
from prepcheck.spec.model import Spec
from tests.checks.exams import examine, findings, label_spec, make_exam, placed, sleeve_spec
from tests.checks.folded import folded_exam, letters

CHECK = "panel.upside-down"


def gatefold() -> Spec:
    size = {"width_mm": 60, "height_mm": 60}
    panels = [
        {"name": "inside", "row": 0, "reads": "down", **size},
        {"name": "outside", "row": 1, **size},
    ]
    return sleeve_spec(outline={"kind": "panels", "trim_tolerance_mm": 1.0, "panels": panels})


UPPER, LOWER = Box(-20, 25, 20, 30), Box(-20, -30, 20, -25)


@pytest.mark.parametrize("way", ["up", "down", "left", "right"])
def test_the_inside_of_a_flat_stands_on_its_head(way: str) -> None:
    exam = folded_exam(letters(UPPER, top=way), letters(LOWER, top="up"), spec=gatefold())
    found = findings(CHECK, exam)
    assert [(f.severity, [m.label for m in f.where]) for f in found] == (
        [(Severity.QUERY, ["inside: upside down"])] if way == "up" else []
    )
    if found:
        assert found[0].where[0].box == pytest.approx(Box(-20, 25, 19, 30))


def test_both_faces_at_once_make_one_finding() -> None:
    runs = (letters(UPPER, top="up"), letters(LOWER, top="down"))
    (found,) = findings(CHECK, folded_exam(*runs, spec=gatefold()))
    assert found.measured == "inside and outside"
    assert "the inside and the outside stand" in found.message


def test_a_line_turned_for_effect_is_outweighed_by_the_rest() -> None:
    small = letters(Box(-20, -5, 0, -4), top="down")
    (said,) = examine(CHECK, folded_exam(small, letters(LOWER, top="up"), spec=gatefold()))
    assert isinstance(said, Clear)


def test_nothing_to_judge() -> None:
    for exam, why in (
        (make_exam(label_spec()), "the piece is not folded"),
        (folded_exam(spec=gatefold()), "no face carries type that can be read"),
    ):
        (said,) = examine(CHECK, exam)
        assert said == NotApplicable(CHECK, why)


@pytest.mark.parametrize("check", [CHECK, "spine.direction"])
def test_a_page_on_its_side_may_have_been_turned_either_way(check: str) -> None:
    exam = folded_exam(letters(Box(10, 0, 40, 5), top="down"), letters(Box(-0.6, 0, 0.6, 20)))
    outline = exam.spec.outline_of()
    place = placed(outline, Box(0, 0, 66, 129), trim=Box(3, 3, 63, 126), turned=90)
    turned = make_exam(exam.spec, content=exam.sheets[0].content, placement=place)
    assert [type(item) for item in examine(check, turned)] == [NotApplicable]


def test_opposite_ways() -> None:
    assert [opposite(way) for way in ("up", "left", "down", "right")] == [
        "down", "right", "up", "left",
    ]  # fmt: skip
