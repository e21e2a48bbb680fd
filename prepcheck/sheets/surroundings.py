"""What several checks ask of a sheet: what lies on the art, and what lies round a thing."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from prepcheck.art.model import Paint, TextRun
from prepcheck.findings import Mark
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.sampling import median
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.limits import worst_first

MOST_MARKS = 300
"""Places kept of one finding, worst first; the message gives the full number."""
NO_PDF = "only a PDF can have this"
_PROBES = 9
_REVERSED_SURE = 0.3
LEAST_LIGHT = 0.15
"""Lightness below which nothing can be light on a darker ground."""
_REVERSED_PERHAPS = 0.15
_WHITE = 0.97
_AROUND_MM = 0.3
"""How far above and below a glyph the ground is looked at."""


def on_art(exam: Exam, sheet: Sheet, box: Box) -> bool:
    """Say whether any of `box` lies within the trim and the wanted bleed."""
    if sheet.outline.holds(box.centre):  # nearly always, and quickly told
        return True
    reach = exam.spec.bleed.wanted_mm
    near = sheet.outline.bounds.grown(reach).overlap(box)
    if near is None:
        return False
    x = np.linspace(near.x0, near.x1, _PROBES)
    y = np.linspace(near.y0, near.y1, _PROBES)
    probes = np.stack(np.meshgrid(x, y), axis=-1)
    return bool((sheet.outline.signed_distance(probes) <= reach).any())


def kept(marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """Return the marks worst first, no more than a proof can show."""
    return worst_first(list(marks))[:MOST_MARKS]


def paints_of(run: TextRun) -> tuple[Paint, ...]:
    """Return the paints a text run marks with."""
    if not run.paints:
        return ()
    return tuple(paint for paint in (run.fill, run.stroke) if paint is not None)


def above_and_below(run: TextRun) -> FloatArray:
    """Return places (n, 2) just above and below the glyphs, where no neighbour stands."""
    return beside(np.array(run.glyphs, np.float64)).reshape(-1, 2)


def beside(corners: FloatArray) -> FloatArray:
    """Return four places (n, 4, 2) just above and below each of n glyphs (n, 4, 2)."""
    foot, head = corners[:, :2], corners[:, 3:1:-1]
    up = head - foot
    length = np.hypot(up[..., 0], up[..., 1])[..., None]
    step = np.divide(up, length, out=np.zeros_like(up), where=length > 0) * _AROUND_MM
    places: FloatArray = np.concatenate((foot - step, head + step), axis=1)
    return places


def ground(sheet: Sheet, probes: FloatArray) -> float | None:
    """Return the median lightness, 0 to 1 (white), at places (n, 2) in mm; None off the view."""
    view = sheet.view
    at = np.floor(view.grid.pixels(probes)).astype(int)
    height, width = view.lightness.shape
    inside = (at[:, 0] >= 0) & (at[:, 0] < width) & (at[:, 1] >= 0) & (at[:, 1] < height)
    if not inside.any():
        return None
    columns, rows = at[inside].T
    return median(view.lightness[rows, columns]) / 255


def unseen(paint: Paint, around: float | None) -> bool:
    """Say whether something white lies on white, where it marks nothing."""
    return paint.lightness > _WHITE and around is not None and around > _WHITE


def reversed_out(paint: Paint, around: float | None) -> bool | None:
    """Say whether something is light on a darker ground; None where it cannot be told."""
    if paint.lightness < LEAST_LIGHT:
        return False
    if around is None:
        return None
    step = paint.lightness - around
    if step >= _REVERSED_SURE:
        return True
    return None if step >= _REVERSED_PERHAPS else False
