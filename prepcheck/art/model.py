"""What was found in an artwork file. Facts only; knows no spec.

Frames: `PageFacts` boxes are in mm in the page's frame, that is, the page as displayed: /Rotate
and UserUnit applied, origin at the lower left corner of the MediaBox, y up. `Page.content` takes
a map from that frame to any other (usually the piece's) and gives every place in the target frame.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import field
from enum import StrEnum
from functools import cached_property
from itertools import chain
from operator import attrgetter
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.facts import Annotation, DocumentFacts, FontFacts, PageBoxes
from prepcheck.art.paint import ALL_INKS as ALL_INKS
from prepcheck.art.paint import NO_INK as NO_INK
from prepcheck.art.paint import PROCESS_INKS as PROCESS_INKS
from prepcheck.art.paint import Paint as Paint
from prepcheck.art.paint import Space as Space
from prepcheck.art.paint import SpaceFamily as SpaceFamily
from prepcheck.art.subpaths import Subpaths, joined
from prepcheck.art.type_run import GlyphShape as GlyphShape
from prepcheck.art.type_run import TextRun as TextRun
from prepcheck.art.type_table import TypeStyle as TypeStyle
from prepcheck.art.type_table import TypeTable as TypeTable
from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box, FloatArray, Quad


class ArtKind(StrEnum):
    """The kinds of file that are read."""

    PDF = "PDF"
    TIFF = "TIFF"
    JPEG = "JPEG"
    PNG = "PNG"
    PSD = "PSD"


class ImageItem(NamedTuple):
    """A picture as placed. `quad` corners: lower left, lower right, upper right, upper left of
    the picture's own square; `visible` is what the clip leaves of it, None when nothing."""

    name: str
    quad: Quad
    visible: Box | None
    samples: tuple[int, int]
    bits: int
    space: Space
    filters: tuple[str, ...]
    ppi: tuple[float, float]
    """Effective samples per inch along the picture's own width and height."""
    is_mask: bool
    """An image mask: 1-bit, painted with `paint`."""
    paint: Paint | None
    inline: bool
    layer: str | None
    opacity: float = 1.0
    overprint: bool = False
    key: int = 0
    """Identity of the stored picture: the same for each placing of one object; 0 for inline."""
    mask_key: int = 0
    """Identity of the soft or hard mask that the picture carries; 0 for none."""
    mask_samples: tuple[int, int] | None = None
    mask_quad: Quad | None = None
    """Where that mask lies, if it is not the picture's own but stands in a soft mask's group."""


BUTT_CAP, ROUND_CAP, SQUARE_CAP = 0, 1, 2
"""How a stroke ends (ISO 32000-2, Table 53)."""


class PathItem(NamedTuple):
    """A painted path. `box` is the outline box of what is painted (stroke width included), with
    the clip applied."""

    box: Box
    fill: Paint | None
    stroke: Paint | None
    stroke_mm: float
    """Stroke width in mm after all transforms (the narrower axis when they are skew); 0 for a
    device hairline."""
    dashed: bool
    layer: str | None
    segments: Sequence[tuple[float, ...]]
    """Subpaths: flat coordinates of line corners in mm, curves flattened to 0.02 mm; a closed
    subpath repeats its first point."""
    clipped: bool = False
    cap: int = ROUND_CAP
    """How the ends of a stroke look: BUTT_CAP, ROUND_CAP or SQUARE_CAP."""
    mitre: float = 1.0
    """How many halves of its width a stroke reaches beyond its corners at most: 1 where they are
    not joined by mitres (ISO 32000-2, 8.4.3.5)."""

    def lines(self) -> tuple[FloatArray, ...]:
        """Return each subpath as points (n, 2) in mm, not to be written to."""
        if isinstance(self.segments, Subpaths):
            return self.segments.lines()
        return tuple(np.array(run, np.float64).reshape(-1, 2) for run in self.segments)


class Sliver(NamedTuple):
    """What a turned clip leaves of a filled path, where that is no more than a strip: its middle
    line, from (x0, y0) to (x1, y1), and how wide it is, in mm."""

    ends: tuple[float, float, float, float]
    width: float
    fill: Paint
    layer: str | None


