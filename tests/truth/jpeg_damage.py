"""Pictures that were once squeezed hard as JPEG, whatever holds them now.

Truth by construction: Pillow, an independent program, compresses generated art at a known quality,
and packs it again: without loss, cropped, or as JPEG of high quality. Sound twins are the same art,
never compressed or compressed lightly.
"""

from __future__ import annotations

import io
import random
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from prepcheck.findings import Severity
from tests.truth._run import worst
from tests.truth.case import Case

CLASS = "JPEG damage in the samples"
SEEDS = 40
FAST = 1
SIDE = 661
"""Samples across 56 mm at 300 ppi: a sticker of 50 mm with its bleed."""


def art(rng: random.Random) -> Image.Image:
    """Return noise with the falling spectrum of photographs, with shapes and a gradient on it."""
    numbers = np.random.default_rng(rng.randrange(2**32))
    fall = rng.uniform(0.9, 1.6)
    fy, fx = np.fft.fftfreq(SIDE)[:, None], np.fft.rfftfreq(SIDE)[None, :]
    shape = 1 / np.maximum(np.hypot(fy, fx), 1 / SIDE) ** fall
    channels = []
    common = numbers.normal(size=(SIDE, SIDE))
    for _ in range(3):
        own = common + 0.4 * numbers.normal(size=(SIDE, SIDE))
        plane = np.fft.irfft2(np.fft.rfft2(own) * shape, s=(SIDE, SIDE))
        channels.append(128 + rng.uniform(25, 45) * plane / plane.std())
    picture = Image.fromarray(np.clip(np.stack(channels, axis=2), 0, 255).astype(np.uint8))
    draw = ImageDraw.Draw(picture)
    for _ in range(rng.randint(0, 12)):
        x, y, r = rng.randrange(SIDE), rng.randrange(SIDE), rng.randint(10, 90)
        colour = tuple(rng.randint(20, 235) for _ in range(3))
        draw.ellipse((x - r, y - r, x + r, y + r), fill=colour)
    return picture


def squeezed(picture: Image.Image, quality: int) -> Image.Image:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=quality)
    return Image.open(out).convert(picture.mode)


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(seed)
    kind = rng.choice(("png", "tif", "jpg"))
    grey = rng.random() < 0.25
    whole = art(rng).convert("L" if grey else "RGB")
    low = rng.randint(15, 52)
    damaged = squeezed(whole, low)
    if kind != "jpg" and rng.random() < 0.5:
        x, y = rng.randrange(1, 9), rng.randrange(1, 9)
        damaged = damaged.crop((x, y, SIDE, SIDE))
    yield Case(f"quality {low}, then {kind}", True, (damaged, kind))
    gentle = rng.choice((None, 80, 90, 95))
    sound = whole if gentle is None else squeezed(whole, gentle)
    yield Case(f"quality {gentle}, then {kind}", False, (sound, kind))


def judge(case: Case) -> Severity | None:
    picture, kind = case.held
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"art.{kind}"
        options = {"quality": 93} if kind == "jpg" else {}
        picture.save(path, dpi=(300, 300), **options)
        return worst(path, "image.compression", "sticker-square-50mm")
