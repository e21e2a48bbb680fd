"""Reading between pixels against SciPy's interpolation, an independent library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import map_coordinates

from prepcheck.geometry import Grid
from prepcheck.measure.sampling import (
    across_rays,
    along_rays,
    median,
    medians,
    quantile,
    rays,
    sample,
)

GRID = Grid(70, 50, 0.2, -6.0, 4.5)


def plane(order: str) -> np.ndarray:
    values = np.random.default_rng(5).integers(0, 256, (GRID.height, GRID.width), np.uint8)
    return np.array(values, order=order)


def by_scipy(values: np.ndarray, points: np.ndarray) -> np.ndarray:
    column, row = np.moveaxis(GRID.pixels(points), -1, 0)
    # Two rows and columns of nothing all round: outside the plane is bare.
    wide = np.pad(values.astype(np.float64), 2)
    return map_coordinates(wide, (row + 1.5, column + 1.5), order=1, mode="constant")


@pytest.mark.parametrize("order", ["C", "F"])
@pytest.mark.parametrize("reach", [0.0, 5.0], ids=["inside", "past the plane"])
def test_places_are_read_bilinear(order: str, reach: float) -> None:
    box = GRID.box.grown(reach - 0.1)
    points = np.random.default_rng(7).uniform(box[:2], box[2:], (300, 150, 2))  # several pieces
    values = plane(order)
    assert sample(values, GRID, points) == pytest.approx(by_scipy(values, points), abs=1e-3)


def test_rays_are_read_as_their_places_are() -> None:
    turn = np.linspace(0, 2 * np.pi, 500, endpoint=False)
    normals = np.column_stack((np.cos(turn), np.sin(turn)))
    points, distances = (1.0, -0.5) + 2 * normals, np.linspace(-1, 6, 120)
    read = along_rays(plane("C"), GRID, points, normals, distances)
    assert read.shape == (500, 120)
    assert np.array_equal(read, sample(plane("C"), GRID, rays(points, normals, distances)))


def test_no_place_and_no_ray() -> None:
    assert sample(plane("C"), GRID, np.empty((0, 3, 2))).shape == (0, 3)
    nothing = np.empty((0, 2))
    assert along_rays(plane("C"), GRID, nothing, nothing, np.arange(4.0)).shape == (0, 4)
    (across,) = across_rays([plane("C")], GRID, nothing, nothing, np.arange(4.0))
    assert across.shape == (4, 0)


def test_planes_are_read_across_together_as_each_is_along() -> None:
    points = np.random.default_rng(3).uniform(-3, 3, (40, 2))
    normals, distances = np.full((40, 2), 0.5**0.5), np.linspace(-1, 6, 30)
    planes = [plane("C"), 255 - plane("C")]
    both = across_rays(planes, GRID, points, normals, distances)
    for values, read in zip(planes, both, strict=True):
        along = along_rays(values, GRID, points, normals, distances)
        assert np.array_equal(read, along.T)


@pytest.mark.parametrize("count", [1, 2, 3, 8, 9])
def test_the_median_is_numpys(count: int) -> None:
    values = np.random.default_rng(count).integers(0, 256, count).astype(np.uint8)
    assert median(values) == np.median(values)


@pytest.mark.parametrize("count", [1, 2, 3, 8, 9])
@pytest.mark.parametrize("axis", [0, 1])
def test_medians_along_an_axis_are_numpys(count: int, axis: int) -> None:
    shape = (count, 5, 3) if axis == 0 else (5, count, 3)
    values = np.random.default_rng(count).normal(size=shape)
    assert np.array_equal(medians(values, axis), np.median(values, axis=axis))


@pytest.mark.parametrize("share", [0.0, 0.1, 0.9, 1.0])
@pytest.mark.parametrize("count", [1, 2, 7])
def test_quantiles_are_numpys(count: int, share: float) -> None:
    values = np.random.default_rng(count).normal(size=count)
    assert quantile(values, share) == pytest.approx(np.quantile(values, share), abs=1e-12)
