"""The ink map: how much ink lies where, in steps that are told apart by lightness alone.

Steps run from light to dark, so the map reads in grey too. What lies above the limit is hatched
and ringed in black.
"""

from __future__ import annotations

import math
from enum import StrEnum
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from prepcheck.frozen import dataclass
from prepcheck.geometry import Grid
from prepcheck.press.separate.plates import Plates
from prepcheck.press.view import ByteArray

STEP_PERCENT = 50.0
"""Height of a step in total ink."""
BARE_PERCENT = 1.0
"""Total ink under which the paper counts as bare."""
WITHOUT_LIMIT_PERCENT = 400.0
"""Where the steps end when no limit is known: four solid plates."""
_HATCH = 6
"""Pixels from one line of the hatching to the next."""

_LETTERS = 12
"""Size of the letters of a legend in a picture, in pixels."""

Rgb = tuple[int, int, int]

PAPER: Rgb = (255, 255, 255)
RING: Rgb = (0, 0, 0)
OVER: Rgb = (214, 48, 38)
UNKNOWN: Rgb = (178, 172, 166)
_SEEN = 5
"""Paint without ink amounts counts from 2 % on."""
_RAMP: tuple[Rgb, ...] = (
    (241, 238, 214),
    (203, 226, 190),
    (146, 204, 178),
    (94, 174, 172),
    (60, 138, 160),
    (46, 100, 142),
    (42, 64, 114),
    (30, 30, 74),
)


class StepPattern(StrEnum):
    """How a step is told apart besides by its colour."""

    PLAIN = "plain"
    HATCHED = "hatched"
    """Above the limit."""
    DOTTED = "dotted"
    """Paint that has no ink amounts."""


class InkStep(NamedTuple):
    """A step of the map: total ink above `low` up to `high` percent; None is without end."""

    low: float
    high: float | None
    colour: Rgb
    pattern: StepPattern = StepPattern.PLAIN

    @property
    def words(self) -> str:
        """The step in words, for a legend."""
        if self.pattern is StepPattern.DOTTED:
            return "not known"
        if self.high is None:
            return f"above {self.low:g} %"
        return "bare paper" if self.low == 0 else f"up to {self.high:g} %"


@dataclass(frozen=True, eq=False)
class InkMap:
    """Which step each pixel (rows, columns) belongs to, and the steps from the least up."""

    levels: ByteArray
    steps: tuple[InkStep, ...]
    grid: Grid

    def image(self, hatch: int = _HATCH) -> Image.Image:
        """Return the map as a picture with a palette; the limit hatched and ringed."""
        shown = self.levels.copy()
        white, ring = len(self.steps), len(self.steps) + 1
        for level, step in enumerate(self.steps):
            if step.pattern is StepPattern.PLAIN:
                continue
            mask = self.levels == level
            rows, columns = np.nonzero(mask)
            if step.pattern is StepPattern.HATCHED:
                drawn = (rows + columns) % hatch < max(1, hatch // 4)
                shown[_ring(mask)] = ring
            else:
                drawn = (rows % hatch < hatch // 3) & (columns % hatch < hatch // 3)
            shown[rows[drawn], columns[drawn]] = white
        picture = Image.fromarray(shown)
        colours = [*(step.colour for step in self.steps), PAPER, RING]
        picture.putpalette([value for colour in colours for value in colour])
        return picture


def with_legend(drawn: InkMap) -> Image.Image:
    """Return the map as a picture in colour over a row of its steps, named."""
    picture = drawn.image().convert("RGB")
    font = ImageFont.load_default(_LETTERS)
    words = [step.words for step in drawn.steps]
    step_width = max(math.ceil(font.getlength(text)) for text in words) + _LETTERS
    per_row = max(1, (picture.width - _LETTERS) // step_width)
    rows = math.ceil(len(words) / per_row)
    row_height = 4 * _LETTERS
    width = max(picture.width, step_width + _LETTERS)
    whole = Image.new("RGB", (width, picture.height + rows * row_height + _LETTERS), PAPER)
    whole.paste(picture, (0, 0))
    brush = ImageDraw.Draw(whole)
    for i, text in enumerate(words):
        x = _LETTERS // 2 + (i % per_row) * step_width
        y = picture.height + _LETTERS + (i // per_row) * row_height
        size = (step_width - _LETTERS, 2 * _LETTERS)
        levels = np.full(size[::-1], i, np.uint8)
        sample = InkMap(levels, drawn.steps, drawn.grid).image().convert("RGB")
        whole.paste(sample, (x, y))
        brush.rectangle((x, y, x + size[0], y + size[1]), outline=RING)
        brush.text((x, y + size[1] + 3), text, fill=RING, font=font)
    return whole


def steps_to(limit_percent: float | None) -> tuple[InkStep, ...]:
    """Return the steps of a map: bare paper, then every 50 % up to the limit, then what is over."""
    end = WITHOUT_LIMIT_PERCENT if limit_percent is None else limit_percent
    edges = [BARE_PERCENT, *np.arange(STEP_PERCENT, end - 1e-6, STEP_PERCENT).tolist(), end]
    pairs = list(pairwise(edges))
    places = np.linspace(0, len(_RAMP) - 1, len(pairs))
    steps = [InkStep(0.0, BARE_PERCENT, PAPER)]
    for (low, high), place in zip(pairs, places, strict=True):
        steps.append(InkStep(low, high, _mixed(float(place))))
    if limit_percent is None:
        steps.append(InkStep(end, None, RING))
    else:
        steps.append(InkStep(end, None, OVER, StepPattern.HATCHED))
    return tuple(steps)


def ink_map(plates: Plates, limit_percent: float | None) -> InkMap:
    """Return the map of total ink; a total right at the limit is not over it.

    Where there is paint without ink amounts the total is not known.
    """
    steps = steps_to(limit_percent)
    total = plates.total()
    # The rounding of one plate's byte must not carry a value over an edge it stands on.
    half = 0.5 * 100 / 255
    edges = np.array([step.high for step in steps[:-1]], np.float64)
    table = np.searchsorted(edges + half, np.arange(255 * len(plates.inks) + 1) * 100 / 255).astype(
        np.uint8
    )
    levels: ByteArray = table[total]
    if plates.not_in_inks is not None:
        levels[plates.not_in_inks >= _SEEN] = len(steps)
        steps = (*steps, InkStep(0.0, None, UNKNOWN, StepPattern.DOTTED))
    return InkMap(levels, steps, plates.grid)


def _mixed(place: float) -> Rgb:
    low = min(int(place), len(_RAMP) - 2)
    share = place - low
    r, g, b = (round(a + (c - a) * share) for a, c in zip(_RAMP[low], _RAMP[low + 1], strict=True))
    return r, g, b


def _ring(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the pixels outside a mask that touch it with a side."""
    near = np.zeros_like(mask)
    near[1:] |= mask[:-1]
    near[:-1] |= mask[1:]
    near[:, 1:] |= mask[:, :-1]
    near[:, :-1] |= mask[:, 1:]
    return near & ~mask
