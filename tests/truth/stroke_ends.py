"""Where strokes end near the trim, the hole and a fold: by their caps, whatever their width and
their way, alone and beside a picture.

Truth by construction: the outline of a stroke's end is arithmetic (ISO 32000-2, Table 53), and the
stroke is moved until the nearest place of it has the room that is wanted. Sound twins keep a little
more than what is asked for.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from functools import partial

import numpy as np
from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import FOLDS, HOLE, RIM, drawn, exam_of, photo, worst_of
from tests.truth.case import Case

CLASS = "room: ends of strokes by their caps"
SEEDS = 36
FAST = 2
WHERE = ("trim", "hole", "fold")
WANTED = {"trim": 3.0, "hole": 4.4, "fold": 3.0}
CAPS = ("butt", "round", "square")
SURE_MM = 0.12


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(f"ends{seed}")
    where, cap = WHERE[seed % 3], seed // 3 % 3
    near = rng.uniform(WANTED[where] - 0.6, WANTED[where] - SURE_MM)
    far = rng.uniform(WANTED[where] + SURE_MM, WANTED[where] + 0.6)
    for room, faulty in ((near, True), (far, False)):
        name = f"{where}, {CAPS[cap]}, {room:.2f} mm"
        yield Case(name, faulty, (where, cap, seed, room))


def judge(case: Case) -> Severity | None:
    where, cap, seed, room = case.held
    page = drawn(partial(_draw, where, cap, seed, room), where == "fold")
    return worst_of(exam_of(page, where == "fold"), (f"{where}.clearance",))


def _end(cap: int, wide: float, way: float) -> np.ndarray:
    """Return the outline of a stroke's end at the origin (n, 2); the stroke goes on to an angle."""
    along, across = (
        np.array((math.cos(way), math.sin(way))),
        np.array((-math.sin(way), math.cos(way))),
    )
    half = wide / 2
    if cap == 1:
        angles = np.linspace(0, 2 * math.pi, 2000)
        return half * np.stack((np.cos(angles), np.sin(angles)), axis=1)
    beyond = -half if cap == 2 else 0.0
    return np.array([beyond * along + side * half * across for side in np.linspace(-1, 1, 200)])


def _draw(where: str, cap: int, seed: int, room: float, canvas: Canvas) -> None:
    rng = random.Random(f"stroke{seed}")
    wide, long = rng.uniform(0.4, 1.9), rng.uniform(4, 8)
    way = math.radians(rng.uniform(-70, 70))
    outline = _end(cap, wide, way)
    canvas.setLineWidth(wide)
    canvas.setLineCap(cap)
    canvas.setStrokeColor(CMYKColor(*rng.choice(((0, 0, 0, 1), (1, 0.6, 0, 0), (0, 1, 0.8, 0)))))
    with_picture = rng.random() < 0.5
    if where == "fold":
        side = rng.choice((-1, 1))
        canvas.translate(FOLDS[(side + 1) // 2], rng.uniform(-15, 15))
        canvas.scale(side, 1)
        x = room - outline[:, 0].min()
    else:
        canvas.rotate(rng.uniform(0, 360))
        if where == "trim":
            canvas.scale(-1, 1)
        # Moved along the ray until the nearest place of its outline is where it should be.
        low, high = (-RIM, 0.0) if where == "trim" else (0.0, RIM)
        for _ in range(60):
            x = (low + high) / 2
            far = np.hypot(outline[:, 0] + x, outline[:, 1])
            short = RIM - far.max() < room if where == "trim" else far.min() - HOLE < room
            low, high = (x, high) if short else (low, x)
    canvas.line(x, 0, x + long * math.cos(way), long * math.sin(way))
    if with_picture:
        at = x + long + 8 if where != "fold" else x + long + 4
        canvas.drawImage(ImageReader(photo(rng, 60)), at, -3, 6, 6)
