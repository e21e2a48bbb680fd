"""The painted paths of a page as columns: a path is made when it is asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property, partial
from typing import overload

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Outlines, PathColumns, PathItem, PathTraits
from prepcheck.art.subpaths import Corners, Subpaths
from prepcheck.geometry import Box, FloatArray

_AT_ONCE = 4096


class PathTable(PathColumns):
    """The paths of a page in painting order, or some of them.

    Of a million paths few are ever looked at one by one; each time one is, it is made anew, so
    that two looks at a path are equal, but not the same object.
    """

    def __init__(
        self, boxes: FloatArray, traits: PathTraits, dashed: NDArray[np.bool_], outlines: Outlines
    ) -> None:
        """Each column has n rows; `boxes` (n, 4) are in mm."""
        self.boxes, self.traits, self.outlines = boxes, traits, outlines
        self._dashed = dashed
        outlines.points.flags.writeable = False
        self._corners = Corners(outlines.points, outlines.starts)

    @classmethod
    def of(cls, paths: Sequence[PathItem]) -> PathTable:
        """Return paths as a table."""
        return cls(
            np.array([path.box for path in paths], np.float64).reshape(-1, 4),
            PathTraits.of(paths),
            np.array([path.dashed for path in paths], np.bool_),
            Outlines.of(paths),
        )

    @classmethod
    def chained(cls, tables: Sequence[PathTable]) -> PathTable:
        """Return the paths of tables one after the other."""
        if len(tables) == 1:
            return tables[0]
        points = [np.empty((0, 2)), *(one.outlines.points for one in tables)]
        starts, path, corners, count = [np.zeros(1, np.intp)], [np.empty(0, np.intp)], 0, 0
        for one in tables:
            starts.append(one.outlines.starts[1:] + corners)
            path.append(one.outlines.path + count)
            corners += len(one.outlines.points)
            count += len(one)
        outlines = Outlines(np.concatenate(points), np.concatenate(starts), np.concatenate(path))
        return cls(
            np.concatenate([np.empty((0, 4)), *(one.boxes for one in tables)]),
            PathTraits.chained([one.traits for one in tables]),
            np.concatenate([np.empty(0, np.bool_), *(one._dashed for one in tables)]),
            outlines,
        )

    @cached_property
    def _first(self) -> NDArray[np.intp]:
        """Where the subpaths of each path begin (n + 1,)."""
        return np.concatenate((np.zeros(1, np.intp), np.cumsum(self.traits.runs)))

    def taken(self, rows: NDArray[np.intp]) -> PathTable:
        """Return some paths by their numbers, rising."""
        if len(rows) == len(self):
            return self
        count = self.traits.runs[rows]
        runs = np.repeat(self._first[rows] - (np.cumsum(count) - count), count)
        outlines = self.outlines.taken(runs + np.arange(len(runs)))
        outlines = outlines._replace(path=np.repeat(np.arange(len(rows)), count))
        traits = self.traits.taken(rows)
        return PathTable(self.boxes[rows], traits, self._dashed[rows], outlines)

    def all_at(self, box: Box) -> PathTable:
        """Return the paths with a box as the place of each, and nothing known of their outlines."""
        count = len(self)
        traits = self.traits._replace(
            clipped=np.ones(count, np.bool_), runs=np.zeros(count, np.intp)
        )
        return PathTable(np.tile(np.array(box), (count, 1)), traits, self._dashed, Outlines.of(()))

    def __len__(self) -> int:
        return len(self.boxes)

    def __iter__(self) -> Iterator[PathItem]:
        for at in range(0, len(self), _AT_ONCE):
            yield from self._made(at, min(at + _AT_ONCE, len(self)))

    @overload
    def __getitem__(self, index: int) -> PathItem: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[PathItem, ...]: ...
    def __getitem__(self, index: int | slice) -> PathItem | tuple[PathItem, ...]:
        if isinstance(index, slice):
            first, end, step = index.indices(len(self))
            return tuple(self[at] for at in range(first, end, step))
        at = index + len(self) if index < 0 else index
        if not 0 <= at < len(self):
            raise IndexError(index)
        return self._made(at, at + 1)[0]

    def _made(self, first: int, end: int) -> list[PathItem]:
        rows, traits = slice(first, end), self.traits
        paints, layers = (*traits.paints, None), (*traits.layers, None)
        runs = self._first[first : end + 1].tolist()
        return [
            *map(
                PathItem,
                map(partial(tuple.__new__, Box), self.boxes[rows].tolist()),
                map(paints.__getitem__, traits.fill[rows].tolist()),
                map(paints.__getitem__, traits.stroke[rows].tolist()),
                traits.stroke_mm[rows].tolist(),
                self._dashed[rows].tolist(),
                map(layers.__getitem__, traits.layer[rows].tolist()),
                map(partial(Subpaths, self._corners), runs, runs[1:]),
                traits.clipped[rows].tolist(),
            )
        ]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return repr(tuple(self))


class PathPile:
    """Paths that are being gathered, in painting order."""

    _SMALL = 500
    """Tables of less paths are taken apart again: many small ones take more than their paths."""

    def __init__(self, tables: Sequence[PathTable] = ()) -> None:
        self._tables = [*tables]
        self._items: list[PathItem] = []
        self.append = self._items.append

    def add(self, table: PathTable) -> None:
        """Add all paths of a table."""
        if len(table) < self._SMALL:
            self._items += table
        else:
            self._settle()
            self._tables.append(table)

    def add_all(self, other: PathPile) -> None:
        """Add the paths of another pile."""
        if other._tables:
            self._settle()
            self._tables += other._tables
        self._items += other._items

    def _settle(self) -> None:
        if self._items:
            self._tables.append(PathTable.of(self._items))
            self._items.clear()

    def table(self) -> PathTable:
        """Return all paths."""
        self._settle()
        self._tables = [PathTable.chained(self._tables)]
        return self._tables[0]

    def boxes(self, first: int = 0) -> Iterator[Box]:
        """Yield the boxes of all paths but the first ones."""
        for table in self._tables:
            yield from (Box(*row) for row in table.boxes[first:].tolist())
            first = max(0, first - len(table))
        yield from (item.box for item in self._items[first:])

    def all_at(self, box: Box) -> PathPile:
        """Return the paths with a box as the place of each."""
        return PathPile([self.table().all_at(box)]) if len(self) else PathPile()

    def clear(self) -> None:
        self._tables.clear()
        self._items.clear()

    def __len__(self) -> int:
        return sum(map(len, self._tables)) + len(self._items)
