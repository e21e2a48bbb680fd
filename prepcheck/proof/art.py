"""Draws a piece of art with its lines, marks, leaders, callout numbers and legend."""

from __future__ import annotations

import math
from collections.abc import Sequence

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.frozen import dataclass
from prepcheck.geometry import Circle, Point
from prepcheck.outline import Outline
from prepcheck.proof.art_layout import RAIL_ROOM, ArtLayout
from prepcheck.proof.badge import draw_badge
from prepcheck.proof.callouts import (
    SPACING,
    Rail,
    RoundRail,
    SquareRail,
    arrange,
    capacity,
)
from prepcheck.proof.close_up_plan import centre_of, worst_marks
from prepcheck.proof.drawing import (
    RING,
    SMALL_MARK,
    Feature,
    Projection,
    draw_features,
    draw_lesser,
    draw_mark,
    draw_picture,
    is_whole,
)
from prepcheck.proof.leaders import LeaderPath, PlacedWords, along, way_out
from prepcheck.proof.legend import Legend
from prepcheck.proof.model import ProofPage
from prepcheck.proof.pen import XY, Loop, Pen, Rect
from prepcheck.proof.theme import SEVERITY_INK, LineStyle, Palette

MOST_CALLOUTS_EACH = 3
"""Places of one finding that carry its number; the others are marked thinly."""
_CALM = 36
"""Numbers round a piece up to which findings get more than one each."""
_AROUND = 8.0
"""How much of what lies outside the bleed is shown, in points."""


@dataclass(frozen=True)
class MarkedPlace:
    """A marked place with the finding's number."""

    number: int
    finding: Finding
    mark: Mark


def draw_art(
    pen: Pen,
    layout: ArtLayout,
    page: ProofPage,
    outline: Outline | None,
    drawn: Sequence[Feature],
    places: Sequence[MarkedPlace],
) -> None:
    """Draw the piece with its lines, marks, leaders and numbers, and the legend."""
    to_page = layout.to_page
    bleed = next((f.contours for f in drawn if f.contours), ())
    rail = _rail(layout, bleed[0].circle is not None if bleed else False)
    numbered_places, others = choose(places, capacity(rail), SPACING / to_page.factor)
    whole = {id(p.mark) for p in places if outline is not None and is_whole(p.mark, outline)}
    with pen.clipped(_around(layout, rail)):
        draw_picture(pen, to_page, page.picture)
        loops = [to_page.loop(contour) for contour in bleed]
        if loops:
            pen.veil(layout.piece.grown(_AROUND + 1), loops, 0.86)
        draw_features(pen, to_page, drawn)
        for place in others:
            if id(place.mark) not in whole:
                draw_lesser(pen, to_page, place.mark, place.finding.severity)
        for place in reversed(numbered_places):
            if id(place.mark) not in whole:
                draw_mark(pen, to_page, place.mark, place.finding.severity)
    words = PlacedWords(to_page.boxes(page.words))
    ways = [
        _on_edge(rail, layout.piece)
        if id(place.mark) in whole
        else way_out(anchors_of(place.mark, to_page, rail, layout.piece), rail, RAIL_ROOM, words)
        for place in numbered_places
    ]
    callouts = arrange([way.exit for way in ways], rail)
    for callout in callouts:
        leader = along(ways[callout.of], callout.place, rail, RAIL_ROOM)
        _leader(pen, leader, numbered_places[callout.of].finding.severity)
    for callout in callouts:
        place = numbered_places[callout.of]
        draw_badge(pen, callout.place, place.number, place.finding.severity)
    severities = {place.finding.severity for place in places}
    Legend(drawn, tuple(s for s in Severity if s in severities), bool(others)).draw(
        pen, layout.legend
    )


def places_of(numbers: Sequence[tuple[int, Finding]]) -> list[MarkedPlace]:
    """Return every place of numbered findings, the worst of each first."""
    return [
        MarkedPlace(number, finding, mark)
        for number, finding in numbers
        for mark in worst_marks(finding)
    ]


def choose(
    places: Sequence[MarkedPlace], room: int, apart: float
) -> tuple[list[MarkedPlace], list[MarkedPlace]]:
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


def anchors_of(mark: Mark, to_page: Projection, rail: Rail, piece: Rect) -> list[XY]:
    """Return the points of a place that its leader may lead to, the best first: its outermost."""
    if len(mark.path) > 1:
        step = max(1, len(mark.path) // 8)
        middle = to_page.at(centre_of(mark))
        return [middle, *(to_page.at(point) for point in mark.path[::step])]
    x0, y0, width, height = to_page.rect(mark.box)
    x, y = max(x0, piece.x), max(y0, piece.y)
    width, height = min(x0 + width, piece.right) - x, min(y0 + height, piece.bottom) - y
    centre = (x + width / 2, y + height / 2)
    if max(width, height) < SMALL_MARK:
        middle = (
            min(max(centre[0], piece.x), piece.right),
            min(max(centre[1], piece.y), piece.bottom),
        )
        turns = [math.pi / 4 * i for i in range(8)]
        ring = [
            (middle[0] + RING * math.cos(turn), middle[1] + RING * math.sin(turn)) for turn in turns
        ]
        return sorted(ring, key=lambda p: round(rail.inset(p), 1))
    steps = [i / 8 for i in range(9)]
    edge = [(x + width * s, y + height * t) for s in steps for t in (0.0, 1.0)]
    edge += [(x + width * t, y + height * s) for s in steps for t in (0.0, 1.0)]
    inside = [point for point in edge if rail.inset(point) >= RAIL_ROOM - 1]
    return sorted(
        inside or [centre],
        key=lambda p: (round(rail.inset(p), 1), abs(p[0] - centre[0]) + abs(p[1] - centre[1])),
    )


def _on_edge(rail: Rail, piece: Rect) -> LeaderPath:
    """Return the leader at the upper left of the piece that stands for the whole of it."""
    at = (piece.x, piece.y)
    if isinstance(rail, RoundRail):
        reach = (rail.radius - RAIL_ROOM) * 0.5**0.5
        at = rail.centre[0] - reach, rail.centre[1] - reach
    return LeaderPath((at, at))


def _rail(layout: ArtLayout, is_round: bool) -> Rail:
    around = layout.piece.grown(RAIL_ROOM)
    if is_round:
        return RoundRail(around.centre, around.width / 2)
    return SquareRail(around)


def _around(layout: ArtLayout, rail: Rail) -> list[Loop]:
    """Return the line up to which the art is shown, a little outside the bleed."""
    around = layout.piece.grown(_AROUND)
    if isinstance(rail, RoundRail):
        return [Circle(*around.centre, around.width / 2)]
    return [around.corners]


def _leader(pen: Pen, points: Sequence[XY], severity: Severity) -> None:
    ink = SEVERITY_INK[severity]
    pen.polyline(points, LineStyle(ink, 0.6), halo=0.5)
    pen.circle(points[0], 1.9, fill=Palette.PAPER)
    pen.circle(points[0], 1.3, fill=ink)
