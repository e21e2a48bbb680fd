"""Outlined type near a rim: edges of its letters are type, not edges of objects."""

from __future__ import annotations

from collections.abc import Sequence

from prepcheck.geometry import Box
from prepcheck.measure.edges import LiveEdge
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near_type import NearType
from prepcheck.sheets.outlined import type_lines
from prepcheck.sheets.thresholds import short_of
from prepcheck.spec.model import TOLERANCE_MM

ROUND_SHARE = 0.4
"""How far round a letter its dots and accents lie, of the height of capitals."""


def without_letters(
    exam: Exam, sheet: Sheet, edges: Sequence[LiveEdge], limit_mm: float
) -> tuple[tuple[NearType, ...], float | None, list[LiveEdge]]:
    """Return the outlined type nearer to a rim than a limit, one entry a line, the least room that
    any has, and the edges that are none of a letter's."""
    lines, rest = by_line(exam, sheet, edges)
    nearest = min((edge.clearance_mm for line in lines for edge in line), default=None)
    near = []
    for found in lines:
        close = [e for e in found if short_of(e.clearance_mm, limit_mm, TOLERANCE_MM)]
        if close:
            around = Box.around(corner for edge in close for corner in edge.box.corners)
            least = min(edge.clearance_mm for edge in close)
            near.append(NearType("outlined type", least, around, outlined=True))
    return tuple(near), nearest, rest


def by_line(
    exam: Exam, sheet: Sheet, edges: Sequence[LiveEdge]
) -> tuple[list[list[LiveEdge]], list[LiveEdge]]:
    """Return the edges of letters drawn as outlines, those of each line of type together, and the
    other edges."""
    lines = type_lines(exam, sheet)
    letters = [
        (number, box.grown(ROUND_SHARE * line.cap_mm))
        for number, line in enumerate(lines)
        for box in line.shapes
    ]
    own: dict[int, list[LiveEdge]] = {}
    rest = []
    for edge in edges:
        box = edge.box
        line = next((number for number, around in letters if around.holds(box)), None)
        if line is None:
            rest.append(edge)
        else:
            own.setdefault(line, []).append(edge)
    return list(own.values()), rest
