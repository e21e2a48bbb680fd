"""Where the trim lies on a page, and the map from the page's frame to the piece's."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from enum import StrEnum
from functools import cached_property
from typing import NamedTuple

import numpy as np

from prepcheck.art.facts import Layer
from prepcheck.art.model import Content, Page, Paint, PathItem
from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box
from prepcheck.measure.cropmarks import centre_marks, corner_rectangles, may_be_marks
from prepcheck.outline import Outline
from prepcheck.units import MM_PER_INCH, PT_PER_INCH

MOST_BLEED_MM = 6.5
"""Widest margin round the trim that is still read as bleed (a quarter inch, common practice)."""
ROUNDING_MM = 0.01
"""Room for page boxes that were stored rounded."""
EVIDENT = 0.015
"""How far, as a share of the size, a stated trim may miss a scale and still be evidently drawn
at it; the scales lie at least 4 % apart."""
NEAR = 0.25
"""How far, as a share, crop marks may lie from the wanted size and still be taken for the trim."""
MOSTLY = 0.9
"""Share of a page that art must span for a page that is too large to count as drawn too large."""
CUTTING_STEP = ("Structural", "Cutting")
"""Group and type of cut lines (ISO 19593-1)."""


class TrimRule(StrEnum):
    """The rule that found the trim, best evidence first."""

    TRIM_BOX = "TrimBox"
    CUT_LINES = "cut lines on a processing-steps layer"
    PAGE_AND_BLEED = "page size equal to trim and bleed"
    PAGE = "page size equal to trim"
    CROP_MARKS = "crop marks on the page"
    PROPORTIONS = "proportions in pixels, the file stating no resolution"
    ART_EXTENT = "best fit by the extent of the art"
    BEST_FIT = "best fit by the centre of the page"

    @property
    def measures_size(self) -> bool:
        """Whether the rule finds a size of its own, rather than taking the wanted one."""
        return self not in (TrimRule.PROPORTIONS, TrimRule.BEST_FIT)


@dataclass(frozen=True)
class TrimPlacement:
    """The trim found on a page.

    `trim` is in mm in the page's frame, as drawn. `factor` is what the art must be enlarged by
    to be of the spec's size (1 when it is drawn to size), `turned` by how many degrees
    anticlockwise it must be turned. `to_piece` maps the page's frame to the piece's, with both.
    """

    trim: Box
    found_by: TrimRule
    factor: float
    turned: int
    to_piece: Affine
    bleed_mm: float = 0.0
    """Width of the even margin round the trim where the size of the page, at the piece's scale,
    was all there was to go by."""

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the trim when the art is turned and enlarged to fit."""
        width, height = self.trim.width * self.factor, self.trim.height * self.factor
        return (height, width) if self.turned % 180 else (width, height)


class Scale(NamedTuple):
    """A scale that art is drawn at by mistake: what to enlarge it by, and how it came about."""

    factor: float
    cause: str


SCALES = (
    Scale(2.0, "drawn at half size"),
    Scale(4.0, "drawn at a quarter of the size"),
    Scale(10.0, "drawn at a tenth of the size, or centimetres taken for millimetres"),
    Scale(0.5, "drawn at double size"),
    Scale(0.25, "drawn at four times the size"),
    Scale(0.1, "drawn at ten times the size, or millimetres taken for centimetres"),
    Scale(2.54, "inches taken for centimetres"),
    Scale(1 / 2.54, "centimetres taken for inches"),
    Scale(MM_PER_INCH, "inches taken for millimetres"),
    Scale(1 / MM_PER_INCH, "millimetres taken for inches"),
    Scale(PT_PER_INCH / MM_PER_INCH, "millimetres taken for points"),
    Scale(MM_PER_INCH / PT_PER_INCH, "points taken for millimetres"),
    Scale(72 / 300, "72 ppi stated where 300 was meant"),
    Scale(96 / 300, "96 ppi stated where 300 was meant"),
)
"""Scales that turn up at intake (common practice, no source)."""


