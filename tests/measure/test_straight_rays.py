"""Along level and upright rays a plate reads to the last digit as it does place by place."""

from collections.abc import Sequence

import numpy as np
import pytest

from prepcheck.geometry import FloatArray, Grid
from prepcheck.measure.sampling import across_rays, along_rays, rays, sample
from prepcheck.measure.straight_rays import read_straight

GRID = Grid(61, 47, 0.31, -9.0, 7.2)
SIDES = ((-6.0, 5.0), (-6.0, -4.1), (7.3, -4.1), (7.3, 5.0))


def noise(colours: Sequence[int] = ()) -> np.ndarray:
    shape = GRID.height, GRID.width, *colours
    return np.random.default_rng(5).integers(0, 256, shape, dtype=np.uint8)


def round_the_box(step: float = 0.23) -> tuple[FloatArray, FloatArray]:
    """Return places along the sides of a box, from the middle of one on, and their normals."""
    points, normals = [], []
    for (x0, y0), (x1, y1) in zip(SIDES, (*SIDES[1:], SIDES[0]), strict=True):
        way = np.array((x1 - x0, y1 - y0))
        length = float(np.abs(way).sum())
        share = np.arange(0.0, length, step)[:, None] / length
        points.append(np.array((x0, y0)) + share * way)
        normals.append(np.tile(np.array((way[1], -way[0])) / length, (len(share), 1)))
    turn = len(points[0]) // 2
    return np.roll(np.concatenate(points), turn, 0), np.roll(np.concatenate(normals), turn, 0)


# To 1.5 mm all lies inside the grid, to 9 mm much of it outside.
@pytest.mark.parametrize("reach", [0.0, 1.5, 9.0])
@pytest.mark.parametrize("colours", [(), (3,)])
def test_rays_from_the_sides_of_a_box(reach: float, colours: tuple[int, ...]) -> None:
    plane, (points, normals) = noise(colours), round_the_box()
    distances = np.arange(-reach, reach + 0.01, 0.17)
    expected = sample(plane, GRID, rays(points, normals, distances))
    out = np.empty(expected.shape, np.float32)
    assert read_straight([plane], GRID, points, normals, distances, [out], by_ray=True)
    assert np.array_equal(out, expected)
    assert np.array_equal(along_rays(plane, GRID, points, normals, distances), expected)
    if not colours:
        (turned,) = across_rays([plane], GRID, points, normals, distances)
        assert np.array_equal(turned, expected.T)


def test_many_rays_are_read_in_portions() -> None:
    plane, distances = noise(), np.linspace(-2.0, 2.0, 900)
    points, normals = round_the_box(0.02)
    expected = sample(plane, GRID, rays(points, normals, distances))
    assert np.array_equal(along_rays(plane, GRID, points, normals, distances), expected)


def test_several_planes_at_once() -> None:
    planes, (points, normals) = np.moveaxis(noise((3,)), 2, 0), round_the_box()
    distances = np.array((-0.4, 0.0, 2.2))
    for plane, found in zip(
        planes, across_rays(planes, GRID, points, normals, distances), strict=True
    ):
        assert np.array_equal(found.T, sample(plane, GRID, rays(points, normals, distances)))


def test_rays_aslant_or_round_a_circle_are_not_straight() -> None:
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    normals = np.column_stack((np.cos(turn), np.sin(turn)))
    plane, distances = noise(), np.arange(3.0)
    out = np.empty((len(turn), 3), np.float32)
    assert not read_straight([plane], GRID, 4 * normals, normals, distances, [out], by_ray=True)
    expected = sample(plane, GRID, rays(4 * normals, normals, distances))
    assert np.array_equal(along_rays(plane, GRID, 4 * normals, normals, distances), expected)


def test_no_rays() -> None:
    none = np.empty((0, 2))
    assert along_rays(noise(), GRID, none, none, np.arange(3.0)).shape == (0, 3)
