"""The type of a page as columns: a run is made when it is asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property
from itertools import chain, compress
from typing import Generic, NamedTuple, TypeVar, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from prepcheck.art.paint import Paint
from prepcheck.art.quads import Quads
from prepcheck.art.type_run import UNPAINTED, GlyphShape, TextRun, marking
from prepcheck.geometry import Box, FloatArray

Indices = NDArray[np.intp]
K = TypeVar("K")
T = TypeVar("T")


class TypeStyle(NamedTuple):
    """What a run of type is besides its text, its glyphs and how large it is set; see `TextRun`."""

    font: str
    fill: Paint | None
    stroke: Paint | None
    stroke_mm: float
    mode: int
    layer: str | None
    tight: bool
    about: bool

    @property
    def paints(self) -> bool:
        return self.mode not in UNPAINTED

    @property
    def marks_with(self) -> tuple[Paint, ...]:
        """The paints that it marks with."""
        return marking(self.mode, self.fill, self.stroke)


class TypeGlyphs(NamedTuple):
    """The glyphs of n runs, end to end: those of run i are `first[i]` to before `first[i + 1]`."""

    corners: FloatArray
    """(g, 4, 2) in mm, not to be written to."""
    first: Indices
    """(n + 1,)"""
    shape: Indices
    """(g,): the outline of each in `shapes`, -1 where it has none."""
    shapes: tuple[GlyphShape, ...]

    @property
    def owners(self) -> Indices:
        """The number of each one's run (g,), rising."""
        return np.repeat(np.arange(len(self.first) - 1), np.diff(self.first))

    def taken(self, rows: Indices) -> TypeGlyphs:
        """Return those of some runs (m,), end to end."""
        counts = np.diff(self.first)[rows]
        first = starts_of(counts)
        places = np.arange(first[-1]) + np.repeat(self.first[rows] - first[:-1], counts)
        return TypeGlyphs(_fixed(self.corners[places]), first, self.shape[places], self.shapes)


class Numbers(Generic[K, T]):
    """Things, each with a number from 0 on by its key."""

    def __init__(self) -> None:
        self._known: dict[K, tuple[int, T]] = {}

    def number(self, key: K, value: T) -> int:
        return self._known.setdefault(key, (len(self._known), value))[0]

    @property
    def values(self) -> tuple[T, ...]:
        return tuple(value for _, value in self._known.values())


class Styles(Numbers[tuple[object, ...], TypeStyle]):
    """Styles, each once; paints are told apart as objects, as which they are known."""

    def add(self, style: TypeStyle) -> int:
        font, fill, stroke, *rest = style
        return self.number((font, id(fill), id(stroke), *rest), style)


