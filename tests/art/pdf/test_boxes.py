"""Page boxes, UserUnit and Rotate: against ISO 32000-2 and against PDFium."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest

from prepcheck.art.model import Page
from prepcheck.art.open import open_art
from prepcheck.art.pdf.page import PdfPage
from prepcheck.geometry import Box
from tests.factories import PT, Pdf, Raw

MM = 1 / PT


def pages(folder: Path, pdf: Pdf) -> tuple[Page, ...]:
    path = folder / "art.pdf"
    path.write_bytes(pdf.bytes())
    return open_art(path).pages


def page(folder: Path, *, tree: dict[str, object] | None = None, **entries: object) -> Page:
    pdf = Pdf("1.7")
    pdf.tree.update(tree or {})
    pdf.page("", (100, 100), **{"MediaBox": [0, 0, 612, 792], **entries})  # type: ignore[arg-type]
    (made,) = pages(folder, pdf)
    return made


def in_pt(box: Box | None) -> tuple[float, ...] | None:
    return None if box is None else tuple(round(value * PT, 6) for value in box)


def test_media_box_alone(tmp_path: Path) -> None:
    """Letter is 612 × 792 units of 1/72 inch (ISO 32000-2, 8.3.2.3): 215.9 × 279.4 mm."""
    boxes = page(tmp_path).boxes
    assert tuple(boxes.media) == pytest.approx((0, 0, 215.9, 279.4))
    assert (boxes.crop, boxes.bleed, boxes.trim, boxes.art) == (None, None, None, None)


def test_the_frame_begins_at_the_media_boxs_corner(tmp_path: Path) -> None:
    boxes = page(tmp_path, MediaBox=[-20, 30, 580, 830], TrimBox=[0, 40, 500, 800]).boxes
    assert in_pt(boxes.media) == (0, 0, 600, 800)
    assert in_pt(boxes.trim) == (20, 10, 520, 770)


def test_corners_in_any_order(tmp_path: Path) -> None:
    """ISO 32000-2, 7.9.5: any two diagonally opposite corners are acceptable."""
    boxes = page(tmp_path, MediaBox=[612, 792, 0, 0], TrimBox=[500, 10, 20, 700]).boxes
    assert in_pt(boxes.media) == (0, 0, 612, 792)
    assert in_pt(boxes.trim) == (20, 10, 500, 700)


def test_boxes_are_cut_to_the_media_box(tmp_path: Path) -> None:
    """ISO 32000-2, 14.11.2.1: they are reduced to their intersection with the media box."""
    boxes = page(tmp_path, TrimBox=[-10, -10, 700, 500], BleedBox=[700, 800, 900, 900]).boxes
    assert in_pt(boxes.trim) == (0, 0, 612, 500)
    assert boxes.bleed is None
    assert boxes.cut == ("TrimBox",)


def test_inheritance(tmp_path: Path) -> None:
    """Table 31: MediaBox, CropBox and Rotate are inheritable; the other boxes are not."""
    made = page(
        tmp_path,
        MediaBox=None,
        tree={
            "MediaBox": [0, 0, 300, 400],
            "CropBox": [10, 10, 290, 390],
            "Rotate": 90,
            "TrimBox": [20, 20, 280, 380],
        },
    )
    assert in_pt(made.boxes.media) == (0, 0, 400, 300)
    assert in_pt(made.boxes.crop) == (10, 10, 390, 290)
    assert made.rotate == 90
    assert made.boxes.trim is None


@pytest.mark.parametrize("unit", [0.5, 1, 2, 2.835, 10])
def test_user_unit(tmp_path: Path, unit: float) -> None:
    """ISO 32000-2, Table 31: the size of default user space units in multiples of 1/72 inch."""
    made = page(tmp_path, UserUnit=unit, TrimBox=[72, 72, 144, 216])
    assert made.user_unit == unit
    assert made.boxes.trim is not None
    assert made.boxes.trim.width == pytest.approx(25.4 * unit)
    assert made.boxes.trim.height == pytest.approx(50.8 * unit)


@pytest.mark.parametrize(
    ("rotate", "trim"),
    [
        # A trim 10 pt from the left and 20 from the bottom of a 612 × 792 page, 100 × 200 pt;
        # the page is turned clockwise when displayed (Table 31).
        (0, (10, 20, 110, 220)),
        (90, (20, 612 - 110, 220, 612 - 10)),
        (180, (612 - 110, 792 - 220, 612 - 10, 792 - 20)),
        (270, (792 - 220, 10, 792 - 20, 110)),
        (-90, (792 - 220, 10, 792 - 20, 110)),
        (450, (20, 612 - 110, 220, 612 - 10)),
    ],
)
def test_rotate(tmp_path: Path, rotate: int, trim: tuple[float, ...]) -> None:
    made = page(tmp_path, Rotate=rotate, TrimBox=[10, 20, 110, 220])
    assert made.rotate == rotate % 360
    assert in_pt(made.boxes.trim) == pytest.approx(trim)
    sideways = rotate % 180 != 0
    assert in_pt(made.boxes.media) == ((0, 0, 792, 612) if sideways else (0, 0, 612, 792))


def test_rotation_that_is_no_multiple_of_90(tmp_path: Path) -> None:
    path = tmp_path / "art.pdf"
    pdf = Pdf()
    pdf.page("", (100, 100), Rotate=100)
    path.write_bytes(pdf.bytes())
    art = open_art(path)
    assert art.pages[0].rotate == 90
    assert any("no multiple of 90" in trouble for trouble in art.document.troubles)


@pytest.mark.parametrize(
    "media", [None, Raw("[0 0 0 0]"), Raw("[0 0 100]"), Raw("[/a 0 1 1]"), 7, [0, 0, 1e9, 1e9]]
)
def test_unusable_media_box(tmp_path: Path, media: object) -> None:
    pdf = Pdf()
    pdf.page("", (100, 100), MediaBox=media)
    path = tmp_path / "art.pdf"
    path.write_bytes(pdf.bytes())
    art = open_art(path)
    assert in_pt(art.pages[0].boxes.media) == (0, 0, 612, 792)
    assert any("MediaBox" in trouble for trouble in art.document.troubles)


@pytest.mark.parametrize("unit", [0, -1, "x"])
def test_unusable_user_unit(tmp_path: Path, unit: object) -> None:
    assert page(tmp_path, UserUnit=unit).user_unit == 1.0


@pytest.mark.parametrize("rotate", [0, 90, 180, 270, -90])
@pytest.mark.parametrize("origin", [(0.0, 0.0), (-30.0, 45.5)])
def test_against_pdfium(tmp_path: Path, rotate: int, origin: tuple[float, float]) -> None:
    """FPDFPage_Get*Box give user space; FPDF_GetPageWidth/Height the displayed size."""
    x, y = origin
    pdf = Pdf()
    pdf.page(
        f"{x + 40} {y + 60} 20 20 re f", (100, 100), millimetres=False, Rotate=rotate,
        MediaBox=[x, y, x + 500, y + 300],
        TrimBox=[x + 20, y + 15, x + 450, y + 280],
        BleedBox=[x + 10, y + 5, x + 460, y + 290],
        ArtBox=[x + 30, y + 25, x + 440, y + 270],
    )  # fmt: skip
    (made,) = pages(tmp_path, pdf)
    assert isinstance(made, PdfPage)
    with pdfium.PdfDocument(tmp_path / "art.pdf") as document:
        theirs = document[0]
        assert (made.boxes.media.width * PT, made.boxes.media.height * PT) == pytest.approx(
            theirs.get_size(), abs=1e-3
        )
        for ours, box in (
            (made.boxes.trim, theirs.get_trimbox()),
            (made.boxes.bleed, theirs.get_bleedbox()),
            (made.boxes.art, theirs.get_artbox()),
        ):
            assert ours == pytest.approx(made.to_page.box(Box(*box)), abs=1e-4)
        # Where a painted square turns up on the displayed page, row 0 on top.
        pixels = theirs.render(scale=1).to_numpy()[:, :, 0]
        rows, columns = np.nonzero(pixels < 128)
        seen = columns.mean() + 0.5, len(pixels) - rows.mean() - 0.5
        place = made.to_page.at(x + 50, y + 70)
        assert (place.x * PT, place.y * PT) == pytest.approx(seen, abs=0.6)
