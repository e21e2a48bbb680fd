"""Mitres of sharp corners beside the trim, the hole and a fold: chevrons, zigzags and closed
triangles of 12 to 60 degrees, with each way of joining.

Truth by construction: by ISO 32000-2, 8.4.3.5, the tip of a mitre lies half the width divided by
the sine of half the angle from the corner, unless that is more than the limit: then the corner is
bevelled, and reaches no further than half the width times the cosine of that angle's complement.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from functools import partial

from reportlab.lib.colors import CMYKColor
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.checks.exams import findings
from tests.truth._page import BLACK, FOLDS, HOLE, RIM, drawn, exam_of, ground, tone
from tests.truth.case import Case

CLASS = "room: mitres of sharp corners"
SEEDS = 36
FAST = 1
WHERE = ("trim", "hole", "fold")
WANTED = {"trim": 3.0, "hole": 4.4, "fold": 3.0}
KINDS = ("chevron", "zigzag", "triangle")
JOINS = ("mitre", "round", "bevel", "beyond the limit")
SURE_MM, NEAR_MM = 0.12, 0.15


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(f"mitre{seed}")
    where, kind, join = WHERE[seed % 3], rng.choice(KINDS), JOINS[0]
    near = rng.uniform(WANTED[where] - 1.2, WANTED[where] - SURE_MM)
    far = rng.uniform(WANTED[where] + SURE_MM, WANTED[where] + 0.6)
    yield Case(f"{where}, {kind}, {near:.2f} mm", True, (seed, where, kind, join, near))
    yield Case(f"{where}, {kind}, {far:.2f} mm", False, (seed, where, kind, join, far))
    join = rng.choice(JOINS[1:])
    yield Case(f"{where}, {kind}, {join}", False, (seed, where, kind, join, far))


def judge(case: Case) -> Severity | None:
    seed, where, kind, join, room = case.held
    page = drawn(partial(_draw, seed, where, kind, join, room), where == "fold")
    found = findings(f"{where}.clearance", exam_of(page, where == "fold"))
    if case.faulty:
        found = [f for f in found if abs(float(f.measured or 0.0) - room) <= NEAR_MM]
    return found[0].severity if found else None


def _draw(seed: int, where: str, kind: str, join: str, room: float, canvas: Canvas) -> None:
    rng = random.Random(f"drawn{seed}{kind}")
    ground(canvas, tone(rng, 0.3))
    wide, angle = rng.uniform(0.4, 1.6), math.radians(rng.uniform(12.5, 60))
    canvas.setStrokeColor(rng.choice((BLACK, CMYKColor(1, 0.8, 0, 0.2), CMYKColor(0, 1, 0.9, 0))))
    canvas.setLineWidth(wide)
    reach = wide / 2 / math.sin(angle / 2)
    canvas.setLineJoin({"round": 1, "bevel": 2}.get(join, 0))
    if join == "beyond the limit":
        canvas.setMiterLimit(rng.uniform(0.6, 0.95) / math.sin(angle / 2))
    if join != "mitre":
        reach = wide / 2
    if where == "fold":
        side = rng.choice((-1, 1))
        canvas.translate(FOLDS[(side + 1) // 2], rng.uniform(-15, 15))
        canvas.scale(side, 1)
        canvas.translate(room + reach, 0)
    else:
        canvas.rotate(rng.uniform(0, 360))
        canvas.translate(
            *((HOLE + room + reach, 0) if where == "hole" else (reach - RIM + room, 0))
        )
    # The corner points to the left, towards what it keeps clear of.
    long = rng.uniform(4, 8)
    x, y = long * math.cos(angle / 2), long * math.sin(angle / 2)
    corners = [(x, y), (0.0, 0.0), (x, -y)]
    if kind == "zigzag":
        corners += [(0.6, -2 * y), (x, -3 * y)]
    path = canvas.beginPath()
    path.moveTo(*corners[0])
    for corner in corners[1:]:
        path.lineTo(*corner)
    if kind == "triangle":
        path.close()
    canvas.drawPath(path, stroke=1, fill=0)
