"""What checks of ink ask of the plates of a sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import wraps
from itertools import chain, pairwise
from typing import Concatenate, NamedTuple, ParamSpec

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import PROCESS_INKS, Paint, TypeTable
from prepcheck.findings import Mark
from prepcheck.geometry import Box, FloatArray, Grid
from prepcheck.measure.ink import FULL, Float, Mask, Region, amounts_at, amounts_on
from prepcheck.measure.sampling import median
from prepcheck.press.render import render_rgb
from prepcheck.press.view import ByteArray
from prepcheck.said import Clear, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import beside, in_batches, medians
from prepcheck.units import MM_PER_INCH
from prepcheck.words import listed

P = ParamSpec("P")
Indices = NDArray[np.intp]

NOTICED = 0.05
"""Amount of an ink from which it is counted among those something is built of."""
_FOUR_LEAST = 0.1
_FOUR_BLACK = 0.5
_DARK = 0.25
_MOST_PIXELS = 200
"""Pixels looked at along each side of a place; larger places are looked at more thinly."""
_PIXELS_AT_ONCE, _OF_ONE = 50_000, 100
"""Pixels of many places that are looked at together, and what each place counts beside its own."""


def printed(exam: Exam, sheet: Sheet) -> Mask:
    """Return the cells within the trim and the bleed."""
    return sheet.cells.within(exam.spec.bleed.wanted_mm)


def untold(exam: Exam) -> str:
    """Return of which pages the inks could not be told apart; empty where they all could."""
    pages = [sheet.number for sheet in exam.sheets if sheet.plates.on_screen]
    if not pages:
        return ""
    if len(exam.sheets) == 1:
        return "the inks could not be told apart"
    noun = "page" if len(pages) == 1 else "pages"
    return f"the inks of {noun} {listed(list(map(str, pages)))} could not be told apart"


def of_known_inks(
    examine: Callable[Concatenate[Exam, P], Iterator[Said]],
) -> Callable[Concatenate[Exam, P], Iterator[Said]]:
    """Have a check of inks call nothing clear where the inks of a page could not be told apart."""

    @wraps(examine)
    def examined(exam: Exam, /, *args: P.args, **kwargs: P.kwargs) -> Iterator[Said]:
        why = untold(exam)
        for item in examine(exam, *args, **kwargs):
            if why and isinstance(item, Clear):
                yield NotApplicable(item.check, why, untold=True)
            else:
                yield item

    return examined


def nothing_in_inks(
    check: str, exam: Exam, what: str = "nothing is painted in inks"
) -> NotApplicable:
    """Return that there is no ink to judge, or that it could not be told."""
    why = untold(exam)
    return NotApplicable(check, why or f"{what}{unknown(exam)}", untold=bool(why))


def unknown(exam: Exam) -> str:
    """Return what is to be added of paint without ink amounts; empty where there is none."""
    read = [sheet for sheet in exam.sheets if not sheet.plates.on_screen]
    area = sum(sheet.cells.not_in_inks(exam.spec.bleed.wanted_mm) for sheet in read)
    said = f"; of {area:,.0f} mm² painted in RGB or Lab no ink is known" if area else ""
    for profile in dict.fromkeys(sheet.plates.converted_by for sheet in exam.sheets):
        if profile:
            said += f"; RGB and Lab are counted as the inks that {profile} turns them into"
    return said


def has_ink(exam: Exam) -> bool:
    """Say whether any plate carries anything within the trim and the bleed."""
    return any(bool((s.cells.total > 0).any(where=printed(exam, s))) for s in exam.sheets)


def places(regions: Iterable[Region], unit: str = "mm²") -> list[Mark]:
    """Return the places of regions with their areas, the largest ranked worst."""
    return [Mark(r.box, f"{r.area:,.0f} {unit}", value=r.area, rank=-r.area) for r in regions]


def built_of(paint: Paint, least: float = NOTICED) -> tuple[str, ...]:
    """Return the inks that a paint gives at least `least` (0..1)."""
    return tuple(name for name, amount in paint.inks if amount >= least)


def black_only(paint: Paint) -> bool:
    """Say whether a paint is solid black and no other ink."""
    amounts = dict(paint.inks)
    return amounts.pop("Black", 0.0) >= 0.95 and not any(amounts.values())


def four_ink_black(paint: Paint) -> bool:
    """Say whether a paint is a black mixed of all four process inks."""
    amounts = dict(paint.inks)
    return (
        amounts.get("Black", 0.0) >= _FOUR_BLACK
        and all(amounts.get(ink, 0.0) >= _FOUR_LEAST for ink in PROCESS_INKS[:3])
        and paint.lightness <= _DARK
    )


def ground_inks(sheet: Sheet, probes: FloatArray) -> dict[str, float]:
    """Return the median of each ink in percent at places (n, 2) in mm; empty off the plates."""
    amounts = amounts_at(sheet.plates, probes)
    if not len(amounts):
        return {}
    return dict(zip(sheet.plates.inks, map(median, amounts.T), strict=True))


def grounds_of(sheet: Sheet, runs: TypeTable) -> FloatArray:
    """Return for n runs of type the median of each ink in percent just above and below the glyphs
    of each (n, inks), as `ground_inks` has it; nought off the plates."""
    some = [_grounds_of(sheet, some) for some in in_batches(runs)]
    return np.concatenate([np.empty((0, len(sheet.plates.inks))), *some])


def _grounds_of(sheet: Sheet, runs: TypeTable) -> FloatArray:
    places = beside(runs.glyphs.corners)
    amounts, inside = amounts_on(sheet.plates, places.reshape(-1, 2))
    own = np.repeat(runs.glyphs.owners, places.shape[1])[inside]
    middle = np.stack([medians(column, own, len(runs)) for column in amounts.T], axis=1)
    return np.nan_to_num(middle, copy=False)


class Patch(NamedTuple):
    """The pixels of a place: inks in percent (pixels, inks) and where they lie (pixels, 2)."""

    inks: Float
    where: FloatArray

    @property
    def total(self) -> Float:
        total: Float = self.inks.sum(axis=1)
        return total

    def joined(self, other: Patch) -> Patch:
        """Return the pixels of both."""
        return Patch(
            np.concatenate((self.inks, other.inks)), np.concatenate((self.where, other.where))
        )


def patch(sheet: Sheet, boxes: Iterable[Box]) -> Patch:
    """Return the pixels of the plates whose centres lie in any of the boxes."""
    one = patches(sheet, [[*boxes]])
    return Patch(one.inks, one.where)


class Patches(NamedTuple):
    """The pixels of many places, end to end: inks in percent (pixels, inks), their number on the
    plates' grid, row after row, and the place that each is of (pixels,), rising."""

    inks: Float
    at: Indices
    owner: Indices
    grid: Grid

    @property
    def row(self) -> Indices:
        row: Indices = self.at // self.grid.width
        return row

    @property
    def column(self) -> Indices:
        return self.at - self.row * self.grid.width

    @property
    def where(self) -> FloatArray:
        """Where the pixels lie in mm (pixels, 2)."""
        pixels: FloatArray = np.stack((self.column, self.row), axis=-1) + np.float64(0.5)
        return self.grid.places(pixels)


