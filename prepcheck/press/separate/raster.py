"""Draws raster artwork (one picture that fills the page) over a pixel grid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from prepcheck.art.model import PROCESS_INKS, Page, Samples
from prepcheck.art.pdf.content.mix import Scope, scope_of
from prepcheck.art.raster import RasterPage
from prepcheck.errors import UnreadableError
from prepcheck.geometry import ROUNDING, Affine, Grid
from prepcheck.press.separate.conversion import ToInks
from prepcheck.press.separate.picture_copies import DecodedPicture, decoded_samples, in_inks
from prepcheck.press.view import ByteArray

SQUARE = 1e-6
"""Slant below which a map counts as upright."""
STEEP = 2.0
"""Pixels a sample from which enlarging keeps each sample a square."""
SPOT_DARK = 178
"""How dark a solid spot is taken to be, of 255."""
BAND_PIXELS = 4_000_000
"""Samples averaged at a time."""
BAND_ROWS = 32
"""Rows mixed at a time: what is reckoned between stays in the processor's own memory, which takes
half the time of whole plates."""


def raster_rgb(page: Page, to_frame: Affine, grid: Grid) -> ByteArray:
    """Return the page as RGB (rows, columns, 3) over the grid; outside the page is white."""
    _, plates, seen = raster_plates(page, to_frame, grid)
    return naive_rgb(plates) if seen is None else seen


def naive_rgb(
    plates: Sequence[ByteArray] | ByteArray, filters: Sequence[tuple[ByteArray, ByteArray]] = ()
) -> ByteArray:
    """Return a rough look of plates (Cyan, Magenta, Yellow, Black, spots as grey) in RGB.

    A solid spot is lighter than black, so that what black prints over it shows. `filters` are
    spots that have colours: each a plate, and what its tints (256, 3) lay over what is below.
    """
    height, width = plates[3].shape
    rgb = np.empty((height, width, 3), np.uint8)
    laid = [
        (spot, np.ascontiguousarray(tints.T, np.uint16)) for spot, tints in filters if spot.any()
    ]
    for first in range(0, height, BAND_ROWS):
        rows = slice(first, first + BAND_ROWS)
        over = [
            (spot[rows].astype(np.intp), tints)
            for spot, tints in laid
            if spot[rows].any() or tints[:, 0].min() < 255
        ]
        _mix_rows([plate[rows] for plate in plates], over, rgb[rows])
    return rgb


def _mix_rows(
    plates: Sequence[ByteArray],
    filters: Sequence[tuple[NDArray[np.intp], NDArray[np.uint16]]],
    rgb: ByteArray,
) -> None:
    rest = np.subtract(255, plates[3], dtype=np.uint16)
    for plate in plates[4:]:
        rest *= 255 - plate.astype(np.uint16) * SPOT_DARK // 255
        rest //= 255
    for channel, plate in enumerate(plates[:3]):
        light = rest.copy()
        if plate.any():
            light *= 255 - plate
            light //= 255
        for spot, tints in filters:
            light *= tints[channel].take(spot)
            light += 127
            light //= 255
        rgb[:, :, channel] = light


def lay_spots(rgb: ByteArray, spots: Sequence[tuple[ByteArray, ByteArray]]) -> None:
    """Lay spots over colours (rows, columns, 3), in place: each a plate (rows, columns), and the
    filter (256, 3) of its tints, 255 clear."""
    every = [(plate, tints.astype(np.uint16)) for plate, tints in spots if plate.any()]
    for first in range(0, len(rgb), BAND_ROWS):
        band = rgb[first : first + BAND_ROWS]
        laid = [
            (plate[first : first + BAND_ROWS].astype(np.intp), tints)
            for plate, tints in every
            if plate[first : first + BAND_ROWS].any() or tints[0].min() < 255
        ]
        for channel in range(3) if laid else ():
            light = band[:, :, channel].astype(np.uint16)
            for amounts, tints in laid:
                light *= tints[:, channel].take(amounts)
                light += 127
                light //= 255
            band[:, :, channel] = light


def lay_filter(rgb: ByteArray, over: ByteArray) -> None:
    """Lay a filter, 255 clear, over colours (rows, columns, 3), in place."""
    for channel in range(3):
        product = rgb[:, :, channel].astype(np.uint16) * over[:, :, channel] + 127
        rgb[:, :, channel] = product // 255


def raster_plates(
    page: Page, to_frame: Affine, grid: Grid
) -> tuple[tuple[str, ...], ByteArray, ByteArray | None]:
    """Return ink names, their plates (inks, rows, columns) over the grid, and paint without ink
    amounts as RGB (rows, columns, 3), None where the picture has inks."""
    return placed_plates(read_raster(page)[0], page, to_frame, grid)


def read_raster(page: Page, to_inks: ToInks | None = None) -> tuple[DecodedPicture, bool]:
    """Return the samples of a raster page, and whether they were converted to inks.

    Raises UnreadableError when there are none.
    """
    samples = _samples(page)
    if to_inks is None or scope_of(samples.space) is not Scope.SEEN:
        return decoded_samples(samples), False
    profile = page.facts.profile_data if isinstance(page, RasterPage) else None
    return in_inks(samples, to_inks, profile), True


def placed_plates(
    decoded: DecodedPicture, page: Page, to_frame: Affine, grid: Grid
) -> tuple[tuple[str, ...], ByteArray, ByteArray | None]:
    """Return what `raster_plates` does, of samples that are at hand."""
    spots = [plate for plate in decoded.plates if plate and plate not in PROCESS_INKS]
    inks = (*PROCESS_INKS, *spots)
    plates = np.zeros((len(inks), grid.height, grid.width), np.uint8)
    if not decoded.plates:
        return inks, plates, place(decoded.data, page, to_frame, grid, 255)
    placed = place(decoded.data, page, to_frame, grid, 255 if decoded.light else 0)
    if decoded.light:
        np.subtract(255, placed, out=placed)
    for component, plate in enumerate(decoded.plates):
        if plate:
            plates[inks.index(plate)] = placed[:, :, component]
    return inks, plates, None


def place(data: ByteArray, page: Page, to_frame: Affine, grid: Grid, paper: int) -> ByteArray:
    """Average samples (rows, columns, components) that fill the page onto the grid.

    Row 0 of the samples is the top of the page as displayed. Each pixel is the mean of the area
    it covers; what lies outside the page counts as `paper`.
    """
    media = page.boxes.media
    rows, columns = data.shape[:2]
    to_page = Affine(
        media.width / columns, 0.0, 0.0, -media.height / rows, media.x0, media.y1
    )  # fmt: skip
    chain = to_page.then(to_frame).then(grid.to_pixels)
    if abs(chain.b) + abs(chain.c) < SQUARE * (abs(chain.a) + abs(chain.d)):
        return _upright(data, chain, grid, paper)
    if abs(chain.a) + abs(chain.d) < SQUARE * (abs(chain.b) + abs(chain.c)):
        a, b, c, d, e, f = chain
        return _upright(data.transpose(1, 0, 2), Affine(c, d, a, b, e, f), grid, paper)
    return _turned(data, chain, grid, paper)


def _upright(data: ByteArray, chain: Affine, grid: Grid, paper: int) -> ByteArray:
    """Average samples onto the grid; `chain` maps samples to pixels without turn or slant."""
    rows, columns, channels = data.shape
    if chain.a < 0:
        data, chain = data[:, ::-1], chain._replace(a=-chain.a, e=chain.e + chain.a * columns)
    if chain.d < 0:
        data, chain = data[::-1], chain._replace(d=-chain.d, f=chain.f + chain.d * rows)
    out = np.full((grid.height, grid.width, channels), paper, np.uint8)
    across = _Span.of(chain.e, chain.a, columns, grid.width)
    down = _Span.of(chain.f, chain.d, rows, grid.height)
    per_band = max(1, BAND_PIXELS // max(1, int(columns / min(chain.d, 1.0))))
    for first in range(down.first, down.last, per_band):
        band = down._replace(first=first, last=min(first + per_band, down.last))
        out[band.first : band.last, across.first : across.last] = _resized(data, across, band)
    for column, covered in across.rims.items():
        out[:, column] = out[:, column] * covered + paper * (1.0 - covered) + 0.5
    for row, covered in down.rims.items():
        out[row] = out[row] * covered + paper * (1.0 - covered) + 0.5
    return out


class _Span(NamedTuple):
    """How samples lie along one axis of the grid: `first` to `last` are the pixels they touch."""

    start: float
    """Where sample 0 starts, in pixels."""
    scale: float
    """Pixels a sample."""
    samples: int
    first: int
    last: int

    @classmethod
    def of(cls, start: float, scale: float, samples: int, pixels: int) -> _Span:
        first = min(max(math.floor(start + ROUNDING), 0), pixels)
        last = min(max(math.ceil(start + scale * samples - ROUNDING), first), pixels)
        return cls(start, scale, samples, first, last)

    @property
    def rims(self) -> dict[int, float]:
        """The share of the first and the last pixel that is covered."""
        end = self.start + self.scale * self.samples
        ends = {self.first, self.last - 1} if self.last > self.first else set()
        return {p: min(end, p + 1.0) - max(self.start, float(p)) for p in ends}

    def edges(self) -> tuple[float, float]:
        """Return where `first` and `last` lie, in samples."""
        return (self.first - self.start) / self.scale, (self.last - self.start) / self.scale


def _resized(data: ByteArray, across: _Span, down: _Span) -> ByteArray:
    """Return the samples under the pixels of two spans, the rim drawn out where they end."""
    box, cut, padding = [], [], []
    for span in (across, down):
        low, high = span.edges()
        margin = math.ceil(2 / span.scale) + 2
        start, stop = math.floor(low) - margin, math.ceil(high) + margin
        inside = slice(min(max(start, 0), span.samples - 1), max(min(stop, span.samples), 1))
        cut.append(inside)
        padding.append((inside.start - start, stop - inside.stop))
        box.append((low - start, high - start))
    block = np.pad(data[cut[1], cut[0]], (padding[1], padding[0], (0, 0)), "edge")
    (left, right), (top, bottom) = box
    size = (across.last - across.first, down.last - down.first)
    # A steep enlargement shows the samples as they are.
    steep = min(across.scale, down.scale) >= STEEP
    kernel = Image.Resampling.BOX if steep else Image.Resampling.HAMMING
    mode = {3: "RGB", 4: "CMYK"}.get(block.shape[2], "L")
    layers = [block] if mode != "L" else [block[:, :, n] for n in range(block.shape[2])]
    done = [
        np.asarray(
            Image.frombytes(mode, layer.shape[1::-1], layer.tobytes()).resize(
                size, kernel, (left, top, right, bottom)
            )
        )
        for layer in layers
    ]
    return done[0] if mode != "L" else np.stack(done, axis=2)


def _turned(data: ByteArray, chain: Affine, grid: Grid, paper: int) -> ByteArray:
    """Draw samples at an angle: shrunk to about the grid first, then between four neighbours."""
    rows, columns = data.shape[:2]
    spans = [
        _Span(0.0, wanted / samples, samples, 0, wanted)
        for samples, scale in ((columns, chain.x_scale), (rows, chain.y_scale))
        for wanted in (max(1, min(samples, math.ceil(samples * scale))),)
    ]
    planes = _resized(data, *spans)
    sample = Affine.scale(columns / planes.shape[1], rows / planes.shape[0])
    back = sample.then(chain).inverse()
    out = np.empty((grid.height, grid.width, data.shape[2]), np.uint8)
    for channel in range(data.shape[2]):
        plane = Image.fromarray(np.ascontiguousarray(planes[:, :, channel]))
        turned = plane.transform(
            (grid.width, grid.height),
            Image.Transform.AFFINE,
            (back.a, back.c, back.e, back.b, back.d, back.f),
            Image.Resampling.BILINEAR,
            fillcolor=paper,
        )
        out[:, :, channel] = np.asarray(turned)
    return out


def _samples(page: Page) -> Samples:
    samples = page.picture(0)
    if samples is None:
        raise UnreadableError("the picture cannot be decoded; export it again")
    return samples
