"""The finished look of a folded sleeve: its outside and inside, in place and with the fold off."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from prepcheck.findings import PartResult, Severity
from prepcheck.geometry import Box, Point
from prepcheck.outline import Outline, Panel
from prepcheck.proof.art_layout import SCALES, TITLE_ROOM
from prepcheck.proof.close_up_plan import centre_of, numbered, page_of
from prepcheck.proof.drawing import Projection
from prepcheck.proof.figures import millimetres, scale_words
from prepcheck.proof.looks import draw_arrow, draw_title, is_plain, show
from prepcheck.proof.model import ProofPage, ProofPart
from prepcheck.proof.pen import Align, Pen
from prepcheck.proof.shift import PrintShift
from prepcheck.proof.theme import A3_ACROSS, BODY, BODY_SOFT, FOLD, SUBHEAD, LineStyle
from prepcheck.proof.typeset import width_of, wrap
from prepcheck.spec.model import Spec
from prepcheck.units import pt_from_mm
from prepcheck.words import listed

_GAP = 36.0
"""Between two views, in points."""
_HEAD, _FOOT = 54.0, 42.0
"""Room for a heading with its words above a row of views, and for names below it."""
_BESIDE_MM = 6.0
"""How much of the faces is shown beside a spine."""
_STRIP_GAP = 30.0
_TICK = 12.0
"""Length of the marks that show where a fold lies, at both ends of a spine."""
_NEAR_MM = 6.0
"""A place further from every fold than this does not say which way the fold does harm."""
_FLIPPED = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}


class Side(NamedTuple):
    """One side of the finished sleeve: the panels seen together, and whether they stand on their
    heads in the flat."""

    panels: tuple[Panel, ...]
    turned: bool

    @property
    def box(self) -> Box:
        box = self.panels[0].box
        for panel in self.panels[1:]:
            box = box.union(panel.box)
        return box

    def upright(self, x: float, centre: float) -> float:
        """Return where a place `x` comes to lie once the side stands upright."""
        return 2 * centre - x if self.turned else x


def sides_of(outline: Outline) -> tuple[Side, ...]:
    """Return what is seen of a sleeve: spine with front, back with spine, pockets side by side.

    Rows of the flat come in the order bottom to top, so that the outside of a gatefold is first.
    """
    panels = [panel for panel in outline.panels if panel.kind != "flap"]
    rows: dict[int, list[Panel]] = {}
    for panel in sorted(panels, key=lambda p: (p.box.centre.y, p.box.x0)):
        near = next((y for y in rows if abs(y - panel.box.centre.y) < panel.box.height / 2), None)
        rows.setdefault(round(panel.box.centre.y) if near is None else near, []).append(panel)
    return tuple(side for row in rows.values() for side in _row_sides(row))


def _row_sides(row: list[Panel]) -> Iterator[Side]:
    row = sorted(row, key=lambda panel: panel.box.x0)
    faces = [panel for panel in row if panel.kind == "face"]
    turned = bool(faces) and faces[0].reads == "down"
    spine = next((i for i, panel in enumerate(row) if panel.kind == "spine"), None)
    pockets = all(panel.opening for panel in faces)
    if spine is None or pockets or not 0 < spine < len(row) - 1:
        yield Side(tuple(row), turned)
        return
    yield Side(tuple(row[spine:]), turned)
    yield Side(tuple(row[: spine + 1]), turned)


def fold_shift(result: PartResult, page: int, outline: Outline, error_mm: float) -> PrintShift:
    """Return the print moved by the fold's error towards the upright fold where it does most harm.

    The gravest, then nearest place beside a fold decides; with none, the print moves right.
    """
    best: tuple[int, float, int, float] | None = None
    for number, finding in numbered(result):
        if finding.severity is Severity.NOTE or page_of(finding) != page:
            continue
        for mark in finding.where:
            x = centre_of(mark).x
            near = min(
                (fold.start.x - x for fold in outline.folds if fold.start.x == fold.end.x),
                key=abs,
                default=math.inf,
            )
            if abs(near) > _NEAR_MM:
                continue
            threat = (-finding.severity.weight, abs(near), number, near)
            best = threat if best is None else min(best, threat)
    if best is None:
        return PrintShift(error_mm, 0.0, None)
    return PrintShift(math.copysign(error_mm, best[3]), 0.0, best[2])


def draw_folded(
    part: ProofPart, page: ProofPage, spec: Spec, outline: Outline
) -> Callable[[Pen], None]:
    """Return what draws a folded sleeve: in place above or left, with the fold off beside it."""
    sides = sides_of(outline)
    spines = [p for side in sides for p in side.panels if p.kind == "spine"]
    plain = [panel.name for panel in spines if is_plain(page.picture, panel.box)]
    spine = spines[0] if spines and not plain else None
    error = spec.fold.tolerance_mm if spec.fold else spec.clearance.print_to_cut_mm
    off = fold_shift(part.result, page.number, outline, error)
    shifts = (PrintShift(0.0, 0.0, None), off)
    strip = 0.0
    if spine is not None:
        strip = 2 * (pt_from_mm(spine.box.width + 2 * _BESIDE_MM) + _STRIP_GAP) + 12
    top = A3_ACROSS.top + TITLE_ROOM
    room = A3_ACROSS.bottom - top - strip
    beside, across = _scale(sides, A3_ACROSS.measure, room)

    def draw(pen: Pen) -> None:
        draw_title(pen, part, page, scale_words(beside))
        y = top
        width = pen.paper.measure if not across else (pen.paper.measure - _GAP) / 2
        tall = pt_from_mm(max(side.box.height for side in sides)) / beside
        for number, by in enumerate(shifts):
            x = pen.paper.left + (number * (width + _GAP) if across else 0.0)
            row = y if across else y + number * (_HEAD + tall + _FOOT)
            _head(pen, x, row, width, by)
            _draw_sides(pen, page, sides, x, row + _HEAD, beside, by)
        if plain:
            words = f"{listed(plain).capitalize()}: one plain colour, not shown by itself."
            pen.text(pen.paper.left, pen.paper.bottom - 3, words, BODY_SOFT)
        if spine is None:
            return
        y += (1 if across else 2) * (_HEAD + tall + _FOOT) + 12
        turned = next(side.turned for side in sides if spine in side.panels)
        for by in shifts:
            y = _draw_strip(pen, page, spine, turned, y, by)

    return draw


def _scale(sides: Sequence[Side], width: float, room: float) -> tuple[float, bool]:
    """Return the scale's denominator, and whether both pictures stand beside each other."""
    wide = pt_from_mm(sum(side.box.width for side in sides))
    tall = pt_from_mm(max(side.box.height for side in sides))
    gaps = _GAP * (len(sides) - 1)

    def fitting(width: float, height: float) -> float:
        found = (s for s in SCALES if wide / s + gaps <= width and tall / s <= height)
        return next(found, SCALES[-1])

    beside = fitting((width - _GAP) / 2, room - _HEAD - _FOOT)
    below = fitting(width, room / 2 - _HEAD - _FOOT)
    return (beside, True) if beside <= below else (below, False)


