"""Names what stands at a finding's places, as a person would: the line "…", the picture at …"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from prepcheck.findings import Finding, Mark
from prepcheck.geometry import Box, FloatArray
from prepcheck.sheets.exam import Sheet
from prepcheck.sheets.near import short_text
from prepcheck.sheets.whereabouts import place_words

_MOST_LETTERS = 40
_EQUAL_MM = 0.3
_INSIDE = 0.85
"""Share of a place that lies inside a run of type, from which it is a place of that run."""
_OF_RUN = 0.02
"""Least share of a run's area that a place in it has: a letter of a long line."""
_FEWEST = 4
"""Letters and digits that tell which line is meant."""


def named(findings: Sequence[Finding], sheets: Sequence[Sheet]) -> tuple[Finding, ...]:
    """Return findings whose places say what stands there, as far as it can be told."""
    namers: dict[int, Callable[[Mark], str]] = {}
    by_number = {sheet.number: sheet for sheet in sheets}
    found = []
    for finding in findings:
        sheet = by_number.get(finding.page or 0)
        if sheet is None or not finding.where:
            found.append(finding)
            continue
        if sheet.number not in namers:
            namers[sheet.number] = _namer(sheet)
        name = namers[sheet.number]
        marks = [
            mark if mark.subject else replace(mark, subject=name(mark)) for mark in finding.where
        ]
        found.append(replace(finding, where=tuple(marks)))
    return tuple(found)


def _namer(sheet: Sheet) -> Callable[[Mark], str]:
    runs = sheet.content.type_table
    says = np.array([bool(text.strip()) for text in runs.texts], np.bool_)
    rows = np.flatnonzero(says & runs.placed)
    texts, text_boxes = [runs.texts[row] for row in rows.tolist()], _Boxes(runs.boxes[rows])
    pictures = _Boxes(_boxes([item.visible for item in sheet.content.images if item.visible]))
    lines, paths = _Boxes(sheet.lines.boxes), _Boxes(sheet.content.path_boxes)

    def name(mark: Mark) -> str:
        box = mark.box
        where = place_words(box, sheet.outline)
        if pictures.like(box):
            return f"the picture {where}"
        if (index := _run_at(text_boxes, box)) is not None:
            text = _line_of(texts, text_boxes.every, index)
            if sum(map(str.isalnum, text)) < _FEWEST:  # set letter by letter, along a curve
                return f"the type {where}"
            return f"the line '{short_text(text, _MOST_LETTERS)}'"
        # A ground of the same extent may as well be what is meant.
        drawn = lines.like(box)
        if drawn and drawn == paths.like(box):
            return f"the drawn line {where.replace('over all', 'round the edge', 1)}"
        return ""

    return name


def _boxes(boxes: Sequence[Box]) -> FloatArray:
    return np.array([tuple(box) for box in boxes], np.float64).reshape(-1, 4)


class _Boxes:
    """Boxes (n, 4) by their left sides, to look among many for those of an extent or at a place."""

    def __init__(self, every: FloatArray) -> None:
        self.every, self._order = every, np.argsort(every[:, 0], kind="stable")
        self._boxes = every[self._order]
        self._reach = np.maximum.accumulate(self._boxes[:, 2])
        """How far to the right those up to here reach."""

    def like(self, box: Box) -> int:
        """Return how many are of about the extent of a box."""
        reach = box.x0 - 2 * _EQUAL_MM, box.x0 + 2 * _EQUAL_MM
        first, end = np.searchsorted(self._boxes[:, 0], reach)
        beside = self._boxes[first:end]
        return int((np.abs(beside - np.array(tuple(box))) <= _EQUAL_MM).all(axis=1).sum())

    def overlapping(self, box: Box) -> NDArray[np.intp]:
        """Return the numbers, rising, of those that a box overlaps."""
        first = np.searchsorted(self._reach, box.x0, "right")
        end = np.searchsorted(self._boxes[:, 0], box.x1)
        _, y0, x1, y1 = self._boxes[first:end].T
        return np.sort(self._order[first:end][(x1 > box.x0) & (y0 < box.y1) & (y1 > box.y0)])


def _run_at(boxes: _Boxes, box: Box) -> int | None:
    """Return the run of type that a place lies in, the one it fills best."""
    area = box.width * box.height
    near = boxes.overlapping(box) if area else ()
    if not len(near):
        return None
    x0, y0, x1, y1 = boxes.every[near].T
    wide = np.clip(np.minimum(x1, box.x1) - np.maximum(x0, box.x0), 0, None)
    high = np.clip(np.minimum(y1, box.y1) - np.maximum(y0, box.y0), 0, None)
    common, own = wide * high, (x1 - x0) * (y1 - y0)
    fits = (common >= _INSIDE * area) & (common >= _OF_RUN * own)
    if not fits.any():
        return None
    return int(near[np.argmax(np.where(fits, common / np.maximum(own, 1e-9), -1.0))])


def _line_of(texts: Sequence[str], boxes: FloatArray, index: int) -> str:
    """Return the text of a run with those that stand right beside it in one line; `boxes` (n, 4)
    are the places of all."""
    text, box = texts[index], Box(*boxes[index].tolist())
    for step in (-1, 1):
        at = index + step
        while 0 <= at < len(texts) and len(text) < _MOST_LETTERS:
            other, place = texts[at], Box(*boxes[at].tolist())
            high = min(box.height, place.height)
            level = min(box.y1, place.y1) - max(box.y0, place.y0) > 0.6 * high
            gap = max(place.x0 - box.x1, box.x0 - place.x1)
            upright = min(box.width / high, place.width / high) if high else 0.0
            if not level or upright < 0.2 or not -0.3 * high < gap < 0.8 * high:
                break
            space = " " if gap > 0.15 * high else ""
            text = f"{other}{space}{text}" if step < 0 else f"{text}{space}{other}"
            box = box.union(place)
            at += step
    return " ".join(text.split())
