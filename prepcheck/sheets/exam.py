"""The part under examination, page by page: what checks look at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import field
from functools import cached_property
from typing import Protocol, TypeVar, Unpack, cast

from prepcheck.art.model import Artwork, Content, Page
from prepcheck.findings import Finding, Severity
from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box
from prepcheck.measure.barcode import Barcodes, barcodes_on, drawn_blocks
from prepcheck.measure.ink import Cells
from prepcheck.measure.lines import DrawnLines, drawn_lines
from prepcheck.measure.trim import TrimPlacement
from prepcheck.order import Order, OrderPart
from prepcheck.outline import Outline
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import plates_or_screen, printed_view
from prepcheck.press.show.condition import load_condition
from prepcheck.press.view import View
from prepcheck.sheets.shows import Shows
from prepcheck.sheets.told import Told, finding_of
from prepcheck.spec.model import Spec

T = TypeVar("T")
CloseLook = tuple[Affine, Box, float]
"""A frame, a box in it and how many pixels an inch: what more plates of a page are asked for by."""


class CloseLooks(Protocol):
    """Gives close looks at places of a page, some of which are made before they are asked for."""

    def foresee(self, keys: Iterable[CloseLook], /) -> None: ...
    def result(self, key: CloseLook, /) -> View: ...


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

    foreseen: CloseLooks | None = field(default=None, repr=False, compare=False)
    """Makes the looks that `close_look` gives, where those that are foreseen are made at once."""

    walked: Content | None = field(default=None, repr=False, compare=False)
    """What the page paints, in the piece's frame, where it was followed before."""

    def plates_of(self, to_frame: Affine, box: Box, ppi: float) -> Plates:
        """Return the plates of a box in mm, in the frame that a map from the page's leads to."""
        if self.closer is not None:
            return self.closer(to_frame, box, ppi)
        return plates_or_screen(self.page, to_frame, box, ppi)[0]

    def close_look(self, box: Box, ppi: float) -> View:
        """Return a box in mm of the piece's frame as a view to measure on."""
        asked = self.placement.to_piece, box, ppi
        if self.foreseen is not None:
            return self.foreseen.result(asked)
        return printed_view(self.plates_of(*asked))

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
        if self.walked is not None:
            return self.walked
        return self.page.content(self.placement.to_piece)

    @cached_property
    def lines(self) -> DrawnLines:
        """The painted paths that are lines, each with its width and paint."""
        return drawn_lines(self.content)

    @cached_property
    def view(self) -> View:
        """The rendered page over trim, bleed and a margin, in the piece's frame."""
        return self.render(self)

    @cached_property
    def shows(self) -> Shows:
        """Tells what shows on the rendered page."""
        return Shows(self.view)


@dataclass(frozen=True)
class Exam:
    """A part under examination: its spec, its artwork and its sheets."""

    spec: Spec
    artwork: Artwork
    sheets: tuple[Sheet, ...]
    part: OrderPart | None = None
    order: Order | None = None
    barcodes_ahead: Callable[[], tuple[Barcodes, ...]] | None = field(
        default=None, repr=False, compare=False
    )
    """Gives what `barcodes_in` does, where that was begun before."""
    made: dict[tuple[str, int], object] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    """What checks share in looking at a sheet, by its name and the sheet's number."""

    def once(self, what: str, sheet: Sheet, make: Callable[[], T]) -> T:
        """Return what `make` gives, made once for a sheet however many checks ask."""
        key = what, sheet.number
        if key not in self.made:
            self.made[key] = make()
        return cast(T, self.made[key])

    @cached_property
    def barcodes(self) -> tuple[Barcodes, ...]:
        """The barcodes of each sheet, read and measured in red light on the paper to print on."""
        if self.barcodes_ahead is not None:
            return self.barcodes_ahead()
        return barcodes_in(self.spec, self.sheets)

    @cached_property
    def step_layers(self) -> frozenset[str]:
        """The layers that hold lines for making, such as cuts, and no print (ISO 19593-1)."""
        layers = self.artwork.document.layers
        return frozenset(layer.name for layer in layers if layer.step is not None)

    @property
    def is_raster(self) -> bool:
        return self.artwork.raster is not None

    def finding(
        self,
        check: str,
        code: str,
        severity: Severity,
        message: str,
        fix: str,
        **told: Unpack[Told],
    ) -> Finding:
        """Return a finding by the part's spec; see `finding_of`."""
        return finding_of(self.spec, check, code, severity, message, fix, **told)


def barcodes_in(spec: Spec, sheets: Sequence[Sheet]) -> tuple[Barcodes, ...]:
    """Return the barcodes of each sheet, as `Exam.barcodes` does."""
    rules = spec.barcode
    if rules is None:
        return (Barcodes(),) * len(sheets)
    condition = load_condition(spec.print_condition)
    return tuple(
        barcodes_on(
            sheet.view, sheet.plates_of, sheet.placement.to_piece, condition,
            drawn_blocks(sheet.content), search=rules.expected,
        )
        for sheet in sheets
    )  # fmt: skip
