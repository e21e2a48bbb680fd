"""Sleeves as folded things: panels, flaps, folds and spines, and the flat they make."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Annotated, Literal

from msgspec import Meta

from prepcheck.geometry import Affine, Box, Point, Segment
from prepcheck.outline import Panel, Panels
from prepcheck.spec.base import NotNegativeMm, Positive, PositiveMm
from prepcheck.tables import Table

Edge = Literal["left", "right", "top", "bottom"]
Way = Literal["up", "down", "left", "right"]


class PanelSpec(Table, frozen=True, kw_only=True):
    """One panel of the flat piece; the panels of a row stand side by side from left to right.

    Rows are numbered from the top, each centred below the one before.
    """

    name: str
    kind: Literal["face", "spine"] = "face"
    width_mm: PositiveMm
    height_mm: PositiveMm
    row: Annotated[int, Meta(ge=0)] = 0
    reads: Way | None = None
    """Where the top of the type points in the flat; without it up, and on a spine to the right,
    so that it reads from top to bottom."""
    opening: Edge | None = None
    """The edge, as seen in the flat, at which the record goes in."""

    @property
    def type_top(self) -> Way:
        """Where the top of the type points in the flat."""
        return self.reads or ("right" if self.kind == "spine" else "up")


class FlapSpec(Table, frozen=True):
    """A flap for gluing or turning in, on one edge of a panel."""

    name: str
    panel: str
    edge: Edge
    depth_mm: PositiveMm
    in_art: bool = False
    """Whether the flap belongs to the trimmed silhouette that the client draws."""
    ink_allowed: bool = False


class Folding(Table, frozen=True):
    """How true a fold lies to the print, and what colour that changes on it owes.

    `tolerance_mm` is how far the fold may wander off its place in the print; `colour_off_mm` how
    far a change of colour may be drawn off the fold; `colour_overlap_mm` how far a solid beside
    bare paper must run on across it.
    """

    tolerance_mm: NotNegativeMm
    colour_off_mm: NotNegativeMm
    colour_overlap_mm: NotNegativeMm


class SpineWidth(Table, frozen=True):
    """The spine that so many discs need, in a board of this weight (g/m²) where it is given."""

    discs: Annotated[int, Meta(ge=1)]
    least_mm: PositiveMm
    most_mm: PositiveMm
    board_gsm: Positive | None = None

    def __post_init__(self) -> None:
        if self.most_mm < self.least_mm:
            raise ValueError("most_mm must not be smaller than least_mm")


class AtMostMm(Table, frozen=True):
    """A two-step upper limit of a length."""

    wanted_mm: NotNegativeMm
    most_mm: NotNegativeMm

    def __post_init__(self) -> None:
        if self.most_mm < self.wanted_mm:
            raise ValueError("most_mm must not be smaller than wanted_mm")


class SpineRules(Table, frozen=True):
    """What a spine must be: wide enough for its discs, with its type in the middle."""

    widths: Annotated[tuple[SpineWidth, ...], Meta(min_length=1)]
    width_tolerance_mm: NotNegativeMm
    off_centre: AtMostMm
    board_gsm: Positive | None = None
    """Weight of the board, to choose between widths that state one."""

    def width_for(self, discs: int) -> SpineWidth | None:
        """Return the width that a number of discs needs in this board; None when not given."""
        fitting = [width for width in self.widths if width.discs == discs]
        for board in (self.board_gsm, None):
            for width in fitting:
                if width.board_gsm == board:
                    return width
        return None


class Gluing(Table, frozen=True):
    """How far ink and varnish may run from a panel on to a flap that glue must hold."""

    ink_overlap_mm: NotNegativeMm


def panels_outline(panels: Sequence[PanelSpec], flaps: Sequence[FlapSpec]) -> Panels:
    """Return the flat of rows of panels, centred on the origin, flaps in the art included."""
    rows = [
        list(_row([panel for panel in panels if panel.row == row]))
        for row in sorted({panel.row for panel in panels})
    ]
    parts: list[Panel] = []
    folds: list[Segment] = []
    bottom = 0.0
    above: list[Panel] = []
    for row in rows:
        bounds = Panels(tuple(row)).bounds
        by = Affine.move(-bounds.centre.x, bottom - bounds.y1)
        placed = [panel._replace(box=by.box(panel.box)) for panel in row]
        folds += _between(above, placed)
        folds += _within(placed)
        parts += placed
        above, bottom = placed, bottom - bounds.height
    boxes = {part.name: part.box for part in parts}
    for flap in flaps:
        if flap.in_art:
            part, fold = _flap(flap, boxes[flap.panel])
            parts.append(part)
            folds.append(fold)
    centre = Panels(tuple(parts)).bounds.centre
    by = Affine.move(-centre.x, -centre.y)
    return Panels(
        tuple(part._replace(box=by.box(part.box)) for part in parts),
        tuple(Segment(f.name, by.at(*f.start), by.at(*f.end)) for f in folds),
    )


def _row(panels: Sequence[PanelSpec]) -> Iterator[Panel]:
    x = 0.0
    for panel in panels:
        half = panel.height_mm / 2
        box = Box(x, -half, x + panel.width_mm, half)
        yield Panel(panel.name, panel.kind, box, panel.type_top, opening=panel.opening)
        x += panel.width_mm


def _within(row: Sequence[Panel]) -> Iterator[Segment]:
    for left, right in pairwise(row):
        x = right.box.x0
        low, high = max(left.box.y0, right.box.y0), min(left.box.y1, right.box.y1)
        yield _fold(left.name, right.name, Point(x, low), Point(x, high))


def _between(upper: Sequence[Panel], lower: Sequence[Panel]) -> Iterator[Segment]:
    """Yield the folds between two rows: where panels stand on each other for the most part."""
    for top in upper:
        for below in lower:
            low, high = max(top.box.x0, below.box.x0), min(top.box.x1, below.box.x1)
            if 2 * (high - low) > min(top.box.width, below.box.width):
                y = top.box.y0
                yield _fold(top.name, below.name, Point(low, y), Point(high, y))


def _flap(flap: FlapSpec, panel: Box) -> tuple[Panel, Segment]:
    x0, y0, x1, y1 = panel
    depth = flap.depth_mm
    box, start, end = {
        "left": (Box(x0 - depth, y0, x0, y1), Point(x0, y0), Point(x0, y1)),
        "right": (Box(x1, y0, x1 + depth, y1), Point(x1, y0), Point(x1, y1)),
        "top": (Box(x0, y1, x1, y1 + depth), Point(x0, y1), Point(x1, y1)),
        "bottom": (Box(x0, y0 - depth, x1, y0), Point(x0, y0), Point(x1, y0)),
    }[flap.edge]
    part = Panel(flap.name, "flap", box, ink_allowed=flap.ink_allowed)
    return part, _fold(flap.panel, flap.name, start, end)


def _fold(one: str, other: str, start: Point, end: Point) -> Segment:
    return Segment(f"fold between {one} and {other}", start, end)
