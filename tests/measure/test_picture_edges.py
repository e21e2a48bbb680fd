"""How far edges in pictures lie from a rim, at the resolutions that pages are looked at.

Truth by construction: shapes drawn by counting which of 8 by 8 places of each pixel they hold.
"""

from __future__ import annotations

import numpy as np
import pytest

from prepcheck.geometry import FloatArray, Grid
from prepcheck.measure.picture_edges import picture_edges
from prepcheck.measure.rim import trim_rim
from prepcheck.press.view import View
from tests.checks.exams import label_spec

RIM, SIZE, OVER = 50.0, 4.0, 8


def held(kind: str, room: float, x: FloatArray, y: FloatArray) -> np.ndarray:
    """Say which places lie in a shape whose nearest place is so far inside the trim, to its
    right."""
    if kind == "disc":
        return np.hypot(x - (RIM - room - SIZE / 2), y) < SIZE / 2
    if kind == "ring":
        radius = np.hypot(x, y)
        return (radius < RIM - room) & (radius > RIM - room - 1) & (np.abs(y) < 3)
    half = SIZE / 2 if kind == "box" else 0.3
    far = np.sqrt((RIM - room) ** 2 - half**2)
    return (x < far) & (x > far - SIZE) & (np.abs(y) < half)


def pictured(kind: str, room: float, turn: float, ppi: float) -> View:
    pitch = 25.4 / ppi
    side = round(112 / pitch)
    half = side * pitch / 2
    way = np.array((np.cos(turn), np.sin(turn)))
    window = round(14 / pitch)
    middle = (RIM - room - SIZE / 2) * way
    column = int(np.clip((middle[0] + half) / pitch - window / 2, 0, side - window))
    row = int(np.clip((half - middle[1]) / pitch - window / 2, 0, side - window))
    fine = (np.arange(window * OVER) + 0.5) * pitch / OVER
    x, y = np.meshgrid(column * pitch - half + fine, half - row * pitch - fine)
    inside = held(kind, room, x * way[0] + y * way[1], y * way[0] - x * way[1])
    share = inside.reshape(window, OVER, window, OVER).mean(axis=(1, 3))
    light = np.full((side, side), 255, np.uint8)
    light[row : row + window, column : column + window] = np.round(255 * (1 - share))
    rgb = np.repeat(light[:, :, None], 3, axis=2)
    return View(255 - light, light, rgb, Grid(side, side, pitch, -half, half))


@pytest.mark.parametrize("ppi", [150, 200, 300, 600])
@pytest.mark.parametrize("kind", ["box", "line", "disc", "ring"])
def test_the_room_of_an_edge_is_told_within_a_quarter_of_a_pixel(kind: str, ppi: float) -> None:
    rng = np.random.default_rng(int(ppi))
    rim = trim_rim(label_spec().outline_of(), 3.0, 4.0)
    for _ in range(3):
        room = rng.uniform(2.0, 3.4)
        view = pictured(kind, room, rng.uniform(0, 2 * np.pi), ppi)
        (edge,) = picture_edges(view, rim)
        assert edge.clearance_mm == pytest.approx(room, abs=25.4 / ppi / 4)
