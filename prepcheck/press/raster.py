"""Draws raster artwork (one picture that fills the page) over a pixel grid."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from prepcheck.art.model import Page
from prepcheck.errors import UnreadableError
from prepcheck.geometry import Affine, FloatArray, Grid
from prepcheck.press.view import ByteArray

SQUARE = 1e-6
"""Slant below which a map counts as upright."""
BAND_VALUES = 4_000_000
"""Samples averaged at a time."""


def raster_rgb(page: Page, to_frame: Affine, grid: Grid) -> ByteArray:
    """Return the page as RGB (rows, columns, 3) over the grid; outside the page is white."""
    data, kind = _samples(page)
    if kind == "cmyk":
        cmyk = place(data[:, :, :4], page, to_frame, grid, 0)
        rest = 255 - cmyk[:, :, 3:].astype(np.uint16)
        return ((255 - cmyk[:, :, :3]) * rest // 255).astype(np.uint8)
    if kind == "grey":
        return np.repeat(place(data[:, :, :1], page, to_frame, grid, 255), 3, axis=2)
    return place(data[:, :, :3], page, to_frame, grid, 255)


def raster_inks(page: Page, to_frame: Affine, grid: Grid) -> ByteArray | None:
    """Return the greatest ink (rows, columns) of CMYK artwork; None for any other kind."""
    data, kind = _samples(page)
    if kind != "cmyk":
        return None
    inks: ByteArray = place(data, page, to_frame, grid, 0).max(axis=2)
    return inks


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
    out = np.empty((grid.height, grid.width, data.shape[2]), np.uint8)
    across, down = _edges(chain.a, chain.e, grid.width), _edges(chain.d, chain.f, grid.height)
    per_row = max(1.0, 1 / abs(chain.d)) * data.shape[1] * data.shape[2]
    rows = max(1, int(BAND_VALUES / per_row))
    for first in range(0, grid.height, rows):
        edges = down[first : first + rows + 1]
        low, high = np.clip((np.floor(edges.min()), np.ceil(edges.max())), 0, len(data)).astype(int)
        if low == high:
            out[first : first + rows] = paper
            continue
        band = _means(data[low:high], edges - low, 0, paper)
        out[first : first + rows] = _means(band, across, 1, paper) + 0.5
    return out


def _edges(scale: float, offset: float, count: int) -> FloatArray:
    """Return the `count` + 1 pixel edges in samples."""
    edges: FloatArray = (np.arange(count + 1, dtype=np.float64) - offset) / scale
    return edges


def _means(data: NDArray[Any], edges: FloatArray, axis: int, paper: int) -> NDArray[np.float32]:
    """Return the mean of `data` between each two neighbours of `edges` along an axis."""
    size = data.shape[axis]
    shape = [1] * data.ndim
    shape[axis] = -1
    step = edges[1] - edges[0]
    inside = np.clip(edges, 0.0, size)
    low = np.minimum(inside.astype(np.intp), size - 1)
    before: NDArray[Any] = np.cumsum(data, axis, np.float64) - data
    sums = np.take(before, low, axis) + (inside - low).reshape(shape) * np.take(data, low, axis)
    bare = 1.0 - np.diff(inside) / step
    mean: NDArray[Any] = np.diff(sums, axis=axis) / step + paper * bare.reshape(shape)
    return mean.astype(np.float32)


def _turned(data: ByteArray, chain: Affine, grid: Grid, paper: int) -> ByteArray:
    """Draw samples at an angle: shrunk to about the grid first, then between four neighbours."""
    size, shrunk = data.shape, data.astype(np.float32)
    for axis, scale in ((0, chain.y_scale), (1, chain.x_scale)):
        wanted = max(1, min(size[axis], math.ceil(size[axis] * scale)))
        if wanted < size[axis]:
            shrunk = _means(shrunk, np.linspace(0.0, size[axis], wanted + 1), axis, paper)
    planes = (shrunk + 0.5).astype(np.uint8)
    sample = Affine.scale(size[1] / planes.shape[1], size[0] / planes.shape[0])
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


def _samples(page: Page) -> tuple[ByteArray, str]:
    samples = page.picture(0)
    if samples is None:
        raise UnreadableError("the picture cannot be decoded; export it again")
    return samples.data, samples.space.kind
