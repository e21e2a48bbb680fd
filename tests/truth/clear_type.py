"""Room round type, by its ink: at the rim, at the hole, beside a fold, turned by any angle.

Truth by construction: distances are those of the outlines that the font holds, as fontTools gives
them, followed here point by point.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from functools import partial

import numpy as np
from reportlab.lib.colors import CMYKColor
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import (
    BLACK,
    FOLDS,
    HOLE,
    RIM,
    drawn,
    exam_of,
    ground,
    outline_points,
    tone,
    type_at,
    worst_of,
)
from tests.truth.case import Case

CLASS = "room: type by its ink"
SEEDS = 40
FAST = 3
WHERE = ("trim", "hole", "fold", "round the hole")
WANTED = {"trim": 3.0, "hole": 4.4, "fold": 3.0, "round the hole": 4.4}
CHECKS = {
    "trim": ("trim.clearance",),
    "hole": ("hole.clearance",),
    "round the hole": ("hole.clearance",),
    "fold": ("fold.clearance",),
}
SURE_MM = 0.15


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(f"type{seed}")
    where = WHERE[seed % 4]
    near = rng.uniform(0.3, WANTED[where] - SURE_MM)
    far = rng.uniform(WANTED[where] + SURE_MM, WANTED[where] + 2.5)
    yield Case(f"{where}, {near:.2f} mm", True, (where, seed, near))
    yield Case(f"{where}, {far:.2f} mm", False, (where, seed, far))


def judge(case: Case) -> Severity | None:
    page, sleeve = page_of(case)
    return worst_of(exam_of(page, sleeve), checks_of(case))


def page_of(case: Case) -> tuple[bytes, bool]:
    """Return a case's page, and whether it is a sleeve."""
    where, seed, room = case.held
    return drawn(partial(_draw, where, seed, room), where == "fold"), where == "fold"


def checks_of(case: Case) -> tuple[str, ...]:
    return CHECKS[case.held[0]]


def _draw(where: str, seed: int, room: float, canvas: Canvas) -> None:
    rng = random.Random(f"place{seed}")
    pale = tone(rng, 0.3)
    ground(canvas, pale)
    colour = rng.choice((BLACK, CMYKColor(1, 0.8, 0, 0.2), CMYKColor(0, 1, 0.9, 0)))
    if where == "round the hole":
        _round(canvas, rng, room, colour)
        return
    letter, turn = rng.choice("OCSQJLbagd8&"), rng.uniform(0, 360)
    size = rng.uniform(5, 16)
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    points = outline_points(letter, size) @ np.array(((cos, sin), (-sin, cos)))
    way = math.radians(rng.uniform(0, 360))
    out = np.array((math.cos(way), math.sin(way)))
    if where == "fold":
        side = rng.choice((-1, 1))
        nearest = points[:, 0].min() if side > 0 else points[:, 0].max()
        x = FOLDS[(side + 1) // 2] + side * room - nearest
        y = rng.uniform(-15, 15)
        type_at(canvas, letter, size, x, y, turn, colour)
        return
    low, high = (0.0, 60.0) if where == "trim" else (40.0, 0.0)
    for _ in range(50):
        step = (low + high) / 2
        far = np.hypot(*(points - points.mean(axis=0) + step * out).T)
        clear = far.max() < RIM - room if where == "trim" else far.min() > HOLE + room
        low, high = (step, high) if clear else (low, step)
    x, y = low * out - points.mean(axis=0)
    type_at(canvas, letter, size, x, y, turn, colour)


def _round(canvas: Canvas, rng: random.Random, room: float, colour: CMYKColor) -> None:
    """Set an O, or an L, about the hole, its ink `room` from the hole's edge."""
    letter = rng.choice("OOL")
    unit = outline_points(letter, 1.0)
    if letter == "O":
        centre = (unit.max(axis=0) + unit.min(axis=0)) / 2
        size = (HOLE + room) / float(np.hypot(*(unit - centre).T).min())
        type_at(canvas, letter, size, -centre[0] * size, -centre[1] * size, 0, colour)
        return
    # The hole lies in the corner of an L: to the right of its stem, above its foot.
    size, turn = rng.uniform(28, 40), rng.uniform(0, 360)
    points = unit * size
    foot = float(points[points[:, 0] > points[:, 0].max() * 0.9][:, 1].max())
    stem = float(points[points[:, 1] > points[:, 1].max() * 0.9][:, 0].max())
    canvas.rotate(turn)
    type_at(canvas, letter, size, -(HOLE + room) - stem, -(HOLE + room) - foot, 0, colour)
