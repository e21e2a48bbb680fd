"""Shifts and changed places against drawings made at eight times the size.

A shift by whole fine pixels is exact in eighths of a pixel; averaging is what a press of the
given pitch would show.
"""

from __future__ import annotations

import numpy as np
import pytest

from prepcheck.geometry import Box, Grid
from prepcheck.measure.difference import changed_places, offset_of
from prepcheck.measure.likeness import envelope, groups_of, likeness

FINE, PIXELS, PITCH = 8, 240, 0.1
GRID = Grid.over(Box.centred(PIXELS * PITCH, PIXELS * PITCH), PITCH)
ALL = np.ones((PIXELS, PIXELS), bool)


def drawing(seed: int = 1) -> np.ndarray:
    fine = np.zeros((PIXELS * FINE, PIXELS * FINE), np.uint8)
    random = np.random.default_rng(seed)
    for _ in range(40):
        r, c = random.integers(20 * FINE, (PIXELS - 40) * FINE, 2)
        h, w = random.integers(3 * FINE, 20 * FINE, 2)
        fine[r : r + h, c : c + w] = random.integers(90, 255)
    return fine


def printed(fine: np.ndarray, right: int = 0, down: int = 0) -> np.ndarray:
    moved = np.roll(fine, (down, right), (0, 1))
    cells = moved.reshape(PIXELS, FINE, PIXELS, FINE).mean(axis=(1, 3))
    return np.rint(cells).astype(np.uint8)


@pytest.mark.parametrize(
    ("right", "down"), [(0, 0), (3, 1), (-12, 5), (16, -16), (20, 9), (240, -160)]
)
def test_a_shift_is_found_to_a_twentieth_of_a_pixel(right: int, down: int) -> None:
    fine = drawing()
    offset = offset_of(printed(fine), printed(fine, right, down), PITCH)
    assert offset.columns == pytest.approx(right / FINE, abs=0.05)
    assert offset.rows == pytest.approx(down / FINE, abs=0.05)
    assert offset.sure is bool(right or down)


def test_a_shift_is_found_beside_a_change() -> None:
    fine = drawing()
    after = printed(fine, 10, -6)
    after[60:120, 60:120] = 255 - after[60:120, 60:120]
    offset = offset_of(printed(fine), after, PITCH)
    assert (offset.columns, offset.rows) == pytest.approx((1.25, -0.75), abs=0.05)


def test_another_drawing_is_no_shift() -> None:
    random = np.random.default_rng(9)
    for seed in range(5):
        one, other = printed(drawing(seed)), printed(drawing(seed + 10))
        grain = random.integers(0, 30, one.shape).astype(np.uint8)
        offset = offset_of(one // 2 + grain, other // 2 + grain, PITCH)
        assert max(abs(offset.columns), abs(offset.rows)) * PITCH <= 0.5


def test_nothing_to_go_by() -> None:
    flat = np.full((PIXELS, PIXELS), 90, np.uint8)
    assert offset_of(flat, flat, PITCH) == (0.0, 0.0, False)
    assert not offset_of(flat, flat, PITCH, ~ALL).sure


@pytest.mark.parametrize(("right", "down"), [(3, 1), (-12, 5), (20, 9)])
def test_what_only_shifted_has_not_changed(right: int, down: int) -> None:
    fine = drawing()
    before, after = printed(fine), printed(fine, right, down)
    offset = offset_of(before, after, PITCH)
    assert changed_places([before], [after], ALL, GRID, offset) == []
    assert changed_places([before], [after], ALL, GRID) != [] or abs(right) + abs(down) < FINE


def test_a_box_in_one_plate() -> None:
    """4 × 2 mm at 1.0 mm right of the centre and 3.0 mm above it, in the second plate."""
    plates = [printed(drawing(1)), np.zeros((PIXELS, PIXELS), np.uint8)]
    changed = [plates[0], plates[1].copy()]
    changed[1][80:100, 110:150] = 200
    (place,) = changed_places(plates, changed, ALL, GRID)
    assert place.box == pytest.approx((-1.0, 2.0, 3.0, 4.0))
    assert place.area_mm2 == pytest.approx(8.0)
    assert place.plates == (1,)


def test_a_box_under_a_shift() -> None:
    """The place is given where it lies in the later print; softening adds a pixel to each side."""
    fine = drawing()
    before, after = printed(fine), printed(fine, 12, -12)
    after[80:100, 110:150] = 255 - after[80:100, 110:150]
    offset = offset_of(before, after, PITCH)
    (place,) = changed_places([before], [after], ALL, GRID, offset)
    assert place.box == pytest.approx((-1.0, 2.0, 3.0, 4.0), abs=2 * PITCH)


def test_dust_and_what_lies_outside_does_not_count() -> None:
    before = np.zeros((PIXELS, PIXELS), np.uint8)
    after = before.copy()
    after[10:12, 10:12] = 255  # 0.04 mm², less than a full stop of 4 pt
    after[200:220, 200:220] = 255
    inside = ALL.copy()
    inside[150:] = False
    assert changed_places([before], [after], inside, GRID) == []


def test_envelope() -> None:
    plane = np.zeros((4, 5), np.uint8)
    plane[1, 2] = 9
    low, high = envelope(plane)
    assert low.max() == 0
    assert high.tolist() == [[0, 9, 9, 9, 0]] * 3 + [[0] * 5]


def test_groups_are_joined_over_small_gaps() -> None:
    mask = np.zeros((40, 40), bool)
    mask[5, 5] = mask[5, 9] = True  # 0.3 mm between them
    mask[30, 30] = True
    grid = Grid.over(Box.centred(4.0, 4.0), 0.1)
    boxes = [box for box, _ in groups_of(mask, grid, 0.6)]
    assert len(boxes) == 2
    assert boxes[0] == pytest.approx((-1.5, 1.4, -1.0, 1.5))


def test_likeness_of_a_turned_and_shifted_picture() -> None:
    one = np.repeat(printed(drawing(5))[:, :, None], 3, axis=2)
    other = np.roll(np.rot90(one, 3), 1, axis=0)
    found = likeness(one, other, ALL, GRID, (0, 90, 180, 270))
    assert found is not None
    assert (found.turn, found.share, found.places) == (90, 1.0, ())
    assert not found.plain
    unlike = likeness(one, np.full_like(one, 250), ALL, GRID)
    assert unlike is None or unlike.share < 0.5