class TypeTable(Sequence[TextRun]):
    """The runs of type of a page in painting order, or some of them.

    Of 20,000 runs few are ever looked at one by one; each time one is, it is made anew, so that two
    looks at a run are equal, but not the same object.
    """

    def __init__(
        self,
        texts: Sequence[str],
        style: Indices,
        styles: tuple[TypeStyle, ...],
        sizes: FloatArray,
        boxes: FloatArray,
        glyphs: TypeGlyphs,
    ) -> None:
        """Each column has n rows: `style` counts in `styles`, `sizes` (n, 2) are size in points and
        stretch, `boxes` (n, 4) in mm hold all glyphs and are not a number where there are none."""
        self.texts, self.style, self.styles = texts, style, styles
        self.size_pt, self.stretch = sizes.T
        self.boxes, self.glyphs = boxes, glyphs

    @classmethod
    def of(cls, runs: Sequence[TextRun]) -> TypeTable:
        """Return runs as a table."""
        if isinstance(runs, TypeTable):
            return runs
        styles, shapes = Styles(), Numbers[int, GlyphShape]()
        style, shape = [], []
        for run in runs:
            _, font, _, glyphs, fill, stroke, stroke_mm, mode, layer, tight, own, *_, about = run
            style.append(
                styles.add(TypeStyle(font, fill, stroke, stroke_mm, mode, layer, tight, about))
            )
            shape += [
                -1 if one is None else shapes.number(id(one), one)
                for one in own or (None,) * len(glyphs)
            ]
        boxes = chain.from_iterable(run.box or (np.nan,) * 4 for run in runs)
        corners = np.concatenate([np.empty((0, 4, 2)), *(run.corners for run in runs)])
        first = starts_of([len(run.glyphs) for run in runs])
        return cls(
            [run.text for run in runs],
            np.array(style, np.intp),
            styles.values,
            np.array([(run.size_pt, run.stretch) for run in runs], np.float64).reshape(-1, 2),
            np.fromiter(boxes, np.float64, 4 * len(runs)).reshape(-1, 4),
            TypeGlyphs(_fixed(corners), first, np.array(shape, np.intp), shapes.values),
        )

    @classmethod
    def joined(cls, tables: Sequence[TypeTable]) -> TypeTable:
        """Return the runs of tables, one table after the other."""
        tables = [table for table in tables if len(table)]
        if len(tables) < 2:
            return tables[0] if tables else cls.of(())
        styles, shapes = Styles(), Numbers[int, GlyphShape]()
        style, shape = [], []
        for table in tables:
            style.append(np.array([styles.add(one) for one in table.styles], np.intp)[table.style])
            known = [shapes.number(id(one), one) for one in table.glyphs.shapes]
            shape.append(np.array([*known, -1], np.intp)[table.glyphs.shape])
        first = starts_of(np.concatenate([np.diff(table.glyphs.first) for table in tables]))
        corners = np.concatenate([table.glyphs.corners for table in tables])
        return cls(
            [*chain.from_iterable(table.texts for table in tables)],
            np.concatenate(style),
            styles.values,
            np.concatenate([(table.size_pt, table.stretch) for table in tables], axis=1).T,
            np.concatenate([table.boxes for table in tables]),
            TypeGlyphs(_fixed(corners), first, np.concatenate(shape), shapes.values),
        )

    @cached_property
    def paints(self) -> NDArray[np.bool_]:
        """Which runs are painted (n,)."""
        return self.where(lambda style: style.paints)

    @cached_property
    def placed(self) -> NDArray[np.bool_]:
        """Which runs have a box (n,)."""
        return ~np.isnan(self.boxes[:, 0])

    @cached_property
    def counts(self) -> Indices:
        """How many glyphs each run has (n,)."""
        return np.diff(self.glyphs.first)

    def used_styles(self) -> Iterator[TypeStyle]:
        """Yield the styles that runs have, each once."""
        used = np.bincount(self.style, minlength=len(self.styles))
        yield from compress(self.styles, used.tolist())

    def where(self, holds: Callable[[TypeStyle], bool]) -> NDArray[np.bool_]:
        """Return which runs are of a style of which something holds (n,); each is asked once."""
        return np.array([holds(style) for style in self.styles], np.bool_)[self.style]

    def taken(self, rows: Indices) -> TypeTable:
        """Return some runs by their numbers, rising."""
        if len(rows) == len(self):
            return self
        return TypeTable(
            [self.texts[row] for row in rows.tolist()],
            self.style[rows],
            self.styles,
            np.column_stack((self.size_pt[rows], self.stretch[rows])),
            self.boxes[rows],
            self.glyphs.taken(rows),
        )

    def kept(self, holds: Callable[[TypeStyle], bool]) -> TypeTable:
        """Return the runs of a style of which something holds."""
        return self.taken(np.flatnonzero(self.where(holds)))

    def all_at(self, box: Box) -> TypeTable:
        """Return the runs with a box as the place of each, and nothing known of their glyphs."""
        count = len(self)
        corners = np.tile(np.array(box.corners, np.float64), (count, 1, 1))
        return TypeTable(
            self.texts,
            self.style,
            tuple(style._replace(tight=False) for style in self.styles),
            np.column_stack((self.size_pt, self.stretch)),
            np.tile(np.array(box, np.float64), (count, 1)),
            TypeGlyphs(_fixed(corners), np.arange(count + 1), np.full(count, -1), ()),
        )

    def box(self, row: int) -> Box:
        """Return the box of a run that has one."""
        return Box(*self.boxes[row].tolist())

    def __len__(self) -> int:
        return len(self.style)

    @overload
    def __getitem__(self, index: int) -> TextRun: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[TextRun, ...]: ...
    def __getitem__(self, index: int | slice) -> TextRun | tuple[TextRun, ...]:
        if isinstance(index, slice):
            return tuple(self._made(at) for at in range(*index.indices(len(self))))
        at = index + len(self) if index < 0 else index
        if not 0 <= at < len(self):
            raise IndexError(index)
        return self._made(at)

    def __iter__(self) -> Iterator[TextRun]:
        return map(self._made, range(len(self)))

    def _made(self, row: int) -> TextRun:
        corners, starts, numbers, outlines = self.glyphs
        font, fill, stroke, stroke_mm, mode, layer, tight, about = self.styles[self.style[row]]
        first, end = starts[row : row + 2].tolist()
        own = numbers[first:end].tolist()
        shapes = tuple(None if at < 0 else outlines[at] for at in own)
        box = self.boxes[row].tolist()
        return TextRun(
            self.texts[row], font, float(self.size_pt[row]), Quads(corners, first, end), fill,
            stroke, stroke_mm, mode, layer, tight, shapes if any(shapes) else (),
            float(self.stretch[row]), None if box[0] != box[0] else Box(*box), about,
        )  # fmt: skip

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return repr(tuple(self))


class TypePile:
    """Type that is being gathered, in painting order."""

    def __init__(self) -> None:
        self._tables: list[TypeTable] = []
        self._runs: list[TextRun] = []

    def append(self, run: TextRun) -> None:
        """Add one run."""
        self._runs.append(run)

    def add(self, table: TypeTable) -> None:
        """Add all runs of a table."""
        if len(table):
            self._settle()
            self._tables.append(table)

    def _settle(self) -> None:
        if self._runs:
            self._tables.append(TypeTable.of(self._runs))
            self._runs = []

    def add_all(self, other: TypePile) -> None:
        """Add the runs of another pile."""
        for table in other._tables:
            self.add(table)
        self._runs += other._runs

    def table(self) -> TypeTable:
        """Return all runs."""
        self._settle()
        self._tables = [TypeTable.joined(self._tables)]
        return self._tables[0]

    def boxes(self, first: int = 0) -> Iterator[Box]:
        """Yield the boxes of all runs but the first ones."""
        for table in self._tables:
            boxes = table.boxes[first:][table.placed[first:]]
            yield from (Box(*row) for row in boxes.tolist())
            first = max(0, first - len(table))
        yield from (run.box for run in self._runs[first:] if run.box is not None)

    def all_at(self, box: Box) -> TypePile:
        """Return the runs with a box as the place of each."""
        made = TypePile()
        made.add(self.table().all_at(box))
        return made

    def __len__(self) -> int:
        return sum(map(len, self._tables)) + len(self._runs)


def starts_of(counts: ArrayLike) -> Indices:
    """Return where each of n things of so many parts begins, and the end of the last (n + 1,)."""
    return np.concatenate((np.zeros(1, np.intp), np.cumsum(counts, dtype=np.intp)))


def _fixed(corners: FloatArray) -> FloatArray:
    corners.flags.writeable = False
    return corners
