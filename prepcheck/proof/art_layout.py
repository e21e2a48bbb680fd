"""Where things stand on a page of art: paper, scale, piece, legend and lists. Points."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box
from prepcheck.outline import Outline
from prepcheck.proof.badge import RADIUS
from prepcheck.proof.drawing import Feature, Projection
from prepcheck.proof.leaf import COLUMN_GAP, Column, column_width, columns, on_grid
from prepcheck.proof.legend import Legend
from prepcheck.proof.model import ProofPage
from prepcheck.proof.pen import Rect
from prepcheck.proof.theme import A3_ACROSS, A4_UPRIGHT, PageSize
from prepcheck.units import pt_from_mm

SCALES = (1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0)
"""Denominators of the scales a piece is drawn at; the first that fits is used."""
RAIL_ROOM = 16.0
"""From the bleed to the middle of the callout numbers, in points."""
_EDGE_ROOM = RAIL_ROOM + RADIUS + 3
TITLE_ROOM = 39.0
"""From the top of the content to the art, under the page's title."""
_LEAST_LIST = 96.0
"""Room that is kept under the art for the list of findings, in points."""
_LEAST_UNDER = 90.0
"""Columns under the art lower than this are left empty."""
_LEAST_ASIDE = 105.0
"""Room beside a small piece from which something may stand there."""
_SMALLEST = 2.0
"""How much smaller than at its best a large piece may be drawn to make room for its lists."""


@dataclass(frozen=True)
class ArtLayout:
    """Where things stand on a page of art. Points, down from the top edge.

    `aside` is room beside the art that no list stands in, where there is any.
    """

    paper: PageSize
    denominator: float
    to_page: Projection
    piece: Rect
    """The bleed box on the page."""
    legend: Rect
    lists: tuple[Column, ...]
    aside: Rect | None = None

    @property
    def width(self) -> float:
        """The width of the narrowest column, which all lists are set to."""
        return min(column.width for column in self.lists)


def lay_out(
    page: ProofPage, outline: Outline | None, bleed: float, drawn: Sequence[Feature]
) -> ArtLayout:
    """Return the paper, the largest scale and the places for a page of art."""
    return next(iter(layouts(page, outline, bleed, drawn)))


def layouts(
    page: ProofPage, outline: Outline | None, bleed: float, drawn: Sequence[Feature]
) -> Iterator[ArtLayout]:
    """Yield ways to lay a page of art out, the best for short lists first.

    A small piece stands at true size over its list on A4, or beside it on A3; a large one on A3
    with its list under it or beside it, and smaller for longer lists.
    """
    box = page.picture.grid.box if outline is None else outline.bounds.grown(bleed)
    legend = Legend(drawn)
    if _fits_a4(box):
        yield _over_list(box, legend)
        yield _beside_lists(box, legend)
        return
    ways = [*_under_art(box, legend), *_round_art(box, legend)]
    best = min(way.denominator for way in ways)
    ways.sort(key=lambda way: way.denominator)
    yield from (way for way in ways if way.denominator <= _SMALLEST * best)


def _fits_a4(box: Box) -> bool:
    return (
        pt_from_mm(box.width) + 2 * _EDGE_ROOM <= A4_UPRIGHT.measure
        and pt_from_mm(box.height) + 2 * _EDGE_ROOM <= 0.6 * A4_UPRIGHT.height
    )


def _over_list(box: Box, legend: Legend) -> ArtLayout:
    """Put a small piece at the top left of an A4 page, its list under it."""
    paper, top = A4_UPRIGHT, A4_UPRIGHT.top + TITLE_ROOM
    own = pt_from_mm(box.width) + 2 * _EDGE_ROOM
    aside = paper.measure - own - COLUMN_GAP / 2
    wide = own if aside >= _LEAST_ASIDE else paper.measure
    zone = Rect(paper.left, top, wide, paper.bottom - top - _LEAST_LIST)
    denominator, to_page = _fit(box, zone, legend)
    piece = to_page.rect(box)
    under = Rect(paper.left, on_grid(piece.bottom + _EDGE_ROOM + 6), paper.measure, 0.0)
    legend_at = under._replace(height=legend.height(under.width))
    free = Rect(paper.right - aside, top, aside, piece.bottom + _EDGE_ROOM - top)
    lists = columns(paper, on_grid(legend_at.bottom + 12))
    return ArtLayout(
        paper, denominator, to_page, piece, legend_at, tuple(lists),
        free if wide < paper.measure else None,
    )  # fmt: skip


