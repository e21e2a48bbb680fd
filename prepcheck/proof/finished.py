"""The finished look: a label cut and drilled, in place and off; a flat piece by its faces."""

from __future__ import annotations

from collections.abc import Callable

from prepcheck.geometry import Point
from prepcheck.outline import Outline, Panel
from prepcheck.proof.art_layout import SCALES, TITLE_ROOM
from prepcheck.proof.drawing import Projection, draw_picture
from prepcheck.proof.figures import millimetres, scale_words
from prepcheck.proof.folded import draw_folded
from prepcheck.proof.leaf import Leaf
from prepcheck.proof.looks import draw_arrow, draw_title, show
from prepcheck.proof.model import ProofPage, ProofPart
from prepcheck.proof.pen import Align, Pen, Rect
from prepcheck.proof.shift import PrintShift, worst_shift
from prepcheck.proof.theme import (
    A3_ACROSS,
    A4_UPRIGHT,
    BODY,
    BODY_SOFT,
    SUBHEAD,
    LineStyle,
    Palette,
)
from prepcheck.proof.typeset import wrap
from prepcheck.spec.model import Spec
from prepcheck.units import pt_from_mm

_GROUND = pt_from_mm(113.0)
_VINYL_MM = 6.0
"""Least vinyl shown round a label."""
_ROW_GAP = 15.0


def finished_leaves(part: ProofPart, page: ProofPage) -> list[Leaf]:
    """Return the page that shows one page of art as it will look when made; none without a spec."""
    if part.spec is None:
        return []
    outline = part.spec.outline_of(page.page_index)
    is_round = outline.contour()[0].circle is not None
    if is_round:
        draw = _label(part, page, part.spec, outline)
    elif outline.folds:
        draw = draw_folded(part, page, part.spec, outline)
    else:
        draw = _faces(part, page, outline)
    paper = A4_UPRIGHT if is_round else A3_ACROSS
    return [Leaf(paper, part.result.name, draw, ("The finished look", 2))]


def _label(part: ProofPart, page: ProofPage, spec: Spec, outline: Outline) -> Callable[[Pen], None]:
    shift = worst_shift(part.result, page.number, spec, outline)
    fits = _GROUND - pt_from_mm(2 * _VINYL_MM)
    size = pt_from_mm(outline.bounds.width)
    denominator = next((s for s in SCALES if size / s <= fits), size / fits)
    error = spec.clearance.print_to_cut_mm
    reason = (
        f"the direction that does most harm, by finding {shift.number}"
        if shift.number is not None
        else "as no finding makes one direction worse than another"
    )
    moved = (
        f"The print moved {millimetres(error)} {shift.way}: {reason}. Sheets are drilled and cut "
        "in stacks, and the print may lie off by this much in any direction."
    )
    true = (
        "Cut and drilled with the print exactly in place. Whatever stands outside the trim or "
        "inside the hole is gone."
    )

    def draw(pen: Pen) -> None:
        draw_title(pen, part, page, scale_words(denominator))
        top = pen.paper.top + TITLE_ROOM
        rows = (
            ("In place", true, PrintShift(0.0, 0.0, None)),
            (f"Print off by {millimetres(error)}", moved, shift),
        )
        for heading, words, by in rows:
            ground = Rect(pen.paper.left, top, _GROUND, _GROUND)
            draw_label(pen, page, outline, ground, denominator, by)
            x = ground.right + 24
            pen.text(x, top + 12, heading, SUBHEAD)
            pen.lines(x, top + 30, wrap(words, BODY, pen.paper.right - x), BODY)
            if by.x or by.y:
                draw_arrow(pen, x, top + _GROUND - 24, by)
            top += _GROUND + _ROW_GAP

    return draw


def draw_label(
    pen: Pen, page: ProofPage, outline: Outline, ground: Rect, denominator: float, by: PrintShift
) -> None:
    """Draw a label on the middle of a record, the print moved against hole and rim."""
    cut = Projection.centred(ground.centre, Point(0.0, 0.0), denominator)
    printed = Projection.centred(ground.centre, Point(-by.x, -by.y), denominator)
    radius = outline.bounds.width / 2 * cut.factor
    pen.circle(ground.centre, ground.width / 2, fill=Palette.VINYL)
    reach = radius + pt_from_mm(1.8)
    while reach < ground.width / 2 - 1:
        pen.circle(ground.centre, reach, LineStyle(Palette.GROOVE, 0.5))
        reach += pt_from_mm(0.9)
    loops = [cut.loop(contour) for contour in outline.contour()]
    hole = outline.hole
    if hole is not None:
        loops.append(cut.circle(hole))
    with pen.clipped(loops):
        pen.rect(ground, fill=Palette.PAPER)
        draw_picture(pen, printed, page.picture)
    if hole is not None:
        pen.circle(ground.centre, hole.radius * cut.factor, fill=Palette.PAPER)


def _faces(part: ProofPart, page: ProofPage, outline: Outline) -> Callable[[Pen], None]:
    panels = [panel for panel in outline.panels if panel.kind != "flap"]
    panels.sort(key=lambda panel: (panel.box.x0, -panel.box.y1))
    gap = 24.0

    def draw(pen: Pen) -> None:
        top = pen.paper.top + TITLE_ROOM + 12
        room = pen.paper.bottom - top - 24
        wide = pen.paper.measure - gap * (len(panels) - 1)
        widths = pt_from_mm(sum(panel.box.width for panel in panels))
        tall = pt_from_mm(max(panel.box.height for panel in panels))
        denominator = next(
            (s for s in SCALES if widths / s <= wide and tall / s <= room),
            max(widths / wide, tall / room),
        )
        draw_title(pen, part, page, scale_words(denominator))
        whole = widths / denominator + gap * (len(panels) - 1)
        x = pen.paper.left + (pen.paper.measure - whole) / 2
        for panel in panels:
            width = pt_from_mm(panel.box.width) / denominator
            height = pt_from_mm(panel.box.height) / denominator
            frame = Rect(x, top, width, height)
            _draw_face(pen, page, panel, frame, denominator)
            words = panel.name.capitalize()
            pen.text(frame.centre[0], frame.bottom + 15, words, SUBHEAD, Align.CENTRE)
            size = millimetres(panel.box.width, panel.box.height)
            pen.text(frame.centre[0], frame.bottom + 27, size, BODY_SOFT, Align.CENTRE)
            x += width + gap

    return draw


def _draw_face(pen: Pen, page: ProofPage, panel: Panel, frame: Rect, denominator: float) -> None:
    to_page = Projection.centred(frame.centre, panel.box.centre, denominator)
    show(pen, page, to_page, to_page, panel.box)
