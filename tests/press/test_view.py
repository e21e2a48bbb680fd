"""Where a view looks even; the truth is every pixel within reach, looked at one place at a time."""

from __future__ import annotations

import math

import numpy as np

from prepcheck.geometry import Grid
from prepcheck.press.view import View

PITCH = 0.1
WIDTH, HEIGHT = 200, 150


def _view() -> View:
    rgb = np.full((HEIGHT, WIDTH, 3), 200, np.uint8)
    rgb[:, 120:] = (200, 200, 199)  # the least difference there is, in one channel
    rgb[100:103, 20:24] = 0
    plane = rgb[..., 0]
    return View(plane, plane, rgb, Grid(WIDTH, HEIGHT, PITCH, 0.0, HEIGHT * PITCH))


def _is_even(view: View, x: float, y: float, reach: float) -> bool:
    column, row = x / PITCH, HEIGHT - y / PITCH
    room = reach / PITCH + 1.0
    left, right = math.floor(column - room), math.ceil(column + room)
    top, bottom = math.floor(row - room), math.ceil(row + room)
    if left < 0 or top < 0 or right > WIDTH or bottom > HEIGHT:
        return False
    return bool((view.rgb[top:bottom, left:right] == view.rgb[top, left]).all())


def test_what_is_told_to_be_even_has_one_colour_within_reach() -> None:
    view = _view()
    places = np.random.default_rng(7).uniform(-1.0, (21.0, 16.0), (800, 2))
    for reach in (0.3, 1.1, 2.4):
        told = view.even(places, reach)
        truth = [_is_even(view, x, y, reach) for x, y in places.tolist()]
        assert not (told & ~np.array(truth)).any()
        assert told.mean() > 0.05


def test_a_view_of_one_colour_is_even_but_near_its_edge() -> None:
    plane = np.zeros((64, 64), np.uint8)
    view = View(plane, plane, np.zeros((64, 64, 3), np.uint8), Grid(64, 64, PITCH, 0.0, 6.4))
    assert view.even(np.array([[3.2, 3.2]]), 0.5).all()
    assert not view.even(np.array([[0.2, 3.2], [3.2, 6.3], [-5.0, 3.0]]), 0.5).any()
