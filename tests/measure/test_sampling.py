"""Reading between pixels against SciPy's interpolation, an independent library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import map_coordinates

from prepcheck.geometry import Grid
from prepcheck.measure.sampling import across_rays, along_rays, median, rays, sample

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
    assert across_rays(plane("C"), GRID, nothing, nothing, np.arange(4.0)).shape == (4, 0)


@pytest.mark.parametrize("count", [1, 2, 3, 8, 9])
def test_the_median_is_numpys(count: int) -> None:
    values = np.random.default_rng(count).integers(0, 256, count).astype(np.uint8)
    assert median(values) == np.median(values)
