"""Lays the earlier and the newer file of one part over each other: what a worker does."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import Artwork, Page
from prepcheck.art.open import open_art
from prepcheck.comparison import Change, PageChanges, Shift, TurnAndScale, WordChange
from prepcheck.errors import ArtworkError
from prepcheck.geometry import Affine, Box, Grid
from prepcheck.measure.alignment import UNTURNED, Alignment, fit_of
from prepcheck.measure.difference import ChangedPlace, PixelShift, changed_places, offset_of
from prepcheck.measure.likeness import BoolArray
from prepcheck.order import OrderPart
from prepcheck.outline import Outline
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import plates_or_screen, printed_view
from prepcheck.press.show.condition import PrintCondition, load_condition
from prepcheck.press.show.profiles import intended
from prepcheck.press.view import ByteArray
from prepcheck.proof.model import ComparedPage
from prepcheck.run.answer import without_numpy
from prepcheck.run.placing import faces_of, placed
from prepcheck.run.printing import jpeg, picture_of, shown_by
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.sheets.retyped import hardly_agree, words_changed
from prepcheck.spec.model import Spec

ALIGNED_MM = 0.3
"""Shifts up to this are taken out: what another export does to a page, and a press too."""
STILL_MM = 0.02
"""Shifts below this are none."""
ALIGNED_DEGREES, ALIGNED_SCALE = 0.2, 0.005
"""A turn and a change of size up to these are taken out too."""
TURNED_MM = 0.05
"""What is moved less than this where it is moved most is neither turned nor scaled."""
_ROUNDS = 2
"""How often a turn and a scale are taken out and what is left of them is measured."""
_BETTER = 0.7
"""Share of the changed area, or of its places, that may be left for a turn or scale to be true."""
_ANOTHER, _ANOTHER_TEXT = 0.4, 0.03
"""Share of a face that differs from which it is another record's: by looks alone, and where hardly
a word agrees either (from memory)."""
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
    page: Page
    to_piece: Affine
    box: Box
    ppi: float
    plates: Plates
    condition: PrintCondition

    @property
    def radius_mm(self) -> float:
        """The distance from the centre of the piece to its furthest point, bleed included."""
        return math.hypot(
            *(max(-low, high) for low, high in zip(self.box[:2], self.box[2:], strict=True))
        )

    def straightened(self, fit: Alignment) -> _Face:
        """Return the same drawn anew without a turn and a scale."""
        back = Affine.turn(-fit.turn).then(Affine.scale(1.0 / fit.scale))
        to_piece = self.to_piece.then(back)
        plates, _ = plates_or_screen(self.page, to_piece, self.box, self.ppi)
        return replace(self, to_piece=to_piece, plates=plates)


class _Laid(NamedTuple):
    """Two faces laid over each other: pictures as greys, where to look, and what changed."""

    before: ByteArray
    after: ByteArray
    inside: BoolArray
    names: list[str]
    shift: Shift | None
    places: list[ChangedPlace]

    @property
    def area_mm2(self) -> float:
        return sum(place.area_mm2 for place in self.places)


def compare_pair(task: PairTask) -> PairAnswer:
    """Return what changed on each page that both files have."""
    try:
        old, new = open_art(task.old), open_art(task.new)
    except ArtworkError as error:
        return PairAnswer((_unlike(1, f"a file cannot be examined ({error})"),))
    try:
        before = _chosen(old, task.old_spec, task.old_part)
        after = _chosen(new, task.new_spec, task.new_part)
    except ArtworkError as error:
        return PairAnswer((_unlike(1, f"a page cannot be compared ({error})"),))
    pages = []
    for (old_face, old_index), (new_face, new_index) in zip(before, after, strict=False):
        number = new_index + 1
        try:
            one = _face(old, old_index, old_face, task.old_spec, task.settings)
            other = _face(new, new_index, new_face, task.new_spec, task.settings)
            pages.append(_compared(one, other, task.new_spec, task.settings))
        except ArtworkError as error:
            pages.append(_unlike(number, f"a page cannot be drawn ({error})"))
    for _, left in before[len(after) :]:
        pages.append(_unlike(left + 1, "this page is no longer in the file"))
    for _, come in after[len(before) :]:
        pages.append(_unlike(come + 1, "this page was not in the earlier file"))
    return without_numpy(PairAnswer(tuple(pages)))


def _unlike(number: int, why: str) -> ComparedPage:
    return ComparedPage(PageChanges(number, 0, 0.0, (), (), unlike=why))


def _chosen(artwork: Artwork, spec: Spec, part: OrderPart | None) -> list[tuple[int, int]]:
    """Return the faces to look at, each with the index of its page."""
    number = None if part is None else part.page
    face = None if part is None or part.face is None else spec.page_index(part.face)
    return faces_of(artwork, spec, number, face)


def _face(artwork: Artwork, index: int, face: int, spec: Spec, settings: Settings) -> _Face:
    _, page, outline, placement = one = placed(artwork, spec, face, artwork.pages[index])
    box = one.looked_at(spec, settings)
    meant = intended(load_condition(spec.print_condition), artwork)
    # What the files hold is compared; colour that one of them has a profile for stays colour.
    ppi = settings.compare.ppi(box)
    plates, _ = plates_or_screen(page, placement.to_piece, box, ppi)
    return _Face(
        index + 1, face, outline, page, placement.to_piece, box, ppi, plates, meant.condition
    )


def _compared(one: _Face, other: _Face, spec: Spec, settings: Settings) -> ComparedPage:
    before = picture_of(one.plates, one.condition, settings)
    after = picture_of(other.plates, other.condition, settings)
    grid = other.plates.grid
    if one.plates.grid != grid:
        why = "the two are pieces of different size and cannot be laid over each other"
        changes = PageChanges(other.number, 0, 0.0, (), (), unlike=why)
        return ComparedPage(changes, other.index, before, after)
    laid, turned = _laid(one, other, spec), None
    if laid.places:
        laid, turned = _laid_straight(one, other, spec, laid)
    names, places = laid.names, laid.places
    kept = tuple(
        Change(place.box, place.area_mm2, tuple(dict.fromkeys(names[i] for i in place.plates)))
        for place in places[:MOST_CHANGES]
    )
    old_lines, new_lines = _lines(one), _lines(other)
    looked_mm2 = float(np.count_nonzero(laid.inside)) * grid.pitch**2
    share = laid.area_mm2 / looked_mm2 if looked_mm2 else 0.0
    foreign = hardly_agree(old_lines, new_lines)
    another = share >= (_ANOTHER if foreign is None else _ANOTHER_TEXT) and foreign is not False
    retyped = () if another else words_changed(old_lines, new_lines)
    changes = PageChanges(
        other.number,
        len(places),
        laid.area_mm2,
        tuple(dict.fromkeys(names[i] for i in sorted({i for p in places for i in p.plates}))),
        kept,
        laid.shift,
        turned,
        words=tuple(WordChange(*change) for change in retyped),
        another=another,
    )
    conditions = shown_by(one.condition), shown_by(other.condition)
    if not places:
        return ComparedPage(changes, other.index, before, after, shown_by=conditions)
    shown = _difference(grid, laid.before, laid.after, laid.inside, places)
    difference = jpeg(shown, grid, settings.jpeg_quality)
    return ComparedPage(changes, other.index, before, after, difference, conditions)


def _lines(face: _Face) -> list[str]:
    """Return the live type on a page, run by run."""
    return [run.text for run in face.page.content(face.to_piece).texts if run.paints]


def _laid(one: _Face, other: _Face, spec: Spec, fit: Alignment = UNTURNED) -> _Laid:
    """Lay two faces over each other, without the shift between them where that is small.

    The second has had the turn and scale of `fit` taken out.
    """
    grid = other.plates.grid
    moved = fit.reach_mm(other.radius_mm)
    # The edge of a ground that ends at the bleed need not move with what stands on it.
    core = _looked_at(other.outline, grid, -_RIM_MM)
    before, after = (printed_view(face.plates).lightness for face in (one, other))
    # What is turned or scaled about another point than the centre has shifted too.
    most = ALIGNED_MM + moved
    shift = _shift(offset_of(before, after, grid.pitch, core), grid.pitch, most)
    aligned = shift if shift is not None and shift.aligned else None
    # Nor does the page's edge, which a shift taken out would bring into sight.
    lost = moved + (0.0 if aligned is None else aligned.mm)
    reach = spec.bleed.wanted_mm - (lost + 2 * grid.pitch if lost else 0.0)
    inside = _looked_at(other.outline, grid, reach)
    names, old_plates, new_plates = _paired(one.plates, other.plates)
    offset = None
    if aligned is not None:
        offset = PixelShift(aligned.x_mm / grid.pitch, -aligned.y_mm / grid.pitch, sure=True)
    places = changed_places(old_plates, new_plates, inside, grid, offset)
    return _Laid(before, after, inside, names, shift, places)


def _laid_straight(
    one: _Face, other: _Face, spec: Spec, laid: _Laid
) -> tuple[_Laid, TurnAndScale | None]:
    """Return two faces that differ, laid over each other anew without a small turn or scale, and
    what was found of either."""
    core = _looked_at(other.outline, other.plates.grid, -_RIM_MM)
    fit = fit_of(laid.before, laid.after, other.plates.grid, core)
    if not fit.sure or fit.reach_mm(other.radius_mm) < TURNED_MM:
        return laid, None
    for _ in range(_ROUNDS):
        again = _laid(one, other.straightened(fit), spec, fit)
        fit = fit.then(fit_of(again.before, again.after, other.plates.grid, core))
        if not again.places:
            break
    left = min(again.area_mm2 / laid.area_mm2, len(again.places) / len(laid.places))
    if left > _BETTER or again.area_mm2 > laid.area_mm2:
        return laid, None
    if abs(fit.turn) > ALIGNED_DEGREES or abs(fit.scale - 1.0) > ALIGNED_SCALE:
        return laid, TurnAndScale(fit.turn, fit.scale, aligned=False)
    # Places are where they lie in the later print.
    back = Affine.turn(fit.turn).then(Affine.scale(fit.scale))
    places = [place._replace(box=back.box(place.box)) for place in again.places]
    return again._replace(places=places), TurnAndScale(fit.turn, fit.scale, aligned=True)


def _shift(offset: PixelShift, pitch: float, most_mm: float) -> Shift | None:
    shift = Shift(offset.columns * pitch, -offset.rows * pitch, aligned=False)
    if not offset.sure or shift.mm < STILL_MM:
        return None
    return Shift(shift.x_mm, shift.y_mm, aligned=shift.mm <= most_mm)


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
    grid: Grid, before: ByteArray, after: ByteArray, inside: BoolArray, places: list[ChangedPlace]
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
