"""Page boxes, UserUnit and Rotate (ISO 32000-2, 7.7.3.3 and 14.11.2) in mm as displayed."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from prepcheck.art.facts import PageBoxes
from prepcheck.art.pdf.objects import number, numbers
from prepcheck.art.pdf.tree import PageNode
from prepcheck.geometry import Affine, Box
from prepcheck.units import MM_PER_PT

FALLBACK = Box(0.0, 0.0, 612.0, 792.0)
"""US Letter in points: what viewers show where no usable MediaBox is stated."""
ROUNDING_PT = 0.1
"""How far a box may stand out of the MediaBox by rounding: writers keep two or three decimals."""
LARGEST_PT = 1e7
"""Coordinates beyond this are damage: 3.5 km."""


class PageGeometry(NamedTuple):
    """A page's boxes in mm in the page's frame, and the map from user space (pt) to that frame."""

    boxes: PageBoxes
    rotate: int
    user_unit: float
    to_page: Affine
    troubles: tuple[str, ...]


def page_geometry(node: PageNode) -> PageGeometry:
    """Return the geometry of a page as displayed; /Rotate turns clockwise."""
    troubles: list[str] = []
    media = _box(node.attribute("MediaBox"), "MediaBox", troubles)
    if media is None:
        media = FALLBACK
        troubles.append("no usable MediaBox is stated; US Letter is assumed, as viewers do")
    unit = _user_unit(node, troubles)
    rotate = _rotate(node, troubles)
    to_page = _to_page(media, unit * MM_PER_PT, rotate)

    cut_boxes: list[str] = []

    def inside(key: str, value: object) -> Box | None:
        box = _box(value, key, troubles)
        cut = box.overlap(media) if box else None
        if box and (cut is None or cut.area == 0):
            troubles.append(f"the {key} lies outside the MediaBox and is not used")
            return None
        if box and not media.holds(box, ROUNDING_PT):
            cut_boxes.append(key)
        return to_page.box(cut) if cut else None

    boxes = PageBoxes(
        media=to_page.box(media),
        crop=inside("CropBox", node.attribute("CropBox")),
        bleed=inside("BleedBox", node.page.get("/BleedBox")),
        trim=inside("TrimBox", node.page.get("/TrimBox")),
        art=inside("ArtBox", node.page.get("/ArtBox")),
    )
    boxes = replace(boxes, cut=tuple(cut_boxes))
    return PageGeometry(boxes, rotate, unit, to_page, tuple(troubles))


def _box(value: object, key: str, troubles: list[str]) -> Box | None:
    """Return a rectangle in points, corners in any order; None when absent or unusable."""
    corners = numbers(value, 4)
    if corners is None or max(map(abs, corners)) > LARGEST_PT:
        if value is not None:
            troubles.append(f"the {key} is no rectangle and is not used")
        return None
    x0, y0, x1, y1 = corners
    box = Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    if box.area == 0:
        troubles.append(f"the {key} has no extent and is not used")
        return None
    return box


def _user_unit(node: PageNode, troubles: list[str]) -> float:
    stated = node.page.get("/UserUnit")
    unit = number(node.page, "UserUnit")
    if stated is not None and (unit is None or not 0 < unit <= LARGEST_PT):
        troubles.append("the UserUnit is no positive number; 1 is assumed")
        return 1.0
    return 1.0 if unit is None else unit


def _rotate(node: PageNode, troubles: list[str]) -> int:
    stated = node.attribute("Rotate")
    turn = number({"/Rotate": stated}, "Rotate") or 0.0
    quarters = int(turn / 90)
    if turn != quarters * 90:
        troubles.append(f"Rotate is {turn:g}, no multiple of 90; {quarters * 90 % 360} is assumed")
    return quarters * 90 % 360


def _to_page(media: Box, scale: float, rotate: int) -> Affine:
    """Return user space (pt) → page frame (mm), lower left of the displayed page at the origin."""
    upright = Affine.move(-media.x0, -media.y0).then(Affine.scale(scale))
    turned = upright.then(Affine.turn(-rotate))
    box = turned.box(media)
    return turned.then(Affine.move(-box.x0, -box.y0))
