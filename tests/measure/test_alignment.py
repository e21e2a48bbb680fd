"""Turn and scale against drawings that Pillow turns and scales."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PIL import Image, ImageDraw

from prepcheck.geometry import Box, Grid
from prepcheck.measure.alignment import fit_of

SIDE_MM, PITCH, FINE = 60.0, 0.1, 4
PIXELS = round(SIDE_MM / PITCH)
GRID = Grid.over(Box.centred(SIDE_MM, SIDE_MM), PITCH)
INSIDE = np.zeros((PIXELS, PIXELS), bool)
INSIDE[20:-20, 20:-20] = True


def printed(
    turn: float = 0.0, scale: float = 1.0, shift: tuple[float, float] = (0.0, 0.0), seed: int = 3
) -> np.ndarray:
    """Return 250 grey boxes on white, turned (degrees, anticlockwise) and scaled about the middle,
    then moved by mm to the right and up."""
    side = PIXELS * FINE
    image = Image.new("L", (side, side), 255)
    draw = ImageDraw.Draw(image)
    random = np.random.default_rng(seed)
    for x, y, w, h, grey in random.uniform(
        (0, 0, 20, 20, 0), (side, side, 160, 160, 200), (250, 5)
    ):
        draw.rectangle((x, y, x + w, y + h), fill=round(grey))
    # Pillow asks where each pixel comes from; its rows count downwards.
    cos, sin = math.cos(math.radians(turn)) / scale, math.sin(math.radians(turn)) / scale
    x0, y0 = side / 2 + shift[0] / PITCH * FINE, side / 2 - shift[1] / PITCH * FINE
    back = (
        cos, -sin, side / 2 - cos * x0 + sin * y0,
        sin, cos, side / 2 - sin * x0 - cos * y0,
    )  # fmt: skip
    moved = image.transform(
        image.size, Image.Transform.AFFINE, back, Image.Resampling.BILINEAR, fillcolor=255
    )
    return np.asarray(moved.resize((PIXELS, PIXELS), Image.Resampling.BOX))


@pytest.mark.parametrize(
    ("turn", "scale", "shift"),
    [
        (0.0, 1.0, (0.0, 0.0)),
        (0.1, 1.0, (0.0, 0.0)),
        (-0.2, 1.0, (0.2, -0.1)),
        (0.0, 0.999, (0.0, 0.0)),
        (0.0, 1.005, (-0.15, 0.25)),
        (0.15, 0.997, (0.3, 0.0)),
        (1.0, 1.0, (0.0, 0.0)),
    ],
)
def test_turn_and_scale(turn: float, scale: float, shift: tuple[float, float]) -> None:
    fit = fit_of(printed(), printed(turn, scale, shift), GRID, INSIDE)
    assert fit.sure
    assert fit.turn == pytest.approx(turn, abs=0.01, rel=0.02)
    assert fit.scale == pytest.approx(scale, abs=0.0003)


def test_a_third_of_the_piece_may_have_changed() -> None:
    after = printed(0.12, 0.9985).copy()
    after[:200] = printed(seed=8)[:200]
    fit = fit_of(printed(), after, GRID, INSIDE)
    assert fit.sure
    assert fit.turn == pytest.approx(0.12, abs=0.02)
    assert fit.scale == pytest.approx(0.9985, abs=0.0004)


def test_another_drawing_is_neither_turned_nor_scaled() -> None:
    for seed in range(4, 8):
        fit = fit_of(printed(), printed(seed=seed), GRID, INSIDE)
        assert not fit.sure or (abs(fit.turn) < 0.01 and abs(fit.scale - 1) < 0.0002)


def test_nothing_to_go_by() -> None:
    flat = np.full((PIXELS, PIXELS), 90, np.uint8)
    assert not fit_of(flat, flat, GRID, INSIDE).sure
    assert not fit_of(printed(), printed(), GRID, np.zeros_like(INSIDE)).sure


def test_how_far_a_corner_is_moved() -> None:
    """0.1 degrees is 1.745 mm in a metre."""
    fit = fit_of(printed(), printed(0.1), GRID, INSIDE)
    assert fit.reach_mm(1000.0) == pytest.approx(1.745, abs=0.1)
