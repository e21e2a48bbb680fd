"""Pages that show a face as large as paper holds it, where texts on it must be looked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from prepcheck.geometry import Box
from prepcheck.proof.close_up_plan import stands_for_whole
from prepcheck.proof.drawing import Projection, draw_picture
from prepcheck.proof.entries import Reference, ToConfirm
from prepcheck.proof.figures import number, titled
from prepcheck.proof.leaf import Block, Leaf, Placed, column_width, draw_placed
from prepcheck.proof.model import ProofPage, ProofPart
from prepcheck.proof.page_findings import Numbered, told_on
from prepcheck.proof.pen import Align, Pen, Rect
from prepcheck.proof.theme import (
    A3_ACROSS,
    A4_UPRIGHT,
    BODY_SOFT,
    HEADING,
    LineStyle,
    PageSize,
    Palette,
)
from prepcheck.proof.typeset import shortened
from prepcheck.units import pt_from_mm

_TITLE = 48.0
_SMALL_MM = 150.0
"""A piece up to this wide is shown on A4, over its texts."""
_LIST = 150.0
"""Room for texts under a piece on A4, in points."""


def confirm_leaves(part: ProofPart, page: ProofPage) -> list[Leaf]:
    """Return pages for texts that may stand anywhere on a face; none where there are none.

    A place that is known is enlarged beside the findings instead.
    """
    asked = [
        (at, finding)
        for at, finding in told_on(part, page).every
        if finding.to_confirm and any(stands_for_whole(m, part.result) for m in finding.where)
    ]
    if not asked:
        return []
    return [
        Leaf(_paper(box), part.result.name, _drawn(part, page, name, box, asked))
        for name, box in _views(part, page)
    ]


def _views(part: ProofPart, page: ProofPage) -> list[tuple[str, Box]]:
    """Return what is shown at a time: a large piece by its faces."""
    if part.spec is None:
        return [("", page.picture.grid.box)]
    outline = part.spec.outline_of(page.page_index)
    faces = [panel for panel in outline.panels if panel.kind == "face"]
    if len(faces) < 2:
        return [("", outline.bounds)]
    return [(face.name, face.box) for face in faces]


def _paper(box: Box) -> PageSize:
    return A4_UPRIGHT if max(box.width, box.height) <= _SMALL_MM else A3_ACROSS


def _drawn(
    part: ProofPart, page: ProofPage, name: str, box: Box, asked: Sequence[Numbered]
) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        paper, top = pen.paper, pen.paper.top + _TITLE
        over = paper is A4_UPRIGHT
        column = paper.measure if over else column_width(paper)
        wide = paper.measure if over else paper.measure - column - 36
        high = paper.bottom - top - (_LIST if over else 0.0)
        factor = min(wide / box.width, high / box.height)
        frame = Rect(paper.left, top, box.width * factor, box.height * factor)
        to_page = Projection(frame.x - box.x0 * factor, frame.y + box.y1 * factor, factor)
        with pen.clipped([frame.corners]):
            draw_picture(pen, to_page, page.picture)
        pen.rect(frame, LineStyle(Palette.RULE, 0.4))
        title = f"To be confirmed: {titled(part.result.name, part.spec, page.page_index)}"
        title = f"{title}, {name}" if name else title
        pen.text(paper.left, paper.top + 15, shortened(title, HEADING, paper.measure), HEADING)
        words = "No program could read these texts: please look for each of them, and tick it."
        pen.text(paper.left, paper.top + 30, words, BODY_SOFT)
        scale = factor / pt_from_mm(1.0)
        aside = f"{number(scale)}× true size" if scale >= 1 else f"scale 1:{number(1 / scale, 2)}"
        pen.text(paper.right, paper.top + 30, aside, BODY_SOFT, Align.RIGHT)
        x = paper.left if over else paper.right - column
        draw_placed(pen, _stacked(asked, x, frame.bottom + 12 if over else top, column))

    return draw


def _stacked(asked: Sequence[Numbered], x: float, y: float, width: float) -> list[Placed]:
    placed = []
    for at, finding in asked:
        blocks: tuple[Block, ...] = (
            Reference(at, finding, width),
            ToConfirm(finding.to_confirm, width),
        )
        for block in blocks:
            placed.append(Placed(block, x, y))
            y += block.height
    return placed
