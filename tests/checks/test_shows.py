"""What shows in boxes is told alike for one box and for many."""

from __future__ import annotations

import numpy as np

from prepcheck.geometry import Box, Grid
from prepcheck.measure.clearance import is_seen
from prepcheck.press.view import View
from prepcheck.sheets.shows import Shows


def test_many_boxes_show_what_each_shows() -> None:
    chance = np.random.default_rng(3)
    rgb, ink = np.full((90, 130, 3), 255, np.uint8), np.zeros((90, 130), np.uint8)
    for _ in range(9):
        row, column, high, wide = chance.integers(1, (80, 120, 20, 20))
        rgb[row : row + high, column : column + wide, chance.integers(3)] = chance.integers(
            225, 256
        )
        ink[row : row + 9, column : column + high] = chance.integers(40)
    view = View(ink, rgb[:, :, 0], rgb, Grid(130, 90, 0.1, -3.0, 5.0))
    places = chance.uniform(-6, 12, (400, 2))
    boxes = np.hstack((places, places + chance.uniform(0, 3, (400, 2))))
    each = [is_seen(view, Box(*box)) for box in boxes.tolist()]
    assert {*each} == {True, False}
    assert Shows(view).are_seen(boxes).tolist() == each
