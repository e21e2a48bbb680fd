"""Lays the earlier and the newer file of one part over each other: what a worker does."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from prepcheck.art.model import Artwork
from prepcheck.art.open import open_art
from prepcheck.comparison import Change, PageChanges, Shift
from prepcheck.errors import ArtworkError
from prepcheck.geometry import Grid
from prepcheck.measure.difference import Offset, Place, changed_places, offset_of
from prepcheck.measure.likeness import BoolArray
from prepcheck.measure.trim import locate_trim
from prepcheck.order import OrderPart
from prepcheck.outline import Outline
from prepcheck.press.condition import PrintCondition, load_condition
from prepcheck.press.output import intended
from prepcheck.press.plates import Plates
from prepcheck.press.printed import plates_or_screen, printed_view
from prepcheck.press.view import ByteArray
from prepcheck.proof.model import ComparedPage
from prepcheck.run.answer import without_numpy
from prepcheck.run.printing import jpeg, picture_of, shown_by
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.spec.model import Spec

ALIGNED_MM = 0.3
"""Shifts up to this are taken out: what another export does to a page, and a press too."""
STILL_MM = 0.02
"""Shifts below this are none."""
_RIM_MM = 1.0
MOST_CHANGES = 60
"""Places kept of one page, the largest first."""
COLOURS = "colours that are no inks"
# Inks ZONE and FOLD of the proof's palette.
_GONE = (13, 115, 119)
_COME = (107, 63, 134)
_FADE = 0.28
"""How much of the newer print shows under the difference."""


@dataclass(frozen=True)
class PairTask:
    """One part's earlier and newer file, with what each was taken for."""

    old: Path
    new: Path
    old_spec: Spec
    new_spec: Spec
    old_part: OrderPart | None = None
    new_part: OrderPart | None = None
    settings: Settings = DEFAULT


@dataclass(frozen=True)
class PairAnswer:
    """What changed, page by page, with the pictures."""

    pages: tuple[ComparedPage, ...]


@dataclass(frozen=True, eq=False)
class _Face:
    number: int
    index: int
    outline: Outline
    plates: Plates
    condition: PrintCondition


def compare_pair(task: PairTask) -> PairAnswer:
    """Return what changed on each page that both files have."""
    try:
        old, new = open_art(task.old), open_art(task.new)
    except ArtworkError as error:
        return PairAnswer((_unlike(1, f"a file cannot be examined ({error})"),))
    before = _chosen(old, task.old_spec, task.old_part)
    after = _chosen(new, task.new_spec, task.new_part)
    pages = []
    for (old_index, old_face), (new_index, new_face) in zip(before, after, strict=False):
        number = new_index + 1
        try:
            one = _face(old, old_index, old_face, task.old_spec, task.settings)
            other = _face(new, new_index, new_face, task.new_spec, task.settings)
        except ArtworkError as error:
            pages.append(_unlike(number, f"a page cannot be drawn ({error})"))
            continue
        pages.append(_compared(one, other, task.new_spec, task.settings))
    for left, _ in before[len(after) :]:
        pages.append(_unlike(left + 1, "this page is no longer in the file"))
    for come, _ in after[len(before) :]:
        pages.append(_unlike(come + 1, "this page was not in the earlier file"))
    return without_numpy(PairAnswer(tuple(pages)))


def _unlike(number: int, why: str) -> ComparedPage:
    return ComparedPage(PageChanges(number, 0, 0.0, (), (), unlike=why))


def _chosen(artwork: Artwork, spec: Spec, part: OrderPart | None) -> list[tuple[int, int]]:
    """Return the pages to look at, each with its index among the spec's pages."""
    number = None if part is None else part.page
    face = None if part is None or part.face is None else spec.page_index(part.face)
    if face is not None:
        return [((number or 1) - 1, face)]
    if number is not None:
        return [(number - 1, number - 1 if number <= len(spec.pages) else 0)]
    return [(index, index) for index in range(min(len(artwork.pages), len(spec.pages)))]


def _face(artwork: Artwork, index: int, face: int, spec: Spec, settings: Settings) -> _Face:
    page, outline = artwork.pages[index], spec.outline_of(face)
    known = artwork.raster is None or artwork.raster.ppi is not None
    placement = locate_trim(
        page, outline, spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm, known,
        artwork.document.layers,
    )  # fmt: skip
    box = outline.bounds.grown(spec.bleed.wanted_mm + settings.margin_mm)
    meant = intended(load_condition(spec.print_condition), artwork)
    # What the files hold is compared; colour that one of them has a profile for stays colour.
    plates, _ = plates_or_screen(page, placement.to_piece, box, settings.compare.ppi(box))
    return _Face(index + 1, face, outline, plates, meant.condition)