def scale_cause(factor: float) -> str:
    """Return how a scale comes about, in words."""
    return next((s.cause for s in SCALES if s.factor == factor), "drawn at another scale")


def locate_trim(
    page: Page,
    outline: Outline,
    bleed_wanted_mm: float,
    tolerance_mm: float,
    raster_ppi_known: bool = True,
    layers: Sequence[Layer] = (),
) -> TrimPlacement:
    """Return where the trim of a piece lies on its page.

    `bleed_wanted_mm` and `tolerance_mm` (of the trimmed size) come from the spec; `layers` are
    the document's, to know cut lines by. With `raster_ppi_known` False only the proportions of
    the page count. The rules are tried in the order of `TrimRule`, first at true size, then at
    the scales of `SCALES`; a scale is taken only where no other fits as well.
    """
    return _Search(
        page, outline.bounds, bleed_wanted_mm, tolerance_mm, raster_ppi_known, tuple(layers)
    ).placement()


def cut_lines(content: Content, layers: Sequence[Layer]) -> Box | None:
    """Return the box round all lines on layers for cutting (ISO 19593-1), if any."""
    names = {layer.name for layer in layers if layer.step == CUTTING_STEP}
    boxes = [
        Box.around(zip(run[::2], run[1::2], strict=True))
        for own in (content, content.hidden)
        for path in (own.paths if own and names else ())
        if path.layer in names
        for run in path.segments
        if run
    ]
    return _union(boxes)


class _Fit(NamedTuple):
    """How a box fits the wanted size: enlarged by `factor`, with `bleed` mm round the trim."""

    factor: float
    turned: bool
    bleed: float


