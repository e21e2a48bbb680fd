"""Bringing decoded channels into one form: upright, 8 bits, inks 255 where solid, light 255."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import ImageCms

from prepcheck.art.model import PROCESS_INKS, Space, SpaceFamily

ByteArray = NDArray[np.uint8]
SampleArray = NDArray[Any]
"""Bytes, or numbers of 16 bits."""
GREY = Space(SpaceFamily.GREY, 1)
RGB = Space(SpaceFamily.RGB, 3)
CMYK = Space(SpaceFamily.CMYK, 4)
LAB = Space(SpaceFamily.LAB, 3)
_ROWS = 64
"""Rows that are worked on at a time, as wider numbers take more memory than the picture."""


def to_bytes(values: NDArray[Any]) -> ByteArray:
    """Return 8- or 16-bit numbers as bytes, rounded."""
    if values.dtype.itemsize == 1:
        return values.astype(np.uint8, copy=False)
    out = np.empty(values.shape, np.uint8)
    for top in range(0, len(values), _ROWS):
        rows = slice(top, top + _ROWS)
        out[rows] = (values[rows].astype(np.uint32) * 255 + 32767) // 65535
    return out


def upright(data: SampleArray, orientation: int) -> SampleArray:
    """Turn and mirror samples (rows, columns, …) to how the picture is meant to be seen.

    Source: TIFF 6.0, tag 274 (Orientation), which EXIF takes over.
    """
    match orientation:
        case 2:
            turned = data[:, ::-1]
        case 3:
            turned = data[::-1, ::-1]
        case 4:
            turned = data[::-1]
        case 5:
            turned = data.swapaxes(0, 1)
        case 6:
            turned = np.rot90(data, -1)
        case 7:
            turned = data[::-1, ::-1].swapaxes(0, 1)
        case 8:
            turned = np.rot90(data)
        case _:
            return data
    return np.ascontiguousarray(turned)


def turns_sideways(orientation: int) -> bool:
    """Say whether an orientation exchanges width and height."""
    return orientation in (5, 6, 7, 8)


def on_paper(data: ByteArray, alpha: ByteArray, space: Space, premultiplied: bool) -> ByteArray:
    """Lay samples (rows, columns, n) on bare paper by their opacity (rows, columns)."""
    paper = np.zeros(data.shape[2], np.uint16)
    if space.kind in ("grey", "rgb"):
        paper[:] = 255
    elif space.kind == "lab":
        paper[:] = (255, 128, 128)
    laid = np.empty(data.shape, np.uint8)
    for top in range(0, len(data), _ROWS):
        rows = slice(top, top + _ROWS)
        cover = alpha[rows, :, None].astype(np.uint16)
        art = data[rows].astype(np.uint16)
        if not premultiplied:
            art = (art * cover + 127) // 255
        art += (paper * (255 - cover) + 127) // 255
        laid[rows] = np.minimum(art, 255)
    return laid


def with_profile(space: Space, profile: str | None) -> Space:
    """Return the ICC-based space of the same numbers where a profile is embedded."""
    if profile is None:
        return space
    return Space(SpaceFamily.ICC, space.components, space, (), profile)


def with_spots(space: Space, names: tuple[str, ...]) -> Space:
    """Return the space of grey or CMYK plus named inks; `space` itself when there are none."""
    if not names:
        return space
    process = PROCESS_INKS if space.kind == "cmyk" else PROCESS_INKS[3:]
    return inks_space((*process, *names), space)


def inks_space(names: tuple[str, ...], base: Space | None = None) -> Space:
    """Return the DeviceN space of named inks."""
    return Space(SpaceFamily.DEVICE_N, len(names), base, names)


def profile_name(profile: bytes | None) -> str | None:
    """Return the description of an ICC profile; 'unnamed' for one without or damaged."""
    if not profile:
        return None
    try:
        opened = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        return ImageCms.getProfileDescription(opened).strip() or "unnamed"
    except (OSError, ImageCms.PyCMSError, ValueError):
        return "unnamed"
