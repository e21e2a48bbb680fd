"""Draws a spec: the piece's lines on their layers, its measures, and a legend beside it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from prepcheck.geometry import Box
from prepcheck.outline import Outline, Panel
from prepcheck.proof.typeset import width_of
from prepcheck.spec.model import Spec
from prepcheck.spec.places import Place, Step, barcode_zone, places_of
from prepcheck.template.legend import LegendBlock, legend_blocks
from prepcheck.template.measures import measures
from prepcheck.template.model import (
    XY,
    Drawing,
    DrawingLayer,
    Fill,
    Mark,
    Set,
    Stroke,
    Template,
    Words,
    moved,
)  # fmt: skip
from prepcheck.template.styles import (
    FAINT,
    LINES,
    PANEL,
    RUNNING,
    SOURCE,
    STRONG,
    scaled,
)  # fmt: skip
from prepcheck.units import MM_PER_PT

_PAINT_ORDER = (
    Step.GLUE, Step.INK_FREE, Step.BLEED, Step.SAFE, Step.BARCODE, Step.FOLD, Step.CUT, Step.HOLE,
    Step.DIMENSIONS, Step.LEGEND,
)  # fmt: skip
_COLUMN_MM = 66.0
_GAP_MM = 7.0
_MARGIN_MM = 9.0
_MOST_COLUMNS = 6
_MOST_SLENDER = 1.6
"""Ratio of the sides from which a sheet counts as long and narrow."""
_GLUE_TINT = 0.14
_NARROW_MM = 4.0
"""A spine narrower than this is named beside itself, on a label's scale of type."""


def draw_template(spec: Spec) -> Template:
    """Return a spec drawn at true size, every page of the piece."""
    pages = tuple(draw_page(spec, index) for index in range(len(spec.pages)))
    return Template(spec.name, spec.title, pages)


def draw_page(spec: Spec, index: int) -> Drawing:
    """Return one page (0-based) of a spec drawn."""
    outline = spec.outline_of(index)
    places = places_of(spec, outline)
    scale = _scale(outline)
    bleed = outline.bounds.grown(spec.bleed.wanted_mm)
    measured = measures(outline, spec.bleed.wanted_mm, scale)
    around = Box(
        bleed.x0 - measured.left, bleed.y0 - measured.below, bleed.x1, bleed.y1 + measured.above
    )
    sheet = _sheet(spec, index, places, around, scale)
    marks: dict[Step, list[Mark]] = {step: [] for step in _PAINT_ORDER}
    for place in places:
        marks[place.step] += _guide(place)
    marks[Step.DIMENSIONS] += measured.marks
    marks[Step.LEGEND] += [
        *_names(outline, scale), *_zone_name(spec, outline, scale), *sheet.legend,
    ]  # fmt: skip
    layers = tuple(DrawingLayer(step, tuple(own)) for step, own in marks.items() if own)
    return Drawing(spec.pages[index].name, sheet.media, outline.bounds, bleed, layers)


def _scale(outline: Outline) -> float:
    """Return how much larger than on a label type is set, so that it reads at the piece's size."""
    across = math.hypot(outline.bounds.width, outline.bounds.height)
    return min(2.0, max(1.0, math.pow(across / 141.0, 0.42)))


def _guide(place: Place) -> Iterator[Mark]:
    points = tuple((float(x), float(y)) for x, y in place.points)
    if place.step is Step.GLUE:
        yield Fill(place.step, points, _GLUE_TINT)
    weight, dash = LINES[place.step]
    yield Stroke(place.step, points, place.closed, weight, dash, place.circle)


# --- names within the piece


def _names(outline: Outline, scale: float) -> Iterator[Mark]:
    if len(outline.panels) == 1 and not outline.panels[0].opening:
        return
    for panel in outline.panels:
        if panel.kind == "spine" and panel.box.width < _NARROW_MM * scale:
            yield from _spine_name(panel, outline, scale)
        else:
            yield from _panel_name(panel, scale)
        yield from _opening(panel, outline, scale)


def _zone_name(spec: Spec, outline: Outline, scale: float) -> Iterator[Mark]:
    zone = barcode_zone(spec, outline)
    if zone is not None:
        style = scaled(RUNNING, 0.75 * scale)
        x, y = zone.centre
        low = y - 0.34 * style.size * MM_PER_PT
        yield Words(Step.LEGEND, x, low, "barcode zone", style, Set.CENTRE, tint=0.5)


