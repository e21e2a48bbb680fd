"""A page on the press: its plates, the view that is measured on, and pictures for the proof."""

from __future__ import annotations

import io
from collections.abc import Sequence
from concurrent.futures import Executor, Future
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from PIL import Image

from prepcheck.art.model import PROCESS_INKS, Content, Page
from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box, Grid
from prepcheck.measure.ink import FULL, Cells
from prepcheck.outline import Outline
from prepcheck.press.separate.conversion import OutputProfile
from prepcheck.press.separate.plates import Plates, Separation
from prepcheck.press.separate.printed import (
    Unread,
    painted_or_screen,
    printed_view,
    read_or_why,
    reduced,
    screen_plates,
)
from prepcheck.press.show.appearance import appearance
from prepcheck.press.show.condition import PrintCondition
from prepcheck.press.show.coverage import Extent, coverage
from prepcheck.press.show.inkmap import InkMap, ink_map
from prepcheck.press.view import ByteArray, View
from prepcheck.proof.model import InkMapPicture, Picture, PlatePicture, Printed, Swatch
from prepcheck.run.beforehand import Foreseen
from prepcheck.run.memory import share_freed_memory
from prepcheck.run.settings import Resolution, Settings
from prepcheck.spec.model import TOLERANCE_PERCENT
from prepcheck.units import MM_PER_INCH, mm_per_px

if TYPE_CHECKING:  # takes long to import, and is not needed before a page is followed
    from prepcheck.sheets.exam import CloseLook

