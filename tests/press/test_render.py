"""Edges in a drawn page against where the file puts them, within 0.05 mm."""

import math
from pathlib import Path

import numpy as np
import pytest

from prepcheck.errors import UnreadableError
from prepcheck.geometry import Affine, Box
from prepcheck.press.render import render_rgb, render_view
from tests.factories import PT, Pdf, Stream, disc_path, one_page
from tests.press.pages import inked_stretch, page_of

PPI = 300
SLACK_MM = 0.05
BOX = Box.centred(64, 44)
CENTRE = Affine.move(-30, -20)
"""The pages below are 60 by 40 mm; the frame's origin is their centre."""

picture = Stream(
    bytes([0]), {"Type": "XObject", "Subtype": "Image", "Width": 1, "Height": 1,
                 "ColorSpace": "DeviceGray", "BitsPerComponent": 8},
)  # fmt: skip


def black_picture(**entries: object) -> bytes:
    pdf = Pdf()
    pdf.page(
        "q 20.11 0 0 10.37 10.03 7.77 cm /Im Do Q", (60, 40),
        resources={"XObject": {"Im": pdf.add(picture)}}, **entries,
    )  # fmt: skip
    return pdf.bytes()


@pytest.mark.parametrize(
    "data",
    [
        one_page("0 g 10.03 7.77 20.11 10.37 re f", (60, 40)),
        one_page("0 g 10.03 7.77 m 30.14 7.77 l 30.14 18.14 l 10.03 18.14 l f", (60, 40)),
        black_picture(),
        one_page("0 g 10.37 w 10.03 12.955 m 30.14 12.955 l S", (60, 40)),
    ],
    ids=["rectangle", "path", "picture", "stroke"],
)
@pytest.mark.parametrize("ppi", [300, 437, 600])
def test_edges_lie_where_the_file_puts_them(data: bytes, ppi: float, tmp_path: Path) -> None:
    view = render_view(page_of(data, tmp_path), CENTRE, BOX, ppi)
    assert inked_stretch(view.ink, view.grid, y=-7) == pytest.approx((-19.97, 0.14), abs=SLACK_MM)
    assert inked_stretch(view.ink, view.grid, x=-10) == pytest.approx((-12.23, -1.86), abs=SLACK_MM)


def test_a_disc_has_its_area_and_its_centre(tmp_path: Path) -> None:
    page = page_of(one_page(f"0 g {disc_path(31.3, 19.2, 15.05)} f", (60, 40)), tmp_path)
    view = render_view(page, CENTRE, BOX, PPI)
    share = view.ink / 255.0
    assert share.sum() * view.grid.pitch**2 == pytest.approx(math.pi * 15.05**2, rel=0.001)
    xs, ys = view.grid.centres()
    assert (share.sum(axis=0) @ xs) / share.sum() == pytest.approx(1.3, abs=0.005)
    assert (share.sum(axis=1) @ ys) / share.sum() == pytest.approx(-0.8, abs=0.005)
    assert inked_stretch(view.ink, view.grid, y=-0.8) == pytest.approx(
        (1.3 - 15.05, 1.3 + 15.05), abs=SLACK_MM
    )


BOXES = {
    "plain": {},
    "turned": {"Rotate": 90},
    "turned thrice": {"Rotate": 270},
    "unit of two points": {"UserUnit": 2},
    "cropped": {"CropBox": [25 * PT, 15 * PT, 40 * PT, 30 * PT]},
    "cropped and turned": {"CropBox": [25 * PT, 15 * PT, 40 * PT, 30 * PT], "Rotate": 180},
    "size not in whole points": {"MediaBox": [0, 0, 60.123 * PT, 40.077 * PT]},
    "far from the origin": {"MediaBox": [-700.5, -300.25, 60 * PT, 40 * PT]},
    "corners swapped": {"MediaBox": [60 * PT, 40 * PT, 0, 0]},
}


@pytest.mark.parametrize("entries", BOXES.values(), ids=BOXES)
def test_page_boxes_do_not_move_what_is_drawn(entries: dict[str, object], tmp_path: Path) -> None:
    """Where default user space lies is the page's own word (ISO 32000-2, 7.7.3.3 and 14.11.2)."""
    content = "0 g 10.03 7.77 m 30.14 7.77 l 30.14 18.14 l 10.03 18.14 l f"
    page = page_of(one_page(content, (60, 40), **entries), tmp_path)
    # The content's mm scale is in points of the page, so the frame is made from user space.
    to_frame = page.to_page.inverse().then(Affine.scale(1 / PT)).then(CENTRE)
    view = render_view(page, to_frame, BOX, PPI)
    assert inked_stretch(view.ink, view.grid, y=-7) == pytest.approx((-19.97, 0.14), abs=SLACK_MM)
    assert inked_stretch(view.ink, view.grid, x=-10) == pytest.approx((-12.23, -1.86), abs=SLACK_MM)


