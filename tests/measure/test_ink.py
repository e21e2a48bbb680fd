"""Areas, windows and places of ink, on plates made by hand; the truth is arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from prepcheck.geometry import Box, Grid
from prepcheck.measure.ink import (
    Cells,
    amounts_at,
    carried,
    grown,
    reduce,
    total_over,
)
from prepcheck.outline import Disc
from prepcheck.press.separate.plates import Plates
from tests.checks.exams import box_cover, everywhere, plate_scene

DISC = Disc(100.0, 7.24)
PITCH = 25.4 / 150


def cells(*shapes, pitch: float = PITCH, outline=DISC, **options) -> Cells:
    return Cells.of(plate_scene(*shapes, pitch=pitch, **options)(outline), outline)


def square(side: float, pitch: float = PITCH, at: tuple[float, float] = (0.0, 0.0)):
    return box_cover(Box.centred(side, side, at), 0.0, pitch)


def four(total: float) -> dict[str, float]:
    return dict.fromkeys(("Cyan", "Magenta", "Yellow", "Black"), total / 4)


# -- cells ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("pitch", "size"), [(0.1, 5), (PITCH, 3), (0.25, 2), (0.5, 1), (0.9, 1)])
def test_cells_are_about_half_a_millimetre(pitch: float, size: int) -> None:
    made = cells((everywhere, {"Cyan": 40}), pitch=pitch)
    assert made.size == size
    assert made.cell_mm2 == pytest.approx((size * pitch) ** 2)
    assert made.total == pytest.approx(40, abs=0.2)
    assert made.amount("Cyan") == pytest.approx(40, abs=0.2)
    assert not made.amount("Gold").any()


def test_the_last_cells_are_means_of_what_there_is() -> None:
    plate = np.full((7, 8), 200, np.uint8)
    assert (reduce(plate, 3) == 200).all()
    assert reduce(plate, 3).shape == (3, 3)


def test_a_face_is_the_disc_without_its_hole() -> None:
    made = cells()
    area = float(made.face.sum()) * made.cell_mm2
    assert area == pytest.approx(np.pi * (50**2 - 3.62**2), rel=0.005)
    with_bleed = float(made.within(3).sum()) * made.cell_mm2
    assert with_bleed == pytest.approx(np.pi * 53**2, rel=0.005)


def test_windows_by_hand() -> None:
    """One cell of 90 % in a window of 3 × 3 gives 10 % on nine cells; off the array is bare."""
    grid = Grid(6, 5, 1.0, 0.0, 5.0)
    plates = Plates(("Cyan",), np.zeros((1, 5, 6), np.uint8), grid)
    made = Cells(plates, grid, 1, np.zeros((1, 5, 6), np.float32), np.zeros((5, 6)),
                 np.zeros((5, 6), bool))  # fmt: skip
    amounts = np.zeros((5, 6), np.float32)
    amounts[1, 2] = 90
    expected = np.zeros((5, 6))
    expected[0:3, 1:4] = 10
    assert made.window_mean(amounts, 9.0) == pytest.approx(expected)
    amounts[0, 0] = 90
    assert made.window_mean(amounts, 9.0)[0, 0] == pytest.approx(10)
    assert made.window_mean(amounts, 1.0) == pytest.approx(amounts)


def test_regions_have_their_boxes_areas_and_extremes() -> None:
    grid = Grid(6, 4, 2.0, 10.0, 20.0)
    plates = Plates(("Cyan",), np.zeros((1, 4, 6), np.uint8), grid)
    made = Cells(plates, grid, 1, np.zeros((1, 4, 6), np.float32), np.zeros((4, 6)),
                 np.zeros((4, 6), bool))  # fmt: skip
    mask = np.zeros((4, 6), bool)
    mask[0, 0] = mask[1, 1] = True  # touch at a corner
    mask[3, 4] = True
    mask[0, 5] = mask[3, 0] = False
    value = np.arange(24, dtype=np.float32).reshape(4, 6)
    large, small = made.regions(mask, None, value)
    assert (large.box, large.area, large.most, large.least) == (Box(10, 16, 14, 20), 8, 7, 0)
    assert (small.box, small.area, small.most) == (Box(18, 12, 20, 14), 4, 22)
    half = made.regions(mask, np.full((4, 6), 0.5, np.float32))
    assert [region.area for region in half] == [4, 2]
    assert made.regions(np.zeros((4, 6), bool)) == []


def test_rims_of_the_array_do_not_touch() -> None:
    """The first row is no neighbour of the last, nor the first column of the last."""
    grid = Grid(4, 4, 1.0, 0.0, 4.0)
    plates = Plates(("Cyan",), np.zeros((1, 4, 4), np.uint8), grid)
    made = Cells(plates, grid, 1, np.zeros((1, 4, 4), np.float32), np.zeros((4, 4)),
                 np.zeros((4, 4), bool))  # fmt: skip
    mask = np.zeros((4, 4), bool)
    mask[0, 0] = mask[3, 0] = mask[0, 3] = True
    assert [region.area for region in made.regions(mask)] == [1, 1, 1]


def test_grown() -> None:
    mask = np.zeros((5, 5), bool)
    mask[2, 0] = True
    assert grown(mask).sum() == 6
    assert grown(mask)[1:4, :2].all()


# -- totals ---------------------------------------------------------------------------------------


def over(made: Cells, limit: float = 251, window: float = 15):
    return total_over(made, made.within(3), limit, window)


@pytest.mark.parametrize(("total", "found"), [(250, False), (250.8, False), (253, True)])
def test_the_limit_of_the_total(total: float, found: bool) -> None:
    made = cells((square(10), four(total)))
    assert bool(over(made).regions) is found
    assert over(made).greatest == pytest.approx(total, abs=0.9)


@pytest.mark.parametrize("at", [(0.0, 20.0), (0.11, 20.07), (-20.21, 0.3)])
@pytest.mark.parametrize("pitch", [0.1, PITCH])
def test_the_window_of_the_total(at: tuple[float, float], pitch: float) -> None:
    """A square counts from the window's area on, wherever it lies in the cells."""
    made = {
        area: over(cells((square(area**0.5, pitch, at), four(320)), pitch=pitch))
        for area in (13.6, 16.4, 100.0)
    }
    assert made[13.6].regions == ()
    for area in (16.4, 100.0):
        (region,) = made[area].regions
        # A pixel counts or not: each of two edges is known to half of one.
        assert abs(region.area**0.5 - area**0.5) < 1.1 * pitch
        assert region.box.centre == pytest.approx(at, abs=0.6)
        assert region.most == pytest.approx(320, abs=1)


