"""The pages of one page of art: the piece with its callouts, the findings, the close-ups."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box, Circle, Point
from prepcheck.outline import Outline
from prepcheck.proof.badge import RADIUS, draw_badge, draw_verdict, verdict_width
from prepcheck.proof.callouts import (
    SPACING,
    Callout,
    Rail,
    RoundRail,
    SquareRail,
    arrange,
    capacity,
)
from prepcheck.proof.closeups import inset_blocks
from prepcheck.proof.drawing import (
    Feature,
    Projection,
    draw_dot,
    draw_features,
    draw_mark,
    draw_picture,
    features,
    is_whole,
)
from prepcheck.proof.entries import list_blocks, unjudged_blocks
from prepcheck.proof.leaf import (
    COLUMN_GAP,
    Column,
    Leaf,
    Placed,
    Section,
    column_count,
    column_width,
    columns,
    flow_sections,
    on_grid,
)
from prepcheck.proof.legend import Legend
from prepcheck.proof.model import ProofPage, ProofPart
from prepcheck.proof.pen import XY, Align, Pen, Rect
from prepcheck.proof.plan import centre_of, numbered, page_of, worst_marks
from prepcheck.proof.theme import (
    A3_ACROSS,
    A4_UPRIGHT,
    BODY_SOFT,
    HEADING,
    SEVERITY_INK,
    Ink,
    Line,
    Paper,
)
from prepcheck.proof.typeset import shortened
from prepcheck.proof.words import scale_words
from prepcheck.units import pt_from_mm

SCALES = (1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0)
"""Denominators of the scales a piece is drawn at; the first that fits is used."""
MOST_CALLOUTS_EACH = 3
"""Places of one finding that carry its number; the others get a dot."""
_CALM = 36
"""Numbers round a piece up to which findings get more than one each."""
_RAIL_ROOM = 16.0
"""From the bleed to the middle of the callout numbers, in points."""
_EDGE_ROOM = _RAIL_ROOM + RADIUS + 3
_AROUND = 8.0
"""How much of what lies outside the bleed is shown, in points."""
_TITLE_ROOM = 39.0
_LEAST_LIST = 96.0
"""Room that is kept under the art for the list of findings, in points."""


@dataclass(frozen=True)
class ArtLayout:
    """Where things stand on a page of art. Points, down from the top edge."""

    paper: Paper
    denominator: float
    to_page: Projection
    piece: Rect
    """The bleed box on the page."""
    legend: Rect
    lists: list[Column]


@dataclass(frozen=True)
class Place:
    """A marked place with the finding's number."""

    number: int
    finding: Finding
    mark: Mark


def art_leaves(part: ProofPart, page: ProofPage) -> list[Leaf]:
    """Return the pages that show one page of art."""
    spec = part.spec
    outline = None if spec is None else spec.outline_of(page.page_index)
    drawn = () if spec is None or outline is None else features(spec, outline)
    layout = lay_out(page, outline, 0.0 if spec is None else spec.bleed.wanted_mm, drawn)
    first = part.pages[0].number
    known = {p.number for p in part.pages}
    numbers = [
        (number, finding)
        for number, finding in numbered(part.result)
        if page_of(finding) == page.number
        or (page.number == first and page_of(finding) not in known)
    ]
    paper, top = layout.paper, layout.paper.top + _TITLE_ROOM + 9
    placed = flow_sections(_sections(part, page, layout, numbers, drawn), paper, layout.lists, top)
    title = page_title(part, page)

    def draw_first(pen: Pen) -> None:
        draw_title(pen, part, page, scale_words(layout.denominator))
        draw_art(pen, layout, page, outline, drawn, places_of(numbers))
        draw_placed(pen, placed[0])

    name = part.result.name
    more = [Leaf(layout.paper, name, _continued(part, page, rest)) for rest in placed[1:]]
    return [Leaf(layout.paper, name, draw_first, (title, 1)), *more]


def _sections(
    part: ProofPart,
    page: ProofPage,
    layout: ArtLayout,
    numbers: Sequence[tuple[int, Finding]],
    drawn: Sequence[Feature],
) -> list[Section]:
    """Return what follows the art: findings, close-ups, and, at the part's end, the rest."""
    count = column_count(layout.paper)
    width = column_width(layout.paper)
    when_none = "Nothing to correct or to decide on this page."
    findings = list_blocks("Findings", numbers, width, when_none)
    is_last = page.number == part.pages[-1].number
    closing = unjudged_blocks(part.result, width) if is_last else []
    if len(layout.lists) < count:  # the list stands beside the art: all of it in one stream
        return [
            Section([*findings, *inset_blocks(page.insets, numbers, drawn, width), *closing], count)
        ]
    gallery = inset_blocks(page.insets, numbers, drawn, layout.paper.measure)
    return [Section(findings, count), Section(gallery, 1), Section(closing, count)]


