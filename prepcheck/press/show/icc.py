"""ICC profiles: one made from a print condition, and transforms of plates to the screen.

Format: ICC.1:2001-04 (version 2), 6.1 (header), 6.5.10 (lut16Type), 6.3.4.2 (PCS encoding).
"""

from __future__ import annotations

import io
import struct
from functools import lru_cache

import numpy as np
from PIL import Image, ImageCms

from prepcheck.errors import UsageError, said_by
from prepcheck.geometry import FloatArray
from prepcheck.press.show.condition import PrintCondition, lab_of_xyz
from prepcheck.press.view import ByteArray

GRID = 17
"""Nodes along each ink of the table."""
CURVE = 256
"""Entries of each ink's curve."""
BAND_ROWS = 512


def condition_profile(condition: PrintCondition) -> bytes:
    """Return a CMYK output profile whose one table is the print condition's model.

    Colours are absolute: the paper comes out with its own tint.
    """
    tints = np.linspace(0.0, 1.0, CURVE)[:, None].repeat(4, axis=1)
    curves = condition.coverage(tints).T
    axis = np.linspace(0.0, 1.0, GRID)
    lab = lab_of_xyz(condition.xyz_of_each(*np.ix_(axis, axis, axis, axis)))
    table = _sixteen(lab * (652.8, 256.0, 256.0) + (0.0, 32768.0, 32768.0))
    identity = _sixteen(np.array([0.0, 65535.0] * 3))
    lut = (
        struct.pack(">4sIBBBB", b"mft2", 0, 4, 3, GRID, 0)
        + struct.pack(">9i", 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
        + struct.pack(">HH", CURVE, 2)
        + _sixteen(curves * 65535.0) + table + identity
    )  # fmt: skip
    text = condition.title.encode("ascii", "replace") + b"\0"
    tags = {
        b"desc": struct.pack(">4sII", b"desc", 0, len(text)) + text + bytes(4 + 4 + 2 + 1 + 67),
        b"cprt": struct.pack(">4sI", b"text", 0) + b"No copyright\0",
        b"wtpt": struct.pack(">4sI3i", b"XYZ ", 0, 63190, 65536, 54061),
        b"A2B0": lut,
    }
    return _assembled(tags)


def _sixteen(values: FloatArray) -> bytes:
    data: bytes = np.rint(values.clip(0.0, 65535.0)).astype(">u2").tobytes()
    return data


def _assembled(tags: dict[bytes, bytes]) -> bytes:
    directory, body = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for tag, data in tags.items():
        directory += struct.pack(">4sII", tag, start + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    header = struct.pack(
        ">I4sI4s4s4s6H4s4sI4s4sQI3i4s44x",
        start + len(body), b"\0\0\0\0", 0x02400000, b"prtr", b"CMYK", b"Lab ",
        2000, 1, 1, 0, 0, 0, b"acsp", b"\0\0\0\0", 0, b"\0\0\0\0", b"\0\0\0\0", 0, 0,
        63190, 65536, 54061, b"\0\0\0\0",
    )  # fmt: skip
    return header + directory + body


@lru_cache(maxsize=8)
def screen_transform(profile: bytes, absolute: bool = False) -> ImageCms.ImageCmsTransform:
    """Return the transform from CMYK (255 solid) to sRGB by an ICC output profile.

    Raises UsageError when the profile cannot be used.
    """
    intent = (
        ImageCms.Intent.ABSOLUTE_COLORIMETRIC if absolute
        else ImageCms.Intent.RELATIVE_COLORIMETRIC
    )  # fmt: skip
    try:
        return ImageCms.buildTransform(
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            "CMYK",
            "RGB",
            intent,
            ImageCms.Flags.NOWHITEONWHITEFIXUP | ImageCms.Flags.HIGHRESPRECALC,
        )
    except (ImageCms.PyCMSError, OSError, ValueError) as error:
        raise UsageError(f"the output profile cannot be used ({said_by(error)})") from error


def apply_transform(transform: ImageCms.ImageCmsTransform, plates: ByteArray) -> ByteArray:
    """Return sRGB (rows, columns, 3) of plates (4, rows, columns), 255 solid."""
    _, rows, columns = plates.shape
    out = np.empty((rows, columns, 3), np.uint8)
    for first in range(0, rows, BAND_ROWS):
        band = np.ascontiguousarray(np.moveaxis(plates[:, first : first + BAND_ROWS], 0, 2))
        picture = Image.frombytes("CMYK", (columns, len(band)), band.tobytes())
        seen = ImageCms.applyTransform(picture, transform)
        assert seen is not None
        out[first : first + BAND_ROWS] = np.asarray(seen)
    return out
