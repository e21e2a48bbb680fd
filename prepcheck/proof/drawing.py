"""Draws a piece: its picture, its outlines and the marks on it. Millimetres in, points out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from prepcheck.findings import Mark, Severity
from prepcheck.geometry import Box, Circle, FloatArray, Point, Segment
from prepcheck.outline import Contour, Outline
from prepcheck.proof.figures import millimetres
from prepcheck.proof.model import Picture
from prepcheck.proof.pen import XY, Loop, Pen, Rect
from prepcheck.proof.theme import BLEED, FOLD, HOLE, HOLE_RING, SAFE, SEVERITY_INK, TRIM, LineStyle
from prepcheck.spec.model import Spec
from prepcheck.units import pt_from_mm

HALO = 0.45
SMALL_MARK = 6.0
"""A place smaller than this on the paper, in points, is ringed instead of framed."""
RING = 4.0
_WHOLE = 0.8
"""Share of the piece's area from which a place stands for the whole piece and gets no frame."""


class Projection(NamedTuple):
    """Maps the piece's frame (mm, y up) to the page (points, y down)."""

    x: float
    y: float
    factor: float
    """Points on the page per mm of the piece."""

    @classmethod
    def centred(cls, centre: XY, on: Point, denominator: float) -> Projection:
        """Return the map at scale 1:`denominator` that puts the place `on` at `centre`."""
        factor = pt_from_mm(1.0) / denominator
        return cls(centre[0] - on.x * factor, centre[1] + on.y * factor, factor)

    def at(self, place: Point | XY) -> XY:
        """Return where a place in mm lies on the page."""
        return self.x + place[0] * self.factor, self.y - place[1] * self.factor

    def rect(self, box: Box) -> Rect:
        """Return a box in mm as a rectangle on the page."""
        x, y = self.at((box.x0, box.y1))
        return Rect(x, y, box.width * self.factor, box.height * self.factor)

    def boxes(self, boxes: Sequence[Box]) -> FloatArray:
        """Return boxes in mm by where each begins and ends, across and down the page (n, 4)."""
        x0, y0, x1, y1 = np.array(boxes, np.float64).reshape(-1, 4).T
        x, y = self.x + x0 * self.factor, self.y - y1 * self.factor
        return np.stack((x, y, x + (x1 - x0) * self.factor, y + (y1 - y0) * self.factor), axis=1)

    def points(self, places: FloatArray | Sequence[Point]) -> list[XY]:
        """Return places (n, 2) in mm as points on the page."""
        return [self.at((float(x), float(y))) for x, y in places]

    def circle(self, circle: Circle) -> Circle:
        """Return a circle in mm as one in points on the page."""
        return Circle(*self.at((circle.x, circle.y)), circle.radius * self.factor)

    def loop(self, contour: Contour) -> Loop:
        """Return a closed line as one on the page: round ones take a hundredth of the file."""
        if contour.circle is not None:
            return self.circle(contour.circle)
        return self.points(contour.points)


class Feature(NamedTuple):
    """A line of the piece as the proof draws it: what it is, its style and its course in mm."""

    name: str
    line: LineStyle
    contours: tuple[Contour, ...] = ()
    segments: tuple[Segment, ...] = ()


def features(spec: Spec, outline: Outline) -> tuple[Feature, ...]:
    """Return the lines of a piece, those at the back first."""
    bleed, trim = spec.bleed.wanted_mm, spec.clearance.trim.wanted_mm
    size = outline.contour()[0].circle
    words = (
        f"Trim Ø {millimetres(2 * size.radius)}"
        if size
        else f"Trim {millimetres(outline.bounds.width, outline.bounds.height)}"
    )
    found = [Feature(f"Bleed {millimetres(bleed)}", BLEED, outline.contour(bleed))]
    inside = outline.contour(-trim)
    if trim and inside:
        found.append(Feature(f"Safe line {millimetres(trim)}", SAFE, inside))
    hole = outline.hole
    if hole is not None:
        if spec.clearance.hole is not None:
            room = spec.clearance.hole.wanted_mm
            ring = hole._replace(radius=hole.radius + room)
            found.append(
                Feature(
                    f"Hole ring {millimetres(room)}",
                    HOLE_RING,
                    (Contour(ring.points(), ring),),
                )
            )
        found.append(
            Feature(f"Hole Ø {_fine(2 * hole.radius)}", HOLE, (Contour(hole.points(), hole),))
        )
    if outline.folds:
        found.append(Feature("Fold", FOLD, segments=outline.folds))
    return (*found, Feature(words, TRIM, outline.contour()))


def _fine(length: float) -> str:
    return f"{length:.2f}".rstrip("0").rstrip(".") + "\u202fmm"


def draw_features(
    pen: Pen, to_page: Projection, drawn: Sequence[Feature], *, halo: float = HALO
) -> None:
    """Draw the lines of a piece."""
    for feature in drawn:
        for contour in feature.contours:
            pen.outline(to_page.loop(contour), feature.line, halo=halo)
        for segment in feature.segments:
            ends = (to_page.at(segment.start), to_page.at(segment.end))
            pen.polyline(ends, feature.line, halo=halo)


def draw_picture(pen: Pen, to_page: Projection, picture: Picture) -> None:
    """Show a picture where its pixels lie."""
    pen.picture(picture, to_page.rect(picture.grid.box))


def is_whole(mark: Mark, outline: Outline) -> bool:
    """Say whether a place stands for the piece as a whole."""
    common = mark.box.overlap(outline.bounds)
    return not mark.path and common is not None and (common.area >= _WHOLE * outline.bounds.area)


def draw_mark(pen: Pen, to_page: Projection, mark: Mark, severity: Severity) -> None:
    """Draw a place: its path as a heavy line, its box as a frame, a tiny box as a ring."""
    ink = SEVERITY_INK[severity]
    if len(mark.path) > 1:
        pen.polyline(to_page.points(mark.path), LineStyle(ink, 2.0), halo=0.9)
        return
    rect = to_page.rect(mark.box)
    if max(rect.width, rect.height) < SMALL_MARK:
        pen.circle(rect.centre, RING, LineStyle(ink, 1.0), halo=0.7)
    else:
        pen.rect(rect.grown(1.0), LineStyle(ink, 1.0), halo=0.7)


def draw_lesser(pen: Pen, to_page: Projection, mark: Mark, severity: Severity) -> None:
    """Draw a lesser place thinly, and never over what stands in it."""
    ink = SEVERITY_INK[severity]
    if len(mark.path) > 1:
        pen.polyline(to_page.points(mark.path), LineStyle(ink, 1.2), halo=0.6)
        return
    rect = to_page.rect(mark.box)
    if max(rect.width, rect.height) < SMALL_MARK:
        pen.circle(rect.centre, RING, LineStyle(ink, 0.6), halo=0.4)
    else:
        pen.rect(rect.grown(1.0), LineStyle(ink, 0.5), halo=0.4)