def _continued(part: ProofPart, page: ProofPage, placed: Sequence[Placed]) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        draw_title(pen, part, page, "continued")
        draw_placed(pen, placed)

    return draw


def page_title(part: ProofPart, page: ProofPage) -> str:
    """Return what a page of art is called: the part, and the page where the piece has several."""
    spec = part.spec
    if spec is None or len(spec.pages) < 2:
        return part.result.name
    name = spec.pages[min(page.page_index, len(spec.pages) - 1)].name
    return f"{part.result.name}, {name}"


def draw_title(pen: Pen, part: ProofPart, page: ProofPage, aside: str) -> None:
    """Set the head of a page of art."""
    paper, top = pen.paper, pen.paper.top
    room = paper.measure - 150
    name = shortened(page_title(part, page), HEADING, room)
    pen.text(paper.left, top + 15, name, HEADING)
    facts = [part.spec.title if part.spec else "", part.result.file, f"page {page.number}"]
    line = " · ".join(fact for fact in facts if fact)
    pen.text(paper.left, top + 30, shortened(line, BODY_SOFT, room), BODY_SOFT)
    verdict = part.result.verdict
    draw_verdict(pen, paper.right - verdict_width(verdict), top + 15, verdict)
    pen.text(paper.right, top + 30, aside, BODY_SOFT, Align.RIGHT)


def lay_out(
    page: ProofPage, outline: Outline | None, bleed: float, drawn: Sequence[Feature]
) -> ArtLayout:
    """Return the paper, the scale and the places for a page of art."""
    box = page.picture.grid.box if outline is None else outline.bounds.grown(bleed)
    paper = (
        A4_UPRIGHT
        if pt_from_mm(box.width) + 2 * _EDGE_ROOM <= A4_UPRIGHT.measure
        and pt_from_mm(box.height) + 2 * _EDGE_ROOM <= 0.6 * A4_UPRIGHT.height
        else A3_ACROSS
    )
    legend = Legend(drawn)
    top = paper.top + _TITLE_ROOM
    across = Rect(paper.left, top, paper.measure, paper.bottom - top - _LEAST_LIST)
    options = [_fit(box, across, legend)]
    if paper is A3_ACROSS:
        third = column_width(paper)
        beside = Rect(paper.left, top, paper.measure - third - COLUMN_GAP, paper.bottom - top)
        options.insert(0, _fit(box, beside, legend))
    denominator, zone, to_page = min(options, key=lambda option: option[0])
    piece = to_page.rect(box)
    legend_at = Rect(
        zone.x, on_grid(piece.bottom + _EDGE_ROOM + 6), zone.width, legend.height(zone.width)
    )
    if zone.width < paper.measure:
        lists = columns(paper, top)[-1:]
    else:
        lists = columns(paper, on_grid(legend_at.bottom + 12))
    return ArtLayout(paper, denominator, to_page, piece, legend_at, lists)


def _fit(box: Box, zone: Rect, legend: Legend) -> tuple[float, Rect, Projection]:
    """Return the scale at which a box and its callouts fit a zone, and the projection."""
    width = zone.width - 2 * _EDGE_ROOM
    height = zone.height - 2 * _EDGE_ROOM - legend.height(zone.width) - 6
    for denominator in SCALES:
        if pt_from_mm(box.width) <= width * denominator and (
            pt_from_mm(box.height) <= height * denominator
        ):
            break
    else:
        denominator = max(pt_from_mm(box.width) / width, pt_from_mm(box.height) / height)
    tall = pt_from_mm(box.height) / denominator
    centre = (zone.centre[0], zone.y + _EDGE_ROOM + tall / 2)
    return denominator, zone, Projection.centred(centre, box.centre, denominator)


def draw_art(
    pen: Pen,
    layout: ArtLayout,
    page: ProofPage,
    outline: Outline | None,
    drawn: Sequence[Feature],
    places: Sequence[Place],
) -> None:
    """Draw the piece with its lines, marks, leaders and numbers, and the legend."""
    to_page = layout.to_page
    bleed = next((f.contours for f in drawn if f.contours), ())
    rail = _rail(layout, bleed[0].circle is not None if bleed else False)
    numbered_places, others = choose(places, capacity(rail), SPACING / to_page.factor)
    whole = {id(p.mark) for p in places if outline is not None and is_whole(p.mark, outline)}
    with pen.clipped(_around(layout, rail)):
        draw_picture(pen, to_page, page.picture)
        loops = [to_page.points(contour.points) for contour in bleed]
        if loops:
            pen.veil(layout.piece.grown(_AROUND + 1), loops, 0.86)
        draw_features(pen, to_page, drawn)
        for place in others:
            if id(place.mark) not in whole:
                draw_dot(pen, to_page, place.mark, place.finding.severity)
        for place in reversed(numbered_places):
            if id(place.mark) not in whole:
                draw_mark(pen, to_page, place.mark, place.finding.severity)
    anchors = [
        _corner_of(rail, layout.piece)
        if id(place.mark) in whole
        else anchor_of(place.mark, to_page, rail, layout.piece)
        for place in numbered_places
    ]
    callouts = arrange(anchors, rail)
    for callout in callouts:
        _leader(pen, callout, numbered_places[callout.of].finding.severity)
    for callout in callouts:
        place = numbered_places[callout.of]
        draw_badge(pen, callout.place, place.number, place.finding.severity)
    severities = {place.finding.severity for place in places}
    Legend(drawn, tuple(s for s in Severity if s in severities), bool(others)).draw(
        pen, layout.legend
    )


