"""The painted paths of a page as columns: a path is made when it is asked for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property, partial
from typing import Generic, TypeVar, overload

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Outlines, Paint, PathColumns, PathItem, PathTraits
from prepcheck.art.subpaths import Corners, Subpaths
from prepcheck.geometry import Box, FloatArray

T = TypeVar("T", bound=np.generic)
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
        self.dashed = dashed
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
        return PathTable(self.boxes[rows], traits, self.dashed[rows], outlines)

    def all_at(self, box: Box) -> PathTable:
        """Return the paths with a box as the place of each, and nothing known of their outlines."""
        count = len(self)
        traits = self.traits._replace(
            clipped=np.ones(count, np.bool_), runs=np.zeros(count, np.intp)
        )
        return PathTable(np.tile(np.array(box), (count, 1)), traits, self.dashed, Outlines.of(()))

    def __len__(self) -> int:
        return len(self.boxes)

    def __iter__(self) -> Iterator[PathItem]:
        return self.each(np.arange(len(self)))

    def each(self, rows: NDArray[np.intp]) -> Iterator[PathItem]:
        """Yield paths by their numbers, in the order of these."""
        for at in range(0, len(rows), _AT_ONCE):
            yield from self._made(rows[at : at + _AT_ONCE])

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
        return self._made(slice(at, at + 1))[0]

    def _made(self, rows: slice | NDArray[np.intp]) -> list[PathItem]:
        traits = self.traits
        paints, layers = (*traits.paints, None), (*traits.layers, None)
        first, end = self._first[:-1][rows].tolist(), self._first[1:][rows].tolist()
        return [
            *map(
                PathItem,
                map(partial(tuple.__new__, Box), self.boxes[rows].tolist()),
                map(paints.__getitem__, traits.fill[rows].tolist()),
                map(paints.__getitem__, traits.stroke[rows].tolist()),
                traits.stroke_mm[rows].tolist(),
                self.dashed[rows].tolist(),
                map(layers.__getitem__, traits.layer[rows].tolist()),
                map(partial(Subpaths, self._corners), first, end),
                traits.clipped[rows].tolist(),
                traits.cap[rows].tolist(),
                traits.mitre[rows].tolist(),
            )
        ]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return repr(tuple(self))


class _Column(Generic[T]):
    """An array that grows where it lies, so that a long one is never there twice."""

    def __init__(self, kind: type[T], across: int = 0) -> None:
        self._rows: NDArray[T] = np.empty((0, across) if across else 0, kind)
        self._used = 0

    def add(self, rows: NDArray[T]) -> None:
        end = self._used + len(rows)
        if end > len(self._rows):
            self._rows.resize((end + end // 4, *self._rows.shape[1:]), refcheck=False)
        self._rows[self._used : end] = rows
        self._used = end

    def taken(self) -> NDArray[T]:
        """Return all rows, which are good until more are added."""
        return self._rows[: self._used]


class _Growing:
    """Tables one after the other."""

    def __init__(self) -> None:
        self._boxes, self._points = _Column(np.float64, 4), _Column(np.float64, 2)
        self._fill, self._stroke, self._layer = (_Column(np.intp) for _ in range(3))
        self._runs, self._lengths = _Column(np.intp), _Column(np.intp)
        self._stroke_mm = _Column(np.float64)
        self._clipped, self._dashed = _Column(np.bool_), _Column(np.bool_)
        self._cap, self._mitre = _Column(np.uint8), _Column(np.float32)
        self._paints: dict[int, tuple[int, Paint]] = {}
        self._layers: dict[str, int] = {}

    def add(self, table: PathTable) -> None:
        traits, outlines = table.traits, table.outlines
        paints = [
            self._paints.setdefault(id(paint), (len(self._paints), paint))[0]
            for paint in traits.paints
        ]
        own = np.array([*paints, -1], np.intp)
        self._fill.add(own[traits.fill])
        self._stroke.add(own[traits.stroke])
        layers = [self._layers.setdefault(name, len(self._layers)) for name in traits.layers]
        self._layer.add(np.array([*layers, -1], np.intp)[traits.layer])
        self._boxes.add(table.boxes)
        self._points.add(outlines.points)
        self._runs.add(traits.runs)
        self._lengths.add(np.diff(outlines.starts))
        self._stroke_mm.add(traits.stroke_mm)
        self._clipped.add(traits.clipped)
        self._cap.add(traits.cap)
        self._mitre.add(traits.mitre)
        self._dashed.add(table.dashed)

    def __len__(self) -> int:
        return len(self.boxes)

    @property
    def boxes(self) -> FloatArray:
        """Good until a table is added."""
        return self._boxes.taken()

    def table(self) -> PathTable:
        """Return all paths; no table is added afterwards."""
        runs = self._runs.taken()
        traits = PathTraits(
            self._fill.taken(), self._stroke.taken(), self._stroke_mm.taken(),
            self._clipped.taken(), self._cap.taken(), self._mitre.taken(), runs,
            tuple(paint for _, paint in self._paints.values()), self._layer.taken(),
            tuple(self._layers),
        )  # fmt: skip
        starts = np.concatenate((np.zeros(1, np.intp), np.cumsum(self._lengths.taken())))
        outlines = Outlines(self._points.taken(), starts, np.repeat(np.arange(len(runs)), runs))
        return PathTable(self.boxes, traits.in_order(), self._dashed.taken(), outlines)


class PathPile:
    """Paths that are being gathered, in painting order."""

    _SMALL = 500
    """Tables of less paths are taken apart again: many small ones take more than their paths."""
    _MANY_ITEMS = 5_000
    """Single paths from which they are put into columns."""

    def __init__(self) -> None:
        self._grown: PathTable | _Growing = _Growing()
        self._items: list[PathItem] = []

    def append(self, path: PathItem) -> None:
        """Add one path."""
        self._extend((path,))

    def _extend(self, paths: Iterable[PathItem]) -> None:
        self._items += paths
        if len(self._items) >= self._MANY_ITEMS:
            self._settle()

    def add(self, table: PathTable) -> None:
        """Add all paths of a table."""
        if len(table) < self._SMALL:
            self._extend(table)
            return
        self._settle()
        self._take(table)

    def _take(self, table: PathTable) -> None:
        grown = self._grown
        if not isinstance(grown, _Growing):
            # What was handed out may not grow.
            self._grown = _Growing()
            self._grown.add(grown)
            grown = self._grown
        grown.add(table)

    def _settle(self) -> None:
        if self._items:
            self._take(PathTable.of(self._items))
            self._items.clear()

    def add_all(self, other: PathPile) -> None:
        """Add the paths of another pile."""
        if len(other._grown):
            self.add(other.table())
        else:
            self._extend(other._items)

    def table(self) -> PathTable:
        """Return all paths."""
        self._settle()
        if isinstance(self._grown, _Growing):
            self._grown = self._grown.table()
        return self._grown

    def boxes(self, first: int = 0) -> Iterator[Box]:
        """Yield the boxes of all paths but the first ones."""
        yield from (Box(*row) for row in self._grown.boxes[first:].tolist())
        yield from (item.box for item in self._items[max(0, first - len(self._grown)) :])

    def all_at(self, box: Box) -> PathPile:
        """Return the paths with a box as the place of each."""
        made = PathPile()
        if len(self):
            made.add(self.table().all_at(box))
        return made

    def clear(self) -> None:
        self._grown = _Growing()
        self._items.clear()

    def __len__(self) -> int:
        return len(self._grown) + len(self._items)
