"""The ink of a picture's samples under a place; the truth is arithmetic."""

import numpy as np
import pytest

from prepcheck.art.model import Samples, Space, SpaceFamily
from prepcheck.geometry import Box
from prepcheck.measure.picture_ink import picture_ink
from tests.checks.exams import box_quad

CMYK = Space(SpaceFamily.CMYK, 4)
QUAD = box_quad(Box(0, 0, 20, 10))


def samples(space: Space, *amounts: float) -> Samples:
    data = np.zeros((100, 200, len(amounts)), np.uint8)
    data[:] = np.rint(np.array(amounts) * 2.55)
    return Samples(data, space)


def test_the_greatest_is_what_an_area_reaches() -> None:
    """Samples of 0.1 mm: a block of 5 × 5 of them is 0.25 mm²."""
    made = samples(CMYK, 50, 50, 50, 50)
    made.data[10:15, 20:25] = 255
    box = Box(0, 0, 20, 10)
    assert picture_ink(made, QUAD, box, 0.25).greatest == pytest.approx(400)
    assert picture_ink(made, QUAD, box, 0.26).greatest == pytest.approx(200, abs=1)
    assert picture_ink(made, QUAD, box, 0.25).mean == pytest.approx(200, abs=1)


def test_only_the_part_under_the_box_counts() -> None:
    """Row 0 of the samples is on top: the block lies at x 2 to 2.5, y 8.5 to 9."""
    made = samples(CMYK, 50, 50, 50, 50)
    made.data[10:15, 20:25] = 255
    assert picture_ink(made, QUAD, Box(1.9, 8.4, 2.6, 9.1), 0.01).greatest == pytest.approx(400)
    assert picture_ink(made, QUAD, Box(1.9, 0.9, 2.6, 1.6), 0.01).greatest < 201
    assert picture_ink(made, QUAD, Box(30, 0, 40, 10), 0.01) is None


def test_a_turned_picture() -> None:
    quad = box_quad(Box(-10, -5, 10, 5), 90)
    made = samples(CMYK, 50, 50, 50, 50)
    made.data[10:15, 20:25] = 255
    # Turned anticlockwise, what lies at (-7.75, 3.75) comes to (-3.75, -7.75).
    assert picture_ink(made, quad, Box(-4.1, -8.1, -3.4, -7.4), 0.01).greatest == pytest.approx(400)
    assert picture_ink(made, quad, Box(3.4, 7.4, 4.1, 8.1), 0.01).greatest < 201


@pytest.mark.parametrize(
    ("space", "amounts", "total"),
    [
        (Space(SpaceFamily.GREY, 1), (25,), 75),
        (Space(SpaceFamily.SEPARATION, 1, CMYK, ("Gold",)), (30,), 30),
        (Space(SpaceFamily.DEVICE_N, 2, CMYK, ("Gold", "None")), (30, 90), 30),
        (Space(SpaceFamily.ICC, 4, CMYK), (10, 20, 30, 40), 100),
    ],
)
def test_spaces(space: Space, amounts: tuple[float, ...], total: float) -> None:
    found = picture_ink(samples(space, *amounts), QUAD, Box(0, 0, 20, 10), 1.0)
    assert found.greatest == pytest.approx(total, abs=0.9)


def test_rgb_has_no_ink_amounts() -> None:
    rgb = samples(Space(SpaceFamily.RGB, 3), 0, 0, 0)
    assert picture_ink(rgb, QUAD, Box(0, 0, 20, 10), 1.0) is None