def patches(
    sheet: Sheet, each: Sequence[Sequence[Box]], plates: Sequence[int] | None = None
) -> Patches:
    """Return the pixels of the plates whose centres lie in the boxes of each of many places; with
    `plates` (indices) the inks of these alone."""
    grid, data = sheet.plates.grid, sheet.plates.data
    windows = _Windows.of(grid, np.array([*chain.from_iterable(each)], np.float64))
    at, box = windows.pixels(grid.width)
    owner = np.repeat(np.arange(len(each)), [len(boxes) for boxes in each])[box]
    chosen = data if plates is None else [data[plate] for plate in plates]
    inks = np.empty((len(chosen), len(at)), np.float32)
    for plate, out in zip(chosen, inks, strict=True):
        np.multiply(plate.reshape(-1).take(at), np.float32(100 / FULL), out=out)
    return Patches(inks.T, at, owner, grid)


def portions(sheet: Sheet, each: Sequence[Sequence[Box]]) -> list[slice]:
    """Return which of many places are looked at together: of many pixels arrays take much
    memory."""
    windows = _Windows.of(sheet.plates.grid, np.array([*chain.from_iterable(each)], np.float64))
    owner = np.repeat(np.arange(len(each)), [len(boxes) for boxes in each])
    pixels = np.bincount(owner, windows.columns * windows.rows, len(each)) + _OF_ONE
    share = (np.cumsum(pixels) // _PIXELS_AT_ONCE).astype(np.intp)
    starts = np.flatnonzero(np.diff(share, prepend=-1)).tolist()
    return [slice(*pair) for pair in pairwise([*starts, len(each)])]


class _Windows(NamedTuple):
    """The pixels under n boxes, large ones thinly, an array (n,) each: the first column and row,
    every how many of them count, and how many that are."""

    left: Indices
    top: Indices
    stride: Indices
    step: Indices
    columns: Indices
    rows: Indices

    @classmethod
    def of(cls, grid: Grid, boxes: FloatArray) -> _Windows:
        x0, y0, x1, y1 = boxes.reshape(-1, 4).T
        pitch = grid.pitch
        left, across = _window((x0 - grid.left) / pitch, (x1 - grid.left) / pitch, grid.width)
        top, down = _window((grid.top - y1) / pitch, (grid.top - y0) / pitch, grid.height)
        stride, step = np.maximum(1, across // _MOST_PIXELS), np.maximum(1, down // _MOST_PIXELS)
        return cls(left, top, stride, step, -(-across // stride), -(-down // step))

    def pixels(self, width: int) -> tuple[Indices, Indices]:
        """Return the number of each pixel on a grid so wide, row after row, and the box that it is
        under."""
        line = np.repeat(np.arange(len(self.rows)), self.rows)
        down = np.arange(len(line)) - np.repeat(np.cumsum(self.rows) - self.rows, self.rows)
        start = (self.top[line] + down * self.step[line]) * width + self.left[line]
        count, stride = self.columns[line], self.stride[line]
        begin = np.cumsum(count) - count
        pixel = np.arange(int(count.sum()))
        if (stride == 1).all():
            at = np.repeat(start - begin, count)
            at += pixel
        else:
            at = (pixel - np.repeat(begin, count)) * np.repeat(stride, count)
            at += np.repeat(start, count)
        return at, np.repeat(line, count)


def _window(low: FloatArray, high: FloatArray, size: int) -> tuple[Indices, Indices]:
    """Return the first pixel and the number of pixels that reach from `low` to `high`, cut to
    the grid, as `Grid.window` has it."""
    first = np.clip(np.floor(low), 0, size).astype(np.intp)
    last = np.clip(np.ceil(high), first, size).astype(np.intp)
    return first, last - first


class Screen(NamedTuple):
    """How a part of a sheet looks on screen, where nothing overprints."""

    rgb: ByteArray
    grid: Grid

    @classmethod
    def of(cls, sheet: Sheet, box: Box) -> Screen:
        """Draw a box with the resolution of the plates. Raises UnreadableError."""
        ppi = MM_PER_INCH / sheet.plates.grid.pitch
        near = box.overlap(sheet.plates.grid.box) or box
        return cls(*render_rgb(sheet.page, sheet.placement.to_piece, near, ppi))

    def at(self, places: FloatArray) -> NDArray[np.int16]:
        """Return the colours at places (n, 2) in mm as (n, 3); the nearest off the picture."""
        columns, rows = np.floor(self.grid.pixels(places)).T
        return self._colours(rows, columns)

    def under(self, found: Patches) -> NDArray[np.int16]:
        """Return the colours at the pixels of many places as (pixels, 3)."""
        # Each row and column of the plates is looked up once.
        x, y = found.grid.centres()
        columns = np.floor((x - self.grid.left) / self.grid.pitch)
        rows = np.floor((self.grid.top - y) / self.grid.pitch)
        return self._colours(rows[found.row], columns[found.column])

    def _colours(self, rows: FloatArray, columns: FloatArray) -> NDArray[np.int16]:
        high, wide = self.grid.height, self.grid.width
        at = rows.clip(0, high - 1).astype(np.intp) * wide + columns.clip(0, wide - 1).astype(
            np.intp
        )
        found: NDArray[np.int16] = self.rgb.reshape(-1, 3).take(at, axis=0).astype(np.int16)
        return found


def ring(box: Box, width_mm: float) -> tuple[Box, Box, Box, Box]:
    """Return the four boxes that frame a box."""
    outer = box.grown(width_mm)
    return (
        Box(outer.x0, outer.y0, outer.x1, box.y0),
        Box(outer.x0, box.y1, outer.x1, outer.y1),
        Box(outer.x0, box.y0, box.x0, box.y1),
        Box(box.x1, box.y0, outer.x1, box.y1),
    )