class PathTraits(NamedTuple):
    """Traits of n paths, an array (n,) each; `fill` and `stroke` count from 0 in `paints`, `layer`
    in `layers`, and are -1 where a path has none. Paints stand in the order in which they fill,
    then in that in which they stroke."""

    fill: NDArray[np.intp]
    stroke: NDArray[np.intp]
    stroke_mm: FloatArray
    clipped: NDArray[np.bool_]
    cap: NDArray[np.uint8]
    mitre: NDArray[np.float32]
    runs: NDArray[np.intp]
    """Number of subpaths."""
    paints: tuple[Paint, ...]
    layer: NDArray[np.intp]
    layers: tuple[str, ...]

    @classmethod
    def of(cls, paths: Sequence[PathItem]) -> PathTraits:
        """Return the traits of paths in their order."""
        return cls.made(
            [path.fill for path in paths],
            [path.stroke for path in paths],
            [path.layer for path in paths],
            np.array([path.stroke_mm for path in paths], np.float64),
            np.array([path.clipped for path in paths], np.bool_),
            np.array([path.cap for path in paths], np.uint8),
            np.array([path.mitre for path in paths], np.float32),
            np.array([len(path.segments) for path in paths], np.intp),
        )

    @classmethod
    def made(
        cls,
        fills: Sequence[Paint | None],
        strokes: Sequence[Paint | None],
        layers: Sequence[str | None],
        stroke_mm: FloatArray,
        clipped: NDArray[np.bool_],
        cap: NDArray[np.uint8],
        mitre: NDArray[np.float32],
        runs: NDArray[np.intp],
    ) -> PathTraits:
        """Return traits of paints, which are told apart as objects, and names."""
        paints: dict[int, Paint] = {}
        numbers = {id(None): -1}
        columns = []
        for own in (fills, strokes):
            for paint in own:
                if id(paint) not in numbers and paint is not None:
                    numbers[id(paint)] = len(paints)
                    paints[id(paint)] = paint
            columns.append(np.array([numbers[id(paint)] for paint in own], np.intp))
        names = {name: at for at, name in enumerate(dict.fromkeys(filter(None, layers)))}
        layer = np.array([names.get(name or "", -1) for name in layers], np.intp)
        return cls(
            columns[0], columns[1], stroke_mm, clipped, cap, mitre, runs,
            tuple(paints.values()), layer, tuple(names),
        )  # fmt: skip

    def taken(self, rows: NDArray[np.intp]) -> PathTraits:
        """Return those of some paths."""
        return self._replace(
            fill=self.fill[rows], stroke=self.stroke[rows], stroke_mm=self.stroke_mm[rows],
            clipped=self.clipped[rows], cap=self.cap[rows], mitre=self.mitre[rows],
            runs=self.runs[rows], layer=self.layer[rows],
        ).in_order()  # fmt: skip

    def in_order(self) -> PathTraits:
        """Return the same with the paints that are used in their order."""
        both = np.concatenate((self.fill, self.stroke))
        first = np.full(len(self.paints) + 1, len(both))
        first[both[::-1]] = np.arange(len(both))[::-1]  # what is written last stays
        order = np.argsort(first[:-1], kind="stable")
        order = order[first[order] < len(both)]
        number = np.full(len(self.paints) + 1, -1, np.intp)
        number[order] = np.arange(len(order))
        paints = tuple(self.paints[at] for at in order.tolist())
        return self._replace(fill=number[self.fill], stroke=number[self.stroke], paints=paints)


