"""Vignettes of marks: a field of dots, stars or dashes that grow smaller, fainter or fewer until
nothing is left, and so ends by itself.

What tells is how much the field differs from its bare ground at each distance from that: little at
first, then ever more, and by marks with ground between them. A field that was cut off, or a lone
motif, has most of its ink right where it ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray, Point
from prepcheck.measure.ridges import LookPlanes
from prepcheck.measure.sampling import sample
from prepcheck.outline import Outline
from prepcheck.press.view import ByteArray

BLOCKS_MM = (1.0, 2.0)
"""Sides of the squares in which ink is added up: wider than marks are apart, narrower than the
vignette."""
AROUND, TOGETHER = 8, 3
"""How many such squares all round a place are looked at, and how many in a row are looked at
together."""
PAST_MM, FURTHER_MM = 2.0, 5.5
"""How far outside the trim a vignette is followed: further out it may be cut off, and it is looked
there only for one that has not ended before."""
BARE, BARE_LEAST = 2, 3
"""Bare ground has so few neighbours with edges at the most, and so many squares at least."""
RINGS, RING_LEAST = 4, 3
"""Of so many distances from bare ground something must be known, by so many squares each."""
LEAST_LEVELS, BUSY = 4.0, 12.0
"""Levels of 255 by which the field differs from its ground at the most, at the least, and by which
the look changes in squares that hold edges."""
GENTLE = ((0, 0.3), (1, 0.5))
"""So many squares from the first, a field has at most this share of its most ink."""
STEADY = 0.35
"""Towards its most ink it nowhere falls by more than this share of it."""
FIELD, FIELD_LEAST = 0.8, 10
"""Such a share of the squares between little ink and most hold edges, and there are so many."""
MIDST = (0.15, 0.85)
STANDS_OUT = 0.5
"""What has more ink than others so far from the ground, by this share of the most, is no mark of
the field."""
AWAY, WIDELY, SOLID = 4, 16, 1.25
"""Nor is what has so many times the ink of any of the smallest squares that are from so many to so
many away from it."""
LARGEST = 4.0
"""No mark is longer than so many squares."""
SAMPLES = 8
"""Samples in each row and column of a square, of which its look is the mean."""
LINES, STEP = 25, 0.06
"""So many lines from the ground into the field are walked, by steps of such a share of a square."""
LONG = 1.5
"""What they meet is so many squares long at the most, the longer counting more: rays and stripes
that taper off are met all along."""
HALF = 0.5


class _Squares:
    """Squares with such a side, told of windows of rows and columns of them alone: a sheet has very
    many."""

    def __init__(
        self, looks: LookPlanes, outline: Outline, changes: ByteArray, pitch: float, side: float
    ) -> None:
        self._looks, self._outline, self._changes = looks, outline, changes
        self._by = max(1, round(side / pitch))
        self._pixels = self._by * round(pitch / looks.view.grid.pitch)
        self.side_mm = self._by * pitch

    def about(self, at: Sequence[int], reach: int) -> tuple[slice, slice]:
        """Return the window of so many squares all round one."""
        rows, columns = (
            slice(max(place - reach, 0), max(min(place + reach + 1, count // self._by), 0))
            for place, count in zip(at, self._changes.shape, strict=True)
        )
        return rows, columns

    def index(self, points: FloatArray) -> NDArray[np.intp]:
        """Return the rows and columns of the squares that places (n, 2) lie in."""
        grid = self._looks.view.grid
        at = np.stack((grid.top - points[:, 1], points[:, 0] - grid.left), axis=1)
        return np.floor(at / self.side_mm).astype(np.intp)

    def middle(self, row: FloatArray | int, column: FloatArray | int) -> FloatArray:
        """Return where the middles of squares lie (..., 2)."""
        grid = self._looks.view.grid
        x = grid.left + (np.asarray(column) + 0.5) * self.side_mm
        y = grid.top - (np.asarray(row) + 0.5) * self.side_mm
        return np.stack((x, y), axis=-1)

    def edges(self, rows: slice, columns: slice) -> FloatArray:
        """Return the greatest change in each square."""
        cells = self._changes[_times(rows, self._by), _times(columns, self._by)]
        high, wide = (count // self._by for count in cells.shape)
        held = cells.reshape(high, self._by, wide, self._by)
        return np.asarray(held.max(axis=(1, 3)), np.float64)

    def outside(self, rows: slice, columns: slice) -> FloatArray:
        """Return how far outside the trim each square lies, in mm."""
        return self._outside[rows, columns]

    @cached_property
    def _outside(self) -> FloatArray:
        high, wide = (count // self._by for count in self._changes.shape)
        return self._outline.signed_distance(
            self.middle(*np.mgrid[:high, :wide].astype(np.float64))
        )

    def looks(self, rows: slice, columns: slice) -> FloatArray:
        """Return the mean look of each square (rows, columns, planes), of samples in it."""
        count = min(SAMPLES, self._pixels)
        inside = np.linspace(0, self._pixels - 1, count).round().astype(np.intp)
        down, across = (
            (np.arange(part.start, part.stop)[:, None] * self._pixels + inside).ravel()
            for part in (rows, columns)
        )
        shape = len(down) // count, count, len(across) // count, count
        # Whole rows first: what lies together is taken together.
        sums = (
            plane[down][:, across].reshape(shape).sum(axis=3, dtype=np.uint32).sum(axis=1)
            for plane in self._looks.planes
        )
        return np.stack([*sums], axis=-1) / count**2


def _times(part: slice, by: int) -> slice:
    return slice(part.start * by, part.stop * by)


class Vignettes:
    """Says which marks belong to a vignette; `changes` is by how much the look changes at most in
    each cell, whose side is `pitch` mm."""

    def __init__(
        self, looks: LookPlanes, outline: Outline, changes: ByteArray, pitch: float
    ) -> None:
        self._looks = looks
        self._known: dict[tuple[float, int, int], _Field | None] = {}
        self._squares = {side: _Squares(looks, outline, changes, pitch, side) for side in BLOCKS_MM}

    def hold(self, place: Point, path: Sequence[Point]) -> bool:
        """Say whether an edge at a place, with others along a path, is of a vignette's mark."""
        points = np.array((place, *path), np.float64)
        size = float(np.ptp(points, axis=0).max())
        for side in BLOCKS_MM:
            if size <= LARGEST * side:
                field = self._field(side, place)
                if field is None or not field.holds(self._squares[side].index(points)):
                    continue
                if not self._is_solid(points, field):
                    return True
        return False

    def _is_solid(self, points: FloatArray, field: _Field) -> bool:
        """Say whether a thing along places (n, 2) has more ink in the smallest squares than marks
        of the field that it is in have, away from it."""
        fine = self._squares[BLOCKS_MM[0]]
        own = np.unique(fine.index(points), axis=0)
        rows, columns = fine.about(own[0].tolist(), WIDELY)
        ink = np.abs(fine.looks(rows, columns) - field.ground).max(axis=2)
        near, beside = np.zeros(ink.shape, np.bool_), np.zeros(ink.shape, np.bool_)
        for row, column in (own - (rows.start, columns.start)).tolist():
            for mask, reach in ((near, 1), (beside, AWAY)):
                low, left = max(row - reach, 0), max(column - reach, 0)
                mask[low : max(row + reach + 1, 0), left : max(column + reach + 1, 0)] = True
        others = ink[~beside & (fine.outside(rows, columns) <= PAST_MM)]
        if not near.any() or not len(others):
            return True
        return bool(ink[near].max() > SOLID * others.max() + LEAST_LEVELS)

    def _field(self, side: float, place: Point) -> _Field | None:
        own = self._squares[side].index(np.array([place]))[0]
        row, column = (own // TOGETHER * TOGETHER + TOGETHER // 2).tolist()
        key = (side, row, column)
        if key not in self._known:
            self._known[key] = self._found(self._squares[side], row, column)
        return self._known[key]

    def _found(self, squares: _Squares, row: int, column: int) -> _Field | None:
        rows, columns = squares.about((row, column), AROUND)
        if rows.start >= rows.stop or columns.start >= columns.stop:
            return None
        ground = _ground_of(squares.edges(rows, columns), squares.outside(rows, columns))
        if ground is None:
            return None
        looks = squares.looks(rows, columns)
        field = _field_of(looks, ground, (rows.start, columns.start))
        if field is None or not self._is_of_marks(field, squares, (row, column)):
            return None
        return field

    def _is_of_marks(self, field: _Field, squares: _Squares, at: tuple[int, int]) -> bool:
        """Say whether lines through a place into a field meet marks with ground between."""
        side, grid = squares.side_mm, self._looks.view.grid
        way = field.way
        across = np.array((-way[1], way[0]))
        middle = squares.middle(*at)
        along = np.arange(-AROUND / 2 * side, AROUND / 2 * side, STEP * side)
        beside = np.linspace(-2 * side, 2 * side, LINES)
        places = middle + beside[:, None, None] * across + along[:, None] * way
        apart = np.zeros(places.shape[:2])
        for plane, ground in zip(self._looks.planes, field.ground, strict=True):
            np.maximum(apart, np.abs(sample(plane, grid, places) - ground), out=apart)
        midst = field.in_midst(squares.index(places.reshape(-1, 2))).reshape(apart.shape)
        most = _greatest_near(np.where(midst, apart, 0.0), round(1 / STEP))
        runs = _runs((apart >= HALF * most) & (apart >= LEAST_LEVELS) & midst)
        return bool(len(runs) and (runs @ runs) / runs.sum() * STEP <= LONG)


def _runs(mask: NDArray[np.bool_]) -> FloatArray:
    """Return how long each run of set places along the rows of a mask (n, m) is."""
    room = np.pad(mask, ((0, 0), (1, 1))).ravel().astype(np.int8)
    ends = np.flatnonzero(np.diff(room))
    return np.asarray(ends[1::2] - ends[::2], np.float64)


class _Field(NamedTuple):
    """A vignette in a window of squares, the first of which is at `first` (row, column)."""

    first: tuple[int, int]
    ground: FloatArray
    way: FloatArray
    """Into the field, from its ground (2,)."""
    ink: FloatArray
    """By how much each square differs from the ground (rows, columns)."""
    most: FloatArray
    """How much a mark's square may (rows, columns)."""
    midst: NDArray[np.bool_]
    """Which squares have neither hardly any ink nor nearly the most (rows, columns)."""

    def in_midst(self, squares: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Say which squares (n, 2) are in the midst."""
        own = squares - self.first
        inside = ((own >= 0) & (own < self.ink.shape)).all(axis=1)
        found = np.zeros(len(own), np.bool_)
        found[inside] = self.midst[tuple(own[inside].T)]
        return found

    def holds(self, squares: NDArray[np.intp]) -> bool:
        """Say whether nothing in some squares (n, 2) stands out from the field."""
        own = squares - self.first
        inside = ((own >= 0) & (own < self.ink.shape)).all(axis=1)
        row, column = own[inside].T
        return bool((self.ink[row, column] <= self.most[row, column]).all())


class _Ground(NamedTuple):
    """Which squares (rows, columns) are followed, hold edges, and are bare ground."""

    followed: NDArray[np.bool_]
    busy: NDArray[np.bool_]
    bare: NDArray[np.bool_]


def _ground_of(edges: FloatArray, outside: FloatArray) -> _Ground | None:
    """Return the bare ground in a window of squares that hold edges besides."""
    for past in (PAST_MM, FURTHER_MM):
        followed = outside <= past
        busy = (edges >= BUSY) & followed
        bare = ~busy & followed & (_neighbours(busy) <= BARE)
        if np.count_nonzero(bare) >= BARE_LEAST:
            return _Ground(followed, busy, bare) if busy.any() else None
    return None


def _field_of(looks: FloatArray, told: _Ground, first: tuple[int, int]) -> _Field | None:
    """Return the vignette in a window of squares, if there is one."""
    followed, busy, bare = told
    ground = np.median(looks[bare], axis=0)
    ink = np.abs(looks - ground).max(axis=2)
    profile, far = _by_distance(ink, bare, followed)
    if len(profile) < RINGS:
        return None
    top, at = float(profile.max()), int(profile.argmax())
    if top < LEAST_LEVELS or any(profile[n] > share * top for n, share in GENTLE):
        return None
    if (np.diff(profile[: at + 1]) < -STEADY * top).any():
        return None
    low, high = MIDST
    midst = (far >= 1) & (ink >= low * top) & (ink <= high * top) & followed
    if np.count_nonzero(midst) < FIELD_LEAST or busy[midst].mean() < FIELD:
        return None
    rows, columns = np.nonzero((far > 0) & followed)
    weight = ink[rows, columns] - ink[rows, columns].mean()
    way = np.array((weight @ columns, -(weight @ rows)), np.float64)
    length = float(np.hypot(*way))
    if not length:
        return None
    usual = np.append(profile, profile[-1])[np.clip(far - 1, 0, len(profile))]
    most = np.where(far > 0, usual, 0.0) + STANDS_OUT * top
    return _Field(first, ground, way / length, ink, most, midst)


def _by_distance(
    ink: FloatArray, bare: NDArray[np.bool_], followed: NDArray[np.bool_]
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the mean ink (n,) of the squares 1, 2, ... from bare ground, and how far each is; none
    of a field that does not grow gently."""
    far, most = np.full(ink.shape, 0, np.intp), float(ink[followed].max(initial=0.0))
    reached, profile = bare, []
    for distance in range(1, 2 * AROUND):
        grown = reached | (_neighbours(reached) > 0)
        ring = grown & ~reached & followed
        if np.count_nonzero(ring) < RING_LEAST:
            break
        far[ring] = distance
        profile.append(float(ink[ring].mean()))
        # Most fields end where they have much ink, and need no looking further.
        if distance <= len(GENTLE) and profile[-1] > GENTLE[distance - 1][1] * most:
            return np.empty(0), far
        reached = grown
    return np.array(profile), far


def _neighbours(mask: NDArray[np.bool_]) -> NDArray[np.int8]:
    """Return how many of the eight neighbours of each square are set."""
    high, wide = mask.shape
    room = np.zeros((high + 2, wide + 2), np.int8)
    room[1:-1, 1:-1] = mask
    rows = room[:-2] + room[1:-1] + room[2:]
    return np.asarray(rows[:, :-2] + rows[:, 1:-1] + rows[:, 2:] - room[1:-1, 1:-1])


def _greatest_near(values: FloatArray, by: int) -> FloatArray:
    """Return values (n, m), each the greatest of those up to `by` places away along its row."""
    room = np.pad(values, ((0, 0), (by, by)))
    return np.asarray(
        np.lib.stride_tricks.sliding_window_view(room, 2 * by + 1, axis=1).max(axis=2)
    )