_TURN = {"up": 0.0, "left": 90.0, "down": 180.0, "right": 270.0}


def _panel_name(panel: Panel, scale: float) -> Iterator[Mark]:
    """Yield a panel's name as its type will stand, with an arrow to the type's top."""
    turn = _TURN[panel.reads]
    x, y = panel.box.centre
    along, across = panel.box.width, panel.box.height
    if turn in (90.0, 270.0):
        along, across = across, along
    style = scaled(PANEL, scale)
    high = style.size * MM_PER_PT
    if panel.kind != "face" or across < 3.2 * high:
        style = scaled(RUNNING, min(scale, max(0.4, 0.62 * across / (9.0 * MM_PER_PT))))
        high = style.size * MM_PER_PT
    name = panel.name if panel.kind != "flap" else f"{panel.name}, no ink" \
        if not panel.ink_allowed else panel.name  # fmt: skip
    wide = width_of(name, style) * MM_PER_PT
    if wide > along * 0.92:
        style = scaled(style, along * 0.92 / wide)
        high = style.size * MM_PER_PT
        wide = along * 0.92
    tint = FAINT if panel.kind == "face" else 0.75
    marks: list[Mark] = [Words(Step.LEGEND, 0.0, -0.34 * high, name, style, Set.CENTRE, tint=tint)]
    if panel.kind == "face":
        top = 1.3 * high
        marks += _arrow(0.0, top, 1.5 * high, tint)
    else:
        # Beside the name, on one line with it.
        marks += _arrow(wide / 2 + 1.0 * high, -0.32 * high, 0.64 * high, tint)
    for mark in marks:
        yield _turned(mark, x, y, turn)


def _spine_name(panel: Panel, outline: Outline, scale: float) -> Iterator[Mark]:
    """Yield the name of a spine too narrow to carry it: beside it, with an arrow to it."""
    way = {"right": "type reads downwards", "left": "type reads upwards"}.get(panel.reads, "")
    lines = [(panel.name, scaled(STRONG, scale)), (way, scaled(SOURCE, scale))]
    room = panel.box.x0 - outline.bounds.x0
    foot = 4.6 * scale
    widest = max(width_of(words, style) for words, style in lines) * MM_PER_PT
    shrunk = min(1.0, (room - foot) * 0.9 / widest)
    x = panel.box.x0 - foot
    y = panel.box.centre.y + 0.22 * panel.box.height
    for words, style in lines:
        own = scaled(style, shrunk)
        yield Words(Step.LEGEND, x, y, words, own, Set.RIGHT, tint=0.8)
        y -= own.leading * MM_PER_PT
    for mark in _arrow(0.0, 0.0, foot - 1.9 * scale, 0.8):
        yield _turned(mark, x + 0.8 * scale, panel.box.centre.y + 0.22 * panel.box.height
                      + 1.1 * scale * shrunk, 270.0)  # fmt: skip


def _arrow(x: float, y: float, tall: float, tint: float) -> Iterator[Mark]:
    """Yield an upright arrow that stands on (x, y)."""
    half, head = 0.3 * tall, 0.42 * tall
    yield Stroke(
        Step.LEGEND, ((x, y), (x, y + tall - head)), False, max(0.1, 0.07 * tall), tint=tint
    )
    yield Fill(
        Step.LEGEND,
        ((x, y + tall), (x - half, y + tall - head), (x + half, y + tall - head)),
        tint,
    )


def _opening(panel: Panel, outline: Outline, scale: float) -> Iterator[Mark]:
    """Yield words along the edge at which the record goes in."""
    if panel.opening is None:
        return
    style = scaled(RUNNING, scale)
    box = panel.box
    inside = 6.5 * scale
    at = {
        "left": (box.x0 + inside, box.centre.y, 90.0),
        "right": (box.x1 - inside, box.centre.y, 270.0),
        "top": (box.centre.x, box.y1 - inside, 0.0),
        "bottom": (box.centre.x, box.y0 + inside, 180.0),
    }
    x, y, turn = at[panel.opening]
    words = "opens at this edge"
    mark = Words(Step.LEGEND, 0.0, 0.0, words, style, Set.CENTRE, tint=0.7)
    yield _turned(mark, x, y, turn)
    wide = width_of(words, style) * MM_PER_PT / 2 + 3.0 * scale
    for side in (-wide, wide):
        for part in _arrow(side, -0.2 * scale, 2.8 * scale, 0.7):
            yield _turned(part, x, y, turn)


