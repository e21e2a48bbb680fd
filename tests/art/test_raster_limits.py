"""Rasters within our own limits are read, whatever limits the libraries have of their own."""

from __future__ import annotations

import io
import struct
import subprocess
import sys
import tracemalloc
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from tifffile import TiffFile

from prepcheck.art import tiff as tiff_room
from prepcheck.art import tiff_strips
from prepcheck.art.open import open_art
from prepcheck.art.raster import RasterPage
from prepcheck.errors import UnreadableError
from tests.art.test_raster import first, opened, psd, ramp, saved, tiff
from tests.factories import Pdf, Stream
from tests.press.profiles import exchanged_rgb

TALL = ramp(400, 40, 4)


@pytest.fixture
def low_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pillow's own limit is so low that every picture here is beyond twice of it; bands are short
    in the same measure."""
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 1500)
    monkeypatch.setattr(tiff_strips, "BAND_BYTES", 2000)


@pytest.mark.usefixtures("low_limit")
class TestPixelLimitOfAnotherLibrary:
    @pytest.mark.parametrize("bits", [8, 16])
    @pytest.mark.parametrize(
        ("compression", "predictor"), [("deflate", False), ("deflate", True), (None, False)]
    )
    def test_one_strip(
        self, tmp_path: Path, compression: str | None, bits: int, predictor: bool
    ) -> None:
        source = tiff(
            TALL.astype(np.uint16) * 257 if bits == 16 else TALL, compression=compression,
            photometric="separated", rowsperstrip=400, predictor=predictor or None,
        )  # fmt: skip
        assert np.array_equal(first(opened(tmp_path, source))[1].data, TALL)

    @pytest.mark.parametrize("compression", ["tiff_lzw", "packbits", "tiff_adobe_deflate"])
    def test_one_strip_by_another_writer(self, tmp_path: Path, compression: str) -> None:
        picture = Image.fromarray(TALL, "CMYK")
        source = saved(picture, "TIFF", compression=compression, strip_size=10**6)
        assert np.array_equal(first(opened(tmp_path, source))[1].data, TALL)

    @pytest.mark.parametrize("compression", ["tiff_lzw", "packbits"])
    @pytest.mark.parametrize("rows", [1, 3, 7, 50])
    def test_strips_of_few_rows(self, tmp_path: Path, compression: str, rows: int) -> None:
        """Written by libtiff, by way of Pillow; several of them fill a band, not all of which are
        full."""
        picture = Image.fromarray(TALL, "CMYK")
        source = saved(picture, "TIFF", compression=compression, strip_size=160 * rows)
        with TiffFile(io.BytesIO(source)) as read:
            assert read.pages[0].rowsperstrip == rows
        assert np.array_equal(first(opened(tmp_path, source))[1].data, TALL)

    def test_one_of_many_strips_is_damaged(self, tmp_path: Path) -> None:
        """No LZW data begins with the code that ends it (TIFF 6.0, section 13)."""
        source = bytearray(saved(Image.fromarray(TALL, "CMYK"), "TIFF", compression="tiff_lzw",
                                 strip_size=480))  # fmt: skip
        with TiffFile(io.BytesIO(source)) as read:
            start = read.pages[0].dataoffsets[70]
        source[start : start + 2] = b"\x80\x40"  # clear, end
        with pytest.raises(UnreadableError, match="damaged"):
            opened(tmp_path, bytes(source))

    def test_tiles(self, tmp_path: Path) -> None:
        source = tiff(TALL, compression="deflate", photometric="separated", tile=(64, 64))
        assert np.array_equal(first(opened(tmp_path, source))[1].data, TALL)

    @pytest.mark.parametrize("kind", ["JPEG", "PNG"])
    def test_other_kinds(self, tmp_path: Path, kind: str) -> None:
        source = saved(Image.new("RGB", (40, 400), (9, 99, 199)), kind)
        assert first(opened(tmp_path, source))[0].samples == (40, 400)

    def test_one_that_pillow_opens(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(tiff_room, "LARGE", 400)
        source = saved(Image.new("RGB", (40, 400), (9, 99, 199)), "TIFF", compression="jpeg")
        assert first(opened(tmp_path, source))[0].samples == (40, 400)


@pytest.mark.parametrize("compression", ["deflate", None])
def test_memory_is_little_more_than_the_samples(tmp_path: Path, compression: str | None) -> None:
    """16 bits in one strip: the file or the samples, whichever is more, and a bit."""
    data = (ramp(1500, 1500, 4).astype(np.uint16) * 257).astype("<u2")
    path = tmp_path / "art.tif"
    path.write_bytes(
        tiff(data, compression=compression, photometric="separated", rowsperstrip=1500)
    )
    samples, stored = data.size, data.nbytes
    del data
    tracemalloc.start()
    try:
        open_art(path)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < max(path.stat().st_size, samples) + samples / 2 + 20_000_000
    assert stored == 2 * samples


@pytest.mark.skipif(sys.platform != "linux", reason="memory is held down as Linux counts it")
@pytest.mark.parametrize(
    ("kind", "options", "short"),
    [
        # Of several scans: two bytes a sample besides the samples, 24 MB and 12 MB.
        ("JPEG", {"progressive": True}, 24_000_000),
        # In one strip: the strip twice besides the samples, each of 12 MB.
        ("TIFF", {"compression": "tiff_lzw", "strip_size": 10**8}, 30_000_000),
        ("TIFF", {"compression": "jpeg", "strip_size": 10**8}, 25_000_000),
    ],
)
def test_want_of_memory_is_no_damage(
    tmp_path: Path, kind: str, options: dict[str, object], short: int
) -> None:
    path = tmp_path / "art.bin"
    Image.new("CMYK", (2000, 1500), 9).save(path, kind, **options)
    tried = subprocess.run(
        [sys.executable, "-c", HELD_DOWN, str(path), kind, str(short)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert tried.stdout.split() == ["MemoryError", "read"], tried.stderr


HELD_DOWN = """
import resource, sys
from pathlib import Path
from prepcheck.art.open import open_art
from PIL import Image
from tifffile import TiffFile
Image.new("CMYK", (9, 9)).save(sys.argv[1] + ".small", sys.argv[2])
open_art(Path(sys.argv[1] + ".small"))
used = int(Path("/proc/self/statm").read_text().split()[5]) * resource.getpagesize()
for room in (int(sys.argv[3]), 60_000_000):
    resource.setrlimit(resource.RLIMIT_DATA, (used + room, resource.RLIM_INFINITY))
    try:
        open_art(Path(sys.argv[1]))
        print("read")
    except Exception as error:
        print(type(error).__name__)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="memory is held down as Linux counts it")
