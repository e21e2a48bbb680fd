"""Enlarged insets of the places of findings, each with its numbers and a scale bar."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.proof.badge import RADIUS, draw_badge
from prepcheck.proof.close_up_plan import INSET_MM
from prepcheck.proof.drawing import Feature, Projection, draw_features, draw_mark, draw_picture
from prepcheck.proof.entries import RuledHeading
from prepcheck.proof.figures import millimetres, number
from prepcheck.proof.leaf import Block, on_grid
from prepcheck.proof.model import Inset
from prepcheck.proof.pen import Pen, Rect
from prepcheck.proof.theme import BODY, SMALL, LineStyle, Palette
from prepcheck.proof.typeset import clipped
from prepcheck.units import pt_from_mm

UNIT = pt_from_mm(INSET_MM[0])
_GAP = 12.0
"""Least room between two insets."""
_BADGE, _BADGE_ROW = 2 * RADIUS + 2, 18.0
_FEW_BADGES = 3
_BARS_MM = (5.0, 10.0, 20.0, 50.0, 100.0)
_MOST_MARKS = 40
_LEAST_BAR = 0.15
"""Share of the inset's width from which a scale bar is long enough."""


class InsetRow(Block):
    """Insets side by side."""

    def __init__(
        self,
        insets: Sequence[Inset],
        findings: Mapping[int, Finding],
        drawn: Sequence[Feature],
        gap: float,
    ) -> None:
        self.insets, self.findings, self.drawn, self.gap = insets, findings, drawn, gap
        self.captions = [self._caption(inset) for inset in insets]
        self.tall = max(_size(inset)[1] for inset in insets)
        most = max(
            _badge_rows(inset) * _BADGE_ROW + 12.0 * len(message) + SMALL.leading * len(label) + 3
            for inset, (message, label) in zip(insets, self.captions, strict=True)
        )
        self.height = on_grid(self.tall + 15 + most)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        for inset, caption in zip(self.insets, self.captions, strict=True):
            width, height = _size(inset)
            frame = Rect(x, y + 3, width, height)
            self._draw_one(pen, inset, frame)
            self._draw_caption(pen, inset, frame, caption)
            x += width + self.gap

    def _draw_one(self, pen: Pen, inset: Inset, frame: Rect) -> None:
        box = inset.plan.box
        factor = frame.width / box.width
        to_page = Projection(
            frame.centre[0] - box.centre.x * factor,
            frame.centre[1] + box.centre.y * factor,
            factor,
        )
        shown = []
        with pen.clipped([frame.corners]):
            pen.rect(frame, fill=Palette.PAPER)
            draw_picture(pen, to_page, inset.picture)
            draw_features(pen, to_page, self.drawn, halo=0.7)
            for at in reversed(inset.plan.numbers):
                finding = self.findings.get(at)
                for mark in _near(finding, box):
                    shown.append(to_page.rect(mark.box))
                    draw_mark(pen, to_page, mark, finding.severity if finding else Severity.NOTE)
        pen.rect(frame, LineStyle(Palette.RULE, 0.5))
        _scale_bar(pen, frame, factor, shown)

    def _caption(self, inset: Inset) -> tuple[tuple[str, ...], tuple[str, ...]]:
        finding = self.findings.get(inset.plan.number)
        room = _size(inset)[0] - _indent(inset)
        message = clipped(finding.message, BODY, room, 2) if finding else ()
        label = next((m.label for m in _near(finding, inset.plan.box) if m.label), "")
        scale = _scale_words(inset.plan.enlargement)
        return message, clipped(f"{scale} · {label}" if label else scale, SMALL, room, 2)

    def _draw_caption(
        self,
        pen: Pen,
        inset: Inset,
        frame: Rect,
        caption: tuple[tuple[str, ...], tuple[str, ...]],
    ) -> None:
        message, label = caption
        fit, rows = _badges_across(inset), _badge_rows(inset)
        for index, at in enumerate(inset.plan.numbers):
            finding = self.findings.get(at)
            if finding is not None:
                x = frame.x + RADIUS + (index % fit) * _BADGE
                y = frame.bottom + 12 + (index // fit) * _BADGE_ROW
                draw_badge(pen, (x, y), at, finding.severity)
        x = frame.x + _indent(inset)
        end = pen.lines(x, frame.bottom + 15 + rows * _BADGE_ROW, message, BODY)
        pen.lines(x, end - 3, label, SMALL)


def inset_blocks(
    insets: Sequence[Inset],
    numbers: Sequence[tuple[int, Finding]],
    drawn: Sequence[Feature],
    width: float,
    shrunk: float = 1.0,
) -> list[Block]:
    """Return a headed gallery of insets for a column of `width`, at `shrunk` of their size."""
    if not insets:
        return []
    insets = [
        replace(one, plan=replace(one.plan, enlargement=shrunk * one.plan.enlargement))
        for one in insets
    ]
    findings = dict(numbers)
    rows: list[list[Inset]] = []
    used = width
    for inset in insets:
        wide = _size(inset)[0]
        if used + _GAP + wide > width + 0.01:
            rows.append([])
            used = -_GAP
        rows[-1].append(inset)
        used += _GAP + wide
    return [
        RuledHeading("Close-ups", "", width),
        *(InsetRow(row, findings, drawn, _gap(row, width, shrunk * UNIT)) for row in rows),
    ]


def _gap(row: Sequence[Inset], width: float, unit: float) -> float:
    """Return the room between insets: a row of single frames keeps the places of a full one."""
    if any(_size(inset)[0] > unit + 1 for inset in row):
        return _GAP
    fit = max(1, int((width + _GAP) // (unit + _GAP)))
    return _GAP if fit == 1 else (width - fit * unit) / (fit - 1)


def _size(inset: Inset) -> tuple[float, float]:
    box, scale = inset.plan.box, inset.plan.enlargement
    return pt_from_mm(box.width * scale), pt_from_mm(box.height * scale)


def _badges_across(inset: Inset) -> int:
    return max(1, int(_size(inset)[0] // _BADGE))


def _badge_rows(inset: Inset) -> int:
    """Return how many rows of numbers stand over the caption; a few stand before it."""
    count = len(inset.plan.numbers)
    return 0 if count <= _FEW_BADGES else math.ceil(count / _badges_across(inset))


def _indent(inset: Inset) -> float:
    return 0.0 if _badge_rows(inset) else _BADGE * len(inset.plan.numbers) + 4


def _scale_words(enlargement: float) -> str:
    if enlargement < 1:
        return f"scale 1:{number(1 / enlargement, 1)}"
    return "true size" if enlargement == 1 else f"{number(enlargement)}×"


def _near(finding: Finding | None, box: Box) -> list[Mark]:
    """Return the finding's places that an inset shows, the worst first."""
    if finding is None:
        return []
    seen = [mark for mark in finding.where if mark.box.overlap(box) is not None]
    return sorted(seen, key=lambda mark: mark.rank)[:_MOST_MARKS]


def _scale_bar(pen: Pen, frame: Rect, factor: float, places: Sequence[Rect]) -> None:
    """Draw a bar of some whole length in the corner of an inset that hides least of its places."""
    least = _LEAST_BAR * frame.width
    bar = next((mm for mm in _BARS_MM if mm * factor >= least), _BARS_MM[-1])
    length = bar * factor
    plate = free_corner(frame, length + 10, 16, places)
    x, y = plate.x + 5, plate.y + 12
    pen.rect(plate, fill=Palette.PAPER)
    ticks = LineStyle(Palette.TEXT, 0.7)
    pen.polyline(((x, y - 2.5), (x, y), (x + length, y), (x + length, y - 2.5)), ticks)
    for i in range(1, 5):
        at = x + i * length / 5
        pen.polyline(((at, y - 1.5), (at, y)), LineStyle(Palette.TEXT, 0.5))
    pen.text(x + 2, y - 4, millimetres(bar), SMALL.in_ink(Palette.TEXT))


def free_corner(frame: Rect, width: float, height: float, places: Sequence[Rect]) -> Rect:
    """Return room in a corner of a frame, the lower right one unless another hides less of the
    places."""
    left, right = frame.x + 3, frame.right - 3 - width
    top, foot = frame.y + 3, frame.bottom - 3 - height
    corners = [
        Rect(x, y, width, height)
        for x, y in ((right, foot), (left, foot), (right, top), (left, top))
    ]
    return min(corners, key=lambda corner: round(sum(_common(corner, place) for place in places)))


def _common(one: Rect, other: Rect) -> float:
    """Return the area that two rectangles share."""
    wide = min(one.right, other.right) - max(one.x, other.x)
    high = min(one.bottom, other.bottom) - max(one.y, other.y)
    return max(0.0, wide) * max(0.0, high)