def _compared(one: _Face, other: _Face, spec: Spec, settings: Settings) -> ComparedPage:
    before = picture_of(one.plates, one.condition, settings)
    after = picture_of(other.plates, other.condition, settings)
    grid = other.plates.grid
    if one.plates.grid != grid:
        why = "the two are pieces of different size and cannot be laid over each other"
        changes = PageChanges(other.number, 0, 0.0, (), (), unlike=why)
        return ComparedPage(changes, other.index, before, after)
    # The edge of a ground that ends at the bleed need not move with what stands on it.
    core = _looked_at(other.outline, grid, -_RIM_MM)
    light_before = printed_view(one.plates).lightness
    light_after = printed_view(other.plates).lightness
    shift = _shift(offset_of(light_before, light_after, grid.pitch, core), grid.pitch)
    aligned = shift if shift is not None and shift.aligned else None
    # Nor does the page's edge, which a shift taken out would bring into sight.
    lost = 0.0 if aligned is None else aligned.mm + 2 * grid.pitch
    inside = _looked_at(other.outline, grid, spec.bleed.wanted_mm - lost)
    names, old_plates, new_plates = _paired(one.plates, other.plates)
    offset = None
    if aligned is not None:
        offset = Offset(aligned.x_mm / grid.pitch, -aligned.y_mm / grid.pitch, sure=True)
    places = changed_places(old_plates, new_plates, inside, grid, offset)
    kept = tuple(
        Change(place.box, place.area_mm2, tuple(dict.fromkeys(names[i] for i in place.plates)))
        for place in places[:MOST_CHANGES]
    )
    changes = PageChanges(
        other.number,
        len(places),
        sum(place.area_mm2 for place in places),
        tuple(dict.fromkeys(names[i] for i in sorted({i for p in places for i in p.plates}))),
        kept,
        shift,
    )
    conditions = shown_by(one.condition), shown_by(other.condition)
    if not places:
        return ComparedPage(changes, other.index, before, after, shown_by=conditions)
    shown = _difference(grid, light_before, light_after, inside, places)
    difference = jpeg(shown, grid, settings.jpeg_quality)
    return ComparedPage(changes, other.index, before, after, difference, conditions)


def _shift(offset: Offset, pitch: float) -> Shift | None:
    shift = Shift(offset.columns * pitch, -offset.rows * pitch, aligned=False)
    if not offset.sure or shift.mm < STILL_MM:
        return None
    return Shift(shift.x_mm, shift.y_mm, aligned=shift.mm <= ALIGNED_MM)


def _paired(one: Plates, other: Plates) -> tuple[list[str], list[ByteArray], list[ByteArray]]:
    """Return the plates that either has, in both, bare where lacking; at last what is no ink."""
    inks = tuple(dict.fromkeys((*other.inks, *one.inks)))
    bare = np.zeros(other.data.shape[1:], np.uint8)

    def plate(plates: Plates, ink: str) -> ByteArray:
        return plates.plate(ink) if ink in plates.inks else bare

    names = list(inks)
    before, after = ([plate(plates, ink) for ink in inks] for plates in (one, other))
    if one.seen is not None or other.seen is not None:
        for channel in range(3):
            names.append(COLOURS)
            for plates, found in ((one, before), (other, after)):
                seen = plates.seen
                found.append(bare if seen is None else 255 - seen[:, :, channel])
    return names, before, after


def _looked_at(outline: Outline, grid: Grid, reach_mm: float) -> BoolArray:
    """Return the pixels up to `reach_mm` past the trim, without the hole."""
    x, y = grid.centres()
    rows = []
    for level in y:  # row by row, so that a large page needs no array of places
        points = np.column_stack((x, np.full_like(x, level)))
        inside = outline.signed_distance(points) <= reach_mm
        hole = outline.hole_distance(points)
        rows.append(inside if hole is None else inside & (hole > 0))
    found: BoolArray = np.stack(rows)
    return found


def _difference(
    grid: Grid, before: ByteArray, after: ByteArray, inside: BoolArray, places: list[Place]
) -> ByteArray:
    """Return the newer print faded, in it what has gone and what has come in two colours."""
    light = 255 - (255 - after.astype(np.float32)) * _FADE
    shown = np.repeat(light[:, :, None], 3, axis=2)
    change = (after.astype(np.int16) - before.astype(np.int16)) * inside
    for place in places:
        rows, columns = grid.window(place.box)
        local, piece = change[rows, columns], shown[rows, columns]
        for mask, colour in ((local > 12, _GONE), (local < -12, _COME)):
            piece[mask] = colour
    done: ByteArray = np.clip(shown, 0, 255).astype(np.uint8)
    return done