def test_a_bar_narrower_than_the_window_counts_by_its_area() -> None:
    bar = box_cover(Box(-20, 19, 20, 21), 0.0, PITCH)
    (region,) = over(cells((bar, four(320)))).regions
    assert region.area == pytest.approx(80, rel=0.07)


def test_grain_counts_by_the_mean_round_it() -> None:
    """Pixels that change about a mean above the limit are one place; about one below, none."""
    rng = np.random.default_rng(3)
    made = plate_scene(pitch=PITCH)(DISC)
    grain = rng.integers(-20, 21, made.data.shape[1:])

    def of(total: float) -> Cells:
        data = np.zeros_like(made.data)
        x, y = made.grid.centres()
        inside = (np.abs(x)[None, :] < 10) & (np.abs(y - 25)[:, None] < 10)
        for plate in data:
            plate[inside] = (total / 4 * 2.55 + grain)[inside]
        return Cells.of(Plates(made.inks, data, made.grid), DISC)

    (region,) = over(of(256)).regions
    # Nearer to its edge than half the window, 3.9 mm, the mean is no longer that of the place.
    assert (20 - 3.9) ** 2 < region.area <= 400
    assert over(of(244)).regions == ()


def test_what_is_cut_away_does_not_count() -> None:
    made = cells((square(8, at=(0, 57.5)), four(320)))
    assert over(made) == ((), 0)


def test_places_come_largest_first() -> None:
    made = cells((square(6, at=(20, 0)), four(320)), (square(9, at=(-20, 0)), four(300)))
    assert [round(region.area) for region in over(made).regions] == [
        pytest.approx(81, abs=3),
        pytest.approx(36, abs=3),
    ]


# -- what plates carry ----------------------------------------------------------------------------


def test_what_plates_carry() -> None:
    made = cells(
        (everywhere, {"Cyan": 50}), (square(2, at=(10, 30)), {"Cyan": 50, "Gold": 80}),
        inks=("Cyan", "Magenta", "Yellow", "Black", "Gold"),
    )  # fmt: skip
    by_ink = {one.ink: one for one in carried(made, made.within(3))}
    assert by_ink["Cyan"].coverage == pytest.approx(50, abs=0.3)
    assert by_ink["Cyan"].area == pytest.approx(0.5 * np.pi * 53**2, rel=0.01)
    assert (by_ink["Magenta"].area, by_ink["Magenta"].box) == (0, None)
    gold = by_ink["Gold"]
    assert gold.area == pytest.approx(0.8 * 4, rel=0.05)
    assert gold.box is not None
    assert gold.box.centre == pytest.approx((10, 30), abs=0.5)


def test_paint_without_ink_amounts_is_measured_apart() -> None:
    made = cells(seen=square(10))
    assert made.not_in_inks(3) == pytest.approx(100, rel=0.05)
    assert cells().not_in_inks(3) == 0


def test_amounts_at_places() -> None:
    plates = plate_scene((square(10), {"Cyan": 60, "Black": 20}))(DISC)
    places = np.array(((0.0, 0.0), (20.0, 0.0), (500.0, 0.0)))
    found = amounts_at(plates, places)
    assert found == pytest.approx(np.array(((60, 0, 0, 20), (0, 0, 0, 0))), abs=0.2)
