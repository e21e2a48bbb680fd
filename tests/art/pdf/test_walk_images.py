"""Places and effective ppi of pictures: by arithmetic, against PDFium and against pdfimages."""

from __future__ import annotations

import ctypes
import math
import re
import shutil
import subprocess
from pathlib import Path

import pypdfium2
import pypdfium2.raw as raw
import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.art.model import ImageItem, SpaceFamily
from prepcheck.art.pdf.content.placed_pictures import effective_ppi, jpx_depth
from prepcheck.geometry import Affine
from prepcheck.units import MM_PER_PT
from tests.art.pdf.walking import walked
from tests.factories import Pdf, Ref, Stream


def add_grey(pdf: Pdf, width: int, height: int, **entries: object) -> Ref:
    return pdf.add(
        Stream(
            bytes(width * height),
            {
                "Type": "XObject", "Subtype": "Image", "Width": width, "Height": height,
                "BitsPerComponent": 8, "ColorSpace": "DeviceGray", **entries,
            },
            deflate=True,
        )
    )  # fmt: skip


def placed(content: str, width: int = 60, height: int = 40, **entries: object) -> bytes:
    pdf = Pdf()
    image = add_grey(pdf, width, height, **entries)
    pdf.page(content, (250, 250), millimetres=False, resources={"XObject": {"Im": image}})
    return pdf.bytes()


def only(data: bytes) -> ImageItem:
    (image,) = walked(data).images
    return image


