"""Whether an edge in a picture was drawn, or is a photograph's own.

What is drawn has one colour along its edge and goes over into what lies beneath within the width of
a pixel or two. Edges of a photograph change their colours on both sides, are softer, or small. The
figures are from photographs that scikit-image carries and from words set on them
(`tests/truth/photographs.py`).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, Point
from prepcheck.measure.ridges import LookPlanes
from prepcheck.measure.sampling import sample

LEAST_PLACES = 8
"""An edge of fewer places is too small for its colours to tell."""
MOST_PLACES = 60
STRONG = 100.0
"""Levels of 255 by which what is drawn differs from what it is drawn on."""
SURE, CLEAR = 0.9, 50.0
"""The same where a long edge has one colour at such a share of its places."""
WIDEST_MM = 0.3
"""How wide the edge of what is drawn is at most."""
ALIKE, SHARE = 10.0, 0.75
"""One of the two sides has one colour within so many levels at this share of the places."""
LONG, VARIED = 20, 0.6
"""An edge of so many places with one colour at a lesser share of them has none."""
CONTINUOUS = ((0.25, 1.0), (0.5, 2.0))
"""Where tones change continuously such a part of the cells changes less than so many levels, and
the rest more: of flat art most do not change at all."""
ROUND_MM, ACROSS_MM, STEP_MM = 0.12, 0.7, 0.05
NEAR = round(0.35 / STEP_MM)
LEVEL = 0.25
"""An edge ends where the look changes by less than this share of its steepest step."""
BEYOND = 2
"""Steps beyond that, where the colour of a side is looked at: within the pixels of a picture an
edge's last step may be as much off as two colours are."""


def is_continuous(changes: NDArray[np.uint8]) -> bool:
    """Say whether tones change continuously where cells (n,) change by so much, 0..255."""
    return len(changes) > 0 and all(
        float(np.quantile(changes, part)) >= least for part, least in CONTINUOUS
    )


class EdgeLooks(NamedTuple):
    """How an edge looks: places along it, by how many levels of 255 its two sides differ, how wide
    it is in mm, and the share of its places that have one colour on one of the two sides."""

    places: int
    apart: float
    wide_mm: float
    one_colour: float

    @property
    def is_drawn(self) -> bool:
        """Whether it can only be drawn, whatever lies beneath."""
        if self.places < LEAST_PLACES or self.wide_mm > WIDEST_MM:
            return False
        # A photograph that ends on a flat ground has one colour beside it all along.
        if self.places >= LONG and self.one_colour >= SURE:
            return self.apart >= CLEAR
        return self.apart >= STRONG and self.one_colour >= SHARE

    @property
    def is_varied(self) -> bool:
        """Whether it can hardly be drawn: it is long, and neither side has a colour of its own."""
        return self.places >= LONG and self.one_colour < VARIED


def edge_looks(looks: LookPlanes, path: Sequence[Point]) -> EdgeLooks:
    """Return how an edge along places looks."""
    chosen = np.linspace(0, len(path) - 1, min(len(path), MOST_PLACES)).astype(int)
    profiles, channel = _across(looks, np.array(path, np.float64)[chosen])
    rows, middle = np.arange(len(profiles)), profiles.shape[1] // 2
    own = profiles[rows, :, channel]
    steps = np.abs(np.diff(own, axis=1))
    steepest = middle - NEAR + steps[:, middle - NEAR : middle + NEAR].argmax(axis=1)
    sides, beyond, wide = [], [], np.zeros(len(rows))
    for at, way in ((steepest, -1), (steepest + 1, 1)):
        end = _level(own, at, way, LEVEL * steps[rows, steepest])
        wide += np.abs(end - steepest) * STEP_MM
        sides.append(profiles[rows, end])
        beyond.append(profiles[rows, np.clip(end + BEYOND * way, 0, own.shape[1] - 1)])
    one, other = sides
    apart = float(np.median(np.abs(one - other).max(axis=1)))
    return EdgeLooks(len(path), apart, float(np.median(wide)), _one_colour(*beyond))


def _across(looks: LookPlanes, points: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the look across an edge at places (n, 2) as (n, steps, 3), along the way in which it
    changes most, and the channel (n,) that changes most."""
    angle = np.arange(16) * (np.pi / 8)
    ways = np.column_stack((np.cos(angle), np.sin(angle)))
    around = _looks(looks, points[:, None] + ROUND_MM * ways)
    channel = np.ptp(around, axis=1).argmax(axis=1)
    own = around[np.arange(len(points)), :, channel]
    way = own @ ways
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    count = round(ACROSS_MM / STEP_MM)
    distance = np.arange(-count, count + 1) * STEP_MM
    found = _looks(looks, points[:, None] + distance[:, None] * way[:, None])
    return found, channel


def _looks(looks: LookPlanes, places: FloatArray) -> FloatArray:
    found = [sample(plane, looks.view.grid, places) for plane in looks.channels]
    return np.stack(found, axis=-1).astype(np.float64)


def _level(
    own: FloatArray, start: NDArray[np.intp], way: int, least: FloatArray
) -> NDArray[np.intp]:
    """Return where on each row (n, m) the look levels out, from `start` (n,) on."""
    rows, at = np.arange(len(own)), start.copy()
    going = np.ones(len(own), bool)
    for _ in range(NEAR + 1):
        ahead = np.clip(at + way, 0, own.shape[1] - 1)
        going &= np.abs(own[rows, ahead] - own[rows, at]) >= least
        at = np.where(going, ahead, at)
    return at


def _one_colour(one: FloatArray, other: FloatArray) -> float:
    """Return the greatest share of places that have one colour on either of their sides (n, 3)."""
    both = np.concatenate((one, other))
    near = np.minimum(
        np.abs(one[None] - both[:, None]).max(axis=2),
        np.abs(other[None] - both[:, None]).max(axis=2),
    )
    return float((near <= ALIKE).mean(axis=1).max())
