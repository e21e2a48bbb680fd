"""Callout numbers stand outside the piece, apart from each other, near what they point at."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.proof.callouts import (
    SPACING,
    Rail,
    RoundRail,
    SquareRail,
    arrange,
    capacity,
    spread,
)
from prepcheck.proof.pen import Rect

RAILS = (RoundRail((300.0, 250.0), 170.0), SquareRail(Rect(100.0, 80.0, 900.0, 460.0)))


@pytest.mark.parametrize("rail", RAILS)
def test_along_and_at_undo_each_other(rail: Rail) -> None:
    for i in range(200):
        along = rail.length * i / 200
        assert rail.along(rail.at(along)) == pytest.approx(along, abs=1e-6)
        assert rail.inset(rail.at(along)) == pytest.approx(0.0, abs=1e-6)


def test_the_nearest_place_on_a_square_rail_is_nearest() -> None:
    rail = RAILS[1]
    assert rail.at(rail.along((120.0, 300.0))) == pytest.approx((100.0, 300.0))
    assert rail.at(rail.along((950.0, 300.0))) == pytest.approx((1000.0, 300.0))
    assert rail.at(rail.along((400.0, 100.0))) == pytest.approx((400.0, 80.0))
    assert rail.at(rail.along((400.0, 500.0))) == pytest.approx((400.0, 540.0))


def gaps_of(places: list[float], length: float) -> list[float]:
    turn = sorted(place % length for place in places)
    return [b - a for a, b in zip(turn, [*turn[1:], turn[0] + length], strict=True)]


@given(
    st.lists(st.floats(0, 999.999), min_size=1, max_size=60),
    st.floats(1000.0, 3000.0),
)
def test_spread_numbers_never_touch_while_there_is_room(wanted: list[float], length: float) -> None:
    spacing = min(SPACING, length / len(wanted))
    places = spread(sorted(wanted), length, SPACING)
    assert len(places) == len(wanted)
    if len(wanted) > 1:
        assert min(gaps_of(places, length)) >= spacing - 1e-6


def test_numbers_that_do_not_touch_stay_where_they_are() -> None:
    places = [place % 500.0 for place in spread([10.0, 100.0, 400.0], 500.0, 18.0)]
    assert places == pytest.approx([10.0, 100.0, 400.0])


def test_three_at_one_place_fan_out_about_it() -> None:
    assert spread([50.0, 50.0, 50.0], 500.0, 18.0) == pytest.approx([32.0, 50.0, 68.0])


def test_a_cluster_over_the_start_of_the_rail_is_not_torn_apart() -> None:
    places = [place % 500.0 for place in spread([2.0, 499.0], 500.0, 18.0)]
    assert places == pytest.approx([9.5, 491.5])


@pytest.mark.parametrize("rail", RAILS)
def test_as_many_as_the_rail_takes_do_not_touch(rail: Rail) -> None:
    anchors = [(330.0 + i % 7, 260.0 + i % 5) for i in range(capacity(rail))]
    placed = arrange(anchors, rail)
    assert sorted(callout.of for callout in placed) == list(range(len(anchors)))
    places = [callout.place for callout in placed]
    least = min(math.dist(a, b) for i, a in enumerate(places) for b in places[i + 1 :])
    assert least >= SPACING / math.sqrt(2) - 1e-6