def _beside_lists(box: Box, legend: Legend) -> ArtLayout:
    """Put a small piece at the left of an A3 page, two columns beside it."""
    paper, top = A3_ACROSS, A3_ACROSS.top + TITLE_ROOM
    own = pt_from_mm(box.width) + 2 * _EDGE_ROOM
    width = min((paper.measure - own) / 2 - COLUMN_GAP, column_width(paper))
    zone = Rect(paper.left, top, own, paper.bottom - top)
    denominator, to_page = _fit(box, zone, legend)
    piece = to_page.rect(box)
    legend_at = Rect(
        zone.x, on_grid(piece.bottom + _EDGE_ROOM + 6), zone.width, legend.height(zone.width)
    )
    right = paper.right - width
    lists = (
        Column(right - width - COLUMN_GAP, top, paper.bottom, width),
        Column(right, top, paper.bottom, width),
    )
    free = legend_at.bottom + 18
    aside = Rect(zone.x, free, own, paper.bottom - free)
    return ArtLayout(paper, denominator, to_page, piece, legend_at, lists, aside)


def _under_art(box: Box, legend: Legend) -> Iterator[ArtLayout]:
    """Put a large piece across an A3 page, its list in columns under it."""
    paper, top = A3_ACROSS, A3_ACROSS.top + TITLE_ROOM
    zone = Rect(paper.left, top, paper.measure, paper.bottom - top - _LEAST_LIST)
    first, _ = _fit(box, zone, legend)
    for denominator in _from(first):
        to_page = _placed(box, zone, denominator)
        piece, legend_at = _under(to_page, box, zone, legend)
        lists = columns(paper, on_grid(legend_at.bottom + 12))
        yield ArtLayout(paper, denominator, to_page, piece, legend_at, tuple(lists))


def _round_art(box: Box, legend: Legend) -> Iterator[ArtLayout]:
    """Put a large piece at the left of an A3 page, its list beside it and then under it."""
    paper, top = A3_ACROSS, A3_ACROSS.top + TITLE_ROOM
    third = column_width(paper)
    zone = Rect(paper.left, top, paper.measure - third - COLUMN_GAP, paper.bottom - top)
    first, _ = _fit(box, zone, legend)
    for denominator in _from(first):
        to_page = _placed(box, zone, denominator)
        piece, legend_at = _under(to_page, box, zone, legend)
        beside = columns(paper, top)[-1]
        under = columns(paper, on_grid(legend_at.bottom + 18))[:-1]
        if under[0].bottom - under[0].top < _LEAST_UNDER:
            under = []
        yield ArtLayout(paper, denominator, to_page, piece, legend_at, (beside, *under))


def _from(first: float) -> Iterator[float]:
    yield first
    yield from (scale for scale in SCALES if first < scale <= _SMALLEST * first)


def _under(to_page: Projection, box: Box, zone: Rect, legend: Legend) -> tuple[Rect, Rect]:
    """Return where the piece and its legend stand."""
    piece = to_page.rect(box)
    at = on_grid(piece.bottom + _EDGE_ROOM + 6)
    return piece, Rect(zone.x, at, zone.width, legend.height(zone.width))


def _fit(box: Box, zone: Rect, legend: Legend) -> tuple[float, Projection]:
    """Return the scale at which a box and its callouts fit a zone, and the projection."""
    width = zone.width - 2 * _EDGE_ROOM
    height = zone.height - 2 * _EDGE_ROOM - legend.height(zone.width) - 6
    need = max(pt_from_mm(box.width) / width, pt_from_mm(box.height) / height)
    denominator = next((s for s in SCALES if need <= s + 1e-9), math.ceil(need))
    return denominator, _placed(box, zone, denominator)


def _placed(box: Box, zone: Rect, denominator: float) -> Projection:
    tall = pt_from_mm(box.height) / denominator
    centre = (zone.centre[0], zone.y + _EDGE_ROOM + tall / 2)
    return Projection.centred(centre, box.centre, denominator)
