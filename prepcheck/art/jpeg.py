"""JPEG pictures (ITU-T T.81) as stored: alone, or inside a PDF or TIFF. Pillow decodes."""

from __future__ import annotations

import io
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image, JpegImagePlugin

from prepcheck.art.damage import quietly
from prepcheck.art.limits import Limits
from prepcheck.errors import UnreadableError

ADOBE_MARKER = b"\xff\xee\x00\x0eAdobe\x00\x64\x00\x00\x00\x00"
"""An APP14 marker short of its last byte, the colour transform."""

START_OF_SCAN = b"\xff\xda"
STRIP = 64
"""Rows of a picture that are copied at a time."""


class JpegPicture(NamedTuple):
    """A decoded JPEG.

    `data` is uint8 (rows, columns, components 1, 3 or 4), numbers as stored (a YCbCr or YCCK
    transform undone, nothing inverted). `tables` are the quantisation tables in natural order.
    """

    data: NDArray[np.uint8]
    tables: tuple[tuple[int, ...], ...]
    adobe: bool
    """Whether an Adobe marker is there: then four-colour numbers are stored inverted."""


def jpeg_tables(picture: Image.Image) -> tuple[tuple[int, ...], ...]:
    """Return the quantisation tables, natural order, of an opened JPEG."""
    found = getattr(picture, "quantization", None) or {}
    return tuple(tuple(int(value) for value in found[key]) for key in sorted(found))


def open_jpeg(data: bytes, limits: Limits) -> JpegImagePlugin.JpegImageFile:
    """Open a JPEG without decoding it; raises UnreadableError for one damaged or too large."""
    with quietly("JPEG"):
        picture = JpegImagePlugin.JpegImageFile(io.BytesIO(data))
    check_size(picture.size, len(picture.getbands()), limits)
    picture.decodermaxblock = max(picture.decodermaxblock, len(data))  # decode without a pause
    return picture


def read_jpeg(
    data: bytes, limits: Limits, transform: int | None = None, shrink: int = 1
) -> JpegPicture:
    """Decode a JPEG; `transform` is the colour transform to assume where no marker states one.

    Only 0 and 1 are transforms (ISO 32000-2, Table 13); any other number counts as none. With
    `shrink`, samples are averaged while decoding by 2, 4 or 8, at most by that factor.
    Raises UnreadableError for one damaged or too large.
    """
    picture = open_jpeg(data, limits)
    adobe = "adobe" in picture.info
    if transform in (0, 1) and "adobe_transform" not in picture.info and data[:2] == b"\xff\xd8":
        data = data[:2] + ADOBE_MARKER + bytes((transform,)) + data[2:]
        picture = open_jpeg(data, limits)
    tables = jpeg_tables(picture)
    # The decoder holds all coefficients where there are several scans.
    held = _coefficient_bytes(picture) if data.count(START_OF_SCAN) > 1 else 0
    if shrink > 1:
        picture.draft(None, (picture.width // shrink, picture.height // shrink))
    with quietly("JPEG"):
        samples = _decoded(picture, held)
    if picture.mode == "CMYK":
        np.subtract(255, samples, out=samples)  # Pillow inverts four-colour JPEGs, marker or not
    return JpegPicture(samples, tables, adobe)


def _decoded(picture: Image.Image, held: int) -> NDArray[np.uint8]:
    """Return the samples (rows, columns, components) of an opened picture, decoded where they stay:
    memory of Pillow's own would be as much again. The decoder needs `held` bytes meanwhile.

    Raises MemoryError for want of memory, which the decoder would call damage.
    """
    mode = {"L": "L", "RGB": "RGBX", "CMYK": "CMYK"}.get(picture.mode)
    if mode is None:
        return as_array(picture)
    width, height = picture.size
    room = np.empty((height, width, len(mode)), np.uint8)
    np.empty(held, np.uint8)  # is there as much?
    picture.im = Image.frombuffer(mode, picture.size, room, "raw", mode, 0, 1).im
    picture.load()
    if mode != "RGBX":
        return room
    # Pillow keeps RGB four bytes apart.
    samples = room.reshape(-1)[: height * width * 3].reshape(height, width, 3)
    for top in range(0, height, STRIP):
        samples[top : top + STRIP] = room[top : top + STRIP, :, :3]
    return samples


def _coefficient_bytes(picture: JpegImagePlugin.JpegImageFile) -> int:
    """Return how much memory the coefficients take: two bytes each, as many as samples before a
    component was enlarged to the picture's size (ITU-T T.81, A.1.1)."""
    layers = picture.layer
    most = max(across for _, across, _, _ in layers) * max(down for _, _, down, _ in layers)
    samples = picture.width * picture.height * sum(across * down for _, across, down, _ in layers)
    return 2 * samples // max(most, 1)


def as_array(picture: Image.Image) -> NDArray[np.uint8]:
    """Return a picture of 8-bit channels as an array of its own (rows, columns, components)."""
    picture.load()
    width, height = picture.size
    samples = np.empty((height, width, len(picture.getbands())), np.uint8)
    # Pillow hands samples out by way of two copies: a strip at a time they take no memory.
    for top in range(0, height, STRIP):
        strip = np.asarray(picture.crop((0, top, width, min(top + STRIP, height))))
        samples[top : top + STRIP] = np.atleast_3d(strip)
    return samples


def check_size(size: tuple[int, int], components: int, limits: Limits) -> None:
    """Raise UnreadableError for a picture without extent or beyond the limits."""
    pixels = size[0] * size[1]
    if pixels <= 0:
        raise UnreadableError("the picture has no width or no height; export it again")
    if pixels > limits.picture_pixels or pixels * components > limits.picture_bytes:
        most = min(limits.picture_pixels, limits.picture_bytes // components)
        raise limits.met(
            f"the picture claims {size[0]} × {size[1]} pixels, far more than a sleeve needs, and "
            f"{most / 1e6:,.4g} million is the limit; save it at 300 to 600 ppi"
        )
