"""Bleed of fine dots, as ink on bare paper and as paper in ink, at 300 and 600 ppi.

Truth by construction: a lattice of dots of 0.2 to 0.8 mm at any turn runs out past the bleed;
faulty twins stop at a known distance from the trim, all round or along an arc. Sound ones also end
by themselves, across the trim or well inside it.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

import numpy as np

from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Grid
from prepcheck.press.view import View
from tests.checks.exams import examine, make_exam
from tests.truth.case import Case

CLASS = "bleed of fine dots"
SEEDS = 32
FAST = 2
SIDE_MM = 107.0
CUTS = ("an arc", "all round")
WHOLE = ("", "inside", "badge", "across")


def art(seed: int, ppi: int, is_ink: bool, end: str) -> np.ndarray:
    """Return the amount of ink (side, side), 0 to 1."""
    rng = random.Random(f"dots{seed}")
    side = round(SIDE_MM / 25.4 * ppi)
    pixel = 25.4 / ppi
    at = ((np.arange(side) + 0.5) * pixel - side * pixel / 2).astype(np.float32)
    x, y = at[None, :], -at[:, None]
    wide = rng.uniform(0.2, 0.8)
    pitch, turn = wide * rng.uniform(1.3, 2.5), rng.uniform(0, math.pi)
    u = x * math.cos(turn) + y * math.sin(turn)
    v = y * math.cos(turn) - x * math.sin(turn)
    half = pitch / 2
    off = np.hypot((u + half) % pitch - half, (v + half) % pitch - half)
    dots = np.clip((wide / 2 - off) / pixel + 0.5, 0, 1)
    ink = dots if is_ink else 1 - dots
    from_centre = np.hypot(x, y)
    beyond, middle = rng.choice((0.0, 0.4, 0.8, 1.2)), rng.uniform(-180, 180)
    span = rng.uniform(20, 60) if end == "an arc" else 180.0
    if end in CUTS:
        aside = np.abs((np.degrees(np.arctan2(y, x)) - middle + 180) % 360 - 180)
        return ink * ~((from_centre > 50 + beyond) & (aside <= span))
    if end == "inside":
        return ink * (from_centre < rng.uniform(46, 49.5))
    if end == "badge":
        away = math.radians(middle)
        centre = np.hypot(x - 40 * math.cos(away), y - 40 * math.sin(away))
        return ink * (centre < rng.uniform(14, 25))
    if end == "across":
        return ink * (u > rng.uniform(-30, 30))
    return ink


def cases(seed: int) -> Iterator[Case]:
    ppi, is_ink = (300, 600)[seed % 2], seed // 2 % 4 != 3
    of = f"{'ink' if is_ink else 'paper'}, {ppi} ppi"
    cut, whole = CUTS[seed // 4 % 2], WHOLE[seed // 8 % 4 if is_ink else 0]
    yield Case(f"{of}, cut {cut}", True, (seed, ppi, is_ink, cut))
    yield Case(f"{of}, {whole or 'whole'}", False, (seed, ppi, is_ink, whole))


def judge(case: Case) -> Severity | None:
    ink, ppi = art(*case.held), case.held[1]
    rng = random.Random(f"inks{case.held[0]}")
    cyan, magenta = (ink * rng.uniform(60, 235), ink * rng.uniform(20, 150))
    bare = np.full_like(ink, 255)
    rgb = np.stack((255 - cyan, 255 - magenta, bare), axis=2).astype(np.uint8)
    half, side = len(ink) / ppi * 25.4 / 2, len(ink)
    amount = np.maximum(cyan, magenta).astype(np.uint8)
    light = rgb.mean(axis=2).astype(np.uint8)
    view = View(amount, light, rgb, Grid(side, side, 25.4 / ppi, -half, half))
    exam = make_exam("label-12in", view=view)
    found = [said for said in examine("bleed.short", exam) if isinstance(said, Finding)]
    return min((f.severity for f in found), key=list(Severity).index, default=None)
