"""Enlarged insets of the worst places, each with its number and a scale bar."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.proof.badge import RADIUS, draw_badge
from prepcheck.proof.close_up_plan import ENLARGEMENT, INSET_MM
from prepcheck.proof.drawing import Feature, Projection, draw_features, draw_mark, draw_picture
from prepcheck.proof.entries import Heading
from prepcheck.proof.figures import millimetres, number
from prepcheck.proof.leaf import Block, on_grid
from prepcheck.proof.model import Inset
from prepcheck.proof.pen import Pen, Rect
from prepcheck.proof.theme import BODY, SMALL, Ink, Line
from prepcheck.proof.typeset import clipped, shortened
from prepcheck.units import pt_from_mm

WIDTH, HEIGHT = (pt_from_mm(side) for side in INSET_MM)
_GAP = 12.0
"""Least room between two insets."""
_CAPTION = WIDTH - 2 * RADIUS - 6
_BAR_MM = 5.0


class InsetRow(Block):
    """Insets side by side."""

    def __init__(
        self,
        insets: Sequence[Inset],
        findings: Mapping[int, Finding],
        drawn: Sequence[Feature],
        step: float,
    ) -> None:
        self.insets, self.findings, self.drawn, self.step = insets, findings, drawn, step
        self.captions = [self._caption(inset) for inset in insets]
        self.height = on_grid(HEIGHT + 27 + max(12.0 * len(lines) for lines, _ in self.captions))

    def draw(self, pen: Pen, x: float, y: float) -> None:
        for inset, caption in zip(self.insets, self.captions, strict=True):
            frame = Rect(x, y + 3, WIDTH, HEIGHT)
            self._draw_one(pen, inset, frame)
            self._draw_caption(pen, inset, frame, caption)
            x += self.step

    def _draw_one(self, pen: Pen, inset: Inset, frame: Rect) -> None:
        box = inset.plan.box
        factor = frame.width / box.width
        to_page = Projection(
            frame.centre[0] - box.centre.x * factor,
            frame.centre[1] + box.centre.y * factor,
            factor,
        )
        finding = self.findings.get(inset.plan.number)
        with pen.clipped([frame.corners]):
            pen.rect(frame, fill=Ink.PAPER)
            draw_picture(pen, to_page, inset.picture)
            draw_features(pen, to_page, self.drawn, halo=0.7)
            for mark in _near(finding, box):
                draw_mark(pen, to_page, mark, finding.severity if finding else Severity.NOTE)
        pen.rect(frame, Line(Ink.RULE, 0.5))
        _scale_bar(pen, frame, factor)

    def _caption(self, inset: Inset) -> tuple[tuple[str, ...], str]:
        finding = self.findings.get(inset.plan.number)
        message = clipped(finding.message, BODY, _CAPTION, 2) if finding else ()
        label = next((m.label for m in _near(finding, inset.plan.box) if m.label), "")
        return message, shortened(label, SMALL, _CAPTION)

    def _draw_caption(
        self, pen: Pen, inset: Inset, frame: Rect, caption: tuple[tuple[str, ...], str]
    ) -> None:
        message, label = caption
        finding = self.findings.get(inset.plan.number)
        if finding is not None:
            at = (frame.x + RADIUS, frame.bottom + 12)
            draw_badge(pen, at, inset.plan.number, finding.severity)
        x = frame.right - _CAPTION
        end = pen.lines(x, frame.bottom + 15, message, BODY)
        pen.text(x, end - 3, label, SMALL)


def inset_blocks(
    insets: Sequence[Inset],
    numbers: Sequence[tuple[int, Finding]],
    drawn: Sequence[Feature],
    width: float,
) -> list[Block]:
    """Return a headed gallery of insets for a column of `width`."""
    if not insets:
        return []
    per_row = max(1, int((width + _GAP) // (WIDTH + _GAP)))
    step = WIDTH if per_row == 1 else (width - WIDTH) / (per_row - 1)
    findings = dict(numbers)
    title = Heading("Close-ups", f"{number(ENLARGEMENT)} times true size", width)
    rows = [insets[i : i + per_row] for i in range(0, len(insets), per_row)]
    return [title, *(InsetRow(row, findings, drawn, step) for row in rows)]


def _near(finding: Finding | None, box: Box) -> list[Mark]:
    if finding is None:
        return []
    return [mark for mark in finding.where if mark.box.overlap(box)][:12]


def _scale_bar(pen: Pen, frame: Rect, factor: float) -> None:
    length = _BAR_MM * factor
    x, y = frame.right - length - 8, frame.bottom - 7
    plate = Rect(x - 5, y - 12, length + 10, 16)
    pen.rect(plate, fill=Ink.PAPER)
    ticks = Line(Ink.TEXT, 0.7)
    pen.polyline(((x, y - 2.5), (x, y), (x + length, y), (x + length, y - 2.5)), ticks)
    for i in range(1, int(_BAR_MM)):
        at = x + i * factor
        pen.polyline(((at, y - 1.5), (at, y)), Line(Ink.TEXT, 0.5))
    pen.text(x + 2, y - 4, millimetres(_BAR_MM), SMALL.in_ink(Ink.TEXT))
