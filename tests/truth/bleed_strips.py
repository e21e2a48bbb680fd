"""Bleed of a picture that an export cut into strips or tiles: it is judged of the whole.

Truth by construction: the parts meet on the picture's samples, each placed to a hundredth of a
point as exports write it. Faulty twins lack the outermost parts, so that the picture ends short of
the bleed on a side; sound ones run out past it.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import partial

from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import BLEED, MM, RIM, SLEEVE, drawn, exam_of, photo, worst_of
from tests.truth.case import Case

CLASS = "bleed of pictures in strips"
SEEDS = 30
FAST = 1
CHECKS = ("bleed.missing", "bleed.short", "bleed.other-colour")
HOW = ("strips", "columns", "tiles")
PPI = 150
LEAST_MM = 2.0


def cases(seed: int) -> Iterator[Case]:
    how, sleeve = HOW[seed % 3], seed % 4 == 3
    where = "sleeve" if sleeve else "label"
    rng = random.Random(f"bleed strips{seed}")
    ends = rng.choice((0.0, rng.uniform(0.2, LEAST_MM - 0.2)))
    yield Case(f"{where}, {how}, ends {ends:.2f} mm past the trim", True, (seed, how, ends, sleeve))
    yield Case(f"{where}, {how}", False, (seed, how, BLEED, sleeve))


def judge(case: Case) -> Severity | None:
    seed, how, ends, sleeve = case.held
    page = drawn(partial(_draw, seed, how, ends, sleeve), sleeve)
    return worst_of(exam_of(page, sleeve, 300.0), CHECKS)


def _draw(seed: int, how: str, ends: float, sleeve: bool, canvas: Canvas) -> None:
    rng = random.Random(f"strips{seed}")
    right, top = (SLEEVE.x1, SLEEVE.y1) if sleeve else (RIM, RIM)
    # Three sides run out past the page; the fourth ends where it should, or short of it.
    side, far = rng.randrange(4), BLEED + rng.uniform(0.1, 2.0)
    past = [far] * 4
    if ends < BLEED:
        past[side] = ends
    x0, y0, x1, y1 = -right - past[0], -top - past[1], right + past[2], top + past[3]
    wide, high = round((x1 - x0) / 25.4 * PPI), round((y1 - y0) / 25.4 * PPI)
    whole = photo(rng, max(wide, high)).crop((0, 0, wide, high))
    if rng.random() < 0.3:
        # A flat ground, as of a page of type that was cut into strips.
        whole = Image.new("CMYK", (wide, high), (rng.randrange(60, 220), 40, 0, 0))
    step = rng.choice((9, 14, 28, 63))
    across = wide if how == "strips" else rng.choice((36, 63, 126)) if how == "tiles" else step
    down = high if how == "columns" else step
    for upper in range(0, high, down):
        for left in range(0, wide, across):
            ends_at, lower = min(left + across, wide), min(upper + down, high)
            part = whole.crop((left, upper, ends_at, lower))
            box = (
                _written(x0 + left / wide * (x1 - x0)),
                _written(y1 - lower / high * (y1 - y0)),
                _written(x0 + ends_at / wide * (x1 - x0)),
                _written(y1 - upper / high * (y1 - y0)),
            )
            canvas.drawImage(ImageReader(part), *box[:2], box[2] - box[0], box[3] - box[1])


def _written(at: float) -> float:
    """Return a place in mm as it stands in a file, to a hundredth of a point."""
    return round(at * MM, 2) / MM
