"""Type read by eye: an optical reader on pictures of a piece, straight, turned and round type.

The reader is RapidOCR (Apache-2.0), an extra: its models come in its wheel, and nothing is
downloaded. What it makes of a picture may be wrong. One thread and no chance: the same picture
gives the same text.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from typing import Any, NamedTuple, Protocol

import numpy as np
from PIL import Image

from prepcheck.art.freed import give_back_freed_memory
from prepcheck.geometry import Box, Circle, FloatArray, Grid
from prepcheck.press.view import ByteArray
from prepcheck.units import mm_per_px

READ_PPI = 300.0
"""Type is read at this resolution: capitals of 6 pt are 18 pixels tall. Found by trial."""
_FIND_PPI, _FIND_LEAST_PPI = 170.0, 140.0
"""Lines are looked for at the first; what is at hand from the second on will do."""
_SMALL_MM = 8.0
"""Lines no taller than this are read at `READ_PPI`; others are large enough as they were found."""
_CLOSE_PX = 3_000_000
"""Most pixels of a close-up of lines, about."""
_AROUND_MM = 1.0
_LINE_PX = 64
"""A line is handed to the reader so tall, to twice as tall: it makes it 48 pixels."""
_COARSE_PX = 700
"""Longest side at which lines taller than a band are looked for."""
_BAND_PX = 500_000
"""Pixels in which lines are looked for at a time; the reader takes some 150 MB for them."""
_OVERLAP_MM = 8.0
_RING_MM, _RING_STEP_MM = 14.0, 8.0
"""Round type is looked for in rings of this breadth, which begin at every step."""
_SEAM = 0.18
"""Share of a turn by which an unrolled ring runs on, so that type across its seam is whole."""
_SURE, _LEAST, _LEAST_SHORT = 0.93, 0.75, 0.9
"""Of 1, how sure the reader must be: to look no further, to be believed, and to be believed of
one or two signs. From trial."""
_TALL = 1.5
_SAME_PLACE = 0.4


class Sighting(NamedTuple):
    """A line of type as it seems to read, where it stands in mm, and how sure it is, of 1."""

    text: str
    box: Box
    sure: float


class OpticalReader(Protocol):
    """What finds lines in pictures (rows, columns, 3) and reads them."""

    def lines(self, picture: ByteArray) -> list[FloatArray]:
        """Return the corners (4, 2) of lines in pixels, from the upper left clockwise."""
        ...

    def text(self, picture: ByteArray) -> tuple[str, float]:
        """Return what a picture of one line says, and how sure that is, of 1."""
        ...


class PieceLook(Protocol):
    """How a piece looks."""

    def __call__(self, box: Box, ppi: float, least: float) -> tuple[ByteArray, Grid]:
        """Return the colours (rows, columns, 3) of a box; from `least` on what is at hand."""
        ...


class OutOfTimeError(Exception):
    """Reading takes longer than it may."""


@dataclass
class ReadingTime:
    """What reading may still cost; `until` is in processor seconds, `time.process_time`."""

    pixels: int = 12_000_000
    lines: int = 120
    until: float = math.inf
    whole: bool = True
    """Whether all was read that there was."""

    def takes(self, pixels: int = 0, lines: int = 0) -> bool:
        """Say whether that much may still be done, and count it.

        Raises OutOfTimeError when the time is over.
        """
        if time.process_time() > self.until:
            raise OutOfTimeError
        if pixels > self.pixels or lines > self.lines:
            self.whole = False
            return False
        self.pixels -= pixels
        self.lines -= lines
        return True


def installed() -> bool:
    """Say whether the optical reader is there."""
    return all(find_spec(name) is not None for name in ("rapidocr", "onnxruntime"))


@cache
def reader() -> OpticalReader:
    """Return the optical reader; it takes a second and some 100 MB. Raises ImportError."""
    from rapidocr import RapidOCR

    return _Rapid(
        RapidOCR(
            params={
                "Global.log_level": "critical",
                "Global.use_cls": False,
                "Global.max_side_len": 8192,
                "Det.limit_type": "max",
                "Det.limit_side_len": 8192,
                "EngineConfig.onnxruntime.intra_op_num_threads": 1,
                "EngineConfig.onnxruntime.inter_op_num_threads": 1,
            }
        )
    )


class _Rapid:
    def __init__(self, engine: Any) -> None:
        self._engine = engine

    def lines(self, picture: ByteArray) -> list[FloatArray]:
        # Finding leaves pieces that the next finding does not fit in: without this two faces of a
        # gatefold that are read at once took 950 MB instead of 780 (all processes, 2026).
        give_back_freed_memory()
        found = self._engine(picture, use_det=True, use_cls=False, use_rec=False).boxes
        return [] if found is None else [np.asarray(quad, np.float64) for quad in found]

    def text(self, picture: ByteArray) -> tuple[str, float]:
        found = self._engine(picture, use_det=False, use_cls=False, use_rec=True)
        if not found.txts:
            return "", 0.0
        return str(found.txts[0]), float(found.scores[0])


class _Surface(NamedTuple):
    """A picture to read, `ppmm` pixels a mm, and the map from its pixels to the piece in mm."""

    rgb: ByteArray
    ppmm: float
    places: Callable[[FloatArray], FloatArray]


class _Found(NamedTuple):
    sighting: Sighting
    cells: frozenset[tuple[int, int]]

    @property
    def rank(self) -> tuple[float, str]:
        signs = sum(c.isalnum() for c in self.sighting.text)
        return -self.sighting.sure * signs, self.sighting.text


def sightings(
    box: Box,
    look: PieceLook,
    reader: OpticalReader,
    budget: ReadingTime,
    rings: tuple[Circle, float] | None = None,
) -> list[Sighting]:
    """Return the type seen in a box of a piece, top to bottom.

    `rings` is the rim of a round piece and the radius of its middle that is cut out, both in mm:
    then type that runs about the centre is read as well. Of readings of one place the surer and
    longer is kept. Raises OutOfTimeError.
    """
    found = (
        _flat(box, look, reader, budget)
        if rings is None
        else _round(box, look, reader, budget, rings)
    )
    kept: list[_Found] = []
    for one in sorted(found, key=lambda f: f.rank):
        if all(len(one.cells & k.cells) < _SAME_PLACE * len(one.cells) for k in kept):
            kept.append(one)
    return sorted((k.sighting for k in kept), key=lambda s: (-s.box.y1, s.box.x0, s.text))


def _flat(
    box: Box, look: PieceLook, reader: OpticalReader, budget: ReadingTime
) -> Iterator[_Found]:
    """Look for lines in what is at hand, and read small ones in close-ups of where any stand."""
    rgb, grid = look(box, _FIND_PPI, _FIND_LEAST_PPI)
    plain = _Surface(rgb, 1 / grid.pitch, grid.places)
    small: list[FloatArray] = []
    for part, step in _parts(plain):
        for quad in _lines(part, step, reader, budget):
            if min(_sides(quad)) > _SMALL_MM * plain.ppmm:
                yield from _read(part, quad, reader, budget)
            else:
                small.append(part.places(quad))
    for band, quads in _bands(small):
        rgb, grid = look(band, READ_PPI, READ_PPI)
        close = _Surface(rgb, 1 / grid.pitch, grid.places)
        for quad in quads:
            yield from _read(close, grid.pixels(quad), reader, budget)


def _bands(quads: Sequence[FloatArray]) -> Iterator[tuple[Box, list[FloatArray]]]:
    """Yield lines (4, 2) in mm from the top down, by boxes of at most `_CLOSE_PX` to read in."""
    box: Box | None = None
    within: list[FloatArray] = []
    for quad in sorted(quads, key=lambda q: -float(q[:, 1].max())):
        own = Box.around(quad).grown(_AROUND_MM)
        wider = own if box is None else Box.around((*box.corners, *own.corners))
        if box is not None and wider.area > _CLOSE_PX * mm_per_px(READ_PPI) ** 2:
            yield box, within
            wider, within = own, []
        box = wider
        within.append(quad)
    if box is not None:
        yield box, within


def _round(
    box: Box,
    look: PieceLook,
    reader: OpticalReader,
    budget: ReadingTime,
    rings: tuple[Circle, float],
) -> Iterator[_Found]:
    rgb, grid = look(box, READ_PPI, READ_PPI)
    flat = _Surface(rgb, 1 / grid.pitch, grid.places)
    for surface in (flat, *_unrolled(rgb, grid, rings)):
        for part, step in _parts(surface):
            for quad in _lines(part, step, reader, budget):
                yield from _read(part, quad, reader, budget)


def _unrolled(rgb: ByteArray, grid: Grid, rings: tuple[Circle, float]) -> Iterator[_Surface]:
    """Yield the rings of a round piece as strips: clockwise to the right, the rim on top."""
    rim, inner = rings
    outer = rim.radius
    while outer - inner > _RING_MM / 2:
        low = max(outer - _RING_MM, inner)
        yield _ring(rgb, grid, (rim.x, rim.y), outer, low)
        outer -= _RING_STEP_MM


def _ring(
    rgb: ByteArray, grid: Grid, centre: tuple[float, float], outer: float, inner: float
) -> _Surface:
    ppmm, middle = 1 / grid.pitch, (outer + inner) / 2
    width = round(2 * math.pi * middle * (1 + _SEAM) * ppmm)
    height = round((outer - inner) * ppmm)

    def places(pixels: FloatArray) -> FloatArray:
        # It begins at three o'clock, since round type is mostly set about top or bottom.
        angle = -pixels[..., 0] / ppmm / middle
        radius = outer - pixels[..., 1] / ppmm
        x = centre[0] + radius * np.cos(angle)
        return np.stack((x, centre[1] + radius * np.sin(angle)), axis=-1)

    columns, rows = np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5)
    at = grid.pixels(places(np.stack((columns, rows), axis=-1))) - 0.5
    return _Surface(_sampled(rgb, at), ppmm, places)


def _sampled(rgb: ByteArray, at: FloatArray) -> ByteArray:
    """Return colours at fractional pixels (rows, columns, 2), white outside; bilinear."""
    height, width = rgb.shape[:2]
    low = np.floor(at).astype(np.int64)
    x, y = np.clip(low[..., 0], 0, width - 2), np.clip(low[..., 1], 0, height - 2)
    share = np.clip(at - np.stack((x, y), axis=-1), 0, 1)[..., None]
    fx, fy = share[..., 0, :], share[..., 1, :]
    top = rgb[y, x] * (1 - fx) + rgb[y, x + 1] * fx
    bottom = rgb[y + 1, x] * (1 - fx) + rgb[y + 1, x + 1] * fx
    out: ByteArray = np.rint(top * (1 - fy) + bottom * fy).astype(np.uint8)
    return out


def _parts(surface: _Surface) -> Iterator[tuple[_Surface, float]]:
    """Yield bands of a picture with how many of its pixels are one in which lines are looked for:
    first all of it coarsely where it is large, then bands of it."""
    height, width = surface.rgb.shape[:2]
    step = max(surface.ppmm * 25.4 / _FIND_PPI, 1.0)
    rows = max(int(_BAND_PX * step * step / width), 1)
    if rows >= height:
        yield surface, step
        return
    yield surface, max(width, height) / _COARSE_PX
    overlap = round(_OVERLAP_MM * surface.ppmm)
    top = 0
    while True:
        bottom = min(top + rows, height)
        yield _cut(surface, top, bottom), step
        if bottom == height:
            return
        # No thin strip at the end: the reader pads it to a square.
        top = max(min(bottom - overlap, height - rows), top + 1)


def _cut(surface: _Surface, top: int, bottom: int) -> _Surface:
    down = np.array([0.0, float(top)])
    return _Surface(
        surface.rgb[top:bottom], surface.ppmm, lambda pixels: surface.places(pixels + down)
    )


def _lines(
    surface: _Surface, step: float, reader: OpticalReader, budget: ReadingTime
) -> Iterator[FloatArray]:
    """Yield the corners (4, 2) of lines in a surface's pixels; so many of them are one in which
    lines are looked for."""
    height, width = surface.rgb.shape[:2]
    size = (max(round(width / step), 32), max(round(height / step), 32))
    if not budget.takes(pixels=size[0] * size[1]):
        return
    if int(np.ptp(surface.rgb[::4, ::4].reshape(-1, 3), axis=0).max(initial=0)) < 16:
        return
    picture = Image.fromarray(surface.rgb)
    small = np.asarray(picture.resize(size, Image.Resampling.BOX, reducing_gap=None))
    scale = np.array([width / size[0], height / size[1]])
    for quad in reader.lines(np.ascontiguousarray(small)):
        yield quad * scale


def _read(
    surface: _Surface, quad: FloatArray, reader: OpticalReader, budget: ReadingTime
) -> Iterator[_Found]:
    """Yield what a line says, if it says anything."""
    if not budget.takes(lines=1):
        return
    text, sure = _best(surface.rgb, quad, reader)
    least = _LEAST_SHORT if sum(c.isalnum() for c in text) < 3 else _LEAST
    if sure >= least and any(c.isalnum() for c in text):
        points = surface.places(_spread(quad, surface.ppmm))
        cells = frozenset(map(tuple, np.floor(points).astype(int).tolist()))
        yield _Found(Sighting(text, Box.around(points), round(sure, 3)), cells)


def _best(rgb: ByteArray, quad: FloatArray, reader: OpticalReader) -> tuple[str, float]:
    """Return what a line says in the direction in which it is read most surely."""
    line = _straight(rgb, quad)
    height, width = line.shape[:2]
    best = ("", 0.0)
    for turn in (1, 3) if height >= _TALL * width else (0, 2):
        seen = reader.text(np.ascontiguousarray(np.rot90(line, turn)))
        best = max(best, seen, key=lambda one: one[1])
        if best[1] >= _SURE:
            break
    return best


def _straight(rgb: ByteArray, quad: FloatArray) -> ByteArray:
    """Return a line (rows, columns, 3) cut out upright, no larger than the reader needs it."""
    height, width = rgb.shape[:2]
    low = np.clip(np.floor(quad.min(axis=0)) - 2, 0, (width - 1, height - 1)).astype(int)
    high = np.clip(np.ceil(quad.max(axis=0)) + 2, low + 1, (width, height)).astype(int)
    part = Image.fromarray(rgb[low[1] : high[1], low[0] : high[0]])
    less = max(int(min(_sides(quad)) / _LINE_PX), 1)
    if less > 1:
        part = part.reduce(less)
    quad = (quad - low) / less
    across, down = _sides(quad)
    corners = (*quad[0], *quad[3], *quad[2], *quad[1])
    size = (max(round(across), 1), max(round(down), 1))
    return np.asarray(part.transform(size, Image.Transform.QUAD, corners, Image.Resampling.BICUBIC))


def _sides(quad: FloatArray) -> tuple[float, float]:
    return float(np.hypot(*(quad[1] - quad[0]))), float(np.hypot(*(quad[3] - quad[0])))


def _spread(quad: FloatArray, ppmm: float) -> FloatArray:
    """Return points (n, 2) all over a quad, about half a millimetre apart."""
    across, down = _sides(quad)
    u = np.linspace(0, 1, max(int(across / ppmm * 2), 1) + 1)[:, None, None]
    v = np.linspace(0, 1, max(int(down / ppmm * 2), 1) + 1)[None, :, None]
    top = quad[0] * (1 - u) + quad[1] * u
    bottom = quad[3] * (1 - u) + quad[2] * u
    return np.asarray((top * (1 - v) + bottom * v).reshape(-1, 2))
