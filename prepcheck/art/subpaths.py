"""The subpaths of a path as a view on corners that many paths share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple, overload

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray


class Corners(NamedTuple):
    """The corners of many paths: `points` (k, 2) in mm, not to be written to; subpath i is
    `points[starts[i] : starts[i + 1]]`."""

    points: FloatArray
    starts: NDArray[np.intp]


class Subpaths(Sequence[tuple[float, ...]]):
    """Subpaths `first` to before `end` of shared corners, each as flat coordinates in mm.

    The tuples are made when first asked for: of 60,000 paths few are ever looked at so closely.
    """

    __slots__ = ("_corners", "_end", "_first", "_made")

    def __init__(self, corners: Corners, first: int, end: int) -> None:
        self._corners, self._first, self._end = corners, first, end
        self._made: tuple[tuple[float, ...], ...] | None = None

    def lines(self) -> tuple[FloatArray, ...]:
        """Return each subpath as points (n, 2) in mm, not to be written to."""
        points, starts = self._corners
        ends = starts[self._first : self._end + 1].tolist()
        return tuple(points[first:end] for first, end in pairwise(ends))

    def runs(self) -> tuple[tuple[float, ...], ...]:
        """Return each subpath as flat coordinates in mm."""
        if self._made is None:
            self._made = tuple(tuple(line.ravel().tolist()) for line in self.lines())
        return self._made

    def __len__(self) -> int:
        return self._end - self._first

    @overload
    def __getitem__(self, index: int) -> tuple[float, ...]: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[tuple[float, ...], ...]: ...
    def __getitem__(self, index: int | slice) -> tuple[float, ...] | tuple[tuple[float, ...], ...]:
        return self.runs()[index]

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Subpaths):
            return self.runs() == other.runs()
        return self.runs() == other

    def __hash__(self) -> int:
        return hash(self.runs())

    def __repr__(self) -> str:
        return repr(self.runs())


def joined(paths: Iterable[Sequence[tuple[float, ...]]]) -> tuple[FloatArray, list[int]]:
    """Return the corners (k, 2) of the subpaths of many paths, end to end, and the number of each
    one's corners.

    Neighbours that share their corners are taken in one piece.
    """
    pieces: list[FloatArray] = [np.empty((0, 2))]
    lengths: list[int] = []
    shared: Corners | None = None
    first = end = 0

    def take() -> None:
        if shared is not None and end > first:
            points, starts = shared
            pieces.append(points[starts[first] : starts[end]])
            lengths.extend(np.diff(starts[first : end + 1]).tolist())

    for path in paths:
        if isinstance(path, Subpaths):
            if path._corners is not shared or path._first != end:
                take()
                shared, first = path._corners, path._first
            end = path._end
            continue
        take()
        shared, first, end = None, 0, 0
        for run in path:
            pieces.append(np.array(run, np.float64).reshape(-1, 2))
            lengths.append(len(run) // 2)
    take()
    return np.concatenate(pieces), lengths
