"""Room round lines and shapes, whatever their colours: ends of strokes by their caps, curves by
their curve, edges between colours of one lightness, drawn and flattened.

Truth by construction: each shape's distance from the rim, the hole or the fold is arithmetic.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from functools import partial

from reportlab.lib.colors import CMYKColor
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import (
    FOLDS,
    HOLE,
    RIM,
    as_picture,
    drawn,
    exam_of,
    flattened,
    ground,
    worst_of,
)
from tests.truth.case import Case

CLASS = "room: lines and shapes of any colour"
SEEDS = 48
FAST = 2
WHERE = ("trim", "hole", "fold")
WANTED = {"trim": 3.0, "hole": 4.4, "fold": 3.0}
CHECKS = {"trim": ("trim.clearance",), "hole": ("hole.clearance",), "fold": ("fold.clearance",)}
SHAPES = ("butt", "round", "square", "disc", "box", "triangle")
SURE_MM = 0.15
PAIRS = (
    (CMYKColor(0, 0, 1, 0), CMYKColor(0, 0, 0, 0)),
    (CMYKColor(0, 0, 0, 0), CMYKColor(0, 0, 1, 0)),
    (CMYKColor(0, 0.8, 0.8, 0), CMYKColor(0.7, 0.1, 1, 0)),
    (CMYKColor(0.45, 0, 0, 0), CMYKColor(0, 0.4, 0, 0)),
    (CMYKColor(0, 0, 0, 1), CMYKColor(0.1, 0.1, 0.2, 0)),
    (CMYKColor(0.2, 0.1, 0, 0), CMYKColor(0.9, 0.7, 0.1, 0.2)),
    (CMYKColor(0, 0.25, 0.1, 0), CMYKColor(0, 0, 0, 0)),
)
"""Colours on a ground, and the ground; several differ in hue more than in lightness."""


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(f"edges{seed}")
    where, flat = WHERE[seed % 3], seed % 4 == 3 and seed % 3 != 2
    near = rng.uniform(0.3, WANTED[where] - SURE_MM)
    far = rng.uniform(WANTED[where] + SURE_MM, WANTED[where] + 2.5)
    how = " flattened" if flat else ""
    yield Case(f"{where}, {near:.2f} mm{how}", True, (where, seed, near, flat))
    yield Case(f"{where}, {far:.2f} mm{how}", False, (where, seed, far, flat))


def judge(case: Case) -> Severity | None:
    page, sleeve = page_of(case)
    return worst_of(exam_of(page, sleeve), checks_of(case))


def page_of(case: Case) -> tuple[bytes, bool]:
    """Return a case's page, and whether it is a sleeve."""
    where, seed, room, flat = case.held
    page = drawn(partial(_draw, where, seed, room), where == "fold")
    if flat:
        page = as_picture(flattened(page, 300, (None, 90)[seed % 2]))
    return page, where == "fold"


def checks_of(case: Case) -> tuple[str, ...]:
    return CHECKS[case.held[0]]


def _draw(where: str, seed: int, room: float, canvas: Canvas) -> None:
    """Put a shape's nearest place `room` from the edge, on its right (rim) or its left."""
    rng = random.Random(f"shape{seed}")
    colour, beneath = PAIRS[rng.randrange(len(PAIRS))]
    ground(canvas, beneath)
    shape = rng.choice(SHAPES)
    canvas.setFillColor(colour)
    canvas.setStrokeColor(colour)
    if where == "fold":
        side = rng.choice((-1, 1))
        canvas.translate(FOLDS[(side + 1) // 2] + side * room, rng.uniform(-15, 15))
        canvas.scale(side, 1)
    else:
        canvas.rotate(rng.uniform(0, 360))
        canvas.translate(RIM - room if where == "trim" else HOLE + room, 0)
        if where == "trim":
            canvas.scale(-1, 1)
    # From here on the nearest place is the origin and the shape lies to its right.
    size = rng.uniform(1.5, 5)
    sagitta = RIM - room - math.sqrt((RIM - room) ** 2 - (size / 2) ** 2)
    corner = sagitta if where == "trim" else 0.0
    if shape in ("butt", "round", "square"):
        wide = rng.uniform(0.4, 1.5)
        canvas.setLineWidth(wide)
        canvas.setLineCap(("butt", "round", "square").index(shape))
        away = wide / 2 if shape != "butt" else 0.0
        if where == "trim" and shape != "round":
            away += RIM - room - math.sqrt((RIM - room) ** 2 - (wide / 2) ** 2)
        canvas.line(away, 0, away + size, 0)
    elif shape == "disc":
        canvas.circle(size / 2, 0, size / 2, stroke=0, fill=1)
    elif shape == "box":
        canvas.rect(corner, -size / 2, size, size, stroke=0, fill=1)
    else:
        path = canvas.beginPath()
        path.moveTo(0, 0)
        path.lineTo(size, size / 2)
        path.lineTo(size, -size / 2)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)
