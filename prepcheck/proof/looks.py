"""What pages of the finished look share: their title, art through a cut, the arrow of a shift."""

from __future__ import annotations

import io
from functools import lru_cache

import numpy as np
from PIL import Image

from prepcheck.geometry import Box
from prepcheck.proof.drawing import Projection, draw_picture
from prepcheck.proof.figures import titled
from prepcheck.proof.model import Picture, ProofPage, ProofPart
from prepcheck.proof.pen import Align, Pen
from prepcheck.proof.shift import PrintShift
from prepcheck.proof.theme import BODY_SOFT, HEADING, LineStyle, Palette
from prepcheck.proof.typeset import shortened

_PLAIN = 10
"""Of 255: colours of a JPEG this near to each other are one plain colour."""
_EDGE_MM = 0.5


def draw_title(pen: Pen, part: ProofPart, page: ProofPage, scale: str) -> None:
    """Head a page, with the scale on the right."""
    left, top = pen.paper.left, pen.paper.top
    room = pen.paper.measure - 150
    pen.text(left, top + 15, "The finished look", HEADING)
    pen.text(
        left,
        top + 30,
        shortened(titled(part.result.name, part.spec, page.page_index), BODY_SOFT, room),
        BODY_SOFT,
    )
    pen.text(pen.paper.right, top + 30, scale, BODY_SOFT, Align.RIGHT)


def show(pen: Pen, page: ProofPage, printed: Projection, cut: Projection, box: Box) -> None:
    """Show the art, where it is `printed`, inside a box where it is `cut` or folded."""
    rect = cut.rect(box)
    with pen.clipped([rect.corners]):
        pen.rect(rect, fill=Palette.PAPER)
        draw_picture(pen, printed, page.picture)
    pen.rect(rect, LineStyle(Palette.RULE, 0.4))


def draw_arrow(pen: Pen, x: float, y: float, by: PrintShift) -> None:
    """Draw a small dial that shows which way the print has moved."""
    centre, radius = (x + 18, y), 18.0
    pen.circle(centre, radius, LineStyle(Palette.RULE, 0.6))
    length = (by.x**2 + by.y**2) ** 0.5
    ux, uy = by.x / length, -by.y / length
    tip = (centre[0] + ux * (radius - 4), centre[1] + uy * (radius - 4))
    tail = (centre[0] - ux * (radius - 6), centre[1] - uy * (radius - 6))
    line = LineStyle(Palette.TEXT, 1.0)
    pen.polyline((tail, tip), line)
    wings = [
        (tip[0] - 6 * ux + 3.2 * side * uy, tip[1] - 6 * uy - 3.2 * side * ux) for side in (1, -1)
    ]
    pen.polyline((wings[0], tip, wings[1]), line)
    pen.text(x + 45, y + 3, "way the print has moved", BODY_SOFT)


@lru_cache(maxsize=64)
def is_plain(picture: Picture, box: Box) -> bool:
    """Say whether a picture shows one plain colour within a box in mm, its edges left out.

    A quarter of the resolution is looked at, at which the smallest type still shows.
    """
    grid = picture.grid
    inner = box.grown(-min(_EDGE_MM, box.width / 4, box.height / 4)).overlap(grid.box)
    if inner is None:
        return False
    edges = (
        (inner.x0 - grid.box.x0, grid.box.y1 - inner.y1),
        (inner.x1 - grid.box.x0, grid.box.y1 - inner.y0),
    )
    (left, upper), (right, lower) = ((round(x / grid.pitch), round(y / grid.pitch))
                                     for x, y in edges)  # fmt: skip
    with Image.open(io.BytesIO(picture.data)) as image:
        whole = image.size
        image.draft("RGB", (whole[0] // 4, whole[1] // 4))  # JPEG only; others come as they are
        step = whole[0] / image.size[0]
        left, upper, right, lower = (round(at / step) for at in (left, upper, right, lower))
        pixels = np.asarray(image.convert("RGB").crop((left, upper, right, lower)))
    return not pixels.size or int(np.ptp(pixels, axis=(0, 1)).max()) <= _PLAIN
