"""Samples of pictures placed in PDFs: known by construction, and painted by PDFium."""

from __future__ import annotations

import base64
import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from numpy.typing import NDArray
from PIL import Image

from prepcheck.art.limits import Limits
from prepcheck.art.model import Samples
from prepcheck.art.open import open_art
from prepcheck.art.pdf import streams
from prepcheck.errors import BudgetError
from prepcheck.geometry import Affine
from tests.factories import Pdf, Ref, Stream

Bytes = NDArray[np.uint8]
Entries = dict[str, object]


def ramp(height: int, width: int, channels: int) -> Bytes:
    y, x, c = np.ogrid[:height, :width, :channels]
    return ((x * 7 + y * 13 + c * 61) % 256).astype(np.uint8)


def placed(
    folder: Path,
    data: bytes,
    size: tuple[int, int],
    *,
    limits: Limits | None = None,
    make: Callable[[Pdf], Entries] | None = None,
    **entries: object,
) -> Samples | None:
    """Open a PDF whose page is filled by one picture, a point a sample; return its samples."""
    pdf = Pdf()
    width, height = size
    image = pdf.add(
        Stream(
            data,
            {
                "Type": "XObject", "Subtype": "Image", "Width": width, "Height": height,
                "BitsPerComponent": 8, **entries, **(make(pdf) if make else {}),
            },
        )
    )  # fmt: skip
    pdf.page(
        f"q {width} 0 0 {height} 0 0 cm /I Do Q", (1, 1), millimetres=False,
        MediaBox=[0, 0, width, height], resources={"XObject": {"I": image}},
    )  # fmt: skip
    path = folder / "art.pdf"
    path.write_bytes(pdf.bytes())
    art = open_art(path) if limits is None else open_art(path, limits)
    (item,) = art.pages[0].content(Affine.identity()).images
    assert item.key == int(image)
    return art.pages[0].picture(item.key)


def painted(folder: Path) -> Bytes:
    """Return the page as PDFium paints it, a pixel a sample."""
    with pdfium.PdfDocument(folder / "art.pdf") as document:
        return np.array(document[0].render(scale=1, rev_byteorder=True).to_numpy())[:, :, :3]


def as_rgb(samples: Samples | None) -> Bytes:
    assert samples is not None
    return np.broadcast_to(samples.data, (*samples.data.shape[:2], 3))


def packed(values: Bytes, bits: int) -> bytes:
    """Pack numbers (rows, n) of 1, 2 or 4 bits, rows padded to whole bytes."""
    spread = (values[:, :, None] >> np.arange(bits - 1, -1, -1)) & 1
    return np.packbits(spread.reshape(len(values), -1), axis=1).tobytes()


