"""Placed pictures made by hand."""

from __future__ import annotations

from typing import Any

from prepcheck.art.model import ImageItem, Space, SpaceFamily
from prepcheck.geometry import Box
from tests.checks.exams import CMYK, box_quad

GREY = Space(SpaceFamily.GREY, 1)
RGB = Space(SpaceFamily.RGB, 3)
LAB = Space(SpaceFamily.LAB, 3)


def picture(
    ppi: float | tuple[float, float] = 300.0, box: Box | None = None, **changes: Any
) -> ImageItem:
    """Return a picture over `box` (10 × 10 mm on the centre), CMYK of 8 bits unless changed."""
    box = box or Box(-5, -5, 5, 5)
    both = ppi if isinstance(ppi, tuple) else (ppi, ppi)
    item = ImageItem(
        name="Im1",
        quad=box_quad(box),
        visible=box,
        samples=(round(box.width / 25.4 * both[0]), round(box.height / 25.4 * both[1])),
        bits=8,
        space=CMYK,
        filters=(),
        ppi=both,
        is_mask=False,
        paint=None,
        inline=False,
        layer=None,
        key=1,
    )
    return item._replace(**changes)
