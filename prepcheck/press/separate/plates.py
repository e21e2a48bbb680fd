"""From a page to ink plates: what each printing plate would carry, with overprint and blends."""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from functools import cached_property, partial
from operator import le
from typing import NamedTuple

import numpy as np
import pypdfium2 as pdfium
from numpy.typing import NDArray

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.limits import Demand
from prepcheck.art.model import PROCESS_INKS, UNGROUPED, Content, Grouped, Page
from prepcheck.art.pdf.content.mix import SEEN_RGB, Plateset
from prepcheck.art.pdf.content.paints import items_of
from prepcheck.art.pdf.content.record import Recording, Survey
from prepcheck.art.pdf.content.recorder import Recorder
from prepcheck.art.pdf.content.spots import SpotLook
from prepcheck.art.pdf.content.walk import recorder_of
from prepcheck.art.pdf.guard import reading
from prepcheck.art.pdf.objects import dictionary, name
from prepcheck.art.pdf.page import PdfHandle, PdfPage
from prepcheck.errors import ArtworkError, BudgetError, UnreadableError, said_by
from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box, Grid
from prepcheck.press.pdfium import ONE_AT_A_TIME, Painter
from prepcheck.press.separate.conversion import OutputProfile, ToInks, converted
from prepcheck.press.separate.copies import Copy, Exact
from prepcheck.press.separate.picture_copies import DecodedPicture, recoloured
from prepcheck.press.separate.plate_copies import MaskCopy, PlateCopy
from prepcheck.press.separate.raster import placed_plates, read_raster
from prepcheck.press.separate.sharing import PLATES_A_COPY, Reach, partition
from prepcheck.press.separate.writer import PdfWriter
from prepcheck.press.view import ByteArray, over_colours
from prepcheck.units import mm_per_px

MOST_EXACT_CLIPS = 200
"""Rectangular clips up to this many are cut between pixels; more would take too long."""

MOST_EXACT_PICTURES = 20
"""Pictures up to this many are cut between pixels. Many pictures are often strips of one, which
show seams when cut so."""

MOST_SAMPLES = 4_000_000
"""Samples of pictures up to which copies are made fine enough for close-ups at once."""

MANY_SHADINGS = 50
"""So many shadings are worth knowing the places of before they are painted."""

MOST_KEPT = 80 << 20
"""Bytes of copies that are kept for close-ups; larger ones are made again, to save memory."""

MOST_OPEN, MOST_OBJECTS = 10 << 20, 100_000
"""Bytes of copies whose pages stay open once they are painted; and objects, some 60 MB, where there
are no pictures, which the library keeps as it has painted them. To load 60,000 curves again took
0.14 s of 1.9 s (one busy core, 2026)."""


@dataclass(frozen=True, eq=False)
class Plates:
    """The plates of a page over a pixel grid in the piece's frame.

    `data` (inks, rows, columns) is the ink on each plate, 0 bare to 255 solid; `inks` names them:
    Cyan, Magenta, Yellow, Black, then the spots in the order in which they are met. `seen`
    (rows, columns, 3) is paint that has no ink amounts, as sRGB on white; None where there is
    none.
    """

    inks: tuple[str, ...]
    data: ByteArray
    grid: Grid
    seen: ByteArray | None = None
    troubles: tuple[str, ...] = ()
    """What was left out, one sentence each."""
    limits: tuple[str, ...] = ()
    """Where the plates may differ from the press, one sentence each."""

    looks: Mapping[str, SpotLook] = field(default_factory=dict)
    """The stand-in colours of spots, by name."""
    converted_by: str = ""
    """The output profile that turned RGB or Lab paint into process inks, in words; empty where
    there is no such paint, or no profile."""
    failed: str = ""
    """How prepcheck itself failed on them, so that these are none; empty where it did not."""
    on_screen: bool = False
    """Whether the inks could not be told apart, so that all of the page is in `seen`."""

    def plate(self, ink: str) -> ByteArray:
        """Return one plate (rows, columns); raises ValueError when there is none of the name."""
        found: ByteArray = self.data[self.inks.index(ink)]
        return found

    @cached_property
    def not_in_inks(self) -> ByteArray | None:
        """How strongly paint without ink amounts colours the sheet (rows, columns)."""
        return None if self.seen is None else 255 - over_colours(np.minimum, self.seen)

    @cached_property
    def greatest(self) -> ByteArray:
        """The greatest amount of any one ink, other paint included (rows, columns)."""
        most: ByteArray = self.data.max(axis=0)
        return most if self.not_in_inks is None else np.maximum(most, self.not_in_inks)

    def total(self) -> NDArray[np.uint16]:
        """Return the inks added up (rows, columns), 255 for one solid plate."""
        total = np.zeros(self.data.shape[1:], np.uint16)
        for plate in self.data:
            total += plate
        return total


