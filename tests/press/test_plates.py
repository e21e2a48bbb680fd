"""Plates against arithmetic: no reference but the numbers in the file."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from prepcheck.art.open import open_art
from prepcheck.art.pdf.content.mix import Plateset
from prepcheck.errors import UsageError
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate.conversion import OutputProfile
from prepcheck.press.separate.plates import Plates, make_plates
from prepcheck.press.separate.sharing import partition
from tests.factories import PT, Pdf, Stream, one_page
from tests.press.features import (
    BACKDROP,
    GOLD,
    TEXT_FONT,
    group,
    image,
    in_group,
    page,
    ramp,
    tint,
)
from tests.press.pages import inked_stretch, page_of

FULL = Box(0, 0, 50.8, 38.1)
GOLD_ON_PAPER = (0, 0, 0, 0, 179)
UNDER = (102, 51, 153, 26, 0)
"""What BACKDROP lays down: 40/20/60/10 % with Gold at 70 % beside it, in 255ths."""


def plates_of(data: bytes, folder: Path, ppi: float = 150) -> Plates:
    return make_plates(page_of(data, folder), Affine.identity(), FULL, ppi)


def at(plates: Plates, x_pt: float, y_pt: float) -> tuple[int, ...]:
    """Return the inks at a place given in points, in the order of `Plates.inks`."""
    column, row = plates.grid.pixels(np.array((x_pt / PT, y_pt / PT))).astype(int)
    return tuple(map(int, plates.data[:, row, column]))


def near(*inks: int) -> object:
    return pytest.approx(inks, abs=1)


def test_tints_come_out_as_bytes(tmp_path: Path) -> None:
    plates = plates_of(page("0.4 0.2 0.6 1 k 20 20 100 70 re f"), tmp_path)
    assert plates.inks == ("Cyan", "Magenta", "Yellow", "Black")
    assert at(plates, 70, 50) == near(102, 51, 153, 255)
    assert at(plates, 5, 5) == (0, 0, 0, 0)
    assert plates.seen is None
    assert plates.not_in_inks is None
    assert (plates.troubles, plates.limits) == ((), ())


@pytest.mark.parametrize(
    ("setting", "x", "inks"),
    [
        ("/OPM1 gs 0 0 0 1 k", 60, (102, 51, 153, 255, 0)),
        ("/OPM0 gs 0 0 0 1 k", 60, (0, 0, 0, 255, 0)),
        ("/OPM0 gs 0 0 0 1 k", 45, (0, 0, 0, 255, 179)),
        ("/OPM1 gs 0.3 g", 60, (0, 0, 0, 178, 0)),
        ("/OPM1 gs 0 0.7 0 0 k", 60, (102, 178, 153, 26, 0)),
        ("/OPM1 gs 0 0 0 0 k", 60, UNDER),
        ("/OPM0 gs 0 0 0 0 k", 60, (0, 0, 0, 0, 0)),
        ("/OPM1 gs /Gold cs 1 scn", 60, (102, 51, 153, 26, 255)),
        ("/OPM1 gs /Off gs /Gold cs 1 scn", 60, (0, 0, 0, 0, 255)),
        ("0 0 0 1 k", 45, (0, 0, 0, 255, 0)),
        ("/OPM1 gs 0 0 0 1 k", 45, (0, 0, 0, 255, 179)),
    ],
)
def test_overprint(setting: str, x: float, inks: tuple[int, ...], tmp_path: Path) -> None:
    """ISO 32000-2, 8.6.7 and Table 147: which plates a colour leaves as they are."""
    plates = plates_of(page(BACKDROP + setting + " 40 30 90 40 re f"), tmp_path)
    assert at(plates, x, 50) == near(*inks)


@pytest.mark.parametrize("operator", ["f", "f*", "B", "b*", "S", "s"])
def test_white_that_overprints_leaves_no_trace(operator: str, tmp_path: Path) -> None:
    bare = plates_of(page(BACKDROP), tmp_path)
    drawn = plates_of(
        page(BACKDROP + f"/OPM1 gs 0 0 0 0 k 0 0 0 0 K 9 w 40 30 60 40 re {operator}"), tmp_path
    )
    assert np.array_equal(bare.data, drawn.data)


def test_overprinting_black_type_leaves_the_plates_below(tmp_path: Path) -> None:
    type_ = "BT /F 40 Tf 0 0 0 1 k 8 40 Td (Abg) Tj ET"
    bare = plates_of(page(BACKDROP), tmp_path)
    over = plates_of(page(BACKDROP + "/OPM1 gs " + type_, **TEXT_FONT), tmp_path)
    knocked = plates_of(page(BACKDROP + type_, **TEXT_FONT), tmp_path)
    for ink in ("Cyan", "Magenta", "Yellow", "Gold"):
        assert np.array_equal(over.plate(ink), bare.plate(ink))
        assert (knocked.plate(ink) < bare.plate(ink)).any()
    assert np.array_equal(over.plate("Black"), knocked.plate("Black"))


def test_multiply_is_the_product_of_what_is_left(tmp_path: Path) -> None:
    plates = plates_of(page(BACKDROP + "/Multiply gs 0.6 0.1 0.3 0.2 k 40 30 90 40 re f"), tmp_path)
    left = [(1 - a / 100) * (1 - b / 100) for a, b in ((40, 60), (20, 10), (60, 30), (10, 20))]
    assert at(plates, 60, 50) == near(*(round(255 * (1 - x)) for x in left), 0)


def test_opacity_is_the_mean(tmp_path: Path) -> None:
    plates = plates_of(page(BACKDROP + "/Half gs 1 0 0 0.4 k 40 30 90 40 re f"), tmp_path)
    assert at(plates, 60, 50) == near(178, 26, 76, 64, 0)
    assert at(plates, 45, 50) == near(128, 0, 0, 51, 89)


def test_all_marks_every_plate_and_none_marks_no_plate(tmp_path: Path) -> None:
    spaces = {
        name: ["Separation", name, "DeviceCMYK", tint(1, 1, 1, 1)] for name in ("All", "None")
    }
    plates = plates_of(
        page(BACKDROP + "/All cs 0.8 scn 40 30 20 40 re f /None cs 1 scn 70 30 15 40 re f",
             ColorSpace=spaces),
        tmp_path,
    )  # fmt: skip
    assert at(plates, 55, 50) == near(204, 204, 204, 204, 204)
    assert at(plates, 75, 50) == near(*UNDER)
    assert plates.inks[4:] == ("Gold",)


def test_a_knocked_out_shape_counts_inside_an_isolated_group(tmp_path: Path) -> None:
    """11.4.5: an isolated group's objects see nothing below, so what overprints there still
    knocks out what lies below the group."""
    overprinting = "/OPM1 gs 0.9 0 0 0 k 40 30 60 40 re f"
    isolated = plates_of(in_group(overprinting, I=True), tmp_path)
    assert at(isolated, 60, 50) == near(230, 0, 0, 0, 0)
    open_ = plates_of(in_group(overprinting), tmp_path)
    assert at(open_, 60, 50) == near(230, 51, 153, 26, 0)


def test_overprinting_type_inside_an_isolated_group(tmp_path: Path) -> None:
    pdf = Pdf()
    content = "BT /OPM1 gs /F 200 Tf 1 0 0 0 k 0 0 Td (l) Tj ET 0 0 1 0 k /Off gs 120 0 20 20 re f"
    form = pdf.add(
        Stream(
            content.encode(),
            {
                "Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 144, 108],
                "Group": {"S": "Transparency", "CS": "DeviceCMYK", "I": True},
                "Resources": {
                    **TEXT_FONT,
                    "ExtGState": {"OPM1": {"op": True, "OPM": 1}, "Off": {"op": False}},
                },
            },
        )
    )  # fmt: skip
    plates = plates_of(
        page("0 1 0 0 k 0 0 144 108 re f /Fm Do", pdf, XObject={"Fm": form}), tmp_path
    )
    stem = plates.plate("Cyan") > 250
    assert stem.any()
    assert plates.plate("Magenta")[stem].max() <= 5
    assert at(plates, 130, 10) == near(0, 0, 255, 0)


def test_rgb_has_no_ink_amounts_but_is_seen(tmp_path: Path) -> None:
    content = BACKDROP + "1 0.2 0 rg 40 30 60 40 re f 0 0 0 1 k 60 40 20 10 re f"
    plates = plates_of(page(content), tmp_path)
    assert at(plates, 45, 50) == (0, 0, 0, 0, 0)
    assert at(plates, 70, 45) == near(0, 0, 0, 255, 0)
    assert plates.seen is not None
    column, row = plates.grid.pixels(np.array((45 / PT, 50 / PT))).astype(int)
    assert plates.seen[row, column].tolist() == pytest.approx([255, 51, 0], abs=1)
    assert plates.not_in_inks is not None
    assert plates.not_in_inks[row, column] == 255
    assert plates.greatest[row, column] == 255
    column, row = plates.grid.pixels(np.array((70 / PT, 45 / PT))).astype(int)
    assert plates.not_in_inks[row, column] == 0


def test_edges_lie_where_the_file_puts_them(tmp_path: Path) -> None:
    """Within 0.05 mm at 150 ppi, pictures and clips included: PDFium left alone is off by up to
    a pixel (0.17 mm)."""
    pdf = Pdf()
    picture = pdf.add(image(1, 1, "DeviceCMYK", b"\0\0\0\xff"))
    place = "30.11 21.73 61.37 40.29"
    pages = {
        "rectangle": page(f"0 0 0 1 k {place} re f"),
        "lines": page("0 0 0 1 k 30.11 21.73 m 91.48 21.73 l 91.48 62.02 l 30.11 62.02 l h f"),
        "clip": page(f"{place} re W n 0 0 0 1 k 0 0 m 144 0 l 144 108 l 0 108 l 9 9 l f"),
        "picture": page("q 61.37 0 0 40.29 30.11 21.73 cm /Im Do Q", pdf, XObject={"Im": picture}),
    }
    for name, data in pages.items():
        plates = plates_of(data, tmp_path)
        black = plates.plate("Black")
        across = inked_stretch(black, plates.grid, y=40 / PT)
        down = inked_stretch(black, plates.grid, x=60 / PT)
        assert across == pytest.approx((30.11 / PT, 91.48 / PT), abs=0.05), name
        assert down == pytest.approx((21.73 / PT, 62.02 / PT), abs=0.05), name


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_turned_pages_and_other_units_register(turn: int, tmp_path: Path) -> None:
    data = one_page(
        "0 0 0 1 k 10 5 20 10 re f", (40, 30), Rotate=turn, UserUnit=2,
        CropBox=[50, 50, 60, 60],
    )  # fmt: skip
    art = page_of(data, tmp_path)
    to_frame = art.to_page.inverse().then(Affine.scale(1 / PT)).then(Affine.move(-20, -10))
    plates = make_plates(art, to_frame, Box.centred(30, 20), 300)
    black = plates.plate("Black")
    assert inked_stretch(black, plates.grid, y=0.0) == pytest.approx((-10, 10), abs=0.05)
    assert inked_stretch(black, plates.grid, x=0.0) == pytest.approx((-5, 5), abs=0.05)


def test_an_object_that_cannot_be_read_is_named_and_left_out(tmp_path: Path) -> None:
    pdf = Pdf()
    broken = pdf.add(image(40, 30, "DeviceCMYK", b"no JPEG", Filter="DCTDecode"))
    content = "1 0 0 0 k 0 0 60 108 re f q 40 0 0 40 80 30 cm /Broken Do Q /Absent Do"
    plates = plates_of(page(content, pdf, XObject={"Broken": broken}), tmp_path)
    assert at(plates, 30, 50) == (255, 0, 0, 0)
    assert len(plates.troubles) == 2
    assert any("picture Broken was left out" in sentence for sentence in plates.troubles)
    assert any("Absent" in sentence for sentence in plates.troubles)


def test_a_form_that_draws_itself_ends(tmp_path: Path) -> None:
    pdf = Pdf()
    form = pdf.add(None)
    pdf.put(form, Stream(
        b"1 0 0 0 k 10 10 50 50 re f /Fm Do",
        {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 144, 108],
         "Resources": {"XObject": {"Fm": form}}},
    ))  # fmt: skip
    plates = plates_of(page("/Fm Do", pdf, XObject={"Fm": form}), tmp_path)
    assert at(plates, 30, 30) == (255, 0, 0, 0)
    assert len(plates.troubles) == 1


def test_what_cannot_be_followed_is_said(tmp_path: Path) -> None:
    knockout = plates_of(in_group("0.9 0 0 0 k 40 30 60 40 re f", K=True), tmp_path)
    assert any("knockout" in sentence for sentence in knockout.limits)
    blending = plates_of(in_group("/Multiply gs 0.9 0 0 0 k 40 30 60 40 re f"), tmp_path)
    assert any("not isolated" in sentence for sentence in blending.limits)
    isolated = plates_of(in_group("/Multiply gs 0.9 0 0 0 k 40 30 60 40 re f", I=True), tmp_path)
    assert isolated.limits == ()
    screen = page(
        BACKDROP + "/Half gs 1 0 0 0 k 0 0 9 9 re f",
        entries={"Group": {"S": "Transparency", "CS": "DeviceRGB"}},
    )
    assert any("blends in RGB" in sentence for sentence in plates_of(screen, tmp_path).limits)


def test_a_knockout_group_is_said_wherever_it_is(tmp_path: Path) -> None:
    knockout = {"S": "Transparency", "CS": "DeviceCMYK", "K": True}
    whole = page("1 0 0 0 k 0 0 9 9 re f", entries={"Group": knockout})
    pdf = Pdf()
    shape = group("0 g 0 0 72 108 re f", CS="DeviceGray", K=True)
    mask = {"Type": "Mask", "S": "Luminosity", "G": pdf.add(shape)}
    masked = page("/Soft gs 1 0 0 0 k 0 0 9 9 re f", pdf, ExtGState={"Soft": {"SMask": mask}})
    for data in (whole, masked):
        (said,) = plates_of(data, tmp_path).limits
        assert "knockout" in said


SCREEN = {"HalftoneType": 1, "Frequency": 60, "Angle": 45, "SpotFunction": "Round"}


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        ({"TR": tint(0, start=(1,))}, True),
        ({"TR": [tint(1)] * 4}, True),
        ({"TR2": tint(1)}, True),
        ({"TR": "Identity"}, False),
        ({"TR2": "Default", "TR": tint(1)}, False),  # TR2 goes before TR
        ({"TR": ["Identity"] * 4}, False),
        ({"HT": {**SCREEN, "TransferFunction": tint(1)}}, True),
        ({"HT": {"HalftoneType": 5, "Default": {**SCREEN, "TransferFunction": tint(1)}}}, True),
        ({"HT": {**SCREEN, "TransferFunction": "Identity"}}, False),
        ({"HT": "Default"}, False),
    ],
    ids=[
        "turned",
        "one an ink",
        "TR2",
        "identity",
        "default",
        "identities",
        "halftone",
        "one of several halftones",
        "halftone without",
        "the device's halftone",
    ],
)
def test_transfer_functions_are_said(tmp_path: Path, entries: dict, said: bool) -> None:
    """ISO 32000-2, 10.5 and Table 57."""
    data = page("/Tr gs 0.4 0 0 0 k 0 0 50 50 re f", ExtGState={"Tr": entries})
    plates = plates_of(data, tmp_path)
    assert ["transfer function" in sentence for sentence in plates.limits] == [True] * said
    assert at(plates, 30, 30) == (102, 0, 0, 0)


def test_a_form_that_is_a_mask_and_is_drawn_too_has_its_plates(tmp_path: Path) -> None:
    pdf = Pdf()
    form = pdf.add(group("/Gold cs 1 scn 0 0 72 108 re f", {"ColorSpace": {"Gold": GOLD}}))
    state = {"SMask": {"Type": "Mask", "S": "Luminosity", "G": form}}
    outer = pdf.add(group("/Fm Do", {"XObject": {"Fm": form}}))
    state["SMask"]["G"] = outer
    content = "q /Soft gs 1 0 0 0 k 80 60 9 9 re f Q /Fm Do"
    data = page(content, pdf, XObject={"Fm": form}, ExtGState={"Soft": state})
    plates = plates_of(data, tmp_path)
    assert plates.inks[4:] == ("Gold",)
    assert at(plates, 30, 30)[4] == 255


def test_a_form_takes_the_colour_it_is_drawn_in(tmp_path: Path) -> None:
    pdf = Pdf()
    form = pdf.add(Stream(
        b"0 0 20 20 re f",
        {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 20, 20], "Resources": {}},
    ))  # fmt: skip
    plates = plates_of(
        page("q 1 0 0 0 k 1 0 0 1 10 10 cm /Fm Do Q q /Gold cs 0.5 scn 1 0 0 1 60 10 cm /Fm Do Q "
             "1 0 0 1 100 10 cm /Fm Do", pdf, XObject={"Fm": form}),
        tmp_path,
    )  # fmt: skip
    assert at(plates, 20, 20) == near(255, 0, 0, 0, 0)
    assert at(plates, 70, 20) == near(0, 0, 0, 0, 128)
    assert at(plates, 110, 20) == near(0, 0, 0, 255, 0)


def test_large_pictures_are_averaged_not_sampled(tmp_path: Path) -> None:
    checks = np.indices((400, 400)).sum(axis=0) % 2 * 255
    data = np.zeros((400, 400, 4), np.uint8)
    data[:, :, 1] = checks
    pdf = Pdf()
    picture = pdf.add(image(400, 400, "DeviceCMYK", data.tobytes()))
    content = "q 40 0 0 40 20 20 cm /Im Do Q"
    plates = plates_of(page(content, pdf, XObject={"Im": picture}), tmp_path)
    assert at(plates, 40, 40) == pytest.approx((0, 127.5, 0, 0), abs=2)


def test_a_picture_with_a_soft_mask(tmp_path: Path) -> None:
    pdf = Pdf()
    mask = pdf.add(image(2, 1, "DeviceGray", b"\x00\x80"))
    picture = pdf.add(image(1, 1, GOLD, b"\xff", SMask=mask))
    content = "0 0.5 0 0 k 0 0 144 108 re f q 80 0 0 80 20 14 cm /Im Do Q"
    plates = plates_of(page(content, pdf, XObject={"Im": picture}), tmp_path)
    assert at(plates, 25, 50) == near(0, 128, 0, 0, 0)
    assert at(plates, 95, 50) == near(0, 64, 0, 0, 128)


def test_rasters_give_their_own_plates(tmp_path: Path) -> None:
    data = ramp(100, 75, 4)
    picture = Image.frombytes("CMYK", (100, 75), data.tobytes())
    picture.save(tmp_path / "art.tif", dpi=(50, 50))
    art = open_art(tmp_path / "art.tif").pages[0]
    plates = make_plates(art, Affine.identity(), art.boxes.media, 50)
    assert plates.inks == ("Cyan", "Magenta", "Yellow", "Black")
    assert np.abs(np.moveaxis(plates.data, 0, 2).astype(int) - data).max() <= 1
    assert plates.total().max() == pytest.approx(data.astype(int).sum(axis=2).max(), abs=4)


def test_grey_rasters_go_to_black(tmp_path: Path) -> None:
    Image.new("L", (40, 30), 55).save(tmp_path / "art.png", dpi=(100, 100))
    art = open_art(tmp_path / "art.png").pages[0]
    plates = make_plates(art, Affine.identity(), art.boxes.media, 100)
    assert np.all(plates.plate("Black")[1:-1, 1:-1] == 200)
    assert not plates.plate("Cyan").any()


def test_a_profile_that_is_none_is_refused(tmp_path: Path) -> None:
    art = page_of(page("1 0 0 rg 0 0 9 9 re f"), tmp_path)
    with pytest.raises(UsageError, match="output profile"):
        make_plates(
            art, Affine.identity(), FULL, 30, OutputProfile(b"no profile", "the output profile")
        )


def test_plates_share_a_copy_only_where_nothing_tells_them_apart() -> None:
    plates = ["Cyan", "Magenta", "Yellow", "Black", "Gold"]
    assert partition(plates, []) == [("Cyan", "Magenta", "Yellow"), ("Black", "Gold")]
    black = Plateset(frozenset({"Black"}))
    assert partition(plates, [black]) == [("Cyan", "Magenta", "Yellow"), ("Gold",), ("Black",)]
    rest = Plateset(frozenset({"Black"}), inverted=True)
    assert sorted(partition(plates, [black, rest])) == sorted(partition(plates, [black]))
