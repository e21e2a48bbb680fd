"""A picture cut into strips or tiles is one picture: its seams are no edges. A picture that ends
beside the hole, the rim or a fold is one.

Truth by construction: the tiles are crops of one picture and meet on its samples.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import partial

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import (
    FOLDS,
    HOLE,
    RIM,
    drawn,
    exam_of,
    ground,
    photo,
    tone,
    worst_of,
)
from tests.truth.case import Case

CLASS = "room: pictures in strips and tiles"
SEEDS = 30
FAST = 2
CHECKS = ("trim.clearance", "hole.clearance", "fold.clearance")
SIDE = 504


def cases(seed: int) -> Iterator[Case]:
    sleeve = seed % 3 == 2
    how = ("strips", "tiles", "columns", "strips that end")[seed % 4]
    where = "sleeve" if sleeve else "label"
    yield Case(f"{where}, {how}", False, (seed, sleeve, how))
    end = ("hole", "rim", "fold")[seed % 3]
    tiled = "in tiles" if seed % 2 else "whole"
    yield Case(f"{where}, {tiled}, ends at the {end}", True, (seed, sleeve, f"{tiled} {end}"))


def judge(case: Case) -> Severity | None:
    page, sleeve = page_of(case)
    return worst_of(exam_of(page, sleeve), CHECKS)


def page_of(case: Case) -> tuple[bytes, bool]:
    """Return a case's page, and whether it is a sleeve."""
    seed, sleeve, how = case.held
    return drawn(partial(_draw, seed, how), sleeve), sleeve


def checks_of(case: Case) -> tuple[str, ...]:
    return CHECKS


def _draw(seed: int, how: str, canvas: Canvas) -> None:
    rng = random.Random(f"seams{seed}")
    whole = photo(rng, SIDE)
    ground(canvas, tone(rng, 0.2))
    step = rng.choice((9, 14, 28, 63))
    if how == "strips that end":
        # A band that reaches far beyond everything, made of strips.
        _tiles(canvas, whole, (-64.5, -53, 129, 106), (SIDE, step))
    elif how in ("strips", "tiles", "columns"):
        wide = SIDE if how == "strips" else rng.choice((36, 63, 126))
        high = SIDE if how == "columns" else step
        _tiles(canvas, whole, (-64.5, -64.5, 129, 129), (wide, high))
    else:
        tiled, _, end = how.rpartition(" ")
        room = rng.uniform(0.8, 2.7)
        size = (SIDE, SIDE) if tiled == "whole" else (126, 84)
        if end == "fold":
            _tiles(canvas, whole, (FOLDS[1] + room, -12, 30, 24), size)
            return
        canvas.rotate(rng.uniform(0, 360))
        if end == "hole":
            _tiles(canvas, whole, (HOLE + room, -8, 22, 16), size)
        else:
            _tiles(canvas, whole, (RIM - 20 - room, -3, 20, 6), size)


def _tiles(
    canvas: Canvas, whole: object, place: tuple[float, float, float, float], size: tuple[int, int]
) -> None:
    """Place a picture of SIDE samples in a box (x, y, wide, high), cut into parts of a size."""
    x, y, wide, high = place
    for top in range(0, SIDE, size[1]):
        for left in range(0, SIDE, size[0]):
            right, bottom = min(left + size[0], SIDE), min(top + size[1], SIDE)
            part = whole.crop((left, top, right, bottom))  # type: ignore[attr-defined]
            canvas.drawImage(
                ImageReader(part),
                x + left / SIDE * wide, y + high - bottom / SIDE * high,
                (right - left) / SIDE * wide, (bottom - top) / SIDE * high,
            )  # fmt: skip