class Outlines(NamedTuple):
    """The corners of many paths: `points` (k, 2) in mm; subpath i of all is
    `points[starts[i] : starts[i + 1]]` and belongs to path `path[i]`."""

    points: FloatArray
    starts: NDArray[np.intp]
    """(r + 1,): where each of r subpaths begins, and the end of the last."""
    path: NDArray[np.intp]
    """(r,), rising."""

    @classmethod
    def of(cls, paths: Sequence[PathItem]) -> Outlines:
        """Return the corners of paths in their order."""
        points, lengths = joined(path.segments for path in paths)
        return cls(
            points,
            np.cumsum([0, *lengths], dtype=np.intp),
            np.repeat(np.arange(len(paths)), [len(path.segments) for path in paths]),
        )

    def runs_of(self, paths: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return the subpaths of paths (m,), and the place in `paths` that each belongs to."""
        low, high = (self.path.searchsorted(paths, side) for side in ("left", "right"))
        count = high - low
        owner = np.repeat(np.arange(len(paths)), count)
        return low[owner] + np.arange(len(owner)) - (np.cumsum(count) - count)[owner], owner

    def taken(self, runs: NDArray[np.intp]) -> Outlines:
        """Return some subpaths by their numbers (m,), end to end."""
        lengths = np.diff(self.starts)[runs]
        starts = np.concatenate((np.zeros(1, np.intp), np.cumsum(lengths)))
        places = np.arange(starts[-1]) + np.repeat(self.starts[runs] - starts[:-1], lengths)
        return Outlines(self.points[places], starts, self.path[runs])


class PathColumns(Sequence[PathItem]):
    """Paths that are kept as columns; see `path_table`."""

    boxes: FloatArray
    """(n, 4) in mm."""
    traits: PathTraits
    outlines: Outlines

    @abstractmethod
    def each(self, rows: NDArray[np.intp]) -> Iterator[PathItem]:
        """Yield paths by their numbers, in the order of these."""


class ShadingItem(NamedTuple):
    """A shading painted with `sh`."""

    box: Box
    space: Space
    layer: str | None


class Grouped(NamedTuple):
    """What is painted apart, in mm²: all transparency groups and what is blended or masked by
    itself; at most those groups that lie one inside the other at one place of the content; and all
    that shadings are painted over."""

    painted_mm2: float = 0.0
    nested_mm2: float = 0.0
    shaded_mm2: float = 0.0


UNGROUPED = Grouped()


@dataclass(frozen=True)
class Content:
    """Everything that a page paints, in painting order within each kind.

    `hidden` holds the same for what is on layers that do not print or is invisible type.
    """

    images: tuple[ImageItem, ...] = ()
    texts: Sequence[TextRun] = ()
    paths: Sequence[PathItem] = ()
    shadings: tuple[ShadingItem, ...] = ()
    hidden: Content | None = None
    inks: tuple[str, ...] = ()
    """Every colorant that painted something."""
    declared_inks: tuple[str, ...] = ()
    """Every colorant named in resources, whether it painted or not."""
    troubles: tuple[str, ...] = ()
    """What could not be read in the content, one sentence each."""
    grouped: Grouped = UNGROUPED
    slivers: tuple[Sliver, ...] = ()

    @cached_property
    def type_table(self) -> TypeTable:
        """The type as columns, so that a check need not look at each run."""
        return TypeTable.of(self.texts)

    @cached_property
    def path_boxes(self) -> FloatArray:
        """The boxes of the paths as an array (n, 4), to find among many what lies somewhere."""
        if isinstance(self.paths, PathColumns):
            return self.paths.boxes
        flat = chain.from_iterable(map(attrgetter("box"), self.paths))
        return np.fromiter(flat, np.float64, 4 * len(self.paths)).reshape(-1, 4)

    @cached_property
    def path_traits(self) -> PathTraits:
        """What else tells paths apart, as arrays (n,), so that a check need not look at each."""
        if isinstance(self.paths, PathColumns):
            return self.paths.traits
        return PathTraits.of(self.paths)

    @cached_property
    def path_outlines(self) -> Outlines:
        """The corners of all paths in one array."""
        if isinstance(self.paths, PathColumns):
            return self.paths.outlines
        return Outlines.of(self.paths)


class RasterLayer(NamedTuple):
    """A layer that a raster file carries beside its merged picture, lowest first."""

    name: str
    visible: bool
    text: bool = False
    clipped: bool = False
    """Whether it is seen only where the layer below it is."""
    group: bool = False


@dataclass(frozen=True)
class RasterFacts:
    """What a raster file says of itself."""

    samples: tuple[int, int]
    bits: int
    space: Space
    ppi: tuple[float, float] | None
    compression: str
    extra_channels: tuple[str, ...] = ()
    has_alpha: bool = False
    orientation: int = 1
    profile: str | None = None
    jpeg_tables: tuple[tuple[int, ...], ...] = ()
    profile_data: bytes | None = field(default=None, repr=False)
    """The embedded ICC profile itself."""
    layers: tuple[RasterLayer, ...] | None = ()
    """What stands beside the merged picture; None where that is damaged."""
    guides: int = 0


@dataclass(frozen=True)
class Page(ABC):
    """One page of artwork."""

    index: int
    boxes: PageBoxes
    rotate: int
    user_unit: float
    annotations: tuple[Annotation, ...]
    fonts: tuple[FontFacts, ...]

    @abstractmethod
    def content(self, to_frame: Affine) -> Content:
        """Walk the page and return what it paints, in mm in the frame `to_frame` leads to."""

    @abstractmethod
    def picture(self, key: int) -> Samples | None:
        """Return the decoded samples of a placed image by its key; None when not decodable."""

    def decode_ahead(self, pool: Executor) -> None:  # noqa: B027
        """Have in another thread decoded what will take longest; it is kept until `let_go`."""

    def let_go(self) -> None:  # noqa: B027
        """Let go of what was decoded ahead."""


@dataclass(frozen=True)
class Samples:
    """Decoded picture samples: uint8 (rows, columns, components), in the space's own sense.

    Inks are 255 where solid; grey and RGB 255 where white; Lab is L* × 2.55, a* + 128, b* + 128.
    """

    data: NDArray[np.uint8]
    space: Space
    jpeg_tables: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True)
class Artwork:
    """An artwork file as read."""

    path: Path
    kind: ArtKind
    sha256: str
    bytes: int
    document: DocumentFacts
    pages: tuple[Page, ...]
    raster: RasterFacts | None = None
    troubles: tuple[str, ...] = field(default=())