def make_plates(
    page: Page, to_frame: Affine, box: Box, ppi: float, profile: OutputProfile | None = None
) -> Plates:
    """Return the plates of the part of a page in `box` (mm, in the frame `to_frame` leads to).

    Optional content is taken as printed, annotations are left out, outside the page is bare. An
    object that cannot be read is left out and named in `troubles`. Raises UnreadableError when
    nothing can be made of the page.
    """
    return separation(page, profile).plates(to_frame, [box], ppi)[0]


def separation(page: Page, profile: OutputProfile | None = None) -> Separation:
    """Return a page read for its plates; raises UnreadableError when it cannot be read.

    By an ICC output profile, paint without ink amounts is converted to process inks, and
    `Plates.converted_by` says so; without one it goes to `Plates.seen`. Raises UsageError for a
    profile that cannot be used.
    """
    to_inks = None if profile is None else ToInks(profile)
    if not isinstance(page, PdfPage):
        return _of_raster(page, to_inks)
    handle = page.document
    with reading(handle.path, handle.limits):
        recorder = _recorder(page, to_inks)
        return _PdfSeparation(page, recorder, page.recorded(recorder), _name(to_inks))


def followed(
    page: Page, to_frame: Affine, profile: OutputProfile | None = None
) -> tuple[Separation, Content | None]:
    """Return a page as `separation` does, and what it paints as `Page.content` does: followed
    once for both. The content is None where it cannot be had; `Page.content` says why."""
    to_inks = None if profile is None else ToInks(profile)
    if not isinstance(page, PdfPage):
        return _of_raster(page, to_inks), page.content(to_frame)
    handle = page.document
    with reading(handle.path, handle.limits):
        recorder, content = _recorder(page, to_inks), None
        try:
            with reading(handle.path, handle.limits):
                content, recording = page.followed(to_frame, recorder)
        except BudgetError:
            raise
        except ArtworkError:  # nothing can be placed; plates may be had still
            recorder = _recorder(page, to_inks)
            recording = page.recorded(recorder)
        found = None if content is None else content.grouped
        return _PdfSeparation(page, recorder, recording, _name(to_inks), found), content


def _recorder(page: PdfPage, to_inks: ToInks | None) -> Recorder:
    way = None if to_inks is None else partial(converted, to_inks=to_inks)
    return recorder_of(page.document.layers, page.document.limits, way)


def _name(to_inks: ToInks | None) -> str:
    return "" if to_inks is None else to_inks.name


def _of_raster(page: Page, to_inks: ToInks | None) -> Separation:
    decoded, was_converted = read_raster(page, to_inks)
    return _RasterSeparation(page, decoded, _name(to_inks) if was_converted else "")


class Separation(ABC):
    """A page that has been read once, from which plates are made as often as they are wanted."""

    @abstractmethod
    def prepare(self, to_frame: Affine, ppi: float, closest_ppi: float = 0.0) -> None:
        """Do what plates of this fineness need of the file; it is then left alone by `plates`.

        Where that takes little memory, enough is done for plates at `closest_ppi` as well. Raises
        UnreadableError as `plates` would.
        """

    @abstractmethod
    def plates(self, to_frame: Affine, boxes: Sequence[Box], ppi: float) -> list[Plates]:
        """Return plates for each box, as `make_plates`; many small boxes cost little more."""


