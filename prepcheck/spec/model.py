"""The typed, frozen model of a spec. Every length is in mm and says so in its key.

A limit has two steps: `least`/`most` broken is a stop, `wanted` broken is a query. Limits are
inclusive; a measured value may miss them by the measuring tolerance before it counts.
"""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Literal

from msgspec import Meta, field

from prepcheck.findings import Severity
from prepcheck.outline import Disc, Outline
from prepcheck.spec.barcode import Barcode
from prepcheck.spec.base import NotNegativeMm, Positive, PositiveMm, RoomMm
from prepcheck.spec.sleeve import (
    FlapSpec,
    Folding,
    Gluing,
    PanelSpec,
    SpineRules,
    panels_outline,
)
from prepcheck.tables import Table

TOLERANCE_MM = 0.1
"""Measuring tolerance of lengths above a line's width, in mm."""
TOLERANCE_PPI = 1.0
"""Measuring tolerance of resolutions, in ppi."""
TOLERANCE_PERCENT = 1.0
"""Measuring tolerance of ink amounts, in percent of one full plate."""
TOLERANCE_FINE = 0.01
"""Measuring tolerance of type sizes and line widths, as a share of the limit: 0.1 mm would be
two thirds of the thinnest line allowed."""


class DiscOutline(Table, frozen=True, tag="disc", tag_field="kind"):
    """A round piece."""

    diameter_mm: PositiveMm
    trim_tolerance_mm: NotNegativeMm

    @property
    def kind(self) -> str:
        return "disc"


class PanelsOutline(Table, frozen=True, tag="panels", tag_field="kind"):
    """A piece of one panel, or of rows of panels with a fold between each two."""

    trim_tolerance_mm: NotNegativeMm
    panels: Annotated[tuple[PanelSpec, ...], Meta(min_length=1)]
    flaps: tuple[FlapSpec, ...] = ()

    @property
    def kind(self) -> str:
        return "panels"


class Hole(Table, frozen=True):
    """The hole in the centre of a label, drilled after printing."""

    diameter_mm: PositiveMm


class AtLeastMm(Table, frozen=True):
    """A two-step lower limit of a length."""

    least_mm: RoomMm
    wanted_mm: RoomMm

    def __post_init__(self) -> None:
        if self.wanted_mm < self.least_mm:
            raise ValueError("wanted_mm must not be smaller than least_mm")


class TrimClearance(AtLeastMm, frozen=True):
    """Room between the trim and type or live edges; frames that run along the rim want more."""

    frame_wanted_mm: RoomMm


class Clearances(Table, frozen=True):
    """Room that cutting, drilling and folding need, and how far print may lie off the cut."""

    print_to_cut_mm: RoomMm
    trim: TrimClearance
    hole: AtLeastMm | None = None
    fold: AtLeastMm | None = None


class AtLeastPpi(Table, frozen=True):
    """A two-step lower limit of a resolution."""

    least_ppi: Positive
    wanted_ppi: Positive

    def __post_init__(self) -> None:
        if self.wanted_ppi < self.least_ppi:
            raise ValueError("wanted_ppi must not be smaller than least_ppi")


class Images(Table, frozen=True):
    """Effective resolution of pictures, after all placing and scaling."""

    continuous: AtLeastPpi
    one_bit: AtLeastPpi


ColourKind = Literal["cmyk", "grey", "spot", "rgb", "lab"]


class Colour(Table, frozen=True):
    """Which colour spaces may be used and which inks are printed."""

    allowed: Annotated[tuple[ColourKind, ...], Meta(min_length=1)]
    process_inks: tuple[Literal["Cyan", "Magenta", "Yellow", "Black"], ...]
    most_spots: Annotated[int, Meta(ge=0)]


WIDEST_FADE_MM = 25.0
"""Fades are followed no farther than this, so a limit cannot lie beyond."""


class Ink(Table, frozen=True):
    """How much ink, and how little. What is left out is not judged."""

    most_total_percent: Positive
    """Greatest total of all inks, over an area larger than `window_mm2`."""
    window_mm2: Positive
    heavy_total_percent: Positive | None = None
    heavy_share_percent: Positive | None = None
    """Greatest share of the face that may carry more than `heavy_total_percent`."""
    least_tint_percent: Positive | None = None
    least_tint_mm2: Positive | None = None
    """Area from which a tint below `least_tint_percent` is worth a word."""
    widest_fade_end_mm: Annotated[float, Meta(gt=0, le=WIDEST_FADE_MM)] | None = None
    """How wide the part of a fade from 0.6 % to `least_tint_percent` may be; None: not at all."""
    least_plate_mm2: Positive | None = None
    """Ink on a plate below which the plate is likely a slip."""
    most_fine_inks: Annotated[int, Meta(ge=1)] | None = None
    """Inks that fine type and lines may be built of, below the sizes for several inks."""
    black_solid_mm2: Positive | None = None
    """Area from which a solid in black alone looks grey."""
    most_rich_black_percent: Positive | None = None


