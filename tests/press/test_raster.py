"""Raster art averaged onto a grid, against sums worked out by hand."""

from dataclasses import dataclass

import numpy as np
import pytest

from prepcheck.art.facts import PageBoxes
from prepcheck.art.model import Content, Page, Samples, Space, SpaceFamily
from prepcheck.geometry import Affine, Box
from prepcheck.press.render import render_view
from tests.press.pages import inked_stretch

SPACES = {
    1: Space(SpaceFamily.GREY, 1), 3: Space(SpaceFamily.RGB, 3), 4: Space(SpaceFamily.CMYK, 4),
}  # fmt: skip


@dataclass(frozen=True)
class Picture(Page):
    """A page that is one picture."""

    data: np.ndarray

    def content(self, to_frame: Affine) -> Content:
        return Content()

    def picture(self, key: int) -> Samples | None:
        return Samples(self.data, SPACES[self.data.shape[2]])


def page(data: np.ndarray, width: float, height: float) -> Picture:
    return Picture(0, PageBoxes(Box(0, 0, width, height)), 0, 1.0, (), (), data.astype(np.uint8))


def black(width: float, height: float, samples: int = 40) -> Picture:
    return page(np.zeros((samples, samples, 1)), width, height)


@pytest.mark.parametrize("ppi", [72, 150, 300, 1200])
def test_the_edge_of_the_picture_lies_where_the_page_ends(ppi: float) -> None:
    view = render_view(black(20.3, 10.7), Affine.move(-7.77, -3.21), Box.centred(40, 40), ppi)
    slack = view.grid.pitch / 255
    assert inked_stretch(view.ink, view.grid, y=0) == pytest.approx((-7.77, 12.53), abs=slack)
    assert inked_stretch(view.ink, view.grid, x=0) == pytest.approx((-3.21, 7.49), abs=slack)


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_row_0_is_the_top_of_the_page(turn: int) -> None:
    data = np.full((4, 4, 1), 255)
    data[0, 0] = 0
    to_frame = Affine.move(-10, -10).then(Affine.turn(turn))
    view = render_view(page(data, 20, 20), to_frame, Box.centred(20, 20), 254)
    xs, ys = view.grid.centres()
    x, y = Affine.turn(turn).at(-7.5, 7.5)
    share = view.ink / view.ink.sum()
    assert share.sum(axis=0) @ xs == pytest.approx(x, abs=0.01)
    assert share.sum(axis=1) @ ys == pytest.approx(y, abs=0.01)


def test_the_mean_of_the_whole_is_kept_at_any_scale() -> None:
    data = np.random.default_rng(7).integers(0, 256, (97, 131, 1))
    for ppi in (30, 50, 91):
        box = Box(0, 0, 25.4 * 4, 25.4 * 3)
        view = render_view(page(data, box.width, box.height), Affine.identity(), box, ppi)
        assert view.lightness.shape == (3 * ppi, 4 * ppi)
        assert view.lightness.mean() == pytest.approx(data.mean(), abs=0.15)


def test_a_half_covered_pixel_is_half_covered() -> None:
    view = render_view(black(10, 10), Affine.move(0.5, 0), Box(0, 0, 20, 10), 25.4)
    assert view.ink[5, :12].tolist() == [127, *[255] * 9, 127, 0]


def test_cmyk_keeps_its_inks_and_looks_dark_where_they_add_up() -> None:
    data = np.zeros((10, 10, 4))
    data[:, :5] = (255, 0, 0, 0)
    data[:, 5:] = (0, 128, 0, 128)
    view = render_view(page(data, 10, 10), Affine.identity(), Box(0, 0, 10, 10), 25.4)
    assert view.ink[5].tolist() == [255] * 5 + [128] * 5
    assert view.rgb[5, 0].tolist() == [0, 255, 255]
    assert view.rgb[5, 9].tolist() == [127, 63, 127]


def test_a_picture_at_an_angle_keeps_its_area() -> None:
    to_frame = Affine.move(-10, -5).then(Affine.turn(30))
    view = render_view(black(20, 10, 800), to_frame, Box.centred(30, 30), 300)
    assert (view.ink / 255.0).sum() * view.grid.pitch**2 == pytest.approx(200, rel=0.01)
