"""The subpaths of a path as a view on corners that many paths share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, overload

from prepcheck.geometry import FloatArray


class Corners(NamedTuple):
    """The corners of many paths: `points` (k, 2) in mm, not to be written to; subpath i is
    `points[starts[i] : starts[i + 1]]`."""

    points: FloatArray
    starts: Sequence[int]


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
        return tuple(points[starts[run] : starts[run + 1]] for run in range(self._first, self._end))

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
