"""What the checks of spines share: the type that stands on each spine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.findings import Mark
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.clearance import is_seen
from prepcheck.measure.folds import inside
from prepcheck.outline import Panel
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import glyphs_of, printing, short_text
from prepcheck.sheets.outlined import type_lines

NO_SPINE = "the piece has no spine"
NO_TYPE = "no type stands on the spine"
GROUND_SHARE = 0.9
"""What is longer than this share of the spine is a ground or a rule, not outlined type."""
WIDEST = 2.0
"""What is more than this many spines wide is no type of the spine."""
BESIDE, LEVEL = 0.5, 0.6
"""Letters of a line stand no further apart than this share of their height, and level with one
another for such a share of it."""
EXACT_MM = 0.01


class SpineLine(NamedTuple):
    """A line of type on a spine, or a drawn thing where type is outlined: its box and text."""

    box: Box
    text: str


class SpineType(NamedTuple):
    """Everything that stands on one spine.

    `axis` is the one across the spine (0 for x); `glyphs` (n, 4, 2) are the corners of live
    type, empty where type is outlined.
    """

    spine: Panel
    axis: int
    lines: tuple[SpineLine, ...]
    glyphs: FloatArray

    @property
    def width(self) -> float:
        return self.spine.box[2 + self.axis] - self.spine.box[self.axis]

    @property
    def box(self) -> Box:
        box = self.lines[0].box
        for line in self.lines[1:]:
            box = box.union(line.box)
        return box

    def size(self, box: Box) -> float:
        """Return the size of a box across the spine, in mm."""
        return box[2 + self.axis] - box[self.axis]

    @property
    def what(self) -> str:
        return "Type" if len(self.glyphs) else "What is drawn"


def spines_of(sheet: Sheet) -> tuple[Panel, ...]:
    """Return the spines of a sheet."""
    return tuple(panel for panel in sheet.outline.panels if panel.kind == "spine")


def spine_types(exam: Exam, sheet: Sheet) -> tuple[SpineType, ...]:
    """Return what stands on each spine that carries type."""
    return exam.once("spine types", sheet, lambda: tuple(_spine_types(exam, sheet)))


def _spine_types(exam: Exam, sheet: Sheet) -> Iterator[SpineType]:
    content = printing(exam, sheet)
    glyphs = glyphs_of(exam, sheet)
    for spine in spines_of(sheet):
        axis = 0 if spine.box.width <= spine.box.height else 1
        boxes: dict[int, Box] = {}
        kept = []
        held = inside(glyphs.corners, spine.box)
        # A line that runs across from face to face is none of the spine's.
        own = np.bincount(glyphs.run, weights=held, minlength=len(glyphs.runs))
        of_spine = 2 * own >= np.bincount(glyphs.run, minlength=len(glyphs.runs))
        held &= ~_across(glyphs.corners, held, spine.box, axis)
        widest = WIDEST * min(spine.box.width, spine.box.height)
        for index in np.flatnonzero(held).tolist():
            box, run = glyphs.box(index), int(glyphs.run[index])
            across = box[2 + axis] - box[axis]
            if of_spine[run] and across <= widest and is_seen(sheet.view, box):
                boxes[run] = boxes[run].union(box) if run in boxes else box
                kept.append(index)
        lines = tuple(
            SpineLine(box, short_text(glyphs.runs[run].text)) for run, box in boxes.items()
        )
        if not lines:
            lines = tuple(_outlined(exam, sheet, content, spine, axis))
        if lines:
            yield SpineType(spine, axis, lines, glyphs.corners[kept])


def _across(
    corners: FloatArray, held: NDArray[np.bool_], spine: Box, axis: int
) -> NDArray[np.bool_]:
    """Say which glyphs (n, 4, 2) on a spine are of a line that runs on over a fold, letter by
    letter: one of its size stands beside it there, and lies on the fold or beyond it."""
    found = np.zeros(len(corners), np.bool_)
    low, high = corners.min(axis=1), corners.max(axis=1)
    size = high - low
    reach = BESIDE * size[held, 1 - axis].max(initial=0.0)
    near = ~held & (high[:, axis] > spine[axis] - reach) & (low[:, axis] < spine[2 + axis] + reach)
    rest = np.flatnonzero(near)
    for at in np.flatnonzero(held).tolist():
        tall = size[at, 1 - axis]
        gap = np.maximum(low[rest, axis] - high[at, axis], low[at, axis] - high[rest, axis])
        shared = np.minimum(high[rest], high[at]) - np.maximum(low[rest], low[at])
        beside = (gap <= BESIDE * tall) & (shared[:, 1 - axis] >= LEVEL * tall)
        beside &= size[rest, 1 - axis] <= tall / LEVEL
        found[at] = beside.any()
    return found


def _outlined(
    exam: Exam, sheet: Sheet, content: Content, spine: Panel, axis: int
) -> Iterator[SpineLine]:
    """Yield what is drawn on a spine and may be outlined type: no ground, no plain block, and no
    letter of a line that lies on its sides rather."""
    elsewhere: list[Box] = []
    for line in type_lines(exam, sheet):
        on = [box for box in line.shapes if spine.box.holds(Box(*box.centre, *box.centre))]
        if 2 * len(on) < len(line.shapes):
            elsewhere += [box.grown(EXACT_MM) for box in on]
    boxes = content.path_boxes
    centre = (boxes[:, :2] + boxes[:, 2:]) / 2
    size = boxes[:, 2:] - boxes[:, :2]
    low, high = np.array(spine.box[:2]), np.array(spine.box[2:])
    length, width = (high - low)[1 - axis], (high - low)[axis]
    held = ((centre >= low) & (centre <= high)).all(axis=1)
    held &= (size[:, 1 - axis] < GROUND_SHARE * length) & (size[:, axis] < WIDEST * width)
    for index in np.flatnonzero(held).tolist():
        path = content.paths[index]
        if any(letter.holds(path.box) for letter in elsewhere):
            continue
        block = path.fill is not None and len(path.segments) == 1 and len(path.segments[0]) <= 10
        if not block and is_seen(sheet.view, path.box):
            yield SpineLine(path.box, "")


def line_marks(lines: tuple[SpineLine, ...], label: str, value: float) -> tuple[Mark, ...]:
    """Return one mark for all that stands on a spine: outlined letters are one place."""
    box = lines[0].box
    for line in lines[1:]:
        box = box.union(line.box)
    return (Mark(box, label, value=round(value, 2), rank=-round(abs(value), 3)),)