def pdfium_ppi(data: bytes) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the ppi of the page's one picture by PDFium's metadata and by its matrix there."""
    document = pypdfium2.PdfDocument(data)
    page = document[0]
    (item,) = page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE], max_depth=1)
    metadata, matrix = raw.FPDF_IMAGEOBJ_METADATA(), raw.FS_MATRIX()
    assert raw.FPDFImageObj_GetImageMetadata(item.raw, page.raw, ctypes.byref(metadata))
    assert raw.FPDFPageObj_GetMatrix(item.raw, ctypes.byref(matrix))
    by_matrix = (
        72 * metadata.width / math.hypot(matrix.a, matrix.b),
        72 * metadata.height / math.hypot(matrix.c, matrix.d),
    )
    found = (metadata.horizontal_dpi, metadata.vertical_dpi), by_matrix
    page.close()
    document.close()
    return found


PLACINGS = {
    "upright": "q 144 0 0 72 50 50 cm /Im Do Q",
    "turned": "q 0 144 -72 0 200 50 cm /Im Do Q",
    "askew": "q 115.2 86.4 -43.2 57.6 200 50 cm /Im Do Q",
    "mirrored": "q -144 0 0 72 300 50 cm /Im Do Q",
    "nested": "q 2 0 0 0.5 10 10 cm q 72 0 0 144 0 0 cm /Im Do Q Q",
}


@pytest.mark.parametrize("name", PLACINGS)
def test_ppi_agrees_with_pdfium(name: str) -> None:
    data = placed(PLACINGS[name])
    stated, by_matrix = pdfium_ppi(data)
    # 60 × 40 samples on 2 × 1 inches each time.
    assert only(data).ppi == pytest.approx((30.0, 40.0))
    assert by_matrix == pytest.approx((30.0, 40.0), rel=1e-4)
    if name not in ("turned", "askew"):
        # The metadata measure the upright box round the picture, so turned ones are off there.
        assert stated == pytest.approx((30.0, 40.0), rel=1e-4)


@pytest.mark.outside
@pytest.mark.skipif(shutil.which("pdfimages") is None, reason="poppler's pdfimages is missing")
def test_ppi_agrees_with_pdfimages(tmp_path: Path) -> None:
    content = "q 100 0 0 50 5 5 cm /Im Do Q q 0 90 -33 0 200 50 cm /Im Do Q q 40 30 -30 40 300 300"
    path = tmp_path / "art.pdf"
    path.write_bytes(placed(content + " cm /Im Do Q", 311, 207))
    listed = subprocess.run(
        ["pdfimages", "-list", str(path)], check=True, capture_output=True, text=True
    ).stdout.splitlines()[2:]
    theirs = [tuple(map(int, re.split(r"\s+", line.strip())[12:14])) for line in listed]
    ours = [image.ppi for image in walked(path.read_bytes()).images]
    assert len(ours) == 3
    for one, other in zip(ours, theirs, strict=True):
        assert one == pytest.approx(other, abs=0.51)  # it prints whole numbers


length = st.floats(0.5, 3000)
angle = st.floats(0, 2 * math.pi)


@given(length, length, angle, angle, st.integers(1, 20_000), st.integers(1, 20_000))
def test_any_placing_gives_the_ppi_of_its_edges(
    wide: float, high: float, one: float, other: float, width: int, height: int
) -> None:
    ctm = Affine(
        wide * math.cos(one), wide * math.sin(one), high * math.cos(other), high * math.sin(other),
        17.0, -4.0,
    )  # fmt: skip
    expected = (width / (wide / 25.4), height / (high / 25.4))
    assert effective_ppi(ctm, width, height) == pytest.approx(expected, rel=1e-9)


@given(st.lists(st.tuples(st.floats(0.4, 2.5), st.floats(0.4, 2.5), angle), min_size=1, max_size=4))
def test_any_nesting_of_turns_and_even_scales_multiplies(
    steps: list[tuple[float, float, float]],
) -> None:
    """Even scales commute with turns, so that the ppi is that of the product of the scales."""
    content = "q 100 0 0 100 300 300 cm"
    total = 100.0
    for scale, _, turn in steps:
        cos, sin = scale * math.cos(turn), scale * math.sin(turn)
        content += f" {cos:.9f} {sin:.9f} {-sin:.9f} {cos:.9f} 0 0 cm"
        total *= scale
    image = walked(placed(content + " /Im Do Q")).images
    assert [item.ppi for item in image] == [
        pytest.approx((60 / total * 72, 40 / total * 72), rel=1e-5)
    ]


def test_quad_corners_are_the_pictures_own() -> None:
    image = only(placed("q 0 100 -50 0 300 200 cm /Im Do Q"))
    expected = [(300, 200), (300, 300), (250, 300), (250, 200)]
    for corner, (x, y) in zip(image.quad, expected, strict=True):
        assert corner == pytest.approx((x * MM_PER_PT, y * MM_PER_PT))
    assert image.samples == (60, 40)
    assert image.filters == ("FlateDecode",)
    assert image.key > 0


def test_clip_leaves_the_visible_part() -> None:
    image = only(placed("100 100 30 40 re W n q 144 0 0 72 50 90 cm /Im Do Q"))
    assert image.visible == pytest.approx([v * MM_PER_PT for v in (100, 100, 130, 140)])


def test_picture_outside_a_round_clip_does_not_count() -> None:
    disc = "300 200 m 300 255 255 300 200 300 c 145 300 100 255 100 200 c 100 145 145 100 200 100"
    disc += " c 255 100 300 145 300 200 c W n "
    corner = "q 20 0 0 20 101 101 cm /Im Do Q"
    assert walked(placed(disc + corner)).images == ()
    assert len(walked(placed(disc + "q 40 0 0 40 101 101 cm /Im Do Q")).images) == 1
    assert len(walked(placed(disc + "q 900 0 0 900 -300 -300 cm /Im Do Q")).images) == 1
    assert len(walked(placed(disc + "q 2 0 0 2 200 200 cm /Im Do Q")).images) == 1


def test_picture_off_the_page_does_not_count() -> None:
    assert walked(placed("q 50 0 0 50 -60 10 cm /Im Do Q")).images == ()


def test_inline_mask_takes_the_fill_paint() -> None:
    content = "0 1 0 0 k q 36 0 0 36 10 10 cm BI /W 9 /H 2 /IM true /BPC 1 ID \x01\x02\x03\x04 EI Q"
    image = only(placed(content))
    assert image.inline
    assert image.is_mask
    assert image.key == 0
    assert image.bits == 1
    assert image.paint is not None
    assert image.paint.inks[1] == ("Magenta", 1.0)
    assert image.ppi == pytest.approx((18.0, 4.0))


def test_inline_indexed_space_is_read() -> None:
    content = (
        "q 36 0 0 36 10 10 cm BI /W 2 /H 1 /BPC 8 /CS [/I /CMYK 1 <0000000000ff0000>] ID ab EI Q"
    )
    image = only(placed(content))
    assert image.space.family is SpaceFamily.INDEXED
    assert image.space.base is not None
    assert image.space.base.family is SpaceFamily.CMYK
    assert walked(placed(content)).inks == ("Cyan", "Magenta", "Yellow", "Black")


def test_picture_in_form_in_pattern() -> None:
    pdf = Pdf()
    image = add_grey(pdf, 10, 10)
    form = pdf.add(
        Stream(
            b"/Im Do",
            {
                "Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 1, 1],
                "Matrix": [36, 0, 0, 36, 0, 0], "Resources": {"XObject": {"Im": image}},
            },
        )
    )  # fmt: skip
    cell = pdf.add(
        Stream(
            b"/Fm Do",
            {
                "Type": "Pattern", "PatternType": 1, "PaintType": 1, "TilingType": 1,
                "BBox": [0, 0, 36, 36], "XStep": 36, "YStep": 36, "Matrix": [2, 0, 0, 2, 0, 0],
                "Resources": {"XObject": {"Fm": form}},
            },
        )
    )  # fmt: skip
    pdf.page(
        "/Pattern cs /P1 scn 0.5 0 0 0.5 0 0 cm 100 100 80 80 re f 300 100 80 80 re f", (200, 200),
        millimetres=False, resources={"Pattern": {"P1": cell}},
    )  # fmt: skip
    content = walked(pdf.bytes())
    (image_item,) = content.images
    # 36 × 2 = 72 points for 10 samples: pattern space is the page's, not the CTM's of the time.
    assert image_item.ppi == pytest.approx((10.0, 10.0))
    assert image_item.visible == pytest.approx([v * MM_PER_PT for v in (50, 50, 190, 90)])
    assert [path.fill.pattern for path in content.paths if path.fill] == ["tiling", "tiling"]
    assert content.inks == ("Black",)


def test_jpeg_2000_header() -> None:
    # ISO/IEC 15444-1, I.5.3.1: height, width, components, bits less one.
    box = (
        b"\0\0\0\x16ihdr" + (7).to_bytes(4, "big") + (9).to_bytes(4, "big") + b"\0\x04\x0b\x07\0\0"
    )
    space, bits = jpx_depth(b"\0\0\0\x0cjP  \r\n\x87\n" + box)
    assert (space.family, bits) == (SpaceFamily.CMYK, 12)