@dataclass(frozen=True, eq=False)
class _RasterSeparation(Separation):
    page: Page
    decoded: DecodedPicture
    converted_by: str

    def prepare(self, to_frame: Affine, ppi: float, closest_ppi: float = 0.0) -> None:
        """All is at hand."""

    def plates(self, to_frame: Affine, boxes: Sequence[Box], ppi: float) -> list[Plates]:
        made = []
        for box in boxes:
            grid = Grid.over(box, mm_per_px(ppi))
            inks, data, seen = placed_plates(self.decoded, self.page, to_frame, grid)
            made.append(Plates(inks, data, grid, seen, converted_by=self.converted_by))
        return made


class _Copies(NamedTuple):
    """A PDF with a page for each group of plates; pictures are shrunk by the factors given."""

    shrinks: tuple[int, ...]
    groups: list[tuple[str, ...]]
    file: bytes
    plain: bool = False
    """As `_is_plain`."""
    pictured: bool = True
    """Whether pictures are painted, or forms, which may have some."""

    def does_for(self, reach: Reach) -> bool:
        """Say whether no picture is coarser than is wanted."""
        return all(map(le, self.shrinks, reach.shrinks))


@dataclass(eq=False)
class _PdfSeparation(Separation):
    page: PdfPage
    recorder: Recorder
    recording: Recording
    converted_by: str
    grouped: Grouped | None = None
    """What is painted apart; None where that is not known."""
    made: _Copies | None = None
    """The copies made last, unless they are large: most often they serve for close-ups as well."""
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _opened: _Opened | None = None

    def prepare(self, to_frame: Affine, ppi: float, closest_ppi: float = 0.0) -> None:
        with self._lock:
            self._hold_groups(to_frame, ppi)
            close = self._reach(to_frame, max(ppi, closest_ppi))
            cheap = close.samples <= MOST_SAMPLES
            self._ready(close if cheap else self._reach(to_frame, ppi))

    def _hold_groups(self, to_frame: Affine, ppi: float, share: float = 1.0) -> None:
        """Raise BudgetError where what is painted apart would take too much at this fineness, in
        so much of the page."""
        handle, pixel = self.page.document, mm_per_px(ppi) ** 2 / share
        copies = -(-len(self.recorder.survey.plates) // PLATES_A_COPY)
        with reading(handle.path, handle.limits):
            if self.grouped is None:
                self.grouped = self._found_apart(to_frame)
            handle.limits.hold(Demand.GROUPED, round(copies * self.grouped.painted_mm2 / pixel))
            handle.limits.hold(Demand.SHADED, round(copies * self.grouped.shaded_mm2 / pixel))
            handle.limits.hold(Demand.HELD, round(self.grouped.nested_mm2 / pixel))

    def _found_apart(self, to_frame: Affine) -> Grouped:
        """Return what is painted apart. Places are needed for it, which plates alone are not."""
        survey = self.recorder.survey
        if not survey.apart and survey.shaded < MANY_SHADINGS:
            return UNGROUPED
        try:
            return self.page.content(to_frame).grouped
        except BudgetError:
            raise
        except ArtworkError:
            return UNGROUPED

    def _reach(self, to_frame: Affine, ppi: float) -> Reach:
        from_user = self.page.to_page.then(to_frame)
        scale = max(from_user.x_scale, from_user.y_scale)
        return Reach.of(self.recording, scale / mm_per_px(ppi))

    def _ready(self, reach: Reach) -> _Copies:
        """Return copies as fine as that, or finer: those at hand, or new ones."""
        if self.made is None or not self.made.does_for(reach):
            self.made = None  # the old ones must not take memory beside the new
            self._close()
            handle = self.page.document
            with reading(handle.path, handle.limits):
                self.made = _copies(self.page, self.recorder, self.recording, reach)
        return self.made

    def plates(self, to_frame: Affine, boxes: Sequence[Box], ppi: float) -> list[Plates]:
        page = to_frame.box(self.page.boxes.media).area
        with self._lock:
            if self.grouped is None:  # else it was asked while the page was being read
                self._hold_groups(to_frame, ppi, min(1.0, sum(box.area for box in boxes) / page))
            copies = self._ready(self._reach(to_frame, ppi))
            if len(copies.file) > MOST_KEPT:
                self.made = None
        grids = [Grid.over(box, mm_per_px(ppi)) for box in boxes]
        named = self.converted_by if self.recorder.survey.converted else ""
        with ONE_AT_A_TIME:
            painters = self._painters(copies)
            return _painted(
                self.page, self.recorder.survey, named, copies, painters, to_frame, grids
            )

    def _painters(self, copies: _Copies) -> Iterator[Painter]:
        """Yield the page of each group of plates, ready to be painted.

        Pages that are painted once are closed at once, since they take much memory; small ones,
        and those that close-ups are painted from, stay open.
        """
        if self._opened is not None and self._opened.copies is copies:
            yield from self._opened.lasting(self.page)
            return
        self._close()
        opened = _Opened(copies)
        if self.made is copies:
            self._opened = opened
            if len(copies.file) <= MOST_OPEN or opened.are_light(self.page):
                yield from opened.lasting(self.page)
                return
        yield from opened.passing(self.page)

    def _close(self) -> None:
        with ONE_AT_A_TIME:
            if self._opened is not None:
                self._opened.close()
                self._opened = None

    def __del__(self) -> None:
        # The library's own way would not wait until no other thread paints.
        if self._opened is not None:
            ONE_AT_A_TIME.leave(self._opened.close)


@dataclass(eq=False)
class _Opened:
    """Copies as PDFium has them loaded."""

    copies: _Copies
    _document: pdfium.PdfDocument | None = None
    _painters: list[Painter] = field(default_factory=list)

    def passing(self, page: PdfPage) -> Iterator[Painter]:
        """Yield each page, open until the next is asked for."""
        try:
            for number in range(len(self.copies.groups)):
                painter = self._loaded(page, number)[number]
                yield painter
                painter.page.close()
        finally:
            self.close()

    def lasting(self, page: PdfPage) -> list[Painter]:
        """Return all pages, which stay open."""
        return self._loaded(page, len(self.copies.groups) - 1)

    def are_light(self, page: PdfPage) -> bool:
        """Say whether the pages together have so few objects, and no pictures, that they take
        little memory."""
        if self.copies.pictured or not self.copies.groups:
            return False
        return len(self.copies.groups) * self._loaded(page, 0)[0].count <= MOST_OBJECTS

    def _loaded(self, page: PdfPage, last: int) -> list[Painter]:
        """Return the pages up to a number, loaded."""
        if self._document is None and last >= 0:
            self._document = pdfium.PdfDocument(self.copies.file)
        if self._document is not None:
            for index in range(len(self._painters), last + 1):
                self._painters.append(_open(self._document, index, page, self.copies.plain))
        return self._painters

    def close(self) -> None:
        for painter in self._painters:
            painter.page.close()
        self._painters = []
        if self._document is not None:
            self._document.close()
            self._document = None


def _painted(
    page: PdfPage,
    survey: Survey,
    named: str,
    copies: _Copies,
    painters: Iterator[Painter],
    to_frame: Affine,
    grids: Sequence[Grid],
) -> list[Plates]:
    """Return plates over several grids of one pitch, all painted from the same copies."""
    inks = (*PROCESS_INKS, *survey.spots)
    seen = SEEN_RGB[0] in survey.plates
    data = [np.zeros((len(inks), grid.height, grid.width), np.uint8) for grid in grids]
    colours = [
        np.full((grid.height, grid.width, 3), 255, np.uint8) if seen else None for grid in grids
    ]
    from_user = page.to_page.then(to_frame)
    # Memory that nobody has used takes longer to be had than a jacket to be painted white.
    room = np.empty(max((3 * grid.height * grid.width for grid in grids), default=0), np.uint8)
    for group, painter in zip(copies.groups, painters, strict=True):
        for grid, plates, colour in zip(grids, data, colours, strict=True):
            channels = painter.paint(from_user, grid, room)
            for channel, plate in enumerate(group):
                if plate not in SEEN_RGB:
                    np.subtract(255, channels[:, :, channel], out=plates[inks.index(plate)])
                elif colour is not None:
                    colour[:, :, SEEN_RGB.index(plate)] = channels[:, :, channel]
    troubles, limits = (tuple(dict.fromkeys(said)) for said in (survey.troubles, survey.limits))
    return [
        Plates(inks, plates, grid, colour, troubles, limits, survey.looks, named)
        for grid, plates, colour in zip(grids, data, colours, strict=True)
    ]


def _ordered(sets: set[Plateset]) -> list[Plateset]:
    return sorted(sets, key=lambda one: (sorted(one.names), one.inverted))


def _open(document: pdfium.PdfDocument, index: int, page: PdfPage, plain: bool) -> Painter:
    try:
        return Painter.open(document, index, plain)
    except pdfium.PdfiumError as error:
        raise UnreadableError(
            f"{page.document.path.name}: page {page.index + 1} cannot be drawn ({said_by(error)}); "
            "export it again"
        ) from error


def _copies(page: PdfPage, recorder: Recorder, recording: Recording, reach: Reach) -> _Copies:
    """Return a PDF with one page for each group of plates."""
    handle, survey = page.document, recorder.survey
    used = [ink for ink in (*PROCESS_INKS, *survey.spots) if ink in survey.plates or survey.every]
    seen = SEEN_RGB if SEEN_RGB[0] in survey.plates else ()
    groups = partition((*used, *seen), _ordered(survey.sets))
    handle.limits.hold(Demand.SPOTS, len(survey.spots))
    if not groups:
        return _Copies(reach.shrinks, groups, b"")
    writer = PdfWriter(handle.reader)
    exact = Exact(survey.clips <= MOST_EXACT_CLIPS, survey.pictures <= MOST_EXACT_PICTURES)
    masks = MaskCopy(writer, exact, recorder.trouble, handle.limits)
    copies = [PlateCopy(group, writer, exact, recorder.trouble, handle.limits) for group in groups]
    for one in copies:
        one.masks = masks
    _recolour(reach, copies, masks, writer, recorder, handle)
    media = page.to_page.inverse().box(page.boxes.media)
    for one in copies:
        one.page(recording, media)
    made = writer.bytes()
    handle.reader.let_go()
    return _Copies(reach.shrinks, groups, made, _is_plain(recording), bool(recording.drawn))


def _is_plain(recording: Recording) -> bool:
    """Say whether a page paints with nothing but colours, and no letters that bring their own."""
    fonts = items_of(dictionary(recording.resources, "Font"))
    drawn = any(name(font, "Subtype") == "Type3" for font in fonts)
    return not (recording.patterns or recording.glyph_fonts or drawn)


def _recolour(
    reach: Reach,
    copies: list[PlateCopy],
    masks: MaskCopy,
    writer: PdfWriter,
    recorder: Recorder,
    handle: PdfHandle,
) -> None:
    """Make every picture for every copy, one decoded at a time."""
    for key, picture in {**reach.pictures, **reach.masked}.items():
        wanted: list[Copy] = [*copies] if key in reach.pictures else []
        if key in reach.masked:
            wanted.append(masks)
        shrink = reach.shrink(picture)
        try:
            made = recoloured(
                picture,
                [one.plane for one in wanted],
                shrink,
                writer,
                recorder.limits,
                handle.ahead,
            )
        except Exception as fault:
            if not may_be_stepped_over(fault):
                raise
            recorder.trouble(
                f"the picture {picture.name} was left out of the plates ({said_by(fault, 80)})"
            )
            continue
        handle.reader.let_go()
        for one, reference in zip(wanted, made, strict=True):
            one.pictures[key] = reference