_VERY_MANY = 300_000
"""Paths of a page from which memory is dearer than a little time."""
_SOLIDS = (
    ("Paper", ""), ("Cyan", "C"), ("Magenta", "M"), ("Yellow", "Y"), ("Black", "K"),
    ("Magenta and Yellow", "MY"), ("Cyan and Yellow", "CY"), ("Cyan and Magenta", "CM"),
    ("Cyan, Magenta and Yellow", "CMY"), ("All four", "CMYK"),
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Source:
    """Where more plates of a page can be made from, in the piece's frame.

    `separation` is None where the inks could not be told apart and the page is shown as it looks
    on screen.
    """

    page: Page
    to_piece: Affine
    separation: Separation | None

    def plates_of(self, to_frame: Affine, box: Box, ppi: float) -> Plates:
        """Return the plates of a box in the frame that a map from the page's leads to."""
        if self.separation is not None:
            return self.separation.plates(to_frame, [box], ppi)[0]
        return screen_plates(self.page, to_frame, box, ppi)

    def make_ready(self, resolution: Resolution) -> None:
        """Do beforehand what close-ups take of the file."""
        if self.separation is not None:
            self.separation.prepare(self.to_piece, resolution.most_ppi)

    def close(self, boxes: Sequence[Box], resolution: Resolution) -> list[Plates]:
        """Return the plates of small boxes, finer than the view."""
        if not boxes:
            return []
        finest = [resolution.ppi(box) for box in boxes]
        if self.separation is None:
            return [
                screen_plates(self.page, self.to_piece, box, ppi)
                for box, ppi in zip(boxes, finest, strict=True)
            ]
        made: dict[Box, Plates] = {}
        for ppi in sorted(set(finest)):
            alike = [box for box, own in zip(boxes, finest, strict=True) if own == ppi]
            made |= zip(alike, self.separation.plates(self.to_piece, alike, ppi), strict=True)
        return [made[box] for box in boxes]


class PagePlates(NamedTuple):
    """A page's plates, and where more come from."""

    source: Source
    plates: Plates


@dataclass(frozen=True, eq=False)
class Printing:
    """A page as it has been separated: its plates, and the view that is measured on."""

    source: Source
    plates: Plates
    view: View

    @classmethod
    def begun(
        cls,
        pool: Executor,
        page: Page,
        to_piece: Affine,
        box: Box,
        settings: Settings,
        profile: OutputProfile | None = None,
    ) -> Begun:
        """Read a page now, and paint its plates and make its view in the pool, which leaves the
        file alone.

        What close-ups take is read at once, where that is little. The output profile turns paint
        without ink amounts into inks. The futures raise UnreadableError when nothing can be made
        of the page.
        """
        ppi = settings.view.ppi(box)
        read, content = read_or_why(page, to_piece, ppi, profile, settings.inset.most_ppi)
        if content is not None and len(content.paths) >= _VERY_MANY:
            share_freed_memory()
        painted = pool.submit(_painted, read, page, to_piece, box, ppi)
        printing = pool.submit(cls._of, painted)
        closely = Foreseen(partial(_close_look, painted))
        pool.submit(closely.make_all)
        return Begun(painted, printing, closely, content)

    @classmethod
    def _of(cls, painted: Future[PagePlates]) -> Printing:
        source, plates = painted.result()
        return cls(source, plates, printed_view(plates))


class Begun(NamedTuple):
    """A page that is being separated, first its plates alone, then places of it that are foreseen
    to be looked at closely; and what it paints in the piece's frame, None where that has to be
    asked for again to learn why it cannot be told."""

    painted: Future[PagePlates]
    printing: Future[Printing]
    closely: Foreseen[CloseLook, View]
    content: Content | None


def _painted(
    read: Separation | Unread, page: Page, to_piece: Affine, box: Box, ppi: float
) -> PagePlates:
    plates, separation = painted_or_screen(read, page, to_piece, box, ppi)
    return PagePlates(Source(page, to_piece, separation), plates)


def _close_look(painted: Future[PagePlates], asked: CloseLook) -> View:
    return printed_view(painted.result().source.plates_of(*asked))


@dataclass(frozen=True, slots=True)
class TotalInk:
    """All inks added up over the trim and the bleed.

    `greatest_percent` is the greatest mean of a cell of half a millimetre, `over_mm2` the area
    above a limit (None without one), `unknown_mm2` that of paint without ink amounts.
    """

    greatest_percent: float
    over_mm2: float | None
    unknown_mm2: float


def total_ink(cells: Cells, bleed_mm: float, limit_percent: float | None) -> TotalInk:
    """Return what all inks come to on the cells of a page."""
    sheet = cells.within(bleed_mm)
    over = None
    if limit_percent is not None:
        above = cells.fine_total > (limit_percent + TOLERANCE_PERCENT) * FULL / 100
        over = float(cells.share(above).sum(where=sheet)) * cells.cell_mm2 if above.any() else 0.0
    greatest = float(cells.total.max(initial=0.0, where=sheet))
    return TotalInk(greatest, over, cells.not_in_inks(bleed_mm))


def shown_by(condition: PrintCondition) -> str:
    """Return by what the inks of a picture are shown."""
    return f"{condition.title} ({condition.source.partition(':')[0]})"


def picture_of(plates: Plates, condition: PrintCondition, settings: Settings) -> Picture:
    """Return how plates look on the paper of a print condition."""
    return jpeg(appearance(plates, condition), plates.grid, settings.jpeg_quality)


class InkPictures(NamedTuple):
    """A page's plates and ink as the proof shows them, before anything was judged."""

    condition: str
    plates: tuple[PlatePicture, ...]
    ink_map: Picture
    steps: tuple[Swatch, ...]
    swatches: tuple[Swatch, ...]
    remarks: tuple[str, ...]
    converted_by: str

    def printed(
        self, limit_percent: float, total: TotalInk, numbers: Sequence[int] = ()
    ) -> Printed:
        """Return the pictures with what was measured; `numbers` are the findings about ink."""
        ink = InkMapPicture(
            self.ink_map,
            self.steps,
            limit_percent,
            total.greatest_percent,
            sum(one.percent for one in self.plates),
            total.over_mm2 or 0.0,
            total.unknown_mm2,
            tuple(numbers),
            self.converted_by,
        )
        return Printed(self.condition, self.plates, ink, self.swatches, self.remarks)


def ink_pictures(
    plates: Plates,
    outline: Outline,
    bleed_mm: float,
    limit_percent: float,
    condition: PrintCondition,
    settings: Settings,
) -> InkPictures:
    """Return what the proof shows of a page's plates and ink."""
    fine = reduced(plates, mm_per_px(settings.coverage.ppi(plates.grid.box)))
    covered = coverage(fine, Extent.of(outline, fine.grid, bleed_mm))
    small = reduced(fine, mm_per_px(settings.plate.ppi(plates.grid.box)))
    shown = tuple(
        PlatePicture(
            one.ink,
            jpeg(255 - plate, small.grid, settings.jpeg_quality),
            one.percent,
            one.solid_mm2,
            one.sheet_mm2,
        )
        for one, plate in zip(covered, small.data, strict=True)
    )
    mapped = reduced(fine, mm_per_px(settings.ink_map.ppi(plates.grid.box)))
    drawn = ink_map(mapped, limit_percent)
    return InkPictures(
        shown_by(condition),
        shown,
        Picture(_png(drawn), mapped.grid),
        tuple(Swatch(step.words, _hex(step.colour), step.pattern.value) for step in drawn.steps),
        _swatches(plates, condition),
        remarks_of(plates, condition),
        plates.converted_by,
    )


def remarks_of(plates: Plates, condition: PrintCondition) -> tuple[str, ...]:
    """Return what a picture of plates does not show as the press would print it."""
    spots = [ink for ink in plates.inks if ink not in PROCESS_INKS]
    said = [condition.remark] if condition.remark else []
    if spots:
        names = " and ".join(filter(None, (", ".join(spots[:-1]), spots[-1])))
        said.append(
            f"{names}: shown by the stand-in colour in the file, since a spot's own look is not "
            "known"
        )
    if plates.not_in_inks is not None and not plates.on_screen:
        said.append("Some colour has no ink amounts (RGB or Lab): its ink is not counted here")
    if plates.converted_by:
        said.append(
            "Some colour is RGB or Lab in the file: its ink is what it comes to by "
            f"{plates.converted_by}, not an amount in the file"
        )
    failed = (plates.failed,) if plates.failed else ()
    return (*said, *failed, *plates.troubles, *plates.limits)


def _swatches(plates: Plates, condition: PrintCondition) -> tuple[Swatch, ...]:
    """Return paper, solids and overprints, and each spot solid, as the condition shows them."""
    recipes = [(words, [255 * (ink in inks) for ink in "CMYK"]) for words, inks in _SOLIDS]
    spots = [ink for ink in plates.inks if ink not in PROCESS_INKS]
    amounts = np.zeros((len(plates.inks), 1, len(recipes) + len(spots)), np.uint8)
    for column, (_, inks) in enumerate(recipes):
        amounts[:4, 0, column] = inks
    for row, _ in enumerate(spots):
        amounts[4 + row, 0, len(recipes) + row] = 255
    grid = Grid(amounts.shape[2], 1, 1.0, 0.0, 1.0)
    looks = appearance(Plates(plates.inks, amounts, grid, looks=plates.looks), condition)[0]
    names = [*(words for words, _ in recipes), *spots]
    return tuple(
        Swatch(name, _hex(tuple(map(int, look)))) for name, look in zip(names, looks, strict=True)
    )


def _hex(colour: tuple[int, ...]) -> str:
    return "#" + "".join(f"{value:02x}" for value in colour)


def jpeg(pixels: ByteArray, grid: Grid, quality: int) -> Picture:
    """Return pixels, grey (rows, columns) or sRGB (rows, columns, 3), as a picture."""
    out = io.BytesIO()
    ppi = MM_PER_INCH / grid.pitch
    Image.fromarray(pixels).save(out, "JPEG", quality=quality, subsampling="4:4:4", dpi=(ppi, ppi))
    return Picture(out.getvalue(), grid)


def _png(drawn: InkMap) -> bytes:
    out = io.BytesIO()
    drawn.image().save(out, "PNG")
    return out.getvalue()
