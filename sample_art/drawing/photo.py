"""Photographs that nobody took: ranges of hills in haze, made from noise.

Every one has detail down to its last sample, as a picture from a good lens has, so that a true
picture and an enlarged one can be told apart.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from drawing.brand import CLAY, DUNE, NIGHT, PLUM, SAND, Ink

Plane = NDArray[np.float64]


def cloud(shape: tuple[int, int], seed: int, slope: float, stretch: float = 1.0) -> Plane:
    """Return noise whose amplitude falls with the frequency to the power `slope`.

    Mean 0, standard deviation 1; `stretch` draws it out sideways.
    """
    rows, columns = shape
    noise = np.fft.rfft2(np.random.default_rng(seed).standard_normal(shape))
    fy = np.fft.fftfreq(rows)[:, None]
    fx = np.fft.rfftfreq(columns)[None, :] * stretch
    radius = np.hypot(fx, fy)
    radius[0, 0] = 1.0
    noise *= radius**-slope
    noise[0, 0] = 0.0
    plane: Plane = np.fft.irfft2(noise, s=shape)
    return plane / plane.std()


def hills(
    width: int, height: int, seed: int = 5, *, sun: tuple[float, float] = (0.62, 0.40)
) -> Plane:
    """Return a landscape as tones, 0 dark to 1 light, (height, width): sky, sun, then hills.

    `sun` is its place from the left and the top, as shares of width and height.
    """
    layers = 7
    y = np.linspace(0.0, 1.0, height)[:, None]
    x = np.linspace(0.0, 1.0, width)[None, :]
    rng = np.random.default_rng(seed)
    sky = 0.66 + 0.30 * y**0.8 + 0.05 * cloud((height, width), seed, 1.9, stretch=3.0)
    away = np.hypot((x - sun[0]) * width / height, y - sun[1])
    tones = sky + 0.12 * np.exp(-((away / 0.28) ** 2)) + 0.10 * (away < 0.085)
    for layer in range(layers):
        near = (layer + 1) / layers
        crest = _crest(width, rng, roughness=0.6 + 0.5 * near)
        line = 0.47 + 0.46 * near**1.35 + (0.030 + 0.055 * near) * crest
        top = max(0, int(line.min() * height) - 1)
        if top >= height:
            continue
        depth = y[top:] - line[None, :]
        below = np.clip(depth * height + 0.5, 0.0, 1.0)
        haze = np.exp(-np.maximum(depth, 0.0) * (9.0 - 4.0 * near))
        grain = cloud((height - top, width), seed + 31 * layer + 7, 0.95, stretch=0.6)
        body = 0.80 - 0.70 * near**0.8 + 0.10 * (1.0 - haze) * (1.0 - near)
        body = body + (0.020 + 0.045 * near) * grain
        tones[top:] += (body - tones[top:]) * below
    fine = np.random.default_rng(seed + 1).standard_normal((height, width))
    return np.clip(tones + 0.012 * fine, 0.0, 1.0)


def _crest(width: int, rng: np.random.Generator, roughness: float) -> Plane:
    steps = np.arange(1, 220)
    amplitude = steps ** -(1.9 - 0.45 * roughness)
    phase = rng.uniform(0.0, 2 * np.pi, steps.size)
    x = np.linspace(0.0, 1.0, width)
    crest: Plane = (amplitude[:, None] * np.sin(np.pi * steps[:, None] * x + phase[:, None])).sum(0)
    return crest / crest.std()


DUSK: tuple[tuple[float, Ink], ...] = (
    (0.00, NIGHT), (0.22, PLUM), (0.48, CLAY), (0.74, DUNE), (0.92, SAND),
    (1.00, (0, 0.02, 0.1, 0)),
)  # fmt: skip
"""Inks along the tones, from dark to light."""
SCREEN = (
    (0.00, (22, 24, 52)), (0.22, (84, 46, 68)), (0.48, (190, 98, 62)), (0.74, (230, 178, 120)),
    (0.92, (246, 228, 190)), (1.00, (255, 248, 226)),
)  # fmt: skip
"""The same as seen on a screen (RGB)."""


def label_hills(side: int, seed: int) -> Plane:
    """Return a square landscape for a label: the sun round the hole, the hills below it."""
    height = round(side * 1.3)
    return hills(side, height, seed, sun=(0.5, 0.5 * side / height))[:side]


def in_cmyk(tones: Plane) -> Image.Image:
    """Return tones as a CMYK picture in the dusk palette."""
    stops = [stop for stop, _ in DUSK]
    planes = [np.interp(tones, stops, [ink[i] for _, ink in DUSK]) for i in range(4)]
    samples = np.rint(np.stack(planes, -1) * 255).astype(np.uint8)
    return Image.frombytes("CMYK", (tones.shape[1], tones.shape[0]), samples.tobytes())


def in_rgb(tones: Plane) -> Image.Image:
    """Return tones as an RGB picture in the dusk palette."""
    stops = [stop for stop, _ in SCREEN]
    planes = [np.interp(tones, stops, [rgb[i] for _, rgb in SCREEN]) for i in range(3)]
    return Image.fromarray(np.rint(np.stack(planes, -1)).astype(np.uint8))


def in_grey(tones: Plane) -> Image.Image:
    """Return tones as a greyscale picture."""
    return Image.fromarray(np.rint(tones * 255).astype(np.uint8))