def test_a_unit_of_two_points_doubles_the_page(tmp_path: Path) -> None:
    page = page_of(one_page("0 g 5 5 10 10 re f", (30, 20), UserUnit=2), tmp_path)
    view = render_view(page, CENTRE, BOX, PPI)
    assert inked_stretch(view.ink, view.grid, y=0) == pytest.approx((-20, 0), abs=SLACK_MM)


def test_outside_the_page_is_paper(tmp_path: Path) -> None:
    page = page_of(one_page("0 g -20 -20 200 200 re f", (60, 40)), tmp_path)
    view = render_view(page, CENTRE, BOX, PPI)
    assert inked_stretch(view.ink, view.grid, y=0) == pytest.approx((-30, 30), abs=SLACK_MM)
    assert inked_stretch(view.ink, view.grid, x=0) == pytest.approx((-20, 20), abs=SLACK_MM)
    assert view.rgb[0, 0].tolist() == [255, 255, 255]


def test_a_turned_frame_turns_the_picture(tmp_path: Path) -> None:
    page = page_of(one_page("0 g 5 18 40 4 re f", (60, 40)), tmp_path)
    view = render_view(page, CENTRE.then(Affine.turn(30)), BOX.grown(10), PPI)
    xs, ys = view.grid.centres()
    share = view.ink / 255.0
    assert share.sum() * view.grid.pitch**2 == pytest.approx(160, rel=0.01)
    assert (share.sum(axis=0) @ xs) / share.sum() == pytest.approx(-5 * math.cos(math.pi / 6), 0.01)
    assert (share.sum(axis=1) @ ys) / share.sum() == pytest.approx(-5 * math.sin(math.pi / 6), 0.01)


def layered(print_state: str, view_state: str) -> bytes:
    pdf = Pdf()
    group = pdf.add({
        "Type": "OCG", "Name": b"L",
        "Usage": {"Print": {"PrintState": print_state}, "View": {"ViewState": view_state}},
    })  # fmt: skip
    auto = [{"Event": event, "OCGs": [group], "Category": [event]} for event in ("Print", "View")]
    pdf.catalog["OCProperties"] = {"OCGs": [group], "D": {"ON": [group], "AS": auto}}
    pdf.page(
        "/OC /L BDC 0 g 10 10 20 20 re f EMC", (60, 40), resources={"Properties": {"L": group}}
    )
    return pdf.bytes()


@pytest.mark.parametrize(("states", "seen"), [(("ON", "OFF"), True), (("OFF", "ON"), False)])
def test_layers_are_shown_as_printed(states: tuple[str, str], seen: bool, tmp_path: Path) -> None:
    view = render_view(page_of(layered(*states), tmp_path), CENTRE, BOX, PPI)
    assert bool(view.ink.any()) is seen


def test_annotations_are_not_drawn(tmp_path: Path) -> None:
    note = {
        "Type": "Annot", "Subtype": "Square", "Rect": [20, 20, 90, 90], "F": 4, "IC": [0, 0, 0],
        "C": [0, 0, 0],
    }  # fmt: skip
    page = page_of(one_page("", (60, 40), Annots=[note]), tmp_path)
    assert not render_view(page, CENTRE, BOX, PPI).ink.any()


def test_an_inset_is_the_same_place_enlarged(tmp_path: Path) -> None:
    page = page_of(one_page("1 0 0 rg 10.03 7.77 20.11 10.37 re f", (60, 40)), tmp_path)
    rgb, grid = render_rgb(page, CENTRE, Box(-1, -8, 1, -6), 1200)
    assert grid.pitch == pytest.approx(25.4 / 1200)
    assert inked_stretch(255 - rgb[:, :, 1], grid, y=-7)[1] == pytest.approx(0.14, abs=0.02)
    assert rgb[grid.height // 2, 0].tolist() == [255, 0, 0]


def test_lightness_is_luma(tmp_path: Path) -> None:
    """ITU-R BT.709-6, item 3.2: 0.2126 R + 0.7152 G + 0.0722 B."""
    page = page_of(one_page("0 1 0 rg 0 0 60 40 re f", (60, 40)), tmp_path)
    view = render_view(page, CENTRE, Box.centred(10, 10), PPI)
    assert np.all(view.lightness == round(0.7152 * 255))
    assert np.all(view.ink == 255)


def test_a_page_that_cannot_be_drawn_says_so(tmp_path: Path) -> None:
    page = page_of(one_page("", (60, 40)), tmp_path)
    (tmp_path / "art.pdf").write_bytes(b"%PDF-1.4 overwritten")
    with pytest.raises(UnreadableError, match=r"art\.pdf: page 1 cannot be drawn"):
        render_rgb(page, CENTRE, BOX, PPI)