@pytest.mark.parametrize("options", [{}, {"tile_size": (250, 250)}])
def test_want_of_memory_is_no_damage_of_jpeg_2000(
    tmp_path: Path, options: dict[str, object]
) -> None:
    """Samples of 2 MB are decoded in 32 bits each, tile by tile: whatever memory there is, the
    picture is read, or it is told that there is too little."""
    chance = np.random.default_rng(3)
    for name, size in (("small", (30, 40)), ("large", (750, 1000))):
        pdf = Pdf()
        picture = Image.fromarray(chance.integers(0, 60, (*size, 3), np.uint8))
        entries = {
            "Type": "XObject", "Subtype": "Image", "Width": size[1], "Height": size[0],
            "ColorSpace": "DeviceRGB", "BitsPerComponent": 8, "Filter": "JPXDecode",
        }  # fmt: skip
        ref = pdf.add(Stream(saved(picture, "JPEG2000", **options), entries))
        pdf.page("q 90 0 0 90 9 9 cm /P Do Q", (106, 106), resources={"XObject": {"P": ref}})
        (tmp_path / f"{name}.pdf").write_bytes(pdf.bytes())
    tried = subprocess.run(
        [sys.executable, "-c", PICTURE_HELD_DOWN, str(tmp_path), str(int(ref))],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    said = tried.stdout.split()
    assert set(said) == {"MemoryError", "read"}, tried.stderr
    assert said[0] == "MemoryError"
    assert said[-1] == "read"


PICTURE_HELD_DOWN = """
import os, resource, sys
from pathlib import Path
from prepcheck.art.open import open_art
folder, key = Path(sys.argv[1]), int(sys.argv[2])
def read(name):
    found = open_art(folder / name).pages[0].picture(key)
    return "damaged" if found is None else "read"
read("small.pdf")
used = int(Path("/proc/self/statm").read_text().split()[5]) * resource.getpagesize()
for room in range(2_500_000, 32_500_000, 1_500_000):
    if not os.fork():
        resource.setrlimit(resource.RLIMIT_DATA, (used + room, resource.RLIM_INFINITY))
        try:
            said = read("large.pdf")
        except Exception as error:
            said = type(error).__name__
        os.write(1, said.encode() + b"\\n")
        os._exit(0)
    os.wait()
"""


def test_a_psd_takes_little_more_memory_than_its_samples(tmp_path: Path) -> None:
    """Its channels lie one behind the other, and are put together one at a time."""
    path = tmp_path / "art.psd"
    path.write_bytes(psd(ramp(2000, 3000, 4), 4))
    page, samples = open_art(path).pages[0], 2000 * 3000 * 4
    assert isinstance(page, RasterPage)
    tracemalloc.start()
    try:
        found = page.decode()
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert found.data.nbytes == samples
    assert peak < 1.75 * samples


@pytest.mark.parametrize(("kind", "told"), [(2, "with a sign"), (3, "floating-point")])
def test_numbers_that_are_not_read_are_named(tmp_path: Path, kind: int, told: str) -> None:
    data = ramp(8, 8, 3).astype(np.int8 if kind == 2 else np.float32)
    with pytest.raises(UnreadableError, match=told) as caught:
        opened(tmp_path, tiff(data, photometric="rgb"))
    assert "8/8/8" not in str(caught.value)


def chunk(kind: bytes, data: bytes) -> bytes:
    """Return one PNG chunk (PNG, 3rd edition, 5.3)."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def with_chunk(source: bytes, added: bytes) -> bytes:
    """Return a PNG with a chunk after its header (33 bytes)."""
    return source[:33] + added + source[33:]


class TestPngOfLongChunks:
    LONG = b"x" * 3_000_000

    @pytest.mark.parametrize("kind", [b"tEXt", b"zTXt", b"iTXt"])
    def test_text(self, tmp_path: Path, kind: bytes) -> None:
        said = {
            b"tEXt": b"Comment\0" + self.LONG,
            b"zTXt": b"Comment\0\0" + zlib.compress(self.LONG),
            b"iTXt": b"XML:com.adobe.xmp\0\1\0\0\0" + zlib.compress(self.LONG),
        }[kind]
        data = ramp(30, 20, 3)
        plain = saved(Image.fromarray(data), "PNG", dpi=(300, 300))
        facts, samples = first(opened(tmp_path, with_chunk(plain, chunk(kind, said))))
        assert np.array_equal(samples.data, data)
        assert facts.ppi == pytest.approx((300, 300), abs=0.1)

    def test_profile(self, tmp_path: Path) -> None:
        """A profile with 2 MB of tables is handed on byte by byte."""
        data = ramp(30, 20, 3)
        long = exchanged_rgb() + bytes(2_000_000)
        plain = saved(Image.fromarray(data), "PNG")
        added = chunk(b"iCCP", b"Some room\0\0" + zlib.compress(long))
        facts, samples = first(opened(tmp_path, with_chunk(plain, added)))
        assert facts.profile_data == long
        assert np.array_equal(samples.data, data)

    @pytest.mark.parametrize("damage", [b"", b"name only", b"n\0\0rubbish", b"n\0\7abc"])
    def test_damaged_profile_is_none(self, tmp_path: Path, damage: bytes) -> None:
        plain = saved(Image.fromarray(ramp(30, 20, 3)), "PNG")
        facts, _ = first(opened(tmp_path, with_chunk(plain, chunk(b"iCCP", damage))))
        assert facts.profile is None


class TestPsdShort:
    @pytest.mark.parametrize("packed", [False, True])
    @pytest.mark.parametrize("bits", [8, 16])
    @pytest.mark.parametrize("missing", [1, 5, 39])
    def test_a_few_bytes(self, tmp_path: Path, packed: bool, bits: int, missing: int) -> None:
        data = ramp(60, 60, 4)
        source = psd(255 - data, 4, bits=bits, packed=packed)
        art = opened(tmp_path, source[:-missing])
        told = (*art.document.troubles, *art.troubles)
        assert len(told) == 1
        assert told[0].startswith(f"the PSD is {missing} bytes short; ")
        _, samples = first(art)
        assert np.array_equal(samples.data[:, :, :3], data[:, :, :3])
        assert np.array_equal(samples.data[:59, :, 3], data[:59, :, 3])

    def test_whole(self, tmp_path: Path) -> None:
        art = opened(tmp_path, psd(ramp(60, 60, 4), 4))
        assert (*art.document.troubles, *art.troubles) == ()

    @pytest.mark.parametrize("packed", [False, True])
    def test_much_is_missing(self, tmp_path: Path, packed: bool) -> None:
        source = psd(ramp(60, 60, 4), 4, packed=packed)
        with pytest.raises(UnreadableError, match="the PSD is cut short; send it again"):
            opened(tmp_path, source[: len(source) // 2])
