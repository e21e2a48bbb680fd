"""The typed, frozen model of a spec. Every length is in mm and says so in its key.

A limit has two steps: `least`/`most` broken is a stop, `wanted` broken is a query. Limits are
inclusive; a measured value may miss them by the measuring tolerance before it counts.
"""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from prepcheck.findings import Severity
from prepcheck.geometry import Box, Point, Segment
from prepcheck.outline import Disc, Outline, Panel, Panels

TOLERANCE_MM = 0.1
"""Measuring tolerance of lengths above a line's width, in mm."""
TOLERANCE_PPI = 1.0
"""Measuring tolerance of resolutions, in ppi."""
TOLERANCE_PERCENT = 1.0
"""Measuring tolerance of ink amounts, in percent of one full plate."""
TOLERANCE_FINE = 0.01
"""Measuring tolerance of type sizes and line widths, as a share of the limit: 0.1 mm would be
two thirds of the thinnest line allowed."""

PositiveMm = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegativeMm = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=False)


class PanelSpec(_Frozen):
    """One panel of a flat piece; panels stand side by side from left to right."""

    name: str
    kind: Literal["face", "spine"] = "face"
    width_mm: PositiveMm
    height_mm: PositiveMm


class FlapSpec(_Frozen):
    """A flap for gluing or turning in, on one edge of a panel."""

    name: str
    panel: str
    edge: Literal["left", "right", "top", "bottom"]
    depth_mm: PositiveMm
    in_art: bool = False
    """Whether the flap belongs to the trimmed silhouette that the client draws."""
    ink_allowed: bool = False


class DiscOutline(_Frozen):
    """A round piece."""

    kind: Literal["disc"]
    diameter_mm: PositiveMm
    trim_tolerance_mm: NotNegativeMm


class PanelsOutline(_Frozen):
    """A piece of one panel, or of several in a row with a fold between each two."""

    kind: Literal["panels"]
    trim_tolerance_mm: NotNegativeMm
    panels: tuple[PanelSpec, ...] = Field(min_length=1)
    flaps: tuple[FlapSpec, ...] = ()


class Hole(_Frozen):
    """The hole in the centre of a label, drilled after printing."""

    diameter_mm: PositiveMm


class AtLeastMm(_Frozen):
    """A two-step lower limit of a length."""

    least_mm: NotNegativeMm
    wanted_mm: NotNegativeMm

    @model_validator(mode="after")
    def _ordered(self) -> AtLeastMm:
        if self.wanted_mm < self.least_mm:
            raise ValueError("wanted_mm must not be smaller than least_mm")
        return self


class TrimClearance(AtLeastMm):
    """Room between the trim and type or live edges; frames that run along the rim want more."""

    frame_wanted_mm: NotNegativeMm


class Clearances(_Frozen):
    """Room that cutting, drilling and folding need, and how far print may lie off the cut."""

    print_to_cut_mm: NotNegativeMm
    trim: TrimClearance
    hole: AtLeastMm | None = None
    fold: AtLeastMm | None = None


class AtLeastPpi(_Frozen):
    """A two-step lower limit of a resolution."""

    least_ppi: Positive
    wanted_ppi: Positive

    @model_validator(mode="after")
    def _ordered(self) -> AtLeastPpi:
        if self.wanted_ppi < self.least_ppi:
            raise ValueError("wanted_ppi must not be smaller than least_ppi")
        return self


class Images(_Frozen):
    """Effective resolution of pictures, after all placing and scaling."""

    continuous: AtLeastPpi
    one_bit: AtLeastPpi


ColourKind = Literal["cmyk", "grey", "spot", "rgb", "lab"]


class Colour(_Frozen):
    """Which colour spaces may be used and which inks are printed."""

    allowed: tuple[ColourKind, ...] = Field(min_length=1)
    process_inks: tuple[Literal["Cyan", "Magenta", "Yellow", "Black"], ...]
    most_spots: Annotated[int, Field(ge=0)]


