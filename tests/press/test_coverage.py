"""What plates carry and where ink lies too thick, against arithmetic."""

import math
from itertools import pairwise

import numpy as np
import pytest

from prepcheck.art.model import PROCESS_INKS
from prepcheck.geometry import Box, Grid
from prepcheck.outline import Disc, Panel, Panels
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import printed_view, reduced
from prepcheck.press.show.coverage import Extent, coverage
from prepcheck.press.show.inkmap import OVER, PAPER, StepPattern, ink_map, steps_to, with_legend

LABEL = Disc(100.0, 7.24)
SQUARE = Panels((Panel("front", "face", Box.centred(40, 20)),))


def flat(grid: Grid, *inks: int, seen: np.ndarray | None = None) -> Plates:
    data = np.zeros((4, grid.height, grid.width), np.uint8)
    for plate, ink in zip(data, inks, strict=False):
        plate[:] = ink
    return Plates(PROCESS_INKS, data, grid, seen)


@pytest.mark.parametrize("pitch", [0.05, 0.17, 0.3])
def test_extent_has_the_area_of_the_shape(pitch: float) -> None:
    grid = Grid.over(LABEL.bounds.grown(6), pitch)
    extent = Extent.of(LABEL, grid, 3.0)
    face = math.pi * (50**2 - 3.62**2)
    assert extent.face_mm2 == pytest.approx(face, rel=1e-4)
    sheet = extent.sheet.sum(dtype=float) * pitch**2
    assert sheet == pytest.approx(math.pi * 53**2, rel=1e-4)


def test_half_a_disc_covered_is_half_its_area() -> None:
    grid = Grid.over(LABEL.bounds.grown(6), 0.1)
    plates = flat(grid)
    xs, _ = grid.centres()
    plates.data[0][:, xs < 0] = 255
    plates.data[1][:] = 51
    cyan, magenta, yellow, _ = coverage(plates, Extent.of(LABEL, grid, 3.0))
    face = math.pi * (50**2 - 3.62**2)
    assert cyan.percent == pytest.approx(50.0, abs=0.1)
    assert cyan.solid_mm2 == pytest.approx(face / 2, rel=2e-3)
    assert cyan.sheet_mm2 == pytest.approx(math.pi * 53**2 / 2, rel=2e-3)
    assert magenta.percent == pytest.approx(20.0, abs=1e-3)
    assert magenta.solid_mm2 == pytest.approx(face * 0.2, rel=1e-4)
    assert magenta.printed_mm2 == pytest.approx(face, rel=1e-4)
    assert (yellow.percent, yellow.solid_mm2, yellow.printed_mm2) == (0, 0, 0)


def test_sleeve_without_bleed() -> None:
    grid = Grid.over(SQUARE.bounds.grown(5), 0.25)
    black = coverage(flat(grid, 0, 0, 0, 128), Extent.of(SQUARE, grid, 0.0))[3]
    assert black.percent == pytest.approx(100 * 128 / 255)
    assert black.solid_mm2 == black.sheet_mm2 == pytest.approx(800 * 128 / 255)


def test_steps_end_at_the_limit() -> None:
    steps = steps_to(280.0)
    assert [step.high for step in steps] == [1, 50, 100, 150, 200, 250, 280, None]
    assert steps[-1].words == "above 280 %"
    assert steps[-1].pattern is StepPattern.HATCHED
    assert steps_to(None)[-1].pattern is StepPattern.PLAIN


def test_steps_are_told_apart_by_lightness() -> None:
    """Luma by the Rec. 709 weights falls from step to step, so the map reads in grey."""
    light = [float(np.dot(s.colour, (0.2126, 0.7152, 0.0722))) for s in steps_to(300.0)[:-1]]
    assert all(a - b > 10 for a, b in pairwise(light))


@pytest.mark.parametrize(
    ("inks", "step"),
    [
        ((0, 0, 0, 0), 0),
        ((0, 0, 0, 26), 1),
        ((255, 0, 0, 0), 2),
        ((255, 255, 0, 128), 5),
        ((255, 255, 0, 127), 5),
        ((255, 255, 0, 129), 6),
    ],
)
def test_a_total_at_the_limit_is_not_above_it(inks: tuple[int, ...], step: int) -> None:
    """128 of 255 is the byte of a 50 % tint: two solids and it make 250 %."""
    drawn = ink_map(flat(Grid(2, 2, 1.0, 0.0, 2.0), *inks), 250.0)
    assert np.all(drawn.levels == step)


def test_what_is_above_the_limit_is_hatched_and_ringed() -> None:
    plates = flat(Grid(40, 40, 0.25, 0.0, 10.0))
    plates.data[:, 10:30, 10:30] = 255
    picture = np.asarray(ink_map(plates, 300.0).image().convert("RGB"))
    colours = {tuple(int(v) for v in c) for c in picture[12:28, 12:28].reshape(-1, 3)}
    assert colours == {OVER, PAPER}
    assert np.all(picture[9, 10:30] == 0)
    assert np.all(picture[0] == 255)


def test_paint_without_ink_amounts_is_not_known() -> None:
    grid = Grid(20, 20, 0.25, 0.0, 5.0)
    seen = np.full((20, 20, 3), 255, np.uint8)
    seen[5:15, 5:15] = (200, 30, 30)
    drawn = ink_map(flat(grid, seen=seen), 250.0)
    assert drawn.steps[-1].words == "not known"
    assert np.all(drawn.levels[5:15, 5:15] == len(drawn.steps) - 1)
    assert drawn.levels[0, 0] == 0


def test_legend_stands_under_the_map() -> None:
    drawn = ink_map(flat(Grid(300, 50, 0.25, 0.0, 12.5), 100), 250.0)
    whole = with_legend(drawn)
    assert whole.width == 300
    assert whole.height > 80
    assert whole.getpixel((150, 25)) == drawn.steps[1].colour


def test_reduced_plates_keep_their_means_and_place() -> None:
    grid = Grid(100, 60, 0.1, -5.0, 3.0)
    plates = flat(grid)
    plates.data[0] = np.random.default_rng(7).integers(0, 256, (60, 100))
    small = reduced(plates, 0.2)
    assert (small.grid.width, small.grid.height, small.grid.pitch) == (50, 30, 0.2)
    assert (small.grid.left, small.grid.top) == (-5.0, 3.0)
    means = plates.data[0].reshape(30, 2, 50, 2).mean(axis=(1, 3))
    # Rounded once along each axis.
    assert np.abs(small.data[0] - means).max() <= 1.0
    assert reduced(plates, 0.05) is plates


def test_the_view_sees_ink_and_nothing_else() -> None:
    grid = Grid(4, 1, 1.0, 0.0, 1.0)
    seen = np.full((1, 4, 3), 255, np.uint8)
    seen[0, 3] = (255, 0, 255)
    plates = flat(grid, seen=seen)
    plates.data[0, 0, 1] = 200
    plates.data[3, 0, 2] = 255
    view = printed_view(plates)
    assert view.ink[0].tolist() == [0, 200, 255, 255]
    assert view.lightness[0, 0] == 255
    assert view.lightness[0, 2] == 0
    assert view.rgb[0, 1].tolist() == [55, 255, 255]
    assert view.rgb[0, 3].tolist() == [255, 0, 255]