@dataclass(frozen=True)
class _Search:
    page: Page
    wanted: Box
    bleed: float
    tolerance: float
    ppi_known: bool
    layers: tuple[Layer, ...]

    def placement(self) -> TrimPlacement:
        if not self.ppi_known and self.page.boxes.trim is None:
            return self._by_proportions()
        return (
            self._stated()
            or self._page_to_size()
            or self._crop_marks()
            or self._page_to_scale()
            or self._art()
            or self._best_fit()
        )

    # --- stated by the file

    def _stated(self) -> TrimPlacement | None:
        if (trim := self.page.boxes.trim) is not None:
            return self._read(trim, TrimRule.TRIM_BOX)
        if (cut := self._cut_lines()) is not None:
            return self._read(cut, TrimRule.CUT_LINES)
        return None

    def _cut_lines(self) -> Box | None:
        if all(layer.step != CUTTING_STEP for layer in self.layers):
            return None
        return cut_lines(self._content, self.layers)

    def _read(self, trim: Box, rule: TrimRule) -> TrimPlacement:
        """Place a stated trim: at the scale and turn that fit, else as it is drawn."""
        exact = self._fit(trim, 1.0) or self._scaled(trim)
        fit = exact or self._evident(trim) or _Fit(1.0, self._looks_turned(trim), 0.0)
        return self._place(trim, rule, fit)

    def _evident(self, box: Box) -> _Fit | None:
        fits = [
            _Fit(scale.factor, turned, 0.0)
            for scale in SCALES
            for turned in self._turns
            if max(
                abs(over) / side
                for over, side in zip(
                    self._excess(box, scale.factor, turned), self._sides, strict=True
                )
            )
            <= EVIDENT
        ]
        return fits[0] if len({fit.factor for fit in fits}) == 1 else None

    def _looks_turned(self, box: Box) -> bool:
        upright, turned = (
            max(abs(over) for over in self._excess(box, 1.0, turn)) for turn in (False, True)
        )
        return turned + 2 * self.tolerance < upright

    # --- by the size of the page

    @property
    def _page_boxes(self) -> tuple[Box, ...]:
        boxes = self.page.boxes
        return tuple(box for box in (boxes.bleed, boxes.crop, boxes.media) if box is not None)

    def _page_to_size(self) -> TrimPlacement | None:
        fits = [(box, fit) for box in self._page_boxes if (fit := self._fit(box, 1.0))]
        for box, fit in sorted(fits, key=lambda pair: pair[1].bleed == 0):
            return self._place_page(box, fit)
        return None

    def _page_to_scale(self) -> TrimPlacement | None:
        for box in self._page_boxes:
            fit = self._scaled(box)
            if fit and (fit.factor > 1 or self._spanned(box)):
                return self._place_page(box, fit)
        return None

    def _spanned(self, box: Box) -> bool:
        art = self._extent
        return art is not None and (
            art.width >= MOSTLY * box.width and art.height >= MOSTLY * box.height
        )

    def _place_page(self, box: Box, fit: _Fit) -> TrimPlacement:
        rule = TrimRule.PAGE_AND_BLEED if fit.bleed else TrimRule.PAGE
        placed = self._place(box.grown(-fit.bleed / fit.factor), rule, fit)
        return replace(placed, bleed_mm=fit.bleed)

    # --- by what is drawn

    def _crop_marks(self) -> TrimPlacement | None:
        found = corner_rectangles(self._maybe_marks)
        for fits in (self._trim_fit, self._trim_scaled, self._trim_near):
            for box in sorted(found, key=lambda box: box.area):
                if fit := fits(box):
                    return self._place(box, TrimRule.CROP_MARKS, fit)
        width, height = self.wanted.width, self.wanted.height
        for turned in self._turns:
            size = (height, width) if turned else (width, height)
            if centre := centre_marks(self._maybe_marks, *size):
                box = Box.centred(*size, at=centre)
                return self._place(box, TrimRule.CROP_MARKS, _Fit(1.0, turned, 0.0))
        return None

    def _trim_fit(self, box: Box) -> _Fit | None:
        fit = self._fit(box, 1.0)
        return fit if fit and not fit.bleed else None

    def _trim_scaled(self, box: Box) -> _Fit | None:
        fit = self._scaled(box)
        return fit if fit and not fit.bleed else None

    def _trim_near(self, box: Box) -> _Fit | None:
        for turned in self._turns:
            over = self._excess(box, 1.0, turned)
            if max(abs(o) / side for o, side in zip(over, self._sides, strict=True)) <= NEAR:
                return _Fit(1.0, turned, 0.0)
        return None

    def _art(self) -> TrimPlacement | None:
        art = self._extent
        fit = art and (self._fit(art, 1.0) or self._scaled(art))
        if not art or not fit:
            return None
        return self._place(art.grown(-fit.bleed / fit.factor), TrimRule.ART_EXTENT, fit)

    # --- for want of evidence

    def _best_fit(self) -> TrimPlacement:
        page = self.page.boxes.crop or self.page.boxes.media
        turned = self._looks_turned(page)
        width, height = self.wanted.width, self.wanted.height
        if turned:
            width, height = height, width
        box = Box.centred(min(width, page.width), min(height, page.height), at=page.centre)
        return self._place(box, TrimRule.BEST_FIT, _Fit(1.0, turned, 0.0))

    def _by_proportions(self) -> TrimPlacement:
        page = self.page.boxes.media
        choices = []
        for bleed in (self.bleed, 0.0):
            for turned in self._turns:
                width, height = (side + 2 * bleed for side in self._sides)
                if turned:
                    width, height = height, width
                across, up = width / page.width, height / page.height
                factor = max(across, up)
                over = max(factor * page.width - width, factor * page.height - height)
                choices.append((over, bleed, factor, turned))
        near = min(choice[0] for choice in choices) + self.tolerance
        over, bleed, factor, turned = next(choice for choice in choices if choice[0] <= near)
        fits = over <= 2 * self.bleed + self.tolerance
        rule = TrimRule.PROPORTIONS if fits else TrimRule.BEST_FIT
        width, height = (side / factor for side in self._sides)
        if turned:
            width, height = height, width
        box = Box.centred(width, height, at=page.centre)
        return self._place(box, rule, _Fit(factor, turned, bleed))

    # --- sizes

    @property
    def _sides(self) -> tuple[float, float]:
        return self.wanted.width, self.wanted.height

    @property
    def _turns(self) -> tuple[bool, ...]:
        """A piece that is as wide as it is high never counts as turned."""
        square = abs(self.wanted.width - self.wanted.height) <= self.tolerance
        return (False,) if square else (False, True)

    def _excess(self, box: Box, factor: float, turned: bool) -> tuple[float, float]:
        width, height = (box.height, box.width) if turned else (box.width, box.height)
        return factor * width - self.wanted.width, factor * height - self.wanted.height

    def _fit(self, box: Box, factor: float) -> _Fit | None:
        """Fit a box to the trim, or to the trim and an even bleed."""
        for turned in self._turns:
            across, up = self._excess(box, factor, turned)
            if max(abs(across), abs(up)) <= self.tolerance + ROUNDING_MM:
                return _Fit(factor, turned, 0.0)
            bleed = (across + up) / 4
            if abs(across - up) <= self.tolerance and 0 < bleed <= MOST_BLEED_MM:
                return _Fit(factor, turned, bleed)
        return None

    def _scaled(self, box: Box) -> _Fit | None:
        """Fit a box at the one scale that it fits; None where two fit equally well.

        A box that is too large must fit the trim, or the trim and the wanted bleed: a generous
        sheet round art of true size is no other scale.
        """
        fits = [fit for scale in SCALES if (fit := self._fit(box, scale.factor))]
        usual = [f for f in fits if min(f.bleed, abs(f.bleed - self.bleed)) <= self.tolerance / 2]
        for choice in (usual, [fit for fit in fits if fit.factor > 1]):
            if choice:
                return choice[0] if len(choice) == 1 else None
        return None

    # --- the map

    def _place(self, trim: Box, rule: TrimRule, fit: _Fit) -> TrimPlacement:
        # Undo a page rotation where there is one; without it the way round is not known.
        turn = (self.page.rotate if self.page.rotate in (90, 270) else 90) if fit.turned else 0
        x, y = trim.centre
        to_piece = Affine.move(-x, -y).then(Affine.turn(turn)).then(Affine.scale(fit.factor))
        return TrimPlacement(trim, rule, fit.factor, turn, to_piece)

    # --- what the page paints

    @cached_property
    def _content(self) -> Content:
        return self.page.content(Affine.identity())

    @cached_property
    def _maybe_marks(self) -> list[PathItem]:
        return may_be_marks(self._content)

    @cached_property
    def _extent(self) -> Box | None:
        """The box round everything that leaves ink, cut to the page."""
        whole = _union(list(_inked_boxes(self._content)))
        return whole and whole.overlap(self.page.boxes.media)


def _inked_boxes(content: Content) -> Iterator[Box]:
    yield from (image.visible for image in content.images if image.visible is not None)
    yield from (shading.box for shading in content.shadings)
    traits = content.path_traits
    marks = np.array([*map(_marks, traits.paints), False])
    boxes = content.path_boxes[marks[traits.fill] | marks[traits.stroke]]
    if len(boxes):
        yield Box(*boxes[:, :2].min(axis=0).tolist(), *boxes[:, 2:].max(axis=0).tolist())
    for run in content.texts:
        if run.paints and run.box is not None:
            yield run.box


def _marks(paint: Paint) -> bool:
    return paint.ink_count > 0 or paint.pattern is not None or min(paint.rgb) < 1


def _union(boxes: Sequence[Box]) -> Box | None:
    if not boxes:
        return None
    return Box(
        min(b.x0 for b in boxes), min(b.y0 for b in boxes),
        max(b.x1 for b in boxes), max(b.y1 for b in boxes),
    )  # fmt: skip
