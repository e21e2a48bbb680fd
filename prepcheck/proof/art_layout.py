"""Where things stand on a page of art: paper, scale, piece, legend and lists. Points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from prepcheck.geometry import Box
from prepcheck.outline import Outline
from prepcheck.proof.badge import RADIUS
from prepcheck.proof.drawing import Feature, Projection
from prepcheck.proof.leaf import COLUMN_GAP, Column, column_width, columns, on_grid
from prepcheck.proof.legend import Legend
from prepcheck.proof.model import ProofPage
from prepcheck.proof.pen import Rect
from prepcheck.proof.theme import A3_ACROSS, A4_UPRIGHT, Paper
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
    top = paper.top + TITLE_ROOM
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
