"""Outlines, maps and grids against arithmetic that can be done by hand."""

import math

import numpy as np
import pytest

from prepcheck.geometry import Affine, Box, Grid, Point, distinct, segment_distances
from prepcheck.outline import Disc, Outline, Panel, Panels, silhouette


def test_affine_inverse_and_order() -> None:
    first, second = Affine.turn(30).then(Affine.move(5, -2)), Affine.scale(2, 3)
    point = first.then(second).at(1.5, 4.0)
    assert point == pytest.approx(second.at(*first.at(1.5, 4.0)))
    assert first.then(second).inverse().at(*point) == pytest.approx((1.5, 4.0))


@pytest.mark.parametrize(("degrees", "expected"), [(90, (0, 1)), (180, (-1, 0)), (270, (0, -1))])
def test_quarter_turns_are_exact(degrees: float, expected: tuple[float, float]) -> None:
    assert Affine.turn(degrees).at(1, 0) == Point(*expected)


def test_disc_distance_is_radius_arithmetic() -> None:
    disc = Disc(100.0, 7.24)
    points = np.array([(0.0, 0.0), (50.0, 0.0), (30.0, 40.0), (0.0, 53.0)])
    assert disc.signed_distance(points) == pytest.approx([-50, 0, 0, 3])
    holes = disc.hole_distance(points)
    assert holes is not None
    assert holes == pytest.approx([-3.62, 46.38, 46.38, 49.38])


@pytest.mark.parametrize("turn", [0.0, 17.0, 90.0, 211.3])
def test_disc_distance_does_not_change_when_turned(turn: float) -> None:
    points = np.random.default_rng(7).uniform(-60, 60, (200, 2))
    disc = Disc(92.0)
    turned = Affine.turn(turn).array(points)
    assert disc.signed_distance(turned) == pytest.approx(disc.signed_distance(points))


def test_disc_boundary_is_even_and_points_outwards() -> None:
    boundary = Disc(100.0).boundary(0.25)
    steps = np.hypot(*(np.roll(boundary.points, -1, axis=0) - boundary.points).T)
    assert steps.max() <= 0.25
    assert np.ptp(steps) < 1e-9
    assert (boundary.points * boundary.normals).sum(axis=1) == pytest.approx(50.0)


def sleeve() -> Panels:
    return Panels(
        (
            Panel("back", "face", Box(-20, -10, -1, 10)),
            Panel("spine", "spine", Box(-1, -10, 1, 10)),
            Panel("front", "face", Box(1, -10, 20, 10)),
            Panel("flap", "flap", Box(1, 10, 20, 14)),
        )
    )


def test_panels_distance_knows_the_flap_and_the_notch() -> None:
    points = np.array([(0.0, 0.0), (10.0, 12.0), (-10.0, 12.0), (0.0, 11.0), (23.0, 18.0)])
    assert sleeve().signed_distance(points) == pytest.approx([-10, -2, 2, 1, 5])


@pytest.mark.parametrize("outline", [sleeve(), Disc(30.0, 7.24)])
def test_distances_over_a_grid_are_those_of_its_places(outline: Panels | Disc) -> None:
    """By rows and columns, and place by place."""
    x, y = np.linspace(-25, 25, 41), np.linspace(18, -14, 29)
    grid, hole = outline.distance_at(x, y[:, None]), outline.hole_distance_at(x, y[:, None])
    for (row, column), distance in np.ndenumerate(grid):
        place = np.array((x[column], y[row]))
        assert distance == outline.signed_distance(place)
        if hole is not None:
            assert hole[row, column] == outline.hole_distance(place)


def test_panels_boundary_has_the_length_of_the_silhouette_and_outward_normals() -> None:
    outline = sleeve()
    boundary = outline.boundary(0.25)
    assert len(boundary.points) * 0.25 == pytest.approx(2 * (40 + 24), abs=0.01)
    out = outline.signed_distance(boundary.points + 0.05 * boundary.normals)
    assert out == pytest.approx(0.05)


def test_panels_contour_grows_on_every_side() -> None:
    (contour,) = sleeve().contour(3.0)
    assert Box.around(map(tuple, contour.points)) == Box(-23, -13, 23, 17)
    assert len(contour.points) == 6


def test_silhouette_of_a_ring_has_an_opening() -> None:
    ring = (Box(0, 0, 9, 3), Box(0, 6, 9, 9), Box(0, 3, 3, 6), Box(6, 3, 9, 6))
    areas = [
        0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
        for x, y in (loop.T for loop in silhouette(ring))
    ]
    assert sorted(areas) == [-9.0, 81.0]


def test_silhouette_of_two_bodies_that_touch_at_a_corner() -> None:
    loops = silhouette((Box(0, 0, 1, 1), Box(1, 1, 2, 2)))
    assert sorted(len(loop) for loop in loops) == [4, 4]


def test_grid_maps_there_and_back() -> None:
    grid = Grid.over(Box.centred(10.0, 6.0), 0.5)
    assert (grid.width, grid.height) == (20, 12)
    assert grid.pixels(np.array([[-5.0, 3.0], [0.0, 0.0]])).tolist() == [[0, 0], [10, 6]]
    assert grid.places(np.array([[10.5, 6.5]])) == pytest.approx(np.array([[0.25, -0.25]]))
    rows, columns = grid.window(Box(-1.0, -1.0, 1.0, 2.0))
    assert (rows, columns) == (slice(2, 8), slice(8, 12))


def test_panels_of_one_hole_free_piece() -> None:
    assert sleeve().hole_distance(np.zeros((1, 2))) is None
    assert math.isclose(sleeve().bounds.width, 40)


@pytest.mark.parametrize("outline", [Disc(100.0, 7.24), sleeve()])
def test_one_point_is_told_as_many_are(outline: Outline) -> None:
    """Against the distance, which is worked by hand above."""
    points = np.random.default_rng(3).uniform(-60, 60, (2000, 2))
    inside = outline.signed_distance(points) <= 0
    assert 20 < inside.sum() < 1900
    assert [outline.holds(Point(*point)) for point in points.tolist()] == inside.tolist()


def test_distances_from_each_of_many_segments_by_hand() -> None:
    starts = np.array([[0.0, 0.0], [0.0, 0.0], [1.0, 1.0]])
    ends = np.array([[10.0, 0.0], [0.0, 5.0], [1.0, 1.0]])  # the last is but a point
    points = np.array([[3.0, 4.0], [13.0, 4.0], [1.0, 1.0]])
    found = segment_distances(points, starts, ends)
    by_hand = [[4.0, 3.0, math.hypot(2, 3)], [5.0, 13.0, math.hypot(12, 3)], [1.0, 1.0, 0.0]]
    assert found == pytest.approx(np.array(by_hand))


@pytest.mark.parametrize("values", [[], [4], [3, 1, 3, 2, 1], [0.5, 0.5]])
def test_distinct_numbers_are_those_of_a_set(values: list[float]) -> None:
    assert distinct(np.array(values)).tolist() == sorted(set(values))
