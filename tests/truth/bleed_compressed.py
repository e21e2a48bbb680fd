"""Bleed of pictures that were saved as JPEG with colours at half the resolution, as most programs
do by default: outside an edge such files have a faint halo, a block wide or two.

Truth by construction: grounds, gradients, blocks and clouds of colour run on past the bleed, or are
cut off at a known distance from the trim; Pillow, an independent program, compresses them. Grounds
that fade out softly by themselves owe no bleed.
"""

from __future__ import annotations

import io
import random
from collections.abc import Iterator

import numpy as np
from PIL import Image

from prepcheck.findings import Severity
from tests.truth._page import as_picture, exam_of, worst_of
from tests.truth.case import Case

CLASS = "bleed of compressed pictures"
SEEDS = 40
FAST = 1
MARGIN = 3.5
SIDE_MM = 107.0
KINDS = ("ground", "gradient", "blocks", "clouds", "soft")
CUTS = ("all round", "an arc", "a side")
CHECKS = ("bleed.missing", "bleed.short")
SOUND = (*CHECKS, "bleed.other-colour")


def cases(seed: int) -> Iterator[Case]:
    kind, cut = KINDS[seed % len(KINDS)], CUTS[seed // len(KINDS) % len(CUTS)]
    yield Case(f"{kind}, cut {cut}", True, (kind, seed, cut))
    yield Case(f"{kind}, whole", False, (kind, seed, ""))


def judge(case: Case) -> Severity | None:
    kind, seed, cut = case.held
    picture = compressed(art(kind, seed, cut), random.Random(f"saved {seed}"))
    return worst_of(exam_of(as_picture(picture, margin=MARGIN)), CHECKS if cut else SOUND)


def compressed(ink: np.ndarray, rng: random.Random) -> Image.Image:
    """Return amounts of three inks (side, side, 3), 0 to 1, as what a JPEG of them holds."""
    held = io.BytesIO()
    rgb = Image.fromarray((255 - 255 * ink).round().astype(np.uint8))
    rgb.save(held, "JPEG", quality=rng.choice((50, 60, 75, 85, 92)), subsampling=2)
    saved = np.asarray(Image.open(held).convert("RGB"))
    bare = np.zeros((*saved.shape[:2], 1), np.uint8)
    return Image.fromarray(np.concatenate((255 - saved, bare), axis=2), "CMYK")


def art(kind: str, seed: int, cut: str) -> np.ndarray:
    """Return amounts of three inks (side, side, 3), 0 to 1."""
    rng, grain = random.Random(f"compressed {seed}"), np.random.default_rng(seed)
    side = round(SIDE_MM / 25.4 * rng.choice((240, 300, 300, 360)))
    at = ((np.arange(side) + 0.5) / side - 0.5) * SIDE_MM
    x, y = np.meshgrid(at, -at)
    far, shape = np.hypot(x, y), (side, side)
    # Each of them has one ink at least that is well seen.
    one, other = (_inks(rng) for _ in range(2))
    if kind == "gradient":
        turn = rng.uniform(0, 2 * np.pi)
        share = np.clip(0.5 + (x * np.cos(turn) + y * np.sin(turn)) / 100, 0, 1)
    elif kind == "blocks":
        cells = grain.integers(0, 2, (9, 9)).astype(np.float64)
        share = np.kron(cells, np.ones((side // 9 + 1,) * 2))[:side, :side]
    elif kind == "clouds":
        small = Image.fromarray(grain.uniform(0, 1, (rng.randrange(6, 30),) * 2).astype(np.float32))
        share = np.clip(np.asarray(small.resize(shape, Image.Resampling.BICUBIC)), 0, 1)
    else:
        share = np.zeros(shape)
    ink = one + (other - one) * share[:, :, None]
    edge, left = _edge(rng, cut, x, y, far)
    if kind == "soft":
        width, end = rng.uniform(4, 15), rng.uniform(49, 53)
        faded = np.clip((end - far) / width, 0, 1)
        ink *= np.maximum(faded, left)[:, :, None]
    # The pixels that a cut goes through are covered in part.
    return ink * np.clip(edge / SIDE_MM * side + 0.5, 0, 1)[:, :, None]


def _inks(rng: random.Random) -> np.ndarray:
    inks = np.array([rng.uniform(0, 0.95) for _ in range(3)])
    inks[rng.randrange(3)] = rng.uniform(0.35, 0.95)
    return inks


def _edge(
    rng: random.Random, cut: str, x: np.ndarray, y: np.ndarray, far: np.ndarray
) -> tuple[np.ndarray, float]:
    """Return how far inside a cut places lie, in mm, and what share of a soft ground's ink is left
    there at least."""
    beyond, middle, half = (
        rng.choice((0.0, 0.3, 0.7, 1.2)), rng.uniform(-180, 180), rng.uniform(20, 60)
    )  # fmt: skip
    left = rng.uniform(0.4, 0.9)
    if cut == "all round":
        return 50 + beyond - far, left
    if cut == "an arc":
        off = np.abs((np.degrees(np.arctan2(y, x)) - middle + 180) % 360 - 180)
        return np.where(off < half, 50 + beyond - far, 99.0), left
    if cut == "a side":
        return 50 + beyond - x, left
    return np.full(far.shape, 99.0), 0.0
