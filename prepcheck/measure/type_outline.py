"""Type by its ink: how near the outline of a glyph that is seen comes to something."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

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


class Glyph(NamedTuple):
    """A glyph where it stands: its run, its place in that, and the corners of its box."""

    run: TextRun
    place: int
    quad: Quad


class _Walked(NamedTuple):
    """A glyph with the places (n, 2) along its outline, the curve that each is of, and half the
    width of the stroke it is drawn with."""

    number: int
    places: FloatArray
    curve: NDArray[np.intp]
    half: float
    look: tuple[float, ...]


def nearest_inks(
    view: Callable[[Box], View],
    glyphs: Sequence[Glyph],
    clearance_of: Callable[[FloatArray], float],
) -> Iterator[float | None]:
    """Yield how near the ink of each glyph comes, by the clearance in mm of its places (n, 2).

    `view` gives the page round a box in mm. None stands for a glyph that does not show; not a
    number for one of which no outline is to be had.
    """
    found: list[float | None] = [math.nan] * len(glyphs)
    together: dict[int, tuple[View, list[_Walked]]] = {}
    for number, (run, place, quad) in enumerate(glyphs):
        places, curve = outline_places(run, place, quad)
        if len(places):
            near = view(quad.box)
            one = _Walked(number, places, curve, *_drawn(run))
            together.setdefault(id(near), (near, []))[1].append(one)
    for near, own in together.values():
        for one, counts in zip(own, _seen_outlines(near, own), strict=True):
            run = glyphs[one.number].run
            half = run.stroke_mm / 2 if run.stroke is not None else 0.0
            found[one.number] = clearance_of(counts) - half if len(counts) else None
    yield from found


def _drawn(run: TextRun) -> tuple[float, tuple[float, ...]]:
    """Return half the width of the strokes that a run is drawn with alone, and its look."""
    paint = run.fill if run.fill is not None else run.stroke
    half = run.stroke_mm / 2 if run.stroke is not None and run.fill is None else 0.0
    return half, look_of(paint)


def _seen_outlines(view: View, glyphs: Sequence[_Walked]) -> Iterator[FloatArray]:
    """Yield the places of each outline that count: all of a glyph that shows, what is seen of one
    that shows in part, none of one that does not show."""
    places = np.concatenate([one.places for one in glyphs])
    lengths = [len(one.places) for one in glyphs]
    curves = [int(one.curve[-1]) + 1 for one in glyphs]
    first = np.cumsum([0, *curves])
    curve = np.concatenate([one.curve for one in glyphs]) + np.repeat(first[:-1], lengths)
    looks = np.repeat(np.array([one.look for one in glyphs]), curves, axis=0)
    strokes = Strokes(
        places, across_of(places, curve), np.repeat([one.half for one in glyphs], lengths), curve,
        looks[:, :3], looks[:, 3] > 0,
    )  # fmt: skip
    every = seen_places(view, strokes, OFF_MM)
    for one, seen in zip(glyphs, np.split(every, np.cumsum(lengths)[:-1]), strict=True):
        share = float(seen.mean())
        if share <= NOTHING:
            yield one.places[:0]
        else:
            yield one.places if share >= WHOLE else one.places[seen]
