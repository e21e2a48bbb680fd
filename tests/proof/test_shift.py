"""The print is shown off in the direction that does most harm, worked out by hand."""

from dataclasses import replace

import pytest

from prepcheck.findings import Finding, PartResult
from prepcheck.proof.shift import PrintShift, worst_shift
from prepcheck.spec.load import load_spec
from tests.proof import made_up

SPEC = load_spec("label-12in")
OUTLINE = SPEC.outline_of(0)
ERROR = SPEC.clearance.print_to_cut_mm


def shift_for(*findings: Finding, page: int = 1) -> PrintShift:
    blank: PartResult = made_up.unread_part().result
    return worst_shift(replace(blank, findings=findings), page, SPEC, OUTLINE)


def near(severity: str, x: float, y: float, **more: object) -> Finding:
    return made_up.finding(
        severity, "a", "b", made_up.box(x, y, 1, 1), measured=1.0, unit="mm", **more
    )


def test_without_a_place_near_an_edge_the_print_moves_to_the_right() -> None:
    assert shift_for() == PrintShift(ERROR, 0.0, None)
    assert shift_for(near("stop", 25.0, 0.0)).number is None


def test_type_near_the_rim_is_worst_off_when_the_print_moves_outwards() -> None:
    shift = shift_for(near("stop", 0.0, -48.5))
    assert shift[:2] == pytest.approx((0.0, -ERROR))
    assert shift.way == "down"


def test_type_near_the_hole_is_worst_off_when_the_print_moves_towards_the_hole() -> None:
    shift = shift_for(near("query", -6.0, 0.0))
    assert shift[:2] == pytest.approx((ERROR, 0.0))
    assert shift.way == "to the right"


def test_an_arc_without_bleed_is_worst_off_when_the_print_moves_away_from_it() -> None:
    mark = made_up.arc_mark(50.0, 80.0, 100.0)
    shift = shift_for(made_up.finding("stop", "a", "b", mark, measured=0.5, unit="mm"))
    assert shift[:2] == pytest.approx((0.0, -ERROR), abs=1e-9)


def test_the_gravest_then_the_nearest_place_decides() -> None:
    findings = (near("query", 0.0, 49.4), near("stop", 48.0, 0.0), near("stop", -49.0, 0.0))
    shift = shift_for(*findings)
    assert (shift.number, shift.way) == (3, "to the left")


def test_other_units_notes_and_other_pages_do_not_decide() -> None:
    place = made_up.box(0, 49, 1, 1)
    ppi = made_up.finding("stop", "a", "b", place, measured=100.0, unit="ppi")
    assert shift_for(ppi, near("note", 0, 49), near("stop", 0, 49, page=2)).number is None
    assert shift_for(near("stop", 0, 49, page=2), page=2).number == 1


@pytest.mark.parametrize(
    ("x", "y", "way"),
    [(1, 1, "up and to the right"), (-1, 1, "up and to the left"), (0, 1, "up"),
     (-1, -1, "down and to the left"), (1, -1, "down and to the right"), (-1, 0.1, "to the left"),
     (-1, -0.1, "to the left")],
)  # fmt: skip
def test_directions_in_words(x: float, y: float, way: str) -> None:
    assert PrintShift(x, y, None).way == way
