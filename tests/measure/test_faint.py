"""Faint tints: true areas and widths by construction, compared with a distance transform."""

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt

from prepcheck.geometry import Box
from prepcheck.measure.faint import _depth, faint_places
from prepcheck.measure.ink import Cells
from prepcheck.outline import Disc
from tests.checks.exams import box_cover, disc_cover, plate_scene

DISC = Disc(100.0, 7.24)
PITCH = 25.4 / 150


def faint(*shapes, pitch: float = PITCH):
    made = Cells.of(plate_scene(*shapes, pitch=pitch)(DISC), DISC)
    return faint_places(made, made.within(3), 3.0, 25.0)


def square(side: float):
    return box_cover(Box.centred(side, side, (0.0, 0.0)), 0.0, PITCH)


@pytest.mark.parametrize(("tint", "found"), [(0.4, 0), (1, 1), (2.7, 1), (3.0, 0), (3.4, 0)])
def test_the_limit(tint: float, found: int) -> None:
    places = faint((square(8), {"Magenta": tint}))
    assert len(places) == found
    for place in places:
        assert place.most == pytest.approx(tint, abs=0.2)
        assert place.area == pytest.approx(64, rel=0.15)
        assert place.width_mm == pytest.approx(8, abs=1)
        assert place.is_even


@pytest.mark.parametrize(("side", "found"), [(4.5, 0), (6.2, 1)])
def test_the_area(side: float, found: int) -> None:
    assert len(faint((square(side), {"Black": 2}))) == found


def test_a_faint_ink_under_a_strong_one_is_no_faint_tint() -> None:
    assert faint((square(12), {"Cyan": 2, "Black": 40})) == []


def test_the_soft_edge_of_a_shape_is_no_tint() -> None:
    assert faint((disc_cover(45, (0, 0), 1.5), {"Black": 100}), pitch=0.1) == []


@pytest.mark.parametrize("turn", [0.0, 30.0, 45.0, 90.0])
@pytest.mark.parametrize("length", [30.0, 60.0, 120.0])
def test_a_fade(turn: float, length: float) -> None:
    """40 % to nothing over a length: what lies between 0.6 and 2.9 % of the way is lost.

    These are 1.5 and 7.5 of 255, where samples round up to what counts as a tint and to the
    limit.
    """
    along, across = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def fade(x, y):
        way = 20 - (x * along + y * across)
        return np.clip(way / length, 0, 1) * (np.abs(y * along - x * across) < 20)

    (place,) = faint((fade, {"Cyan": 40}))
    true = length * (7.5 - 1.5) / 2.55 / 40
    assert not place.is_even
    assert place.width_mm == pytest.approx(true, abs=1.1)
    # Cells that are faint in part only are left out, up to a cell on either side.
    assert 40 * (true - 1.0) <= place.area <= 42 * true


def test_a_steep_fade_along_the_cells_is_no_even_tint() -> None:
    """5 % in 1.5 mm: the band under 3 % is one cell wide, and so all alike."""

    def fade(x, y):
        return np.clip((30 - x) / 30, 0, 1) * (np.abs(y) < 30)

    for place in faint((fade, {"Cyan": 60})):
        assert not place.is_even


def test_depth_is_about_the_distance_to_the_nearest_cell_outside() -> None:
    """Against SciPy's Euclidean distance transform, over shapes of every direction."""
    y, x = np.mgrid[-60:61, -60:61]
    for mask in (
        np.hypot(x, y) < 40,
        np.abs(x * 0.6 + y * 0.8) < 12,
        np.abs(x + y) < 20,
        (np.hypot(x, y) < 50) & (np.hypot(x, y) > 30),
    ):
        edged = np.pad(mask[1:-1, 1:-1], 1)
        true = distance_transform_edt(edged).max()
        assert _depth(edged, 0.25).max() == pytest.approx(true, rel=0.15, abs=1)
