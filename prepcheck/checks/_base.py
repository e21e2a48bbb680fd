"""What a check is: its declaration, what it may say, and the part under examination.

A check is a module in this package with `DECLARATIONS` and `examine(exam)`. `examine` yields
`Finding`, `Clear`, `NotApplicable` and `Measured` values; for every identifier declared it must
say something, since silence is an error. It does no I/O, logs nothing and changes nothing.
`NEEDS_PLATES = False` says that it judges by what was read and never looks at how that prints, so
that it can run while the plates are being painted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

from prepcheck.art.model import Artwork, Content, Page, PathItem
from prepcheck.findings import Finding, Mark, Severity, Value
from prepcheck.geometry import Affine, Box
from prepcheck.measure.barcode import Barcodes, barcodes_on
from prepcheck.measure.ink import Cells
from prepcheck.measure.lines import Stroke, drawn_lines
from prepcheck.measure.trim import TrimPlacement
from prepcheck.order import Order, OrderPart
from prepcheck.outline import Outline
from prepcheck.press.condition import load_condition
from prepcheck.press.plates import Plates
from prepcheck.press.printed import plates_or_screen
from prepcheck.press.view import View
from prepcheck.spec.model import Spec


class FoundAt(StrEnum):
    """When in production the fault would be found without us, and what it costs by then."""

    INTAKE = "at the intake desk, when the file is opened: a mail and a day"
    PLATES = "when plates are made: the slot on the printing press"
    PRINTING = "on the printed sheet: paper, plates and the slot"
    CUTTING = "when labels are drilled and cut or sleeves punched: the printed stack"
    FOLDING = "when sleeves are creased, folded and glued: the printed sheets"
    PRESSING = "in the record press: labels, records and the slot"
    SALE = "by the buyer or at the till: the run"


@dataclass(frozen=True, slots=True)
class Declaration:
    """What a check looks for and why; `prepcheck explain` prints it."""

    identifier: str
    title: str
    found_at: FoundAt
    severities: tuple[Severity, ...]
    rationale: str
    source: str
    limits: tuple[str, ...] = ()
    """Dotted keys of the spec's limits it judges by."""
    measures: tuple[str, ...] = ()
    """Names of the measures it reports, unit in the name."""


@dataclass(frozen=True, slots=True)
class Clear:
    """Nothing wrong, with what was measured."""

    check: str
    why: str
    measured: Value | None = None
    required: Value | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class NotApplicable:
    """Nothing to judge, with the reason."""

    check: str
    why: str


@dataclass(frozen=True, slots=True)
class Measured:
    """A number for the report's `measured` table; of several, the reducer's choice is kept."""

    name: str
    value: Value | tuple[str, ...] | None


Said = Finding | Clear | NotApplicable | Measured


@dataclass(frozen=True)
class Sheet:
    """One page of the part, with the outline it must fit and where its trim was found."""

    number: int
    """Page number in the file, 1-based."""
    page: Page
    outline: Outline
    placement: TrimPlacement
    render: Callable[[Sheet], View] = field(repr=False, compare=False)
    separate: Callable[[Sheet], Plates] | None = field(default=None, repr=False, compare=False)
    closer: Callable[[Affine, Box, float], Plates] | None = field(
        default=None, repr=False, compare=False
    )
    """Makes plates as `plates_of` does, from a page that was read before."""

    def plates_of(self, to_frame: Affine, box: Box, ppi: float) -> Plates:
        """Return the plates of a box in mm, in the frame that a map from the page's leads to."""
        if self.closer is not None:
            return self.closer(to_frame, box, ppi)
        return plates_or_screen(self.page, to_frame, box, ppi)[0]

    @cached_property
    def plates(self) -> Plates:
        """The ink plates over the same area as the view, in the piece's frame."""
        if self.separate is None:
            raise LookupError("this sheet was made without plates")
        return self.separate(self)

    @cached_property
    def cells(self) -> Cells:
        """The plates in cells of about half a millimetre."""
        return Cells.of(self.plates, self.outline)

    @cached_property
    def content(self) -> Content:
        """What the page paints, in the piece's frame."""
        return self.page.content(self.placement.to_piece)

    @cached_property
    def lines(self) -> tuple[tuple[PathItem, Stroke], ...]:
        """The painted paths that are lines, each with its width and paint."""
        return drawn_lines(self.content)

    @cached_property
    def view(self) -> View:
        """The rendered page over trim, bleed and a margin, in the piece's frame."""
        return self.render(self)


@dataclass(frozen=True)
class Exam:
    """A part under examination: its spec, its artwork and its sheets."""

    spec: Spec
    artwork: Artwork
    sheets: tuple[Sheet, ...]
    part: OrderPart | None = None
    order: Order | None = None

    @cached_property
    def barcodes(self) -> tuple[Barcodes, ...]:
        """The barcodes of each sheet, read and measured in red light on the paper to print on."""
        rules = self.spec.barcode
        if rules is None:
            return (Barcodes(),) * len(self.sheets)
        condition = load_condition(self.spec.print_condition)
        return tuple(
            barcodes_on(
                sheet.view, sheet.plates_of, sheet.placement.to_piece, condition,
                search=rules.expected,
            )
            for sheet in self.sheets
        )  # fmt: skip

    @property
    def is_raster(self) -> bool:
        return self.artwork.raster is not None


@dataclass(frozen=True, slots=True)
class Check:
    """A registered check."""

    module: str
    declarations: tuple[Declaration, ...]
    examine: Callable[[Exam], Iterator[Said]]
    needs_plates: bool = True
    """False where it asks no sheet for its plates, its view or anything made of them."""


def short_of(measured: float, limit: float, tolerance: float) -> bool:
    """Say whether a measured value misses a lower limit by more than the tolerance."""
    return measured < limit - tolerance


def judge_least(measured: float, least: float, wanted: float, tolerance: float) -> Severity | None:
    """Return stop below `least`, query below `wanted`, None at or above (limits inclusive)."""
    if short_of(measured, least, tolerance):
        return Severity.STOP
    return Severity.QUERY if short_of(measured, wanted, tolerance) else None


def worst_first(marks: Sequence[Mark]) -> tuple[Mark, ...]:
    """Return marks ordered by rank, then by place, so that reports do not vary."""
    return tuple(sorted(marks, key=lambda m: (m.rank, -m.box.y1, m.box.x0, m.label)))
