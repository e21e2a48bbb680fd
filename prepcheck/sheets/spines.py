"""What the checks of spines share: the type that stands on each spine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import Content
from prepcheck.findings import Mark
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.clearance import is_seen
from prepcheck.measure.folds import inside
from prepcheck.outline import Panel
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import glyphs_of, printing, short_text

NO_SPINE = "the piece has no spine"
NO_TYPE = "no type stands on the spine"
GROUND_SHARE = 0.9
"""What is longer than this share of the spine is a ground or a rule, not outlined type."""
WIDEST = 2.0
"""What is more than this many spines wide is no type of the spine."""


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
            lines = tuple(_outlined(sheet, content, spine, axis))
        if lines:
            yield SpineType(spine, axis, lines, glyphs.corners[kept])


def _outlined(sheet: Sheet, content: Content, spine: Panel, axis: int) -> Iterator[SpineLine]:
    """Yield what is drawn on a spine and may be outlined type: no ground, no plain block."""
    boxes = content.path_boxes
    centre = (boxes[:, :2] + boxes[:, 2:]) / 2
    size = boxes[:, 2:] - boxes[:, :2]
    low, high = np.array(spine.box[:2]), np.array(spine.box[2:])
    length, width = (high - low)[1 - axis], (high - low)[axis]
    held = ((centre >= low) & (centre <= high)).all(axis=1)
    held &= (size[:, 1 - axis] < GROUND_SHARE * length) & (size[:, axis] < WIDEST * width)
    for index in np.flatnonzero(held).tolist():
        path = content.paths[index]
        block = path.fill is not None and len(path.segments) == 1 and len(path.segments[0]) <= 10
        if not block and is_seen(sheet.view, path.box):
            yield SpineLine(path.box, "")


def line_marks(lines: tuple[SpineLine, ...], label: str, value: float) -> tuple[Mark, ...]:
    """Return one mark for all that stands on a spine: outlined letters are one place."""
    box = lines[0].box
    for line in lines[1:]:
        box = box.union(line.box)
    return (Mark(box, label, value=round(value, 2), rank=-round(abs(value), 3)),)