class Text(Table, frozen=True):
    """Smallest type, by nominal size after all transforms.

    `reversed` holds for light type on dark and for type in several inks. The wanted sizes are
    optional: where they are given, type below them is a query.
    """

    least_pt: Positive
    least_reversed_pt: Positive
    wanted_pt: Positive | None = None
    wanted_reversed_pt: Positive | None = None
    wanted_several_pt: Positive | None = None
    """Type built of several inks, or left out of several."""
    wanted_rich_black_pt: Positive | None = None
    """Black type built of all four inks."""
    overprint_black_pt: Positive | None = None
    """Size up to which black type should overprint."""
    most_stretch_percent: Positive | None = None
    """How much wider or narrower than its face was drawn type may be set."""


class Line(Table, frozen=True):
    """Thinnest line, by stroke width after all transforms; `reversed` is light on dark."""

    least_mm: PositiveMm
    least_reversed_mm: PositiveMm
    wanted_mm: PositiveMm | None = None
    wanted_reversed_mm: PositiveMm | None = None
    least_several_mm: PositiveMm | None = None
    """Lines built of several inks, or left out of several."""
    wanted_several_mm: PositiveMm | None = None


PieceKind = Literal["label", "jacket", "gatefold", "inner-bag", "insert", "obi", "sticker"]
"""What a piece is of a record, by the trade's words."""


class PageSpec(Table, frozen=True):
    """One page of the piece; `panels` and `flaps` replace the outline's where they differ."""

    name: str
    optional: bool = False
    panels: tuple[PanelSpec, ...] | None = None
    flaps: tuple[FlapSpec, ...] | None = None


class Spec(Table, frozen=True, kw_only=True, dict=True):
    """What the plant needs of one printed piece."""

    name: str
    title: str
    extends: str | None = None
    """The spec this one was built on, if any; what it says is already in this one."""
    format: Literal["7-inch", "10-inch", "12-inch"] | None = None
    """The record it belongs to; None fits any."""
    kind: PieceKind | None = None
    """What the piece is, which an order as a whole is judged by; None for anything else."""
    outline: DiscOutline | PanelsOutline
    hole: Hole | None = None
    bleed: AtLeastMm
    clearance: Clearances
    images: Images
    colour: Colour
    ink: Ink
    text: Text
    line: Line
    fold: Folding | None = None
    spine: SpineRules | None = None
    glue: Gluing | None = None
    barcode: Barcode | None = None
    pages: Annotated[tuple[PageSpec, ...], Meta(min_length=1)]
    print_condition: str
    severity: dict[str, Severity] = field(default_factory=dict)
    sources: dict[str, str]

    def page_index(self, name: str) -> int | None:
        """Return the index (0-based) of a page by its name; None when there is none of it."""
        names = [page.name.casefold() for page in self.pages]
        wanted = name.casefold()
        return names.index(wanted) if wanted in names else None

    def outline_of(self, page_index: int = 0) -> Outline:
        """Return the outline of a page (0-based) in the piece's frame."""
        return self._outlines[min(page_index, len(self._outlines) - 1)]

    @cached_property
    def _outlines(self) -> tuple[Outline, ...]:
        return tuple(self._make_outline(page) for page in self.pages)

    def _make_outline(self, page: PageSpec) -> Outline:
        if isinstance(self.outline, DiscOutline):
            return Disc(
                self.outline.diameter_mm, None if self.hole is None else self.hole.diameter_mm
            )
        panels = self.outline.panels if page.panels is None else page.panels
        flaps = self.outline.flaps if page.flaps is None else page.flaps
        return panels_outline(panels, flaps)

    def limit(self, key: str) -> float | None:
        """Return a limit by its dotted key, None where it is not set or is no number.

        Raises KeyError for a key that is no limit.
        """
        value: object = self
        for name in key.split("."):
            if value is None:
                return None
            if name not in getattr(type(value), "__struct_fields__", ()):
                raise KeyError(key)
            value = getattr(value, name)
        # A bool is an int to Python.
        if isinstance(value, bool) or not isinstance(value, int | float):
            return None
        return value

    def source_of(self, key: str) -> str:
        """Return the citation of a limit by its dotted key, such as 'bleed.least_mm'.

        A citation of a table holds for the keys in it that have none of their own; a table
        without one is answered for by what it holds. Raises KeyError for a key that is no limit.
        """
        wanted = key
        while wanted:
            if wanted in self.sources:
                return self.sources[wanted]
            wanted = wanted.rpartition(".")[0]
        below = [text for name, text in self.sources.items() if name.startswith(f"{key}.")]
        if not below:
            raise KeyError(key)
        return "; ".join(dict.fromkeys(below))
