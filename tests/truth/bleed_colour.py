"""Bleed in another colour than the edge it should continue.

Truth by construction: a ground that turns into another colour at a known distance past the trim,
all round, along an arc or along a straight side; sound twins are the same ground run out, and art
whose colours change at the edge for reasons of its own.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np

from prepcheck.findings import Finding, Severity
from tests.checks.exams import examine, make_exam
from tests.truth.bleed_texture import SIDE, _mm, _smooth, view_of
from tests.truth.case import Case

CLASS = "bleed in another colour"
SEEDS = 40
FAST = 1
SOUND = ("plain", "picture", "fade", "stripes", "dots", "rings", "crossing", "line", "far", "faint")


def _colour(rng: random.Random) -> np.ndarray:
    """Return an amount of each ink, none of them bare."""
    while True:
        inks = np.array([rng.choice((0, 0, 60, 128, 200, 255)) for _ in range(3)] + [0], float)
        inks[3] = rng.choice((0, 0, 0, 60, 160))
        if inks.max() >= 60:
            return inks


def _apart(rng: random.Random, one: np.ndarray) -> np.ndarray:
    while True:
        other = _colour(rng)
        if np.abs(other - one).max() >= 110:
            return other


def art(kind: str, seed: int) -> np.ndarray:
    """Return inks (SIDE, SIDE, 4), 255 for solid."""
    rng, numbers = random.Random(f"{kind}{seed}"), np.random.default_rng(seed)
    x, y = _mm()
    radius, angle = np.hypot(x, y), np.degrees(np.arctan2(y, x))
    own = _colour(rng)
    other = _apart(rng, own)
    out = np.broadcast_to(own, (SIDE, SIDE, 4)).copy()
    turn = rng.uniform(0, np.pi)
    u, v = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    at = rng.choice((0.0, 0.3, 0.6, 1.0, 1.5))
    if kind == "all round":
        out[radius > 50 + at] = other
    elif kind == "an arc":
        off = np.abs((angle - rng.uniform(-180, 180) + 180) % 360 - 180)
        out[(radius > 50 + at) & (off < rng.uniform(15, 60))] = other
    elif kind == "a side":
        out[u > 50 + at] = other
    elif kind == "disc on a picture":
        grain = _smooth(numbers, 4.0)[:, :, None] * 40 + other
        out = np.where((radius > 50 + at)[:, :, None], np.clip(grain, 10, 255), out)
    elif kind == "picture":
        size = rng.uniform(1.0, 12.0)
        grains = np.stack([_smooth(numbers, size) for _ in range(3)] + [np.zeros((SIDE, SIDE))], 2)
        out = np.clip(out * 0.5 + 50 + 60 * grains, 10, 255)
    elif kind == "fade":
        share = np.clip((u / 53 + 1) / 2, 0, 1)[:, :, None]
        out = own * share + other * (1 - share)
    elif kind == "stripes":
        pitch = rng.uniform(2.0, 9.0)
        out[(u % pitch) < pitch * rng.uniform(0.2, 0.6)] = other
    elif kind == "dots":
        pitch = rng.uniform(2.0, 9.0)
        cell = np.hypot((u + pitch / 2) % pitch - pitch / 2, (v + pitch / 2) % pitch - pitch / 2)
        out[cell < pitch * rng.uniform(0.2, 0.42)] = other
    elif kind == "rings":
        pitch = rng.uniform(2.0, 8.0)
        out[((radius + rng.uniform(0, pitch)) % pitch) < pitch * 0.45] = other
    elif kind == "crossing":
        out[np.abs(u) < rng.uniform(3, 20)] = other
    elif kind == "line":
        out[np.abs(radius - 50 - at - 0.3) < rng.uniform(0.05, 0.15)] = other
    elif kind == "far":
        out[radius > 50 + rng.uniform(2.2, 3.0)] = other
    elif kind == "faint":
        out[radius > 50 + at] = np.clip(own + 5, 0, 255)
    return np.clip(out, 0, 255).astype(np.uint8)


def cases(seed: int) -> Iterator[Case]:
    fault = ("all round", "an arc", "a side", "disc on a picture")[seed % 4]
    yield Case(fault, True, (fault, seed))
    sound = SOUND[seed % len(SOUND)]
    yield Case(sound, False, (sound, seed))


def judge(case: Case) -> Severity | None:
    exam = make_exam("label-12in", view=view_of(art(*case.held)))
    found = [said for said in examine("bleed.other-colour", exam) if isinstance(said, Finding)]
    return min((f.severity for f in found), key=list(Severity).index, default=None)
