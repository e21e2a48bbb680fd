"""Fine dots and short strokes as objects all over a page are no guide; along one they are.

Truth by construction: a lattice, or scattered places, covers the page; faulty twins set the same
dots or strokes in a row along the trim, the safe area, a ring of the hole or a fold.
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
from tests.truth._page import FOLDS, HOLE, RIM, drawn, exam_of, ground, tone, worst_of
from tests.truth.case import Case

CLASS = "guides: fine dots and strokes"
SEEDS = 40
FAST = 1
MOTIFS = ("dots", "strokes")
SAFE_MM = 3.0


def cases(seed: int) -> Iterator[Case]:
    sleeve, motif = seed % 4 == 3, MOTIFS[seed // 2 % 2]
    where = "sleeve" if sleeve else "label"
    yield Case(f"{where}, {motif} all over", False, (seed, sleeve, motif, False))
    yield Case(f"{where}, {motif} in a row", True, (seed, sleeve, motif, True))


def judge(case: Case) -> Severity | None:
    seed, sleeve, motif, in_row = case.held
    page = drawn(partial(_draw, seed, sleeve, motif, in_row), sleeve)
    return worst_of(exam_of(page, sleeve), ("guide.printing",))


def _draw(seed: int, sleeve: bool, motif: str, in_row: bool, canvas: Canvas) -> None:
    rng = random.Random(f"fine{seed}{in_row}")
    if rng.random() < 0.5:
        ground(canvas, tone(rng, 0.2))
    size = rng.uniform(0.3, 0.7)
    pitch = size * rng.uniform(1.5, 2.5)
    places = _row(rng, sleeve, pitch) if in_row else _all_over(rng, sleeve, pitch)
    colour = CMYKColor(*rng.choice(((0, 0, 0, 1), (0.9, 0.2, 0, 0), (0, 0.9, 0.6, 0.1))))
    canvas.setFillColor(colour)
    canvas.setStrokeColor(colour)
    canvas.setLineWidth(rng.uniform(0.1, 0.3))
    lean = rng.uniform(0, math.pi)
    for x, y, turn in places:
        if motif == "dots":
            canvas.circle(x, y, size / 2, stroke=0, fill=1)
            continue
        way = turn if in_row else lean
        dx, dy = size / 2 * math.cos(way), size / 2 * math.sin(way)
        canvas.line(x - dx, y - dy, x + dx, y + dy)


def _all_over(rng: random.Random, sleeve: bool, pitch: float) -> np.ndarray:
    """Return places and turns (n, 3) of a lattice that lies straight or turned, or is shaken."""
    wide, high = (66.0, 34.0) if sleeve else (54.0, 54.0)
    pitch = max(pitch, 1.1) if sleeve else pitch
    number = int(80 / pitch)
    x, y = np.meshgrid(*(np.arange(-number, number + 1) * pitch,) * 2)
    turn, shaken = rng.choice((0.0, rng.uniform(0, math.pi))), rng.choice((0.0, 0.3))
    off = np.random.default_rng(rng.randrange(1 << 30)).uniform(-shaken, shaken, (2, *x.shape))
    x, y = x + off[0] * pitch, y + off[1] * pitch
    x, y = x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)
    held = (np.abs(x) < wide) & (np.abs(y) < high)
    return np.stack((x[held], y[held], np.zeros(held.sum())), axis=1)


def _row(rng: random.Random, sleeve: bool, pitch: float) -> np.ndarray:
    """Return places and turns (n, 3) along a guide."""
    if sleeve:
        y = np.arange(-30, 30, pitch)
        return np.stack((np.full_like(y, rng.choice(FOLDS)), y, np.full_like(y, math.pi / 2)), 1)
    radius = rng.choice((RIM, RIM - SAFE_MM, HOLE))
    turns = np.linspace(0, 2 * math.pi, round(2 * math.pi * radius / pitch), endpoint=False)
    return np.stack((radius * np.cos(turns), radius * np.sin(turns), turns + math.pi / 2), axis=1)
