"""Makes honest pictures of very many pixels: smooth tones with grain, as photographs have them."""

from __future__ import annotations

import io
import struct
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tests.factories import PT, Pdf, Stream
from tests.hostile.files import LABEL, SEED, Maker, deflated, label

BAND = 512
"""Rows made at a time."""


def gatefold_mm() -> tuple[float, float]:
    """Return the size of a gatefold jacket with 3 mm of bleed."""
    from prepcheck.spec.load import load_spec

    box = load_spec("gatefold-12in").outline_of(0).bounds.grown(3.0)
    return box.width, box.height


def tones(width: int, height: int) -> Iterator[NDArray[np.uint8]]:
    """Yield the bands of a CMYK picture (rows, columns, 4): coarse shapes, and grain on them."""
    chance = np.random.default_rng(SEED)
    coarse = Image.fromarray(chance.integers(0, 150, (24, 24, 4), np.uint8), "CMYK")
    grain = chance.integers(0, 12, (BAND, width, 1), np.uint8)
    for top in range(0, height, BAND):
        rows = min(BAND, height - top)
        box = (0.0, 24 * top / height, 24.0, 24 * (top + rows) / height)
        smooth = coarse.resize((width, rows), Image.Resampling.BICUBIC, box)
        yield np.asarray(smooth) // 2 + grain[:rows]


def whole(width: int, height: int) -> Image.Image:
    picture = Image.new("CMYK", (width, height))
    for number, band in enumerate(tones(width, height)):
        picture.paste(Image.fromarray(band, "CMYK"), (0, number * BAND))
    return picture


def saved(size: tuple[int, int], kind: str, ppi: float, **options: object) -> bytes:
    out = io.BytesIO()
    whole(*size).save(out, kind, dpi=(ppi, ppi), **options)
    return out.getvalue()


def _label_ppi(side: int) -> float:
    return side / LABEL[0] * 25.4


def tiff_plain(side: int) -> bytes:
    return saved((side, side), "TIFF", _label_ppi(side))


def tiff_lzw(side: int) -> bytes:
    return saved((side, side), "TIFF", _label_ppi(side), compression="tiff_lzw")


def jpeg(side: int) -> bytes:
    return saved((side, side), "JPEG", _label_ppi(side), quality=90)


def psd_of(size: tuple[int, int], ppi: float) -> bytes:
    """Return a PSD without compression (Adobe Photoshop File Formats Specification)."""
    bands = list(tones(*size))
    planes = b"".join((255 - band[:, :, ink]).tobytes() for ink in range(4) for band in bands)
    fixed = round(ppi * 65536)
    block = b"8BIM" + struct.pack(">HHI", 1005, 0, 16)
    block += struct.pack(">IHHIHH", fixed, 1, 1, fixed, 1, 1)
    head = struct.pack(">4sH6xHIIHH", b"8BPS", 1, 4, size[1], size[0], 8, 4)
    return head + struct.pack(">II", 0, len(block)) + block + struct.pack(">IH", 0, 0) + planes


def psd(side: int) -> bytes:
    return psd_of((side, side), _label_ppi(side))


def gatefold_psd(ppi: int) -> bytes:
    return psd_of(gatefold_pixels(ppi), ppi)


def gatefold_pixels(ppi: int) -> tuple[int, int]:
    width, height = gatefold_mm()
    return round(width / 25.4 * ppi), round(height / 25.4 * ppi)


def gatefold_jpeg(ppi: int) -> bytes:
    return saved(gatefold_pixels(ppi), "JPEG", ppi, quality=90)


def gatefold_lzw(ppi: int) -> bytes:
    return saved(gatefold_pixels(ppi), "TIFF", ppi, compression="tiff_lzw")


def _entries(size: tuple[int, int]) -> dict[str, object]:
    return {
        "Type": "XObject", "Subtype": "Image", "Width": size[0], "Height": size[1],
        "ColorSpace": "DeviceCMYK", "BitsPerComponent": 8,
    }  # fmt: skip


def _dct(size: tuple[int, int]) -> Stream:
    # Pillow marks four colours as Adobe does, stored inverted.
    entries = {**_entries(size), "Filter": "DCTDecode", "Decode": [1, 0] * 4}
    return Stream(saved(size, "JPEG", 300, quality=90), entries)


def _flate(size: tuple[int, int]) -> Stream:
    return deflated((band.tobytes() for band in tones(*size)), 1, **_entries(size))


def _over(stream: Stream, size_mm: tuple[float, float]) -> bytes:
    pdf = Pdf("1.7")
    picture = pdf.add(stream)
    width, height = size_mm
    shown = b"q %.3f 0 0 %.3f 0 0 cm /P Do Q" % (width * PT, height * PT)
    contents = pdf.add(Stream(shown))
    if size_mm == LABEL:
        return label(contents, {"XObject": {"P": picture}}, pdf)
    pdf.page(
        "", size_mm, trim_mm=(3, 3, width - 3, height - 3), Contents=contents,
        resources={"XObject": {"P": picture}},
    )  # fmt: skip
    return pdf.bytes()


def label_dct(side: int) -> bytes:
    return _over(_dct((side, side)), LABEL)


def label_flate(side: int) -> bytes:
    return _over(_flate((side, side)), LABEL)


def gatefold_dct(ppi: int) -> bytes:
    return _over(_dct(gatefold_pixels(ppi)), gatefold_mm())


def gatefold_flate(ppi: int) -> bytes:
    return _over(_flate(gatefold_pixels(ppi)), gatefold_mm())


RASTERS: dict[str, tuple[Maker, int]] = {
    "tiff-plain": (tiff_plain, 14_000),
    "tiff-lzw": (tiff_lzw, 14_000),
    "jpeg": (jpeg, 14_000),
    "psd": (psd, 14_000),
    "label-dct": (label_dct, 14_000),
    "label-flate": (label_flate, 14_000),
    "gatefold-jpeg": (gatefold_jpeg, 600),
    "gatefold-lzw": (gatefold_lzw, 600),
    "gatefold-psd": (gatefold_psd, 600),
    "gatefold-dct": (gatefold_dct, 600),
    "gatefold-flate": (gatefold_flate, 600),
}
"""Each with its full size: pixels a side, or ppi. All have to pass."""
