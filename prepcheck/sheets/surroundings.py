"""What several checks ask of a sheet: what lies on the art, and what lies round a thing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Paint, TextRun, TypeTable
from prepcheck.findings import Mark
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.sampling import median
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.thresholds import worst_first

MOST_MARKS = 300
"""Places kept of one finding, worst first; the message gives the full number."""
NO_PDF = "only a PDF can have this"
_GLYPHS_AT_ONCE, _BOXES_AT_ONCE = 50_000, 10_000
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
    return bool((sheet.outline.distance_at(x, y[:, None]) <= reach).any())


def are_on_art(exam: Exam, sheet: Sheet, boxes: Sequence[Box] | FloatArray) -> NDArray[np.bool_]:
    """Say of each of n boxes, which may be rows (n, 4), what `on_art` says of it."""
    corners = boxes if isinstance(boxes, np.ndarray) else np.array(boxes, np.float64)
    return _reach_within(sheet, corners.reshape(-1, 4), exam.spec.bleed.wanted_mm)


def within_trim(sheet: Sheet, runs: TypeTable) -> NDArray[np.intp]:
    """Return the numbers of the runs of type of which any glyph lies within the trim: nobody has to
    read what is cut off."""
    rows, outline = np.flatnonzero(runs.placed), sheet.outline
    rows = rows[_reach_within(sheet, runs.boxes[rows], 0.0)]
    boxes = runs.boxes[rows]
    # A line that is turned may lie outside while the box round it reaches in.
    turned = outline.signed_distance((boxes[:, :2] + boxes[:, 2:]) / 2) > 0
    if not turned.any():
        return rows
    glyphs = runs.glyphs.taken(rows[turned])
    held = (outline.signed_distance(glyphs.corners) <= 0).any(axis=1)
    count = np.bincount(glyphs.owners, weights=held, minlength=len(glyphs.first) - 1)
    return np.delete(rows, np.flatnonzero(turned)[count == 0])


def _reach_within(sheet: Sheet, corners: FloatArray, reach: float) -> NDArray[np.bool_]:
    outline = sheet.outline
    found = np.asarray(outline.signed_distance((corners[:, :2] + corners[:, 2:]) / 2) <= 0.0)
    bounds = outline.bounds.grown(reach)
    low = np.maximum(corners[:, :2], bounds[:2])
    high = np.minimum(corners[:, 2:], bounds[2:])
    near = np.flatnonzero(~found & (low <= high).all(axis=1))
    share = np.linspace(0.0, 1.0, _PROBES)[:, None, None]
    for some in np.array_split(near, len(near) // _BOXES_AT_ONCE + 1):
        lines = low[some] + share * (high - low)[some]
        x, y = np.broadcast_arrays(lines[:, None, :, 0], lines[None, :, :, 1])
        probes = np.stack((x, y), axis=-1)
        found[some] = (outline.signed_distance(probes) <= reach).any(axis=(0, 1))
    return found


def type_on_piece(exam: Exam, sheet: Sheet) -> TypeTable:
    """Return the runs of live type of which some paints within the trim."""
    return exam.once("type on the piece", sheet, lambda: _type_on_piece(sheet))


def _type_on_piece(sheet: Sheet) -> TypeTable:
    runs = sheet.content.type_table.kept(lambda style: style.paints)
    return runs.taken(within_trim(sheet, runs))


def kept(marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """Return the marks worst first, no more than a proof can show."""
    return worst_first(list(marks))[:MOST_MARKS]


def kept_rows(ranks: FloatArray, boxes: FloatArray) -> NDArray[np.intp]:
    """Return which of n places `kept` would keep the marks of, in its order, by their ranks (n,)
    and boxes (n, 4); those of one rank have one label."""
    return np.lexsort((boxes[:, 0], -boxes[:, 3], ranks))[:MOST_MARKS]


def above_and_below(run: TextRun) -> FloatArray:
    """Return places (n, 2) just above and below the glyphs, where no neighbour stands."""
    return beside(run.corners).reshape(-1, 2)


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


def grounds(sheet: Sheet, runs: TypeTable) -> list[float | None]:
    """Return what `ground` says of places just above and below the glyphs of each run of type."""
    return [one for some in in_batches(runs) for one in _grounds(sheet, some)]


def in_batches(runs: TypeTable) -> Iterator[TypeTable]:
    """Yield runs of type in their order, some at a time: of many glyphs arrays take much memory."""
    batch = runs.glyphs.first[1:] // _GLYPHS_AT_ONCE
    ends = np.flatnonzero(np.diff(batch)) + 1
    for rows in np.split(np.arange(len(runs)), ends) if len(runs) else ():
        yield runs.taken(rows)


def _grounds(sheet: Sheet, runs: TypeTable) -> list[float | None]:
    probes = beside(runs.glyphs.corners)
    owner = np.repeat(runs.glyphs.owners, probes.shape[1])
    return grounds_at(sheet, probes.reshape(-1, 2), owner, len(runs))


def grounds_at(
    sheet: Sheet, probes: FloatArray, owner: NDArray[np.intp], count: int
) -> list[float | None]:
    """Return what `ground` says of the places (n, 2) of each of so many owners (n,)."""
    lights = lights_at(sheet, probes, owner, count).tolist()
    return [None if np.isnan(light) else light for light in lights]


def lights_at(sheet: Sheet, probes: FloatArray, owner: NDArray[np.intp], count: int) -> FloatArray:
    """Return what `grounds_at` does as numbers; not a number where nothing is known."""
    view = sheet.view
    at = np.floor(view.grid.pixels(probes)).astype(int)
    height, width = view.lightness.shape
    inside = ((at >= 0) & (at < (width, height))).all(axis=1)
    columns, rows = at[inside].T
    return medians(view.lightness[rows, columns], owner[inside], count) / 255


def medians(values: NDArray[Any], owner: NDArray[np.intp], count: int) -> FloatArray:
    """Return the median of the values (n,) of each of so many owners (n,), who rise from 0; of one
    without any it is not a number."""
    numbers = np.bincount(owner, minlength=count)
    some = np.flatnonzero(numbers)
    first = (np.cumsum(numbers) - numbers)[some]
    low, high = first + (numbers[some] - 1) // 2, first + numbers[some] // 2
    ordered = in_order(values, owner).astype(np.float64)
    found = np.full(count, np.nan)
    found[some] = (ordered[low] + ordered[high]) / 2
    return found


def in_order(values: NDArray[Any], owner: NDArray[np.intp]) -> NDArray[Any]:
    """Return values (n,), none below 0, those of each owner (n,), who rise, from the least on.

    Owner and value are sorted as one number, which takes a tenth of the time that both take; bytes
    of few owners are counted, which takes a tenth of that.
    """
    if values.dtype == np.uint8 and len(owner) and (int(owner[-1]) + 1) * 256 <= 4 * len(owner):
        number = np.bincount(owner * 256 + values)
        return np.repeat(np.arange(len(number)).astype(np.uint8), number)
    is_share = values.dtype == np.float32
    if not (is_share or (values.dtype.kind in "iu" and values.dtype.itemsize <= 4)):
        return values[np.lexsort((values, owner))]
    # Numbers of 32 bits that are not negative are ordered as their bits are.
    bits = (values + np.float32(0)).view(np.uint32) if is_share else values.astype(np.uint32)
    keys = owner.astype(np.uint64) << np.uint64(32)
    keys |= bits
    keys.sort()
    low = keys.astype(np.uint32)
    return low.view(np.float32) if is_share else low.astype(values.dtype)


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


def are_unseen(lightness: FloatArray, around: FloatArray) -> NDArray[np.bool_]:
    """Say of each of many things what `unseen` says of it; the ground that is not known is not a
    number."""
    return (lightness > _WHITE) & (around > _WHITE)


def are_reversed_out(
    lightness: FloatArray, around: FloatArray
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Say of each of many things whether `reversed_out` is sure of it, and whether it cannot tell;
    the ground that is not known is not a number."""
    light, step = lightness >= LEAST_LIGHT, lightness - around
    sure = light & (step >= _REVERSED_SURE)
    return sure, light & ~sure & ~(step < _REVERSED_PERHAPS)
