"""Raster files: samples known by construction, written by Pillow, tifffile or by hand."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image, ImageCms, ImageOps

from prepcheck.art.model import ArtKind, Artwork, RasterFacts, Samples, SpaceFamily
from prepcheck.art.open import open_art
from prepcheck.errors import UnreadableError
from prepcheck.geometry import Affine

Bytes = NDArray[np.uint8]


def ramp(height: int, width: int, channels: int) -> Bytes:
    """Return samples that differ in every row, column and channel."""
    y, x, c = np.ogrid[:height, :width, :channels]
    return ((x * 7 + y * 13 + c * 61) % 256).astype(np.uint8)


def opened(folder: Path, data: bytes, name: str = "art.bin") -> Artwork:
    path = folder / name
    path.write_bytes(data)
    return open_art(path)


def saved(picture: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()


def first(art: Artwork) -> tuple[RasterFacts, Samples]:
    assert art.raster is not None
    samples = art.pages[0].picture(0)
    assert samples is not None
    return art.raster, samples


def tiff(data: NDArray[np.generic], **options: object) -> bytes:
    out = io.BytesIO()
    tifffile.imwrite(out, data, metadata=None, **options)
    return out.getvalue()


class TestTiffByPillow:
    @pytest.mark.parametrize("compression", ["raw", "tiff_lzw", "tiff_adobe_deflate", "packbits"])
    @pytest.mark.parametrize(("mode", "kind"), [("L", "grey"), ("RGB", "rgb"), ("CMYK", "cmyk")])
    def test_eight_bit_samples_come_back(
        self, tmp_path: Path, mode: str, kind: str, compression: str
    ) -> None:
        data = ramp(37, 23, len(mode.replace("L", "x")))
        picture = Image.fromarray(data.squeeze(), mode)
        art = opened(tmp_path, saved(picture, "TIFF", compression=compression, dpi=(300, 300)))
        facts, samples = first(art)
        assert art.kind is ArtKind.TIFF
        assert (facts.samples, facts.bits, facts.space.kind) == ((23, 37), 8, kind)
        assert facts.ppi == pytest.approx((300, 300))
        assert samples.space == facts.space
        assert np.array_equal(samples.data, data)

    @pytest.mark.parametrize("compression", ["raw", "group4", "group3", "tiff_lzw"])
    def test_one_bit(self, tmp_path: Path, compression: str) -> None:
        data = ramp(31, 45, 1)[:, :, 0] > 127
        art = opened(tmp_path, saved(Image.fromarray(data), "TIFF", compression=compression))
        facts, samples = first(art)
        assert (facts.bits, facts.space.kind, facts.ppi) == (1, "grey", None)
        assert np.array_equal(samples.data[:, :, 0], data * np.uint8(255))

    def test_palette_is_looked_up(self, tmp_path: Path) -> None:
        picture = Image.fromarray(ramp(9, 9, 1)[:, :, 0] % 4, "P")
        colours = [(255, 0, 0), (0, 255, 0), (0, 0, 255), (9, 8, 7)]
        picture.putpalette([value for colour in colours for value in colour])
        facts, samples = first(opened(tmp_path, saved(picture, "TIFF")))
        assert facts.space.kind == "rgb"
        assert np.array_equal(samples.data, np.array(picture.convert("RGB")))

    @pytest.mark.parametrize("compression", ["raw", "tiff_lzw", "jpeg"])
    def test_lab_has_neutral_at_128(self, tmp_path: Path, compression: str) -> None:
        """CIE L*a*b* of sRGB white, black and red is 100 0 0, 0 0 0 and about 54 81 70 (D50)."""
        colours = np.zeros((16, 48, 3), np.uint8)
        colours[:, :16], colours[:, 32:, 0] = 255, 255
        to_lab = ImageCms.buildTransform(
            ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
        )
        picture = ImageCms.applyTransform(Image.fromarray(colours), to_lab)
        assert picture is not None
        source = saved(picture, "TIFF", compression=compression)
        facts, samples = first(opened(tmp_path, source))
        assert facts.space.kind == "lab"
        off = 3 if compression == "jpeg" else 1
        for column, (lightness, a, b) in ((0, (100, 0, 0)), (16, (0, 0, 0)), (32, (54, 81, 70))):
            expected = (lightness * 2.55, a + 128, b + 128)
            assert samples.data[8, column + 8] == pytest.approx(expected, abs=off)

    def test_jpeg_inside(self, tmp_path: Path) -> None:
        data = np.full((32, 32, 3), (200, 60, 20), np.uint8)
        source = saved(Image.fromarray(data), "TIFF", compression="jpeg", quality=95)
        facts, samples = first(opened(tmp_path, source))
        assert facts.compression == "JPEG"
        assert np.abs(samples.data.astype(int) - data).max() <= 4

    def test_alpha_shows_paper(self, tmp_path: Path) -> None:
        data = np.zeros((4, 4, 4), np.uint8)
        data[:2, :, 3] = 255
        facts, samples = first(opened(tmp_path, saved(Image.fromarray(data, "RGBA"), "TIFF")))
        assert facts.has_alpha
        assert samples.data.shape == (4, 4, 3)
        assert samples.data[0, 0].tolist() == [0, 0, 0]
        assert samples.data[3, 0].tolist() == [255, 255, 255]

    def test_pages(self, tmp_path: Path) -> None:
        sheets = [Image.fromarray(ramp(10 + n, 20, 4), "CMYK") for n in range(3)]
        source = saved(sheets[0], "TIFF", save_all=True, append_images=sheets[1:])
        art = opened(tmp_path, source)
        assert [page.index for page in art.pages] == [0, 1, 2]
        for sheet, page in zip(sheets, art.pages, strict=True):
            samples = page.picture(0)
            assert samples is not None
            assert np.array_equal(samples.data, np.array(sheet))

    def test_resolution_in_centimetres(self, tmp_path: Path) -> None:
        source = saved(
            Image.new("L", (118, 59)), "TIFF", resolution_unit="cm",
            x_resolution=118, y_resolution=59,
        )  # fmt: skip
        art = opened(tmp_path, source)
        assert art.raster is not None
        assert art.raster.ppi == pytest.approx((118 * 2.54, 59 * 2.54))
        media = art.pages[0].boxes.media
        assert (media.width, media.height) == pytest.approx((10, 10))


class TestTiffByTifffile:
    """tifffile (by C. Gohlke) writes what Pillow does not."""

    @pytest.mark.parametrize("order", ["<", ">"])
    @pytest.mark.parametrize("tile", [None, (16, 32)])
    @pytest.mark.parametrize("planar", ["contig", "separate"])
    @pytest.mark.parametrize("depth", [np.uint8, np.uint16])
    def test_cmyk_with_one_more_channel(
        self, tmp_path: Path, depth: type, planar: str, tile: tuple[int, int] | None, order: str
    ) -> None:
        data = ramp(45, 50, 5).astype(depth) * (1 if depth is np.uint8 else 257)
        stored = np.moveaxis(data, 2, 0) if planar == "separate" else data
        source = tiff(
            stored, photometric="separated", planarconfig=planar, extrasamples=["unspecified"],
            tile=tile, byteorder=order, compression="zlib", rowsperstrip=None if tile else 7,
        )  # fmt: skip
        facts, samples = first(opened(tmp_path, source))
        assert facts.bits == np.dtype(depth).itemsize * 8
        assert facts.extra_channels == ("channel 5",)
        assert not facts.has_alpha
        assert samples.space.family is SpaceFamily.CMYK
        assert np.array_equal(samples.data, ramp(45, 50, 5)[:, :, :4])

    def test_big_tiff(self, tmp_path: Path) -> None:
        data = ramp(20, 20, 4)
        _, samples = first(
            opened(tmp_path, tiff(data, photometric="separated", bigtiff=True, rowsperstrip=5))
        )
        assert np.array_equal(samples.data, data)

    def test_big_tiff_of_one_bit_goes_through_pillow(self, tmp_path: Path) -> None:
        data = ramp(20, 20, 1)[:, :, 0] > 100
        source = tiff(data, photometric="minisblack", bigtiff=True)
        _, samples = first(opened(tmp_path, source))
        assert np.array_equal(samples.data[:, :, 0] > 0, data)

    def test_white_is_zero_in_sixteen_bits(self, tmp_path: Path) -> None:
        data = ramp(5, 5, 1)[:, :, 0].astype(np.uint16) * 257
        _, samples = first(opened(tmp_path, tiff(data, photometric="miniswhite")))
        assert np.array_equal(samples.data[:, :, 0], 255 - ramp(5, 5, 1)[:, :, 0])

    def test_named_inks(self, tmp_path: Path) -> None:
        """InkSet 2 with InkNames (TIFF 6.0, section 16): 0 is no ink."""
        data = ramp(12, 12, 6)
        names = b"cyan\0magenta\0yellow\0black\0Gold\0Varnish\0"
        source = tiff(
            data, photometric="separated", planarconfig="contig",
            extratags=[(332, 3, 1, 2, True), (333, 2, len(names), names, True),
                       (334, 3, 1, 6, True)],
        )  # fmt: skip
        # tifffile declares what is beyond four as extra samples; make them inks as section 16 says
        source = without_tag(source, 338)
        facts, samples = first(opened(tmp_path, source))
        assert facts.space.colorants == ("Cyan", "Magenta", "Yellow", "Black", "Gold", "Varnish")
        assert np.array_equal(samples.data, data)

    def test_spots_named_in_photoshop_resources(self, tmp_path: Path) -> None:
        data = ramp(12, 12, 6)
        block = psd_resource(1006, b"\4Gold\7Alpha 1")
        block += psd_resource(1077, struct.pack(">I", 1) + display(2) + display(0))
        source = tiff(
            data, photometric="separated", planarconfig="contig",
            extrasamples=["unspecified", "unspecified"],
            extratags=[(34377, 7, len(block), block, True)],
        )  # fmt: skip
        facts, samples = first(opened(tmp_path, source))
        assert facts.extra_channels == ("Gold", "Alpha 1")
        assert facts.space.colorants == ("Cyan", "Magenta", "Yellow", "Black", "Gold")
        assert np.array_equal(samples.data[:, :, :4], data[:, :, :4])
        assert np.array_equal(samples.data[:, :, 4], 255 - data[:, :, 4])

    def test_reduced_copies_are_no_pages(self, tmp_path: Path) -> None:
        out = io.BytesIO()
        with tifffile.TiffWriter(out) as writer:
            writer.write(ramp(20, 20, 3), photometric="rgb", metadata=None)
            writer.write(ramp(5, 5, 3), photometric="rgb", metadata=None, subfiletype=1)
        assert len(opened(tmp_path, out.getvalue()).pages) == 1

    @pytest.mark.parametrize("depth", [np.float32, np.uint32])
    def test_other_depths_are_refused(self, tmp_path: Path, depth: type) -> None:
        with pytest.raises(UnreadableError, match=r"art.bin: .*bits a channel|not read"):
            opened(tmp_path, tiff(np.zeros((8, 8, 3), depth), photometric="rgb"))

    def test_cut_short(self, tmp_path: Path) -> None:
        source = tiff(ramp(64, 64, 4), photometric="separated", rowsperstrip=8)
        with pytest.raises(UnreadableError, match=r"^art.bin: "):
            opened(tmp_path, source[: len(source) // 2])


def test_predictor_of_multi_channel_lzw(tmp_path: Path) -> None:
    """Horizontal differencing (TIFF 6.0, section 14), written by hand as Pillow cannot."""
    data = ramp(16, 16, 5)
    differences = data.copy()
    differences[:, 1:] = data[:, 1:] - data[:, :-1]
    packed = zlib.compress(differences.tobytes())
    tags = [
        (256, 16), (257, 16), (258, 8), (259, 8), (262, 5), (273, 0), (277, 5), (278, 16),
        (279, len(packed)), (317, 2), (338, 0),
    ]  # fmt: skip
    start = 8 + 2 + 12 * len(tags) + 4
    body = b"".join(
        struct.pack("<HHII", tag, 4, 1, start if tag == 273 else value) for tag, value in tags
    )
    source = struct.pack("<2sHIH", b"II", 42, 8, len(tags)) + body + b"\0\0\0\0" + packed
    _, samples = first(opened(tmp_path, source))
    assert np.array_equal(samples.data, data[:, :, :4])


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["TIFF", "JPEG"])
def test_orientation(tmp_path: Path, kind: str, orientation: int) -> None:
    """Compared with Pillow's own exif_transpose."""
    blocks = np.kron(ramp(3, 2, 3), np.ones((16, 16, 1), np.uint8))
    picture = Image.fromarray(blocks)
    exif = Image.Exif()
    exif[274] = orientation
    source = saved(picture, kind, exif=exif, quality=100, dpi=(100, 200))
    with Image.open(io.BytesIO(source)) as reread:
        expected = np.array(ImageOps.exif_transpose(reread))
    facts, samples = first(opened(tmp_path, source))
    assert facts.samples == expected.shape[1::-1]
    assert facts.orientation == orientation
    assert facts.ppi == ((200, 100) if orientation > 4 else (100, 200))
    assert np.array_equal(samples.data, expected)