def places_of(numbers: Sequence[tuple[int, Finding]]) -> list[Place]:
    """Return every place of numbered findings, the worst of each first."""
    return [
        Place(number, finding, mark) for number, finding in numbers for mark in worst_marks(finding)
    ]


def choose(places: Sequence[Place], room: int, apart: float) -> tuple[list[Place], list[Place]]:
    """Return the places that carry a number, and the others.

    Every finding's worst place comes before any second place, every second before any third;
    places of one finding nearer than `apart` mm to a numbered one need no number of their own.
    """
    turns: dict[int, list[Point]] = {}
    ranked = []
    for i, place in enumerate(places):
        before = turns.setdefault(place.number, [])
        centre = centre_of(place.mark)
        if len(before) < MOST_CALLOUTS_EACH and (
            min((math.dist(centre, other) for other in before), default=apart) >= apart
        ):
            ranked.append((len(before), i))
            before.append(centre)
    each = min(max(1, _CALM // max(1, len(turns))), MOST_CALLOUTS_EACH)
    chosen = {i for turn, i in sorted(ranked)[:room] if turn < each}
    return (
        [place for i, place in enumerate(places) if i in chosen],
        [place for i, place in enumerate(places) if i not in chosen],
    )


def anchor_of(mark: Mark, to_page: Projection, rail: Rail, piece: Rect) -> XY:
    """Return the point of a place that its leader leads to: its outermost, on the piece."""
    if len(mark.path) > 1:
        return to_page.at(centre_of(mark))
    x0, y0, width, height = to_page.rect(mark.box)
    x, y = max(x0, piece.x), max(y0, piece.y)
    width, height = min(x0 + width, piece.right) - x, min(y0 + height, piece.bottom) - y
    centre = (x + width / 2, y + height / 2)
    if max(width, height) < 6:
        return (
            min(max(centre[0], piece.x), piece.right),
            min(max(centre[1], piece.y), piece.bottom),
        )
    steps = [i / 8 for i in range(9)]
    edge = [(x + width * s, y + height * t) for s in steps for t in (0.0, 1.0)]
    edge += [(x + width * t, y + height * s) for s in steps for t in (0.0, 1.0)]
    inside = [point for point in edge if rail.inset(point) >= _RAIL_ROOM - 1]
    return min(
        inside or [centre],
        key=lambda p: (round(rail.inset(p), 1), abs(p[0] - centre[0]) + abs(p[1] - centre[1])),
    )


def _corner_of(rail: Rail, piece: Rect) -> XY:
    """Return the point, at the upper left of the piece, that stands for the whole of it."""
    if isinstance(rail, RoundRail):
        reach = (rail.radius - _RAIL_ROOM) * 0.5**0.5
        return rail.centre[0] - reach, rail.centre[1] - reach
    return piece.x, piece.y


def draw_placed(pen: Pen, placed: Sequence[Placed]) -> None:
    """Draw blocks where the flow has put them."""
    for block, x, y in placed:
        block.draw(pen, x, y)


def _rail(layout: ArtLayout, is_round: bool) -> Rail:
    around = layout.piece.grown(_RAIL_ROOM)
    if is_round:
        return RoundRail(around.centre, around.width / 2)
    return SquareRail(around)


def _around(layout: ArtLayout, rail: Rail) -> list[Sequence[XY]]:
    """Return the line up to which the art is shown, a little outside the bleed."""
    around = layout.piece.grown(_AROUND)
    if isinstance(rail, RoundRail):
        return [Circle(*around.centre, around.width / 2).points().tolist()]
    return [around.corners]


def _leader(pen: Pen, callout: Callout, severity: Severity) -> None:
    ink = SEVERITY_INK[severity]
    pen.polyline((callout.anchor, callout.place), Line(ink, 0.6), halo=0.5)
    pen.circle(callout.anchor, 1.9, fill=Ink.PAPER)
    pen.circle(callout.anchor, 1.3, fill=ink)
