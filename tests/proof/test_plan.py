"""The worst places are enlarged, each once, and never the piece as a whole."""

from dataclasses import replace

import pytest

from prepcheck.findings import Finding, Mark, PartResult
from prepcheck.geometry import Box, Point
from prepcheck.proof.close_up_plan import ENLARGEMENT, INSET_MM, MOST_INSETS, centre_of, plan_insets
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
    ]
    plans = plan_insets(result_with(*findings))
    assert [plan.number for plan in plans] == [1, 2, 3, 4]
    assert plans[0].box.centre.x == pytest.approx(40.0)


def test_a_lone_finding_is_shown_at_its_second_place_too() -> None:
    many = [made_up.box(-40 + 20 * i, 0, 1, 1, rank=5 - i) for i in range(5)]
    plans = plan_insets(result_with(made_up.finding("stop", "a", "b", *many)))
    assert [plan.box.centre.x for plan in plans] == pytest.approx([40.0, 20.0])


def test_notes_and_places_that_stand_for_the_whole_piece_are_not_enlarged() -> None:
    whole = Mark(Box.centred(100.0, 100.0))
    findings = (
        made_up.finding("note", "a", "b", made_up.box(0, 0, 1, 1)),
        made_up.finding("stop", "a", "b", whole),
    )
    assert plan_insets(result_with(*findings)) == ()


def test_two_findings_at_one_place_share_an_inset() -> None:
    findings = (
        made_up.finding("stop", "a", "b", made_up.box(0, 0, 1, 1)),
        made_up.finding("query", "a", "b", made_up.box(1, 1, 1, 1)),
    )
    assert [plan.number for plan in plan_insets(result_with(*findings))] == [1]


def test_each_page_has_its_own_room() -> None:
    findings = [
        made_up.finding("stop", "a", "b", made_up.box(20 * i - 60, 0, 1, 1), page=page)
        for page in (1, 2)
        for i in range(8)
    ]
    plans = plan_insets(result_with(*findings))
    assert [plan.page for plan in plans] == [1] * MOST_INSETS + [2] * MOST_INSETS


def test_the_middle_of_a_path_lies_half_way_along_it() -> None:
    path = (Point(0, 0), Point(10, 0), Point(10, 20))
    assert centre_of(Mark(Box.around(path), path=path)) == pytest.approx((10.0, 5.0))
    assert centre_of(Mark(Box(0, 0, 4, 2))) == (2.0, 1.0)
    still = (Point(3, 3), Point(3, 3))
    assert centre_of(Mark(Box.around(still), path=still)) == (3.0, 3.0)