class TestJpeg:
    def test_inverted_four_colour(self, tmp_path: Path) -> None:
        """Adobe writes four-colour JPEGs inverted and marks them; Pillow does the same."""
        data = np.full((16, 16, 4), (255, 128, 0, 40), np.uint8)
        source = saved(Image.fromarray(data, "CMYK"), "JPEG", quality=100)
        assert b"Adobe" in source
        facts, samples = first(opened(tmp_path, source))
        assert facts.space.kind == "cmyk"
        assert np.abs(samples.data.astype(int) - data).max() <= 2

    def test_four_colour_without_the_marker_is_not_inverted(self, tmp_path: Path) -> None:
        data = np.full((16, 16, 4), (255, 128, 0, 40), np.uint8)
        source = without_adobe(saved(Image.fromarray(data, "CMYK"), "JPEG", quality=100))
        _, samples = first(opened(tmp_path, source))
        assert np.abs(samples.data.astype(int) - (255 - data)).max() <= 2

    def test_tables_in_natural_order(self, tmp_path: Path) -> None:
        """ITU-T T.81, Table K.1: the luminance table, which quality 50 uses as it stands."""
        source = saved(Image.fromarray(ramp(16, 16, 3)), "JPEG", quality=50)
        facts, samples = first(opened(tmp_path, source))
        assert facts.jpeg_tables[0][:16] == (
            16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55,
        )  # fmt: skip
        assert samples.jpeg_tables == facts.jpeg_tables

    def test_grey_with_no_resolution(self, tmp_path: Path) -> None:
        art = opened(tmp_path, saved(Image.new("L", (144, 72)), "JPEG"))
        assert art.raster is not None
        assert art.raster.ppi is None
        assert art.pages[0].boxes.media.width == pytest.approx(2 * 25.4)

    def test_profile(self, tmp_path: Path) -> None:
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        source = saved(Image.new("RGB", (8, 8)), "JPEG", icc_profile=profile)
        facts, _ = first(opened(tmp_path, source))
        assert facts.profile is not None
        assert "sRGB" in facts.profile
        assert facts.profile_data == profile
        assert facts.space.family is SpaceFamily.ICC
        assert facts.space.kind == "rgb"

    def test_cut_short(self, tmp_path: Path) -> None:
        noise = np.random.default_rng(1).integers(0, 255, (64, 64, 3), np.uint8)
        source = saved(Image.fromarray(noise), "JPEG")
        with pytest.raises(UnreadableError, match=r"^art.bin: the JPEG data is damaged"):
            opened(tmp_path, source[: len(source) // 2])


class TestPng:
    def test_phys(self, tmp_path: Path) -> None:
        facts, _ = first(opened(tmp_path, saved(Image.new("L", (9, 9)), "PNG", dpi=(300, 150))))
        assert facts.ppi == pytest.approx((300, 150), abs=0.02)  # stored per whole metre

    @pytest.mark.parametrize(
        ("mode", "bits", "kind"),
        [("1", 1, "grey"), ("L", 8, "grey"), ("RGB", 8, "rgb"), ("P", 8, "rgb")],
    )
    def test_plain(self, tmp_path: Path, mode: str, bits: int, kind: str) -> None:
        picture = Image.fromarray(ramp(12, 13, 3)).convert(mode)
        facts, samples = first(opened(tmp_path, saved(picture, "PNG")))
        assert (facts.bits, facts.space.kind, facts.has_alpha) == (bits, kind, False)
        expected = np.array(picture.convert("L" if kind == "grey" else "RGB"))
        assert np.array_equal(samples.data.squeeze(), expected)

    def test_sixteen_bits(self, tmp_path: Path) -> None:
        values = np.array([[0, 257, 32896, 65535]], np.uint16)
        facts, samples = first(opened(tmp_path, saved(Image.fromarray(values), "PNG")))
        assert facts.bits == 16
        assert samples.data[:, :, 0].tolist() == [[0, 1, 128, 255]]

    def test_alpha_shows_paper(self, tmp_path: Path) -> None:
        picture = Image.new("RGBA", (2, 1), (0, 0, 0, 51))
        facts, samples = first(opened(tmp_path, saved(picture, "PNG")))
        assert facts.has_alpha
        assert samples.data[0, 0].tolist() == [204, 204, 204]

    def test_clear_palette_entry(self, tmp_path: Path) -> None:
        picture = Image.new("P", (2, 1), 1)
        picture.putpalette([10, 20, 30, 40, 50, 60])
        picture.putpixel((1, 0), 0)
        facts, samples = first(opened(tmp_path, saved(picture, "PNG", transparency=0)))
        assert facts.has_alpha
        assert samples.data[0].tolist() == [[40, 50, 60], [255, 255, 255]]


class TestPsd:
    """Files made by a tiny writer after Adobe's published format description."""

    @pytest.mark.parametrize("packed", [False, True])
    @pytest.mark.parametrize("bits", [8, 16])
    @pytest.mark.parametrize(
        ("mode", "channels", "kind"), [(1, 1, "grey"), (3, 3, "rgb"), (4, 4, "cmyk"), (9, 3, "lab")]
    )
    def test_modes(
        self, tmp_path: Path, mode: int, channels: int, kind: str, bits: int, packed: bool
    ) -> None:
        data = ramp(7, 11, channels)
        facts, samples = first(opened(tmp_path, psd(data, mode, bits=bits, packed=packed)))
        assert (facts.samples, facts.bits, facts.space.kind) == ((11, 7), bits, kind)
        assert facts.ppi == (300, 300)
        assert np.array_equal(samples.data, 255 - data if kind == "cmyk" else data)

    def test_against_pillow(self, tmp_path: Path) -> None:
        source = psd(ramp(20, 20, 4), 4, packed=True)
        with Image.open(io.BytesIO(source)) as picture:
            expected = np.array(picture)
        _, samples = first(opened(tmp_path, source))
        assert np.array_equal(samples.data, expected)

    def test_bitmap(self, tmp_path: Path) -> None:
        black = ramp(6, 10, 1)[:, :, 0] > 127
        facts, samples = first(
            opened(tmp_path, psd(np.packbits(black, axis=1), 0, bits=1, width=10))
        )
        assert facts.bits == 1
        assert np.array_equal(samples.data[:, :, 0] == 0, black)

    def test_spot_and_stored_selection(self, tmp_path: Path) -> None:
        data = ramp(7, 11, 6)
        extra = psd_resource(1045, unicode_name("Gold") + unicode_name("Mask"))
        extra += psd_resource(1077, struct.pack(">I", 1) + display(2) + display(0))
        facts, samples = first(opened(tmp_path, psd(data, 4, extra=extra)))
        assert facts.extra_channels == ("Gold", "Mask")
        assert samples.space.colorants == ("Cyan", "Magenta", "Yellow", "Black", "Gold")
        assert np.array_equal(samples.data, 255 - data[:, :, :5])

    def test_multichannel_is_all_named_inks(self, tmp_path: Path) -> None:
        data = ramp(7, 11, 2)
        extra = psd_resource(1006, b"\4Gold\4Teal")
        facts, samples = first(opened(tmp_path, psd(data, 7, extra=extra)))
        assert facts.space.kind == "spot"
        assert samples.space.colorants == ("Gold", "Teal")
        assert np.array_equal(samples.data, 255 - data)

    def test_transparency_shows_paper(self, tmp_path: Path) -> None:
        data = np.zeros((1, 2, 4), np.uint8)
        data[0, 0, 3] = 255
        extra = psd_resource(1006, b"\x0cTransparency")
        facts, samples = first(opened(tmp_path, psd(data, 3, extra=extra)))
        assert facts.has_alpha
        assert samples.data[0].tolist() == [[0, 0, 0], [255, 255, 255]]

    def test_without_merged_picture(self, tmp_path: Path) -> None:
        extra = psd_resource(1057, struct.pack(">IB", 1, 0))
        with pytest.raises(UnreadableError, match="no merged picture"):
            opened(tmp_path, psd(ramp(4, 4, 3), 3, extra=extra))

    def test_cut_short(self, tmp_path: Path) -> None:
        with pytest.raises(UnreadableError, match=r"^art.bin: "):
            opened(tmp_path, psd(ramp(40, 40, 3), 3)[:-500])


def test_the_picture_fills_the_page_in_any_frame(tmp_path: Path) -> None:
    source = saved(Image.new("CMYK", (600, 300)), "TIFF", dpi=(300, 150))
    page = opened(tmp_path, source).pages[0]
    turned = Affine.scale(2.0).then(Affine.turn(90)).then(Affine.move(5.0, 7.0))
    (picture,) = page.content(turned).images
    # 600 samples at 300 ppi are 2 inches: 50.8 mm, doubled 101.6; 300 at 150 ppi the same.
    assert picture.quad.a == pytest.approx((5, 7))
    assert picture.quad.b == pytest.approx((5, 7 + 101.6))
    assert picture.quad.c == pytest.approx((5 - 101.6, 7 + 101.6))
    assert picture.ppi == pytest.approx((150, 75))


def psd(
    data: Bytes, mode: int, *, bits: int = 8, packed: bool = False, extra: bytes = b"",
    width: int | None = None,
) -> bytes:  # fmt: skip
    """Return a PSD of one merged picture (rows, columns, channels) at 300 ppi."""
    planes = np.moveaxis(data.reshape(*data.shape[:2], -1), 2, 0)
    if bits == 16:
        planes = (planes.astype(">u2") * 257).astype(">u2")
    fixed = 300 * 65536
    resources = psd_resource(1005, struct.pack(">IHHIHH", fixed, 1, 1, fixed, 1, 1)) + extra
    rows = [row.tobytes() for plane in planes for row in plane]
    if packed:
        rows = [pack_bits(row) for row in rows]
        pixels = struct.pack(f">H{len(rows)}H", 1, *map(len, rows)) + b"".join(rows)
    else:
        pixels = struct.pack(">H", 0) + b"".join(rows)
    head = struct.pack(
        ">4sH6xHIIHH", b"8BPS", 1, len(planes), data.shape[0], width or data.shape[1], bits, mode
    )
    return head + struct.pack(">II", 0, len(resources)) + resources + struct.pack(">I", 0) + pixels


def pack_bits(row: bytes) -> bytes:
    """Return a row as literal runs, the last byte as a run of one repeated byte where it can."""
    pieces: list[bytes] = []
    for start in range(0, len(row), 100):
        piece = row[start : start + 100]
        pieces.append(bytes((len(piece) - 1,)) + piece)
    return b"".join(pieces)


def psd_resource(identifier: int, data: bytes) -> bytes:
    return struct.pack(">4sHHI", b"8BIM", identifier, 0, len(data)) + data + b"\0" * (len(data) % 2)


def display(kind: int) -> bytes:
    return struct.pack(">5HHB", 0, 0, 0, 0, 0, 100, kind)


def unicode_name(name: str) -> bytes:
    return struct.pack(">I", len(name)) + name.encode("utf-16-be")


def without_adobe(source: bytes) -> bytes:
    """Return a JPEG without its APP14 marker."""
    place = source.index(b"\xff\xee")
    (length,) = struct.unpack_from(">H", source, place + 2)
    return source[:place] + source[place + 2 + length :]


def without_tag(source: bytes, unwanted: int) -> bytes:
    """Return a little-endian classic TIFF with one tag of its first directory taken out."""
    (start,) = struct.unpack_from("<I", source, 4)
    (count,) = struct.unpack_from("<H", source, start)
    entries: Sequence[bytes] = [
        source[start + 2 + 12 * n : start + 14 + 12 * n] for n in range(count)
    ]
    kept = [entry for entry in entries if struct.unpack_from("<H", entry)[0] != unwanted]
    assert len(kept) == count - 1
    end = start + 2 + 12 * count
    body = struct.pack("<H", len(kept)) + b"".join(kept) + source[end : end + 4]
    return source[:start] + body.ljust(end + 4 - start, b"\0") + source[end + 4 :]
