"""By how much one print of a piece is turned and scaled against another."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import NamedTuple

import numpy as np

from prepcheck.geometry import FloatArray, Grid
from prepcheck.measure.difference import FloatPlane, offset_of, refined, softened
from prepcheck.measure.likeness import BoolArray
from prepcheck.press.view import ByteArray

PATCHES = 5
"""Patches in a row and in a column, each of which is looked at for its own shift."""
LEAST_INSIDE = 0.5
"""Share of a patch that must lie on the piece."""
LEAST_DRAWN = 6.0
"""Standard deviation, of 255, from which a patch has something to go by."""
LEAST_PATCHES = 5
LEAST_AGREEING = 0.33
"""Share of the patches that must agree on one turn and scale; the others really changed, or show
too little in one direction."""
AGREE_PX, AGREE_SHARE = 0.15, 0.12
"""How far a patch's shift may lie from the fitted one: pixels, and share of the shift itself."""
MOST_STEP_PX = 1.5
"""How far a patch's shift may lie from the whole pixels it was first taken for."""


class Alignment(NamedTuple):
    """How the later print lies on the earlier one: turned by `turn` degrees anticlockwise and
    scaled about the origin of the grid's frame. `sure` where the patches agree."""

    turn: float
    scale: float
    sure: bool

    def then(self, rest: Alignment) -> Alignment:
        """Return the fit of what was left when this one had been taken out."""
        if not rest.sure:
            return self
        return Alignment(self.turn + rest.turn, self.scale * rest.scale, self.sure)

    def reach_mm(self, radius_mm: float) -> float:
        """Return how far a point so far from the origin is moved."""
        return float(np.hypot(np.radians(self.turn), self.scale - 1.0)) * radius_mm


UNTURNED = Alignment(0.0, 1.0, sure=False)


def fit_of(before: ByteArray, after: ByteArray, grid: Grid, within: BoolArray) -> Alignment:
    """Return turn and scale of `after` (rows, columns) against `before`, judged `within`.

    Each of several patches tells its shift; a similarity is fitted to those by least squares,
    without the patches that disagree with what most of them say.
    """
    places, moves = _patch_shifts(before, after, grid, within)
    if len(places) < LEAST_PATCHES:
        return UNTURNED
    agreeing = _most_agreeing(places, moves, AGREE_PX * grid.pitch)
    if agreeing.sum() < max(LEAST_PATCHES, LEAST_AGREEING * len(places)):
        return UNTURNED
    growth, turn, _, _ = _similarity(places[agreeing], moves[agreeing])
    scale = float(np.hypot(1.0 + growth, turn))
    return Alignment(float(np.degrees(np.arctan2(turn, 1.0 + growth))), scale, sure=True)


def _patch_shifts(
    before: ByteArray, after: ByteArray, grid: Grid, within: BoolArray
) -> tuple[FloatArray, FloatArray]:
    """Return the middles (n, 2) of patches in mm and their shifts (n, 2) in mm."""
    rows, columns = np.flatnonzero(within.any(axis=1)), np.flatnonzero(within.any(axis=0))
    # Between sharp pixels the shift by a fraction would be found too large.
    before, after = softened(before), softened(after)
    places, moves = [], []
    if not len(rows):
        return np.empty((0, 2)), np.empty((0, 2))
    row_ends = np.linspace(rows[0], rows[-1] + 1, PATCHES + 1).astype(int).tolist()
    column_ends = np.linspace(columns[0], columns[-1] + 1, PATCHES + 1).astype(int).tolist()
    for top, bottom in pairwise(row_ends):
        for left, right in pairwise(column_ends):
            part = slice(top, bottom), slice(left, right)
            one, other, seen = before[part], after[part], within[part]
            if seen.mean() < LEAST_INSIDE or one[seen].std() < LEAST_DRAWN:
                continue
            offset = offset_of(one, other, grid.pitch, seen)
            # Near the middle of a turn shifts are too small to be sure, but tell of it too.
            start = round(offset.rows), round(offset.columns)
            a, b, weight = (plane.astype(np.float32) for plane in (one, other, seen))
            down, right_by = refined(a, b, weight, start)
            if max(abs(down - start[0]), abs(right_by - start[1])) <= MOST_STEP_PX:
                row, column = _middle(a, weight)
                places.append(grid.places(np.array((left + column + 0.5, top + row + 0.5))))
                moves.append((right_by * grid.pitch, -down * grid.pitch))
    return np.array(places).reshape(-1, 2), np.array(moves).reshape(-1, 2)


def _middle(plane: FloatPlane, seen: FloatPlane) -> tuple[float, float]:
    """Return the middle (row, column) of the edges in a patch, by which its shift is told."""
    down, right = np.gradient(plane)
    edges = (down**2 + right**2) * seen
    total = max(float(edges.sum(dtype=np.float64)), 1e-9)
    rows, columns = (np.arange(length) for length in plane.shape)
    return float(edges.sum(axis=1) @ rows) / total, float(edges.sum(axis=0) @ columns) / total


def _most_agreeing(places: FloatArray, moves: FloatArray, near_mm: float) -> BoolArray:
    """Return the patches that agree with the similarity, of those through two of them, that most
    agree with."""
    best = np.zeros(len(places), bool)
    near = near_mm + AGREE_SHARE * np.hypot(moves[:, 0], moves[:, 1])
    for pair in combinations(range(len(places)), 2):
        two = list(pair)
        off = _residual(_similarity(places[two], moves[two]), places, moves)
        agreeing = off <= near
        if agreeing.sum() > best.sum():
            best = agreeing
    return best


def _similarity(places: FloatArray, moves: FloatArray) -> FloatArray:
    """Return growth, turn (both as parts of one) and shift in mm that fit the moves best."""
    x, y = places.T
    one, none = np.ones_like(x), np.zeros_like(x)
    design = np.concatenate(
        (np.column_stack((x, -y, one, none)), np.column_stack((y, x, none, one)))
    )
    solved = np.linalg.lstsq(design, np.concatenate((moves[:, 0], moves[:, 1])), rcond=None)[0]
    found: FloatArray = np.asarray(solved, np.float64)
    return found


def _residual(similarity: FloatArray, places: FloatArray, moves: FloatArray) -> FloatArray:
    growth, turn, right, up = similarity
    x, y = places.T
    off = np.column_stack((growth * x - turn * y + right, growth * y + turn * x + up)) - moves
    lengths: FloatArray = np.hypot(off[:, 0], off[:, 1])
    return lengths