def png_filtered(rows: Bytes, step: int) -> bytes:
    """Filter rows (rows, bytes) with the five PNG filters in turn (PNG, 3rd edition, 9.2)."""
    out = bytearray()
    before = np.zeros(rows.shape[1], np.int64)
    for number, row in enumerate(rows.astype(np.int64)):
        left = np.concatenate((np.zeros(step, np.int64), row[:-step]))
        corner = np.concatenate((np.zeros(step, np.int64), before[:-step]))
        guess = left + before - corner
        near = [np.abs(guess - other) for other in (left, before, corner)]
        paeth = np.where(
            (near[0] <= near[1]) & (near[0] <= near[2]),
            left,
            np.where(near[1] <= near[2], before, corner),
        )
        kind = number % 5
        taken = (np.zeros_like(row), left, before, (left + before) // 2, paeth)[kind]
        out += bytes((kind,)) + ((row - taken) % 256).astype(np.uint8).tobytes()
        before = row
    return bytes(out)


@pytest.mark.parametrize(
    ("space", "channels"), [("DeviceGray", 1), ("DeviceRGB", 3), ("DeviceCMYK", 4)]
)
def test_plain_samples(tmp_path: Path, space: str, channels: int) -> None:
    data = ramp(9, 14, channels)
    samples = placed(tmp_path, data.tobytes(), (14, 9), ColorSpace=space)
    assert samples is not None
    assert samples.space.family == space
    assert np.array_equal(samples.data, data)
    if channels < 4:
        assert np.array_equal(as_rgb(samples), painted(tmp_path))


@pytest.mark.parametrize("bits", [1, 2, 4])
@pytest.mark.parametrize("inverted", [False, True])
def test_few_bits(tmp_path: Path, bits: int, inverted: bool) -> None:
    values = ramp(9, 13, 1)[:, :, 0] >> (8 - bits)
    samples = placed(
        tmp_path, packed(values, bits), (13, 9), ColorSpace="DeviceGray", BitsPerComponent=bits,
        Decode=[1, 0] if inverted else [0, 1],
    )  # fmt: skip
    grey = values.astype(np.float64) / (2**bits - 1) * 255
    assert samples is not None
    assert np.array_equal(samples.data[:, :, 0], np.rint(255 - grey if inverted else grey))
    assert np.abs(as_rgb(samples).astype(int) - painted(tmp_path)).max() <= 1


def test_sixteen_bits(tmp_path: Path) -> None:
    data = ramp(5, 6, 3).astype(">u2") * 257
    samples = placed(
        tmp_path, data.astype(">u2").tobytes(), (6, 5), ColorSpace="DeviceRGB", BitsPerComponent=16
    )
    assert np.array_equal(as_rgb(samples), ramp(5, 6, 3))
    assert np.abs(as_rgb(samples).astype(int) - painted(tmp_path)).max() <= 1


def test_decode_by_channel(tmp_path: Path) -> None:
    data = ramp(5, 6, 3)
    samples = placed(
        tmp_path, data.tobytes(), (6, 5), ColorSpace="DeviceRGB", Decode=[0, 1, 1, 0, 0, 0.5]
    )
    expected = data.astype(int)
    expected[:, :, 1] = 255 - expected[:, :, 1]
    expected[:, :, 2] = np.rint(expected[:, :, 2] / 2)
    assert np.array_equal(as_rgb(samples), expected)
    assert np.abs(as_rgb(samples).astype(int) - painted(tmp_path)).max() <= 1


@pytest.mark.parametrize("decode", [None, [3, 0]])
def test_indexed_is_expanded(tmp_path: Path, decode: list[int] | None) -> None:
    values = ramp(7, 9, 1)[:, :, 0] % 4
    colours = np.array([(255, 0, 0), (0, 255, 0), (0, 0, 255), (200, 150, 100)], np.uint8)
    entries: Entries = {"Decode": decode} if decode else {}
    samples = placed(
        tmp_path, packed(values, 2), (9, 7), BitsPerComponent=2,
        ColorSpace=["Indexed", "DeviceRGB", 3, colours.tobytes()], **entries,
    )  # fmt: skip
    assert np.array_equal(as_rgb(samples), colours[3 - values if decode else values])
    assert np.array_equal(as_rgb(samples), painted(tmp_path))


def test_spot_and_lab(tmp_path: Path) -> None:
    tint: Entries = {
        "FunctionType": 2, "Domain": [0, 1], "C0": [0, 0, 0, 0], "C1": [0, 1, 0, 0], "N": 1,
    }  # fmt: skip
    data = ramp(4, 4, 1)
    samples = placed(
        tmp_path, data.tobytes(), (4, 4), ColorSpace=["Separation", "Gold", "DeviceCMYK", tint]
    )
    assert samples is not None
    assert samples.space.colorants == ("Gold",)
    assert np.array_equal(samples.data, data)
    # By default a* and b* of a picture run from -100 to 100 (ISO 32000-2, Table 88).
    lab = np.array([[[255, 0, 255], [0, 128, 128]]], np.uint8)
    samples = placed(
        tmp_path, lab.tobytes(), (2, 1), ColorSpace=["Lab", {"WhitePoint": [0.9642, 1, 0.8249]}]
    )
    assert samples is not None
    assert samples.data.tolist() == [[[255, 28, 228], [0, 128, 128]]]


def test_image_mask_paints_where_zero(tmp_path: Path) -> None:
    values = ramp(8, 8, 1)[:, :, 0] >> 7
    samples = placed(tmp_path, packed(values, 1), (8, 8), ImageMask=True, BitsPerComponent=1)
    assert np.array_equal(as_rgb(samples)[:, :, 0], values * np.uint8(255))
    assert np.array_equal(as_rgb(samples), painted(tmp_path))


@pytest.fixture(params=[4 << 20, 40], ids=["whole", "in strips"])
def at_once(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Data is unpacked at once, or so few bytes at a time that strips are a row or two."""
    monkeypatch.setattr(streams, "AT_ONCE", request.param)


@pytest.mark.usefixtures("at_once")
@pytest.mark.parametrize(("channels", "bits"), [(1, 8), (3, 8), (4, 8), (1, 16), (3, 16), (4, 16)])
def test_png_predictor(tmp_path: Path, channels: int, bits: int) -> None:
    data = ramp(11, 7, channels)
    stored = data if bits == 8 else (data.astype(">u2") * 257).astype(">u2")
    rows = np.frombuffer(stored.tobytes(), np.uint8).reshape(11, -1)
    space = {1: "DeviceGray", 3: "DeviceRGB", 4: "DeviceCMYK"}[channels]
    samples = placed(
        tmp_path, zlib.compress(png_filtered(rows, channels * bits // 8)), (7, 11),
        ColorSpace=space, BitsPerComponent=bits, Filter="FlateDecode",
        DecodeParms={
            "Predictor": 15, "Columns": 7, "Colors": channels, "BitsPerComponent": bits
        },
    )  # fmt: skip
    assert samples is not None
    assert np.array_equal(samples.data, data)


@pytest.mark.usefixtures("at_once")
@pytest.mark.parametrize("bits", [2, 8, 16])
def test_tiff_predictor(tmp_path: Path, bits: int) -> None:
    values = ramp(6, 8, 3) if bits > 2 else ramp(6, 8, 3) >> 6
    numbers = values.astype(np.uint16) * (257 if bits == 16 else 1)
    deltas = numbers.copy()
    deltas[:, 1:] = numbers[:, 1:] - numbers[:, :-1]
    if bits == 16:
        stored = deltas.astype(">u2").tobytes()
    elif bits == 8:
        stored = deltas.astype(np.uint8).tobytes()
    else:
        stored = packed((deltas & 3).astype(np.uint8).reshape(6, -1), 2)
    samples = placed(
        tmp_path, zlib.compress(stored), (8, 6), ColorSpace="DeviceRGB", BitsPerComponent=bits,
        Filter=["FlateDecode"],
        DecodeParms=[{"Predictor": 2, "Columns": 8, "Colors": 3, "BitsPerComponent": bits}],
    )  # fmt: skip
    assert np.array_equal(as_rgb(samples), values if bits > 2 else values * 85)
    if bits >= 8:
        assert np.abs(as_rgb(samples).astype(int) - painted(tmp_path)).max() <= 1


def lzw(data: bytes) -> bytes:
    """Return data as libtiff packs it, which is PDF's LZW with EarlyChange 1."""
    out = io.BytesIO()
    Image.frombytes("L", (len(data), 1), data).save(out, "TIFF", compression="tiff_lzw")
    with Image.open(out) as picture:
        (start,), (count,) = picture.tag_v2[273], picture.tag_v2[279]  # type: ignore[attr-defined]
    return out.getvalue()[start : start + count]


def run_lengths(data: bytes) -> bytes:
    out = bytearray()
    for start in range(0, len(data), 100):
        piece = data[start : start + 100]
        out += bytes((len(piece) - 1,)) + piece
    return bytes(out) + b"\x80"


@pytest.mark.parametrize(
    ("filters", "pack"),
    [
        (["LZWDecode"], lzw),
        (["RunLengthDecode"], run_lengths),
        (["ASCIIHexDecode"], lambda data: data.hex().encode() + b">"),
        (["ASCII85Decode"], lambda data: base64.a85encode(data, wrapcol=60) + b"~>"),
        (
            ["ASCII85Decode", "FlateDecode"],
            lambda data: base64.a85encode(zlib.compress(data)) + b"~>",
        ),
    ],
)
@pytest.mark.parametrize("shape", [(40, 60), (3, 5)])
def test_filters(
    tmp_path: Path, filters: list[str], pack: Callable[[bytes], bytes], shape: tuple[int, int]
) -> None:
    noise = np.random.default_rng(3).integers(0, 256, (*shape, 1), np.uint8)
    noise[: shape[0] // 2] = 0
    samples = placed(
        tmp_path, pack(noise.tobytes()), shape[::-1], ColorSpace="DeviceGray", Filter=filters
    )
    assert np.array_equal(as_rgb(samples)[:, :, :1], noise)
    assert np.array_equal(as_rgb(samples), painted(tmp_path))


def jpeg(data: Bytes, mode: str, **options: object) -> bytes:
    out = io.BytesIO()
    Image.fromarray(data, mode).save(out, "JPEG", quality=100, **options)
    return out.getvalue()


def test_four_colour_jpeg_as_stored_and_by_decode(tmp_path: Path) -> None:
    """Adobe stores them inverted, and the Decode array of the picture undoes it."""
    inks = np.full((16, 16, 4), (255, 128, 0, 40), np.uint8)
    source = jpeg(inks, "CMYK")  # Pillow inverts on saving, as Adobe does
    entries: Entries = {"ColorSpace": "DeviceCMYK", "Filter": "DCTDecode"}
    samples = placed(tmp_path, source, (16, 16), Decode=[1, 0] * 4, **entries)
    assert samples is not None
    assert np.abs(samples.data.astype(int) - inks).max() <= 2
    assert len(samples.jpeg_tables) >= 1
    samples = placed(tmp_path, source, (16, 16), **entries)
    assert samples is not None
    assert np.abs(samples.data.astype(int) - (255 - inks)).max() <= 2


@pytest.mark.parametrize("transform", [None, 0, 1])
def test_colour_transform_of_jpeg_without_marker(tmp_path: Path, transform: int | None) -> None:
    """ISO 32000-2, Table 13: 0 says that three channels are no YCbCr; the default is that they
    are."""
    data = np.full((16, 16, 3), (200, 90, 30), np.uint8)
    source = jpeg(data, "RGB", keep_rgb=True) if transform == 0 else jpeg(data, "RGB")
    place = source.find(b"JFIF")
    if place > 0:  # the marker speaks of YCbCr
        source = source[:2] + source[2 + 2 + struct.unpack_from(">H", source, 4)[0] :]
    source = source.replace(b"R\x11\0G\x11\0B\x11\0", b"\1\x11\0\2\x11\0\3\x11\0").replace(
        b"\x03R\0G\0B\0", b"\x03\1\0\2\0\3\0"
    )
    parms: Entries = {} if transform is None else {"DecodeParms": {"ColorTransform": transform}}
    samples = placed(
        tmp_path, source, (16, 16), ColorSpace="DeviceRGB", Filter="DCTDecode", **parms
    )
    assert np.abs(as_rgb(samples).astype(int) - data).max() <= 4
    assert np.abs(as_rgb(samples).astype(int) - painted(tmp_path)).max() <= 4


@pytest.mark.parametrize("transform", [-1, 2, 700])
def test_a_number_that_is_no_colour_transform_counts_as_none(
    tmp_path: Path, transform: int
) -> None:
    """ISO 32000-2, Table 13 knows 0 and 1; PDFium paints the picture all the same."""
    data = np.full((16, 16, 3), (200, 90, 30), np.uint8)
    samples = placed(
        tmp_path, jpeg(data, "RGB"), (16, 16), ColorSpace="DeviceRGB", Filter="DCTDecode",
        DecodeParms={"ColorTransform": transform},
    )  # fmt: skip
    assert np.abs(as_rgb(samples).astype(int) - data).max() <= 4
    assert np.abs(as_rgb(samples).astype(int) - painted(tmp_path)).max() <= 4


@pytest.mark.parametrize("compression", ["group3", "group4"])
@pytest.mark.parametrize("black_is_1", [False, True])
def test_fax(tmp_path: Path, compression: str, black_is_1: bool) -> None:
    white = ramp(20, 33, 1)[:, :, 0] > 100
    out = io.BytesIO()
    Image.fromarray(white).save(out, "TIFF", compression=compression)
    with Image.open(out) as picture:
        (start,), (count,) = picture.tag_v2[273], picture.tag_v2[279]  # type: ignore[attr-defined]
    samples = placed(
        tmp_path, out.getvalue()[start : start + count], (33, 20), ColorSpace="DeviceGray",
        BitsPerComponent=1, Filter="CCITTFaxDecode",
        DecodeParms={
            "K": -1 if compression == "group4" else 0, "Columns": 33, "Rows": 20,
            "BlackIs1": black_is_1,
        },
    )  # fmt: skip
    # Pillow writes BlackIsZero, for which libtiff codes the set bits, here white, as fax black.
    assert np.array_equal(as_rgb(samples)[:, :, 0] > 0, white == black_is_1)
    assert np.array_equal(as_rgb(samples), painted(tmp_path))


@pytest.mark.parametrize("named", [True, False])
def test_jpeg_2000(tmp_path: Path, named: bool) -> None:
    data = ramp(20, 24, 3)
    out = io.BytesIO()
    Image.fromarray(data).save(out, "JPEG2000", irreversible=False)
    entries: Entries = {"ColorSpace": "DeviceRGB"} if named else {}
    samples = placed(tmp_path, out.getvalue(), (24, 20), Filter="JPXDecode", **entries)
    assert np.array_equal(as_rgb(samples), data)


def test_data_cut_short_counts_as_zero(tmp_path: Path) -> None:
    samples = placed(tmp_path, b"\xff" * 10, (5, 4), ColorSpace="DeviceGray")
    assert as_rgb(samples)[:, :, 0].tolist() == [[255] * 5] * 2 + [[0] * 5] * 2


@pytest.mark.parametrize(
    "entries",
    [
        {"Filter": "JBIG2Decode"},
        {"Filter": "Unheard"},
        {"Filter": "DCTDecode"},
        {"Filter": "JPXDecode"},
        {"Filter": ["FlateDecode"] * 20},
        {"BitsPerComponent": 7},
        {"ColorSpace": "Unheard"},
        {"ColorSpace": None},
    ],
)
def test_what_cannot_be_decoded_is_none(tmp_path: Path, entries: Entries) -> None:
    assert placed(tmp_path, b"x" * 20, (4, 4), **{"ColorSpace": "DeviceGray", **entries}) is None


def test_a_picture_that_unpacks_without_end(tmp_path: Path) -> None:
    bomb = zlib.compress(zlib.compress(bytes(50_000_000)))
    with pytest.raises(BudgetError, match="a picture unpacks to more than 1 MB"):
        placed(
            tmp_path, bomb, (4, 4), ColorSpace="DeviceGray", Filter=["FlateDecode", "FlateDecode"],
            limits=Limits(picture_bytes=1_000_000),
        )  # fmt: skip


def test_no_such_picture(tmp_path: Path) -> None:
    placed(tmp_path, bytes(16), (4, 4), ColorSpace="DeviceGray")
    page = open_art(tmp_path / "art.pdf").pages[0]
    assert page.picture(int(Ref(999))) is None
    assert page.picture(1) is None
    assert page.picture(-1) is None


def test_a_picture_of_endless_size_ends_the_reading(tmp_path: Path) -> None:
    with pytest.raises(BudgetError, match=r"claims 1000000000 × 1000000000 pixels.* 200 million"):
        placed(tmp_path, bytes(16), (10**9, 10**9), ColorSpace="DeviceGray")
