"""A template before it is written: marks on layers, in mm in the piece's frame, y up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum

from prepcheck.geometry import Box, Circle
from prepcheck.proof.theme import TextStyle
from prepcheck.spec.places import Step

XY = tuple[float, float]


class Set(Enum):
    """Where a line of words stands against its x."""

    LEFT = 0.0
    CENTRE = 0.5
    RIGHT = 1.0


@dataclass(frozen=True)
class Stroke:
    """A line, its centre on the points; `circle` is the circle itself where it is one.

    `ink` is the step whose spot it is painted in, `tint` the spot's share.
    """

    ink: Step
    points: tuple[XY, ...]
    closed: bool
    weight_mm: float
    dash_mm: tuple[float, ...] = ()
    circle: Circle | None = None
    tint: float = 1.0


@dataclass(frozen=True)
class Fill:
    """A filled shape with straight sides."""

    ink: Step
    points: tuple[XY, ...]
    tint: float = 1.0


@dataclass(frozen=True)
class Words:
    """One line of type with its baseline from (x, y), turned anticlockwise about that point."""

    ink: Step
    x: float
    y: float
    line: str
    style: TextStyle
    set: Set = Set.LEFT
    turn: float = 0.0
    tint: float = 1.0


Mark = Stroke | Fill | Words


@dataclass(frozen=True)
class DrawingLayer:
    """The marks of one processing step, bottom first."""

    step: Step
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Drawing:
    """One page of a template: its boxes in mm in the piece's frame, and its layers from below.

    The layer for the art lies under all of them and is empty.
    """

    name: str
    media: Box
    trim: Box
    bleed: Box
    layers: tuple[DrawingLayer, ...]


@dataclass(frozen=True)
class Template:
    """A spec drawn: one page a page of the piece."""

    spec: str
    title: str
    pages: tuple[Drawing, ...]


ART = "Art"
"""Name of the layer for the art."""

LAYER_NAMES = {
    Step.CUT: "Trim",
    Step.HOLE: "Hole",
    Step.FOLD: "Folds",
    Step.GLUE: "Glue flaps",
    Step.INK_FREE: "Free of ink",
    Step.BLEED: "Bleed",
    Step.SAFE: "Safe area",
    Step.BARCODE: "Barcode zone",
    Step.DIMENSIONS: "Measures",
    Step.LEGEND: "Legend",
}
"""Names of the layers, as a drawing program lists them."""


def moved(marks: Iterable[Mark], dx: float, dy: float) -> tuple[Mark, ...]:
    """Return marks moved by a step in mm."""
    return tuple(_moved(mark, dx, dy) for mark in marks)


def _moved(mark: Mark, dx: float, dy: float) -> Mark:
    if isinstance(mark, Words):
        return replace(mark, x=mark.x + dx, y=mark.y + dy)
    points = tuple((x + dx, y + dy) for x, y in mark.points)
    if isinstance(mark, Fill) or mark.circle is None:
        return replace(mark, points=points)
    x, y, radius = mark.circle
    return replace(mark, points=points, circle=Circle(x + dx, y + dy, radius))
