"""JPEG and PNG files. Pillow decodes."""

from __future__ import annotations

import io
from functools import partial
from pathlib import Path

import numpy as np
from PIL import Image, PngImagePlugin

from prepcheck.art.damage import quietly
from prepcheck.art.jpeg import as_array, check_size, jpeg_tables, open_jpeg, read_jpeg
from prepcheck.art.limits import Limits
from prepcheck.art.model import RasterFacts, Samples, Space
from prepcheck.art.png import png_profile, png_samples, png_without_notes
from prepcheck.art.raster import RasterFile, raster_page, stated_ppi
from prepcheck.art.samples import (
    CMYK,
    GREY,
    RGB,
    on_paper,
    profile_name,
    to_bytes,
    turns_sideways,
    upright,
    with_profile,
)
from prepcheck.errors import UnreadableError

_JPEG_SPACES = {"L": GREY, "RGB": RGB, "CMYK": CMYK}
_ORIENTATION, _X_PPI, _Y_PPI, _UNIT = 274, 282, 283, 296
_PHOTOSHOP_RESOLUTION = 1005
LARGE_PIXELS = 40_000_000
"""A PNG larger than this is decoded a strip at a time."""


def read_jpeg_file(path: Path, data: bytes, limits: Limits) -> RasterFile:
    """Read a JPEG file; raises UnreadableError where it is damaged or too large."""
    picture = open_jpeg(data, limits)
    with quietly("JPEG"):
        orientation = picture.getexif().get(_ORIENTATION, 1)
        sideways = turns_sideways(orientation)
        profile = picture.info.get("icc_profile")
        name = profile_name(profile)
        facts = RasterFacts(
            samples=picture.size[::-1] if sideways else picture.size,
            bits=8,
            space=with_profile(_JPEG_SPACES[picture.mode], name),
            ppi=_jpeg_ppi(picture, sideways),
            compression="JPEG",
            orientation=orientation,
            profile=name,
            jpeg_tables=jpeg_tables(picture),
            profile_data=profile,
        )
    decode = partial(_decode_jpeg, path, facts.space, orientation, limits)
    return RasterFile((raster_page(0, path.name, facts, decode),))


def _decode_jpeg(path: Path, space: Space, orientation: int, limits: Limits) -> Samples:
    jpeg = read_jpeg(path.read_bytes(), limits)
    data = jpeg.data
    if data.shape[2] == 4 and jpeg.adobe:
        np.subtract(255, data, out=data)
    return Samples(upright(data, orientation), space, jpeg.tables)


def _jpeg_ppi(picture: Image.Image, sideways: bool) -> tuple[float, float] | None:
    """Return the resolution by JFIF, else EXIF, else Photoshop's own block."""
    unit, density = picture.info.get("jfif_unit"), picture.info.get("jfif_density")
    if density and unit in (1, 2):
        return stated_ppi(density[0], density[1], sideways, 2.54 if unit == 2 else 1.0)
    exif = picture.getexif()
    if _X_PPI in exif and _Y_PPI in exif:
        factor = 2.54 if exif.get(_UNIT, 2) == 3 else 1.0
        found = stated_ppi(exif[_X_PPI], exif[_Y_PPI], sideways, factor)
        if found:
            return found
    block = picture.info.get("photoshop", {}).get(_PHOTOSHOP_RESOLUTION)
    if isinstance(block, dict):
        return stated_ppi(block["XResolution"], block["YResolution"], sideways)
    return None


def read_png_file(path: Path, data: bytes, limits: Limits) -> RasterFile:
    """Read a PNG file; raises UnreadableError where it is damaged or too large."""
    with quietly("PNG"):
        plain = png_without_notes(data)
        picture = PngImagePlugin.PngImageFile(io.BytesIO(plain.data))
        check_size(picture.size, 4, limits)
        # IHDR is always the first chunk (PNG, 3rd edition, 5.6).
        bits, colour_type = data[24], data[25]
        profile = png_profile(plain.profile, limits)
        name = profile_name(profile)
        space = with_profile(GREY if colour_type in (0, 4) else RGB, name)
        facts = RasterFacts(
            samples=picture.size,
            bits=8 if colour_type == 3 else bits,
            space=space,
            ppi=_png_ppi(picture),
            compression="Deflate",
            has_alpha=colour_type in (4, 6) or "transparency" in picture.info,
            profile=name,
            profile_data=profile,
        )
    decode = partial(_decode_png, path, space, limits)
    return RasterFile((raster_page(0, path.name, facts, decode),))


def _png_ppi(picture: Image.Image) -> tuple[float, float] | None:
    across, down = picture.info.get("dpi", (None, None))
    return stated_ppi(across, down)


def _decode_png(path: Path, space: Space, limits: Limits) -> Samples:
    with quietly("PNG"):
        plain = png_without_notes(path.read_bytes()).data
        picture: Image.Image = PngImagePlugin.PngImageFile(io.BytesIO(plain))
        check_size(picture.size, 4, limits)
        if picture.mode == "P" and picture.palette is None:
            raise UnreadableError("the PNG has no palette for its colours; export it again")
        grey = space.kind == "grey"
        if picture.mode.startswith("I"):
            return Samples(to_bytes(np.array(picture, np.uint16))[:, :, None], space)
        clear = "A" in picture.getbands() or "transparency" in picture.info
        usual = 8, {"L": 0, "RGB": 2}.get(picture.mode), 0
        if (plain[24], plain[25], plain[28]) == usual and not clear:
            width, height = picture.size
            if width * height > LARGE_PIXELS:
                channels = len(picture.getbands())
                return Samples(png_samples(plain, (width, height), channels), space)
        if not clear:
            return Samples(as_array(picture.convert("L" if grey else "RGB")), space)
        layered = as_array(picture.convert("LA" if grey else "RGBA"))
        art = layered[:, :, :-1]
        return Samples(on_paper(art, layered[:, :, -1], space, premultiplied=False), space)
