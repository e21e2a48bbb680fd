"""The plates of a page of art as grey pictures, with what each carries, and the inks as patches."""

from __future__ import annotations

import math
from collections.abc import Sequence

from prepcheck.geometry import Box
from prepcheck.outline import Outline
from prepcheck.proof.art_layout import TITLE_ROOM
from prepcheck.proof.art_pages import page_title
from prepcheck.proof.drawing import Projection, draw_picture
from prepcheck.proof.figures import area_words, number, scale_words
from prepcheck.proof.leaf import Leaf
from prepcheck.proof.model import PlatePicture, Printed, ProofPage, ProofPart, Swatch
from prepcheck.proof.pen import Align, Pen, Rect
from prepcheck.proof.theme import (
    A3_ACROSS,
    A4_UPRIGHT,
    BODY,
    BODY_SOFT,
    HEADING,
    SMALL,
    SUBHEAD,
    TRIM,
    LineStyle,
    PageSize,
    Palette,
)
from prepcheck.proof.typeset import NARROW_SPACE, balanced, clipped, shortened, width_of, wrap
from prepcheck.units import pt_from_mm

MOST_ON_A_PAGE = 6
NOTHING_MM2 = 0.05
"""Solid area under which a plate counts as bare."""
_GAP = 24.0
_CAPTION = 45.0
_LEAST_WIDTH = 120.0
"""Room for a plate's caption."""
_PATCH_HEIGHT = 27.0
_PATCH_GAP = 7.0
_PATCH_STEP = (44.0, 60.0)
"""Least and greatest distance from one patch to the next."""
_PATCH_ROW = 57.0
_PATCH_HEAD = 30.0
_TRIM = LineStyle(TRIM.ink, 0.5)


def plates_leaves(part: ProofPart, page: ProofPage) -> list[Leaf]:
    """Return the pages that show the plates of one page of art; none where there are none."""
    printed = page.printed
    if printed is None or part.spec is None:
        return []
    outline = part.spec.outline_of(page.page_index)
    box = outline.bounds.grown(part.spec.bleed.wanted_mm)
    paper = A4_UPRIGHT if box.width < 1.2 * box.height and box.width < 150 else A3_ACROSS
    inked = [plate for plate in printed.plates if plate.sheet_mm2 >= NOTHING_MM2]
    bare = [plate.ink for plate in printed.plates if plate.sheet_mm2 < NOTHING_MM2]
    pages = max(1, math.ceil(len(inked) / MOST_ON_A_PAGE))
    each = math.ceil(len(inked) / pages)
    sets = [inked[i * each : (i + 1) * each] for i in range(pages)]

    def drawn(index: int, plates: Sequence[PlatePicture]) -> Leaf:
        def draw(pen: Pen) -> None:
            is_last = index == len(sets) - 1
            foot = _foot_height(printed, bare, paper) if is_last else 0.0
            room = Rect(
                paper.left, paper.top + TITLE_ROOM + 6, paper.measure,
                paper.bottom - foot - paper.top - TITLE_ROOM - 6,
            )  # fmt: skip
            scale = _draw_plates(pen, plates, outline, box, room) if plates else None
            _title(pen, part, page, "" if scale is None else scale_words(scale))
            if is_last:
                _draw_foot(pen, printed, bare, room.bottom if plates else room.y)

        return Leaf(paper, part.result.name, draw, None if index else ("The plates", 2))

    return [drawn(index, plates) for index, plates in enumerate(sets)]


def _title(pen: Pen, part: ProofPart, page: ProofPage, aside: str) -> None:
    left, top = pen.paper.left, pen.paper.top
    pen.text(left, top + 15, "The plates", HEADING)
    name = shortened(page_title(part, page), BODY_SOFT, pen.paper.measure - 150)
    pen.text(left, top + 30, name, BODY_SOFT)
    pen.text(pen.paper.right, top + 30, aside, BODY_SOFT, Align.RIGHT)