def _head(pen: Pen, x: float, y: float, width: float, by: PrintShift) -> None:
    if not by.x:
        heading = "Folded in place"
        words = "Creased with the print exactly in place; what is glued inside is not shown."
    else:
        heading = f"Fold off by {millimetres(abs(by.x))}"
        reason = (
            f"the way that does most harm, by finding {by.number}"
            if by.number is not None
            else "as no finding makes one way worse than the other"
        )
        words = (
            f"The print moved {millimetres(abs(by.x))} {by.way} against the folds: {reason}. "
            "Creases may lie off the print by this much, either way."
        )
        draw_arrow(pen, x + width - 150, y + 18, by)
    pen.text(x, y + 12, heading, SUBHEAD)
    pen.lines(x, y + 27, wrap(words, BODY, width - 170), BODY)


def _draw_sides(
    pen: Pen,
    page: ProofPage,
    sides: Sequence[Side],
    x: float,
    y: float,
    scale: float,
    by: PrintShift,
) -> None:
    for side in sides:
        box = side.box
        width, height = pt_from_mm(box.width) / scale, pt_from_mm(box.height) / scale
        centre = (x + width / 2, y + height / 2)
        cut = Projection.centred(centre, box.centre, scale)
        printed = Projection.centred(centre, _moved(box.centre, by), scale)
        with pen.turned(centre, 180.0 if side.turned else 0.0):
            for panel in side.panels:
                show(pen, page, printed, cut, panel.box)
        for panel in side.panels:
            at = side.upright(cut.at(panel.box.centre)[0], centre[0])
            name = panel.name.capitalize()
            if panel.kind == "spine":
                half = width_of(name, BODY_SOFT) / 2
                at = min(max(at, pen.paper.left + half), pen.paper.right - half)
                pen.text(at, y + height + 14, name, BODY_SOFT, Align.CENTRE)
                continue
            pen.text(at, y + height + 14, name, SUBHEAD, Align.CENTRE)
            words = f"{millimetres(panel.box.width, panel.box.height)}{_opens(panel, side)}"
            pen.text(at, y + height + 26, words, BODY_SOFT, Align.CENTRE)
        x += width + _GAP


def _opens(panel: Panel, side: Side) -> str:
    if panel.opening is None:
        return ""
    edge = _FLIPPED[panel.opening] if side.turned else panel.opening
    return f", opens at the {edge}"


def _moved(place: Point, by: PrintShift) -> Point:
    """Return the place of the print that comes to lie where `place` is cut."""
    return Point(place.x - by.x, place.y - by.y)


def _draw_strip(
    pen: Pen, page: ProofPage, spine: Panel, turned: bool, y: float, by: PrintShift
) -> float:
    """Show a spine with a little of its faces lying on its side, as large as fits up to true size.

    Returns where the next one may begin.
    """
    box = spine.box
    seen = Box(box.x0 - _BESIDE_MM, box.y0, box.x1 + _BESIDE_MM, box.y1)
    long, room = pt_from_mm(seen.height), pen.paper.measure - 2 * _TICK
    scale = next((s for s in SCALES if long / s <= room), SCALES[-1])
    width, height = long / scale, pt_from_mm(seen.width) / scale
    words = (
        f"{spine.name.capitalize()}, {millimetres(box.width, box.height)}, with "
        f"{millimetres(_BESIDE_MM)} of the faces beside it, its top to the left, "
        f"{scale_words(scale)}: "
        + (f"fold off by {millimetres(abs(by.x))}" if by.x else "folded in place")
    )
    pen.text(pen.paper.left, y + 9, words, BODY_SOFT)
    centre = (pen.paper.left + _TICK + width / 2, y + 15 + height / 2)
    cut = Projection.centred(centre, seen.centre, scale)
    printed = Projection.centred(centre, _moved(seen.centre, by), scale)
    with pen.turned(centre, -90.0 if turned else 90.0):
        show(pen, page, printed, cut, seen)
        for x in (box.x0, box.x1):
            (at, top), (_, bottom) = (cut.at((x, end)) for end in (box.y1, box.y0))
            pen.polyline(((at, top), (at, bottom)), LineStyle(FOLD.ink, 0.3, (1.0, 3.0)))
            for end, out in ((top, -_TICK), (bottom, _TICK)):
                pen.polyline(((at, end + out / 4), (at, end + out)), LineStyle(FOLD.ink, 0.8))
    return y + height + _STRIP_GAP
