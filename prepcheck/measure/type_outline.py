"""Type by its ink: how near the outline of a glyph that is seen comes to something."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import TextRun
from prepcheck.geometry import Box, FloatArray, Quad, sample_loop
from prepcheck.measure.drawn import look_of
from prepcheck.measure.seen import Strokes, across_of, seen_places
from prepcheck.press.view import View

STEP_MM = 0.08
"""Distance between the places on an outline that are measured."""
OFF_MM = 0.06
"""How far from an outline its sides are looked at: less than half a stem of small type."""
WHOLE = 0.6
"""Of a glyph that is seen along this share of its outline, all of the outline counts."""
NOTHING = 0.15
"""A glyph of which no more than this share of its outline is seen does not show."""


def outline_places(run: TextRun, index: int, quad: Quad) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return places (n, 2) on the closed curves of a glyph, and which curve each is of (n,).

    Both are empty where no outline is to be had.
    """
    shape = run.shapes[index] if run.shapes else None
    curves = () if shape is None else shape.curves(quad)
    walked = [sample_loop(curve[:-1], STEP_MM) for curve in curves]  # the last is the first again
    if not walked:
        return np.empty((0, 2)), np.empty(0, np.intp)
    numbers = np.repeat(np.arange(len(walked)), [len(curve) for curve in walked])
    return np.concatenate(walked), numbers


def seen_outline(
    view: View, run: TextRun, places: FloatArray, curve: NDArray[np.intp]
) -> FloatArray:
    """Return the places of an outline (see `outline_places`) that count: all of a glyph that
    shows, what is seen of one that shows in part, none of one that does not show."""
    paint = run.fill if run.fill is not None else run.stroke
    half = run.stroke_mm / 2 if run.stroke is not None and run.fill is None else 0.0
    look = np.array(look_of(paint))
    count = int(curve[-1]) + 1
    strokes = Strokes(
        places, across_of(places, curve), np.full(len(places), half), curve,
        np.tile(look[:3], (count, 1)), np.full(count, look[3] > 0),
    )  # fmt: skip
    seen = seen_places(view, strokes, OFF_MM)
    share = float(seen.mean())
    if share <= NOTHING:
        return places[:0]
    return places if share >= WHOLE else places[seen]


def nearest_ink(
    view: Callable[[Box], View],
    run: TextRun,
    index: int,
    quad: Quad,
    clearance_of: Callable[[FloatArray], float],
) -> float | None:
    """Return how near the ink of a glyph comes, by the clearance in mm of its places (n, 2).

    `view` gives the page round a box in mm. None where the glyph does not show; raises LookupError
    where no outline is to be had.
    """  # fmt: skip
    places, curve = outline_places(run, index, quad)
    if not len(places):
        raise LookupError("no outline")
    counts = seen_outline(view(quad.box), run, places, curve)
    if not len(counts):
        return None
    half = run.stroke_mm / 2 if run.stroke is not None else 0.0
    return clearance_of(counts) - half