def _draw_plates(
    pen: Pen, plates: Sequence[PlatePicture], outline: Outline, box: Box, room: Rect
) -> float:
    """Draw plates side by side as large as they fit; return the denominator of the scale."""
    count, denominator = _arranged(len(plates), box, room)
    width, height = (pt_from_mm(side) / denominator for side in (box.width, box.height))
    wide = max(width, _LEAST_WIDTH)
    step_x = wide + _GAP if count == 1 else (room.width - wide) / (count - 1)
    step_y = height + _CAPTION + _GAP / 2
    for i, plate in enumerate(plates):
        x, y = room.x + (i % count) * step_x, room.y + (i // count) * step_y
        frame = Rect(x, y, width, height)
        to_page = Projection.centred(frame.centre, box.centre, denominator)
        contours = outline.contour()
        edge = outline.contour(outline.bounds.x0 - box.x0)
        with pen.clipped([to_page.loop(contour) for contour in edge]):
            pen.rect(frame, fill=Palette.PAPER)
            draw_picture(pen, to_page, plate.picture)
        for contour in edge:
            pen.outline(to_page.loop(contour), LineStyle(Palette.RULE, 0.4))
        for contour in contours:
            pen.outline(to_page.loop(contour), _TRIM, halo=0.3)
        _caption(pen, plate, x, frame.bottom, wide)
    return denominator


def _arranged(plates: int, box: Box, room: Rect) -> tuple[int, float]:
    """Return how many plates stand side by side, and the scale's denominator."""
    best = (1, math.inf)
    for count in range(1, plates + 1):
        rows = math.ceil(plates / count)
        width = (room.width - _GAP * (count - 1)) / count
        height = (room.height - rows * _CAPTION - (rows - 1) * _GAP / 2) / rows
        if width < _LEAST_WIDTH or height <= 0:
            continue
        need = max(pt_from_mm(box.width) / width, pt_from_mm(box.height) / height)
        scale = max(1.0, math.ceil(need * 10 - 1e-6) / 10)
        if scale < best[1]:
            best = (count, scale)
    return best


def _caption(pen: Pen, plate: PlatePicture, x: float, y: float, width: float) -> None:
    tone = f"{number(plate.percent, 1)}{NARROW_SPACE}%"
    pen.text(x, y + 18, shortened(plate.ink, SUBHEAD, width - width_of(tone, SUBHEAD) - 9), SUBHEAD)
    pen.text(x + width, y + 18, tone, SUBHEAD, Align.RIGHT)
    area = f"{area_words(plate.solid_mm2)} of solid, {area_words(plate.sheet_mm2)} with the bleed"
    pen.text(x, y + 30, shortened(area, BODY_SOFT, width), BODY_SOFT)


def _facts(printed: Printed, bare: Sequence[str], paper: PageSize) -> list[str]:
    said = (
        []
        if len(bare) == len(printed.plates)
        else [
            "Black is solid ink. The percentage is the mean tone of the finished face; the area is "
            "the solid that the ink adds up to.",
        ]
    )
    if bare:
        said.append(f"{_listed(bare)} {'carries' if len(bare) == 1 else 'carry'} nothing.")
    said += [f"{text[:1].upper()}{text[1:].rstrip('.')}." for text in printed.remarks]
    return [line for text in said for line in wrap(text, BODY, paper.measure)]


def _listed(names: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _foot_height(printed: Printed, bare: Sequence[str], paper: PageSize) -> float:
    rows = math.ceil(len(printed.swatches) / max(1, _per_row(paper, len(printed.swatches))[0]))
    return 12.0 * len(_facts(printed, bare, paper)) + 15 + _PATCH_HEAD + rows * _PATCH_ROW


def _per_row(paper: PageSize, patches: int) -> tuple[int, float]:
    """Return how many patches stand in a row, and the distance from one to the next."""
    room = paper.measure + _PATCH_GAP
    rows = math.ceil(patches / (room // _PATCH_STEP[0]))
    count = math.ceil(patches / max(rows, 1))
    return count, min(_PATCH_STEP[1], room / max(count, 1))


def _draw_foot(pen: Pen, printed: Printed, bare: Sequence[str], y: float) -> None:
    left = pen.paper.left
    y = pen.lines(left, y + 9, _facts(printed, bare, pen.paper), BODY) + 6
    shown = pen.text(left, y + 12, "Paper, solids and overprints", SUBHEAD)
    room = pen.paper.measure - shown - 9
    pen.text(left + shown + 9, y + 12, shortened(printed.condition, BODY_SOFT, room), BODY_SOFT)
    pen.rule(left, y + 18, pen.paper.right, Palette.RULE)
    y += _PATCH_HEAD
    per_row, step = _per_row(pen.paper, len(printed.swatches))
    for i, swatch in enumerate(printed.swatches):
        at = left + (i % per_row) * step, y + (i // per_row) * _PATCH_ROW
        _patch(pen, swatch, Rect(*at, step - _PATCH_GAP, _PATCH_HEIGHT))


def _patch(pen: Pen, swatch: Swatch, place: Rect) -> None:
    pen.patch(place, swatch.colour)
    pen.rect(place, LineStyle(Palette.RULE, 0.4))
    style, room = SMALL.in_ink(Palette.TEXT), place.width + _PATCH_GAP - 3
    lines = balanced(swatch.words, style, room)
    if len(lines) > 3:
        lines = clipped(swatch.words, style, room, 3)
    pen.lines(place.x, place.bottom + 9, lines, style)