class Ink(_Frozen):
    """The greatest total of all inks, judged over a window."""

    most_total_percent: Positive
    window_mm2: Positive


class Text(_Frozen):
    """Smallest type, by nominal size after all transforms.

    `reversed` holds for light type on dark and for type in several inks. The wanted sizes are
    optional: where they are given, type below them is a query.
    """

    least_pt: Positive
    least_reversed_pt: Positive
    wanted_pt: Positive | None = None
    wanted_reversed_pt: Positive | None = None


class Line(_Frozen):
    """Thinnest line, by stroke width after all transforms; `reversed` is light on dark."""

    least_mm: PositiveMm
    least_reversed_mm: PositiveMm
    wanted_mm: PositiveMm | None = None
    wanted_reversed_mm: PositiveMm | None = None


class PageSpec(_Frozen):
    """One page of the piece; `panels` and `flaps` replace the outline's where they differ."""

    name: str
    optional: bool = False
    panels: tuple[PanelSpec, ...] | None = None
    flaps: tuple[FlapSpec, ...] | None = None


class Spec(_Frozen):
    """What the plant needs of one printed piece."""

    name: str
    title: str
    extends: str | None = None
    """The spec this one was built on, if any; what it says is already in this one."""
    format: Literal["7-inch", "10-inch", "12-inch"] | None = None
    """The record it belongs to; None fits any."""
    outline: Annotated[DiscOutline | PanelsOutline, Field(discriminator="kind")]
    hole: Hole | None = None
    bleed: AtLeastMm
    clearance: Clearances
    images: Images
    colour: Colour
    ink: Ink
    text: Text
    line: Line
    pages: tuple[PageSpec, ...] = Field(min_length=1)
    print_condition: str
    severity: dict[str, Severity] = Field(default_factory=dict)
    sources: dict[str, str]

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


def panels_outline(panels: tuple[PanelSpec, ...], flaps: tuple[FlapSpec, ...]) -> Panels:
    """Return panels in a row, centred on the origin, with the flaps that are part of the art."""
    parts: list[Panel] = []
    folds: list[Segment] = []
    x = 0.0
    for panel in panels:
        box = Box(x, -panel.height_mm / 2, x + panel.width_mm, panel.height_mm / 2)
        if parts:
            half = min(box.height, parts[-1].box.height) / 2
            name = f"{parts[-1].name}/{panel.name}"
            folds.append(Segment(name, Point(x, -half), Point(x, half)))
        parts.append(Panel(panel.name, panel.kind, box))
        x += panel.width_mm
    boxes = {part.name: part.box for part in parts}
    for flap in flaps:
        if not flap.in_art:
            continue
        x0, y0, x1, y1 = boxes[flap.panel]
        flap_box, start, end = {
            "left": (Box(x0 - flap.depth_mm, y0, x0, y1), Point(x0, y0), Point(x0, y1)),
            "right": (Box(x1, y0, x1 + flap.depth_mm, y1), Point(x1, y0), Point(x1, y1)),
            "top": (Box(x0, y1, x1, y1 + flap.depth_mm), Point(x0, y1), Point(x1, y1)),
            "bottom": (Box(x0, y0 - flap.depth_mm, x1, y0), Point(x0, y0), Point(x1, y0)),
        }[flap.edge]
        parts.append(Panel(flap.name, "flap", flap_box))
        folds.append(Segment(f"{flap.panel}/{flap.name}", start, end))
    centre = Panels(tuple(parts)).bounds.centre
    return Panels(
        tuple(Panel(p.name, p.kind, _moved(p.box, centre)) for p in parts),
        tuple(
            Segment(
                f.name,
                Point(f.start.x - centre.x, f.start.y - centre.y),
                Point(f.end.x - centre.x, f.end.y - centre.y),
            )
            for f in folds
        ),
    )


def _moved(box: Box, centre: Point) -> Box:
    return Box(box.x0 - centre.x, box.y0 - centre.y, box.x1 - centre.x, box.y1 - centre.y)
