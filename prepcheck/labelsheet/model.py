"""What a sheet is made of. Lengths are in mm; the sheet's origin is its lower left corner, y up."""

from __future__ import annotations

from dataclasses import dataclass

from prepcheck.art.model import Page
from prepcheck.geometry import Affine, Point
from prepcheck.labelsheet.paper import Paper

CLEAR_MM = 0.5
"""Round each label's bleed no mark is printed within this."""


@dataclass(frozen=True)
class RoundPiece:
    """The piece: its trim, how far art runs beyond it, and the hole that will be drilled."""

    diameter: float
    bleed_mm: float
    hole: float | None

    @property
    def printed(self) -> float:
        """Diameter of what is printed: trim and bleed."""
        return self.diameter + 2 * self.bleed_mm


@dataclass(frozen=True)
class Art:
    """A label to be placed: a page, and where the piece lies on it."""

    name: str
    page: Page
    to_piece: Affine
    data: bytes
    """The file itself: a JPEG goes onto the sheet as it is."""


@dataclass(frozen=True)
class Position:
    """Where a label stands: which one (from 0), its centre on the sheet, and by how many degrees
    it is turned, anticlockwise."""

    label: int
    centre: Point
    turn: float = 0.0


@dataclass(frozen=True)
class CutMark:
    """A mark for cutting round: a stroke towards the centre and a short arc across its inner end,
    on a circle outside the bleed. `angle` is in degrees from the right, anticlockwise."""

    centre: Point
    angle: float
    inner: float
    outer: float


@dataclass(frozen=True)
class Layout:
    """Where everything on a sheet stands."""

    paper: Paper
    piece: RoundPiece
    gap_mm: float
    kind: str
    positions: tuple[Position, ...]
    square: int
    staggered: int
    """How many labels either arrangement holds."""
    cut_marks: tuple[CutMark, ...]
    register_marks: tuple[Point, ...]

    @property
    def holds(self) -> int:
        return self.square if self.kind == "square" else self.staggered
