"""Bleed of art that has paper-white places in it: clouds, speckles, dots, grain.

Truth by construction: the art is noise with white places, drawn out past the bleed; faulty twins
are cut off at a known distance from the trim, all round, along an arc, or by a straight side.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np
from PIL import Image

from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Grid
from prepcheck.press.view import View
from tests.checks.exams import examine, make_exam
from tests.truth.case import Case

CLASS = "bleed of textures with white places"
SEEDS = 40
FAST = 2
PPI = 200
SIDE = round(107 / 25.4 * PPI)
KINDS = ("clouds", "speckles", "dots", "stripes")


def _smooth(numbers: np.random.Generator, size_mm: float) -> np.ndarray:
    """Return noise (SIDE, SIDE) with features of about a size, mean 0 and deviation 1."""
    fy, fx = np.fft.fftfreq(SIDE)[:, None], np.fft.rfftfreq(SIDE)[None, :]
    sigma = size_mm / 25.4 * PPI / 2.5
    shape = np.exp(-2 * (np.pi * sigma) ** 2 * (fx**2 + fy**2))
    plane = np.fft.irfft2(np.fft.rfft2(numbers.normal(size=(SIDE, SIDE))) * shape, s=(SIDE, SIDE))
    return plane / plane.std()


def _white(kind: str, rng: random.Random, numbers: np.random.Generator) -> np.ndarray:
    """Return where the art is bare paper, as a mask (SIDE, SIDE)."""
    x, y = _mm()
    if kind == "clouds":
        return _smooth(numbers, rng.uniform(2.0, 14.0)) > rng.uniform(0.3, 1.4)
    if kind == "speckles":
        return _smooth(numbers, rng.uniform(0.5, 1.5)) > rng.uniform(1.2, 2.2)
    turn = rng.uniform(0, np.pi)
    u, v = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    pitch = rng.uniform(2.0, 9.0)
    if kind == "dots":
        radius = pitch * rng.uniform(0.2, 0.42)
        return (
            np.hypot((u + pitch / 2) % pitch - pitch / 2, (v + pitch / 2) % pitch - pitch / 2)
            < radius
        )
    return (u % pitch) < pitch * rng.uniform(0.2, 0.6)


def _mm() -> tuple[np.ndarray, np.ndarray]:
    at = (np.arange(SIDE) + 0.5) / PPI * 25.4 - SIDE / PPI * 25.4 / 2
    return at[None, :], -at[:, None]


def art(kind: str, seed: int, cut: str) -> Image.Image:
    rng, numbers = random.Random(f"{kind}{seed}"), np.random.default_rng(seed)
    x, y = _mm()
    cmyk = np.zeros((SIDE, SIDE, 4))
    texture = _smooth(numbers, rng.uniform(1.0, 6.0))
    for channel in range(4):
        level, swing = rng.uniform(20, 150 if channel < 3 else 60), rng.uniform(0, 25)
        cmyk[:, :, channel] = np.clip(level + swing * texture, 12, 235)
    gone = _white(kind, rng, numbers)
    beyond = rng.choice((0.0, 0.4, 0.8, 1.2))
    if cut == "all round":
        gone = gone | (np.hypot(x, y) > 50 + beyond)
    elif cut == "an arc":
        middle, half = rng.uniform(-180, 180), rng.uniform(20, 60)
        off = np.abs((np.degrees(np.arctan2(y, x)) - middle + 180) % 360 - 180)
        gone = gone | ((np.hypot(x, y) > 50 + beyond) & (off < half))
    elif cut == "a side":
        gone = gone | (x > 50 + beyond)
    cmyk[gone] = 0
    return Image.fromarray(cmyk.astype(np.uint8), "CMYK")


def cases(seed: int) -> Iterator[Case]:
    kind = KINDS[seed % len(KINDS)]
    cut = ("all round", "an arc", "a side")[seed // len(KINDS) % 3]
    yield Case(f"{kind}, cut {cut}", True, (kind, seed, cut))
    yield Case(f"{kind}, whole", False, (kind, seed, ""))


def judge(case: Case) -> Severity | None:
    exam = make_exam("label-12in", view=view_of(np.asarray(art(*case.held))))
    found = [said for said in examine("bleed.short", exam) if isinstance(said, Finding)]
    return min((f.severity for f in found), key=list(Severity).index, default=None)


def view_of(cmyk: np.ndarray) -> View:
    """Return what the checks look at, of samples (SIDE, SIDE, 4) with 255 for solid."""
    half = SIDE / PPI * 25.4 / 2
    rest = 255 - cmyk.astype(np.uint16)
    rgb = (rest[:, :, :3] * rest[:, :, 3:] // 255).astype(np.uint8)
    light = rgb.mean(axis=2).astype(np.uint8)
    return View(cmyk.max(axis=2), light, rgb, Grid(SIDE, SIDE, 25.4 / PPI, -half, half))
