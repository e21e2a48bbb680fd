"""Every place is enlarged and shown whole, but never the piece as a whole."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.findings import Finding, Mark, PartResult
from prepcheck.geometry import Box, Point
from prepcheck.proof.close_up_plan import (
    COARSE,
    ENLARGEMENT,
    FRAMES_MM,
    INSET_MM,
    MOST_SHARP,
    centre_of,
    plan_insets,
)
from prepcheck.proof.closeups import free_corner
from prepcheck.proof.pen import Rect
from tests.proof import made_up


def result_with(*findings: Finding) -> PartResult:
    blank = made_up.unread_part().result
    return replace(blank, findings=findings, trim_mm=(100.0, 100.0))


def test_an_inset_is_centred_on_the_place_and_of_the_planned_size() -> None:
    (plan,) = plan_insets(result_with(made_up.finding("stop", "a", "b", made_up.box(12, -7, 2, 1))))
    assert (plan.number, plan.page) == (1, 1)
    assert plan.box.centre == pytest.approx((12.0, -7.0))
    assert (plan.box.width, plan.box.height) == pytest.approx(
        (INSET_MM[0] / ENLARGEMENT, INSET_MM[1] / ENLARGEMENT)
    )


def test_every_finding_is_shown_at_its_worst_place() -> None:
    many = [made_up.box(-40 + 20 * i, 0, 1, 1, rank=5 - i) for i in range(5)]
    findings = [
        made_up.finding("stop", "a", "b", *many),
        *(made_up.finding("query", "a", "b", made_up.box(0, y, 1, 1)) for y in (-40, -20, 20)),
        made_up.finding("note", "a", "b", made_up.box(40, 40, 1, 1)),
    ]
    plans = plan_insets(result_with(*findings))
    assert [plan.number for plan in plans] == [1, 2, 3, 4, 5]
    assert plans[0].box.centre.x == pytest.approx(40.0)


def test_a_lone_finding_is_shown_at_its_second_place_too() -> None:
    many = [made_up.box(-40 + 20 * i, 0, 1, 1, rank=5 - i) for i in range(5)]
    plans = plan_insets(result_with(made_up.finding("stop", "a", "b", *many)))
    assert [plan.box.centre.x for plan in plans] == pytest.approx([40.0, 20.0])


def test_places_that_stand_for_the_whole_piece_are_not_enlarged() -> None:
    whole = Mark(Box.centred(100.0, 100.0))
    assert plan_insets(result_with(made_up.finding("stop", "a", "b", whole))) == ()


def test_two_findings_at_one_place_share_an_inset() -> None:
    findings = (
        made_up.finding("stop", "a", "b", made_up.box(0, 0, 1, 1)),
        made_up.finding("query", "a", "b", made_up.box(1, 1, 1, 1)),
    )
    assert [plan.numbers for plan in plan_insets(result_with(*findings))] == [(1, 2)]


@given(
    x=st.floats(-45, 45), y=st.floats(-45, 45),
    width=st.floats(0.05, 80), height=st.floats(0.05, 80),
)  # fmt: skip
def test_every_place_is_shown_whole(x: float, y: float, width: float, height: float) -> None:
    mark = made_up.box(x, y, width, height)
    plans = plan_insets(result_with(made_up.finding("query", "a", "b", mark)))
    assert any(plan.box.union(mark.box) == plan.box for plan in plans)
    for plan in plans:
        size = plan.box.width * plan.enlargement, plan.box.height * plan.enlargement
        assert any(size == pytest.approx(frame) for frame in FRAMES_MM)


def test_a_wide_place_is_shown_whole_and_close() -> None:
    plans = plan_insets(result_with(made_up.finding("stop", "a", "b", made_up.box(0, -40, 90, 1))))
    assert [plan.sharp for plan in plans] == [True, False]
    close, whole = plans
    assert close.enlargement == ENLARGEMENT
    assert whole.box.width >= 90
    assert whole.box.width * whole.enlargement == pytest.approx(FRAMES_MM[1][0])


def test_findings_without_end_are_all_shown_and_few_are_rendered() -> None:
    findings = [
        made_up.finding("stop", "a", "b", made_up.box(20 * i, 0, 1, 1), page=page)
        for page in (1, 2)
        for i in range(30)
    ]
    plans = plan_insets(result_with(*findings))
    for page in (1, 2):
        own = [plan for plan in plans if plan.page == page]
        assert len({number for plan in own for number in plan.numbers}) == 30
        assert sum(plan.sharp for plan in own) == MOST_SHARP
        assert max(plan.enlargement for plan in own if not plan.sharp) <= COARSE


def test_the_middle_of_a_path_lies_half_way_along_it() -> None:
    path = (Point(0, 0), Point(10, 0), Point(10, 20))
    assert centre_of(Mark(Box.around(path), path=path)) == pytest.approx((10.0, 5.0))
    assert centre_of(Mark(Box(0, 0, 4, 2))) == (2.0, 1.0)
    still = (Point(3, 3), Point(3, 3))
    assert centre_of(Mark(Box.around(still), path=still)) == (3.0, 3.0)


def test_a_scale_bar_hides_no_place_where_a_corner_is_free() -> None:
    frame = Rect(0.0, 0.0, 150.0, 110.0)
    foot = Rect(0.0, 80.0, 150.0, 30.0)
    assert free_corner(frame, 40.0, 16.0, []) == Rect(107.0, 91.0, 40.0, 16.0)
    assert free_corner(frame, 40.0, 16.0, [foot]) == Rect(107.0, 3.0, 40.0, 16.0)
    right = Rect(75.0, 0.0, 75.0, 110.0)
    assert free_corner(frame, 40.0, 16.0, [foot, right]) == Rect(3.0, 3.0, 40.0, 16.0)
    assert free_corner(frame, 40.0, 16.0, [frame]) == Rect(107.0, 91.0, 40.0, 16.0), "all alike"
