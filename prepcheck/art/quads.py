"""The glyphs of a run of type as a view on corners that many runs share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import overload

import numpy as np

from prepcheck.geometry import FloatArray, Point, Quad


class Quads(Sequence[Quad]):
    """Quads `first` to before `end` of corners (n, 4, 2) in mm, which are not written to.

    They are made anew each time they are asked for: a page may have millions, and few are ever
    looked at one by one.
    """

    __slots__ = ("_corners", "_end", "_first")

    def __init__(self, corners: FloatArray, first: int, end: int) -> None:
        self._corners, self._first, self._end = corners, first, end

    def array(self) -> FloatArray:
        """Return the corners (k, 4, 2) in mm, not to be written to."""
        return self._corners[self._first : self._end]

    def __len__(self) -> int:
        return self._end - self._first

    def __iter__(self) -> Iterator[Quad]:
        for corners in self.array().tolist():
            yield _quad(corners)

    @overload
    def __getitem__(self, index: int) -> Quad: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[Quad, ...]: ...
    def __getitem__(self, index: int | slice) -> Quad | tuple[Quad, ...]:
        if isinstance(index, slice):
            return tuple(map(_quad, self.array()[index].tolist()))
        return _quad(self.array()[index].tolist())

    def __eq__(self, other: object) -> bool:
        return tuple(self) == (tuple(other) if isinstance(other, Quads) else other)

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return repr(tuple(self))


def corners_of(quads: Sequence[Quad]) -> FloatArray:
    """Return the corners (n, 4, 2) of quads in mm, not to be written to."""
    if isinstance(quads, Quads):
        return quads.array()
    return np.array(quads, np.float64).reshape(-1, 4, 2)


def _quad(corners: Sequence[Sequence[float]]) -> Quad:
    a, b, c, d = corners
    return Quad(Point(*a), Point(*b), Point(*c), Point(*d))
