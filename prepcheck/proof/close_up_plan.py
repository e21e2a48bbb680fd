"""Decides which places of a part are shown enlarged, before anything is rendered."""

from __future__ import annotations

import math
from collections.abc import Iterator

from prepcheck.findings import Finding, Mark, PartResult, Severity
from prepcheck.geometry import Box, Point
from prepcheck.proof.model import InsetPlan

ENLARGEMENT = 4.0
"""How much larger than true scale an inset shows the art."""
INSET_MM = (54.0, 40.5)
"""Width and height of an inset on the paper, in mm; three stand side by side on A4."""
MOST_INSETS = 6
"""Insets a page of art: two rows."""
FEW_INSETS = 2
"""Insets a page of art up to which a finding's further places are shown too."""
_WHOLE = 0.8
"""Share of the trimmed piece from which a place stands for the whole and is not enlarged."""
_NEARLY_SAME = 0.5
"""Share of an inset's width or height within which two places count as one."""


def numbered(result: PartResult) -> tuple[tuple[int, Finding], ...]:
    """Return the findings of a part with the numbers they carry in the proof.

    While a part is examined alone they count from 1; in a whole result each has its own.
    """
    return tuple((finding.number or at, finding) for at, finding in enumerate(result.findings, 1))


def page_of(finding: Finding) -> int:
    """Return the page (1-based) a finding is shown on; one about the whole file is on the first."""
    return finding.page or 1


def centre_of(mark: Mark) -> Point:
    """Return the middle of a place in mm: half way along its path, else its box's centre."""
    if not mark.path:
        return mark.box.centre
    lengths = [math.dist(a, b) for a, b in zip(mark.path, mark.path[1:], strict=False)]
    rest = sum(lengths) / 2
    for start, end, length in zip(mark.path, mark.path[1:], lengths, strict=False):
        if length and rest <= length:
            share = rest / length
            return Point(start.x + share * (end.x - start.x), start.y + share * (end.y - start.y))
        rest -= length
    return Point(*mark.path[0])


def worst_marks(finding: Finding) -> tuple[Mark, ...]:
    """Return a finding's places, worst first."""
    return tuple(sorted(finding.where, key=lambda mark: mark.rank))


def plan_insets(result: PartResult) -> tuple[InsetPlan, ...]:
    """Return the places to show enlarged, in the order of the findings.

    Each stop and query gets its worst place; only where a page has few findings are second and
    third places shown. Places that would show nearly the same art are planned once.
    """
    width, height = (side / ENLARGEMENT for side in INSET_MM)
    planned: list[InsetPlan] = []
    for turn, number, page, place in _candidates(result):
        box = Box.centred(width, height, place)
        there = [plan for plan in planned if plan.page == page]
        room = FEW_INSETS if turn else MOST_INSETS
        if len(there) < room and not any(_alike(plan.box, box) for plan in there):
            planned.append(InsetPlan(number, page, box))
    return tuple(sorted(planned, key=lambda plan: (plan.page, plan.number)))


def may_be_enlarged(finding: Finding) -> bool:
    """Say whether a place of a finding may be shown enlarged, before it is known where it ranks."""
    return finding.severity is not Severity.NOTE and bool(finding.where)


def _candidates(result: PartResult) -> Iterator[tuple[int, int, int, Point]]:
    judged = [
        (number, finding, [mark for mark in worst_marks(finding) if not _is_whole(mark, result)])
        for number, finding in numbered(result)
        if finding.severity is not Severity.NOTE
    ]
    for turn in range(3):
        for number, finding, marks in judged:
            if turn < len(marks):
                yield turn, number, page_of(finding), centre_of(marks[turn])


def _is_whole(mark: Mark, result: PartResult) -> bool:
    if result.trim_mm is None or mark.path:
        return False
    width, height = result.trim_mm
    return mark.box.area >= _WHOLE * width * height


def _alike(one: Box, other: Box) -> bool:
    a, b = one.centre, other.centre
    near_x = abs(a.x - b.x) < _NEARLY_SAME * one.width
    return near_x and abs(a.y - b.y) < _NEARLY_SAME * one.height
