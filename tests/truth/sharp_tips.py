"""Sharp tips of filled shapes beside the trim: thorns, stars, blades, chevrons of 8 to 50 degrees.

Truth by construction: the tip lies a known distance inside the trim, a little nearer than what is
wanted, or a little further; a fault counts as found where it is told within a tenth of a mm.
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
from tests.truth._page import BLACK, RIM, drawn, exam_of, ground, tone
from tests.truth.case import Case

CLASS = "room: sharp tips"
SEEDS = 32
FAST = 3
WANTED, SURE_MM, NEAR_MM = 3.0, 0.1, 0.1
KINDS = ("thorn", "star", "blade", "chevron")


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(f"tip{seed}")
    near, far = rng.uniform(0.4, WANTED - SURE_MM), rng.uniform(WANTED + SURE_MM, WANTED + 1.5)
    kind = KINDS[seed % len(KINDS)]
    yield Case(f"{kind}, {near:.2f} mm", True, (seed, kind, near))
    yield Case(f"{kind}, {far:.2f} mm", False, (seed, kind, far))


def judge(case: Case) -> Severity | None:
    seed, kind, room = case.held
    found = findings("trim.clearance", exam_of(drawn(partial(_draw, seed, kind, room))))
    if case.faulty:
        found = [f for f in found if abs(float(f.measured or 0.0) - room) <= NEAR_MM]
    return found[0].severity if found else None


def _draw(seed: int, kind: str, room: float, canvas: Canvas) -> None:
    rng = random.Random(f"drawn{seed}{kind}")
    ground(canvas, tone(rng, 0.3))
    canvas.setFillColor(rng.choice((BLACK, CMYKColor(1, 0.8, 0, 0.2), CMYKColor(0, 1, 0.9, 0))))
    canvas.rotate(rng.uniform(0, 360))
    canvas.translate(RIM - room, 0)
    half, long = math.radians(rng.uniform(4, 25)), rng.uniform(5, 14)
    wide = long * math.tan(half)
    if kind == "star":
        count = rng.randrange(5, 9)
        inner = [(long * 0.3, (n + 0.5) / count) for n in range(count)]
        outer = [(long, n / count) for n in range(count)]
        turns = sorted([*outer, *inner], key=lambda one: one[1])
        corners = [
            (far * math.cos(2 * math.pi * turn) - long, far * math.sin(2 * math.pi * turn))
            for far, turn in turns
        ]
    elif kind == "chevron":
        corners = [(0.0, 0.0), (-long, wide), (-long - wide, wide), (-1.5 * wide - 1.0, 0.0),
                   (-long - wide, -wide), (-long, -wide)]  # fmt: skip
    elif kind == "blade":
        corners = [(0.0, 0.0), (-long, 2 * wide), (-long, 0.0)]
    else:
        corners = [(0.0, 0.0), (-long, wide), (-long, -wide)]
    if rng.random() < 0.5:
        corners = [*corners[1:], corners[0]]
    path = canvas.beginPath()
    path.moveTo(*corners[0])
    for corner in corners[1:]:
        path.lineTo(*corner)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)