def _turned(mark: Mark, dx: float, dy: float, degrees: float) -> Mark:
    """Return a mark turned by quarters about the origin, then moved."""
    cos, sin = {0.0: (1, 0), 90.0: (0, 1), 180.0: (-1, 0), 270.0: (0, -1)}[degrees]

    def at(point: XY) -> XY:
        x, y = point
        return (dx + cos * x - sin * y, dy + sin * x + cos * y)

    if isinstance(mark, Words):
        x, y = at((mark.x, mark.y))
        return Words(mark.ink, x, y, mark.line, mark.style, mark.set, degrees, mark.tint)
    points = tuple(at(point) for point in mark.points)
    if isinstance(mark, Fill):
        return Fill(mark.ink, points, mark.tint)
    return Stroke(mark.ink, points, mark.closed, mark.weight_mm, mark.dash_mm, None, mark.tint)


# --- the sheet


class _Sheet(NamedTuple):
    media: Box
    legend: tuple[Mark, ...]


def _sheet(spec: Spec, index: int, places: Sequence[Place], around: Box, scale: float) -> _Sheet:
    """Lay the legend right of the piece or below it, whichever makes the smaller sheet."""
    margin, gap = _MARGIN_MM * scale, _GAP_MM * scale
    choices = []
    width = _COLUMN_MM * scale
    beside = legend_blocks(spec, index, places, width, scale)
    for count in range(1, _MOST_COLUMNS + 1):
        at_right = _in_columns(beside, count)
        side = count * width + count * gap
        height = max(around.height, at_right)
        choices.append((_cost(around.width + side, height), "right", count, width, at_right))
        across = (around.width - (count - 1) * gap) / count
        if 0.72 * width <= across <= 1.45 * width:
            blocks = legend_blocks(spec, index, places, across, scale)
            below = _in_columns(blocks, count)
            cost = _cost(around.width, around.height + 1.5 * gap + below)
            choices.append((cost, "below", count, across, below))
    _, where, count, width, height = min(choices)
    blocks = beside if where == "right" else legend_blocks(spec, index, places, width, scale)
    if where == "right":
        x, top = around.x1 + 1.6 * gap, around.y1
        marks = _placed(blocks, count, height, width, gap, x, top)
        right = x + count * width + (count - 1) * gap
        low = min(around.y0, top - height)
        slack = (top - low) - around.height
        media = Box(around.x0, low, right, top).grown(margin)
        if slack > 0:  # the piece stands in the middle of a taller legend
            marks = moved(marks, 0.0, slack / 2)
            media = Box(media.x0, media.y0 + slack / 2, media.x1, media.y1 + slack / 2)
        return _Sheet(media, marks)
    top = around.y0 - 1.5 * gap
    marks = _placed(blocks, count, height, width, gap, around.x0, top)
    media = Box(around.x0, top - height, around.x1, around.y1).grown(margin)
    return _Sheet(media, marks)


def _cost(width: float, height: float) -> float:
    """Return a sheet's area, dearer where it is long and narrow."""
    return width * height * max(1.0, max(width, height) / min(width, height) / _MOST_SLENDER)


def _in_columns(blocks: Sequence[LegendBlock], count: int) -> float:
    """Return the least height in mm at which blocks fit so many columns."""
    low = max(block.height for block in blocks)
    high = sum(block.height for block in blocks)
    while high - low > 0.2:
        middle = (low + high) / 2
        if len(_filled(blocks, middle)) <= count:
            high = middle
        else:
            low = middle
    return high


def _filled(blocks: Sequence[LegendBlock], height: float) -> list[list[LegendBlock]]:
    columns: list[list[LegendBlock]] = [[]]
    used = 0.0
    for i, block in enumerate(blocks):
        need = block.height
        if block.heads and i + 1 < len(blocks):
            need += blocks[i + 1].height
        if columns[-1] and used + need > height:
            columns.append([])
            used = 0.0
        columns[-1].append(block)
        used += block.height
    return columns


def _placed(
    blocks: Sequence[LegendBlock], count: int, height: float, width: float, gap: float, x: float,
    top: float,
) -> tuple[Mark, ...]:  # fmt: skip
    marks: list[Mark] = []
    for i, column in enumerate(_filled(blocks, height)[:count]):
        y = top
        for block in column:
            marks += moved(block.marks, x + i * (width + gap), y)
            y -= block.height
    return tuple(marks)
