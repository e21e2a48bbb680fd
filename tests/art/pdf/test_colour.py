"""Colour spaces against ISO 32000-2, 8.6, ICC profiles of Pillow's maker, and skimage's Lab."""

import numpy as np
import pytest
from PIL import ImageCms
from pypdf.generic import ArrayObject, ByteStringObject, NameObject
from skimage.color import lab2rgb

from prepcheck.art.model import Space, SpaceFamily
from prepcheck.art.pdf.colour import UNKNOWN, read_space
from tests.art.pdf.test_functions import calculator, pdf, stream

TINT = {
    "FunctionType": 2, "Domain": [0, 1], "N": 1,
    "C0": [0.0, 0.0, 0.0, 0.0], "C1": [0.0, 0.8, 0.9, 0.0],
}  # fmt: skip
CMYK = Space(SpaceFamily.CMYK, 4)


def icc(data: bytes, count: int) -> object:
    return pdf(["ICCBased", stream(data, N=count)])


def srgb() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def test_device_spaces_name_their_plates() -> None:
    grey, rgb, cmyk = (read_space(pdf(n)) for n in ("DeviceGray", "DeviceRGB", "DeviceCMYK"))
    assert grey.inks((0.4,)) == (("Black", pytest.approx(0.6)),)
    assert rgb.inks((0.4, 0.5, 0.6)) == ()
    assert cmyk.inks((0.1, 0.2, 0.3, 1.4)) == (
        ("Cyan", 0.1), ("Magenta", 0.2), ("Yellow", 0.3), ("Black", 1.0),
    )  # fmt: skip
    assert (grey.initial, rgb.initial, cmyk.initial) == ((0,), (0, 0, 0), (0, 0, 0, 1))


def test_inline_names_and_resource_names() -> None:
    resources = pdf({"ColorSpace": {"CS0": ["Separation", "Gold", "DeviceCMYK", TINT]}})
    assert read_space(pdf("G")).facts.family is SpaceFamily.GREY
    assert read_space(pdf(["I", "CMYK", 0, 7]), resources) is UNKNOWN
    assert read_space(pdf("CS0"), resources).facts.colorants == ("Gold",)
    assert read_space(pdf("CS1"), resources) is UNKNOWN


def test_a_separation_is_its_plate_and_looks_like_its_alternate() -> None:
    gold = read_space(pdf(["Separation", "Gold", "DeviceCMYK", TINT]))
    assert gold.facts[:4] == (SpaceFamily.SEPARATION, 1, CMYK, ("Gold",))
    assert gold.facts.solids == (pytest.approx((0.0, 0.8, 0.9, 0.0)),)
    assert gold.initial == (1.0,)
    assert gold.inks((0.5,)) == (("Gold", 0.5),)
    assert gold.rgb((1.0,)) == pytest.approx((1.0, 0.2, 0.1))


def test_all_and_none() -> None:
    every = read_space(pdf(["Separation", "All", "DeviceCMYK", TINT]))
    none = read_space(pdf(["Separation", "None", "DeviceCMYK", TINT]))
    assert every.inks((0.7,)) == (("All", 0.7),)
    assert every.rgb((1.0,)) == (0, 0, 0)
    assert none.inks((1.0,)) == ()
    assert none.rgb((1.0,)) == (1, 1, 1)


def test_device_n_marks_its_colorants_only() -> None:
    space = read_space(
        pdf([
            "DeviceN", ["Black", "None", "Gold"], "DeviceCMYK",
            calculator("{ exch pop exch 0 exch 0 exch 0 exch pop 0 0 0 }", 3, 4, 1),
        ])
    )  # fmt: skip
    assert space.inks((0.1, 0.2, 0.3)) == (("Black", 0.1), ("Gold", 0.3))
    assert space.initial == (1, 1, 1)
    assert space.facts.kind == "spot"


def test_nchannel_process_components_are_the_process_inks() -> None:
    """ISO 32000-2, Table 72: Components names the process colorants in the space's order."""
    space = read_space(
        pdf([
            "DeviceN", ["Cy", "Ma", "Ye", "Bl", "Gold"], "DeviceCMYK",
            calculator("{ pop }", 5, 4, 1),
            {
                "Subtype": "NChannel",
                "Process": {"ColorSpace": "DeviceCMYK", "Components": ["Cy", "Ma", "Ye", "Bl"]},
            },
        ])
    )  # fmt: skip
    assert space.inks((1, 0, 0, 0.5, 0.25)) == (
        ("Cyan", 1), ("Magenta", 0), ("Yellow", 0), ("Black", 0.5), ("Gold", 0.25),
    )  # fmt: skip
    assert space.rgb((1, 0, 0, 0.5, 0.25)) == pytest.approx((0, 0.5, 0.5))


def test_indexed_looks_up_in_its_base() -> None:
    space = read_space(
        ArrayObject([
            NameObject("/Indexed"), NameObject("/DeviceCMYK"), pdf(1),
            ByteStringObject(bytes([0, 51, 102, 255, 255, 0, 0, 0])),
        ])
    )  # fmt: skip
    assert space.facts == Space(SpaceFamily.INDEXED, 1, CMYK)
    assert dict(space.inks((0,))) == pytest.approx(
        {"Cyan": 0, "Magenta": 0.2, "Yellow": 0.4, "Black": 1}
    )
    assert dict(space.inks((5,))) == {"Cyan": 1, "Magenta": 0, "Yellow": 0, "Black": 0}


def test_an_indexed_table_cut_short_counts_as_zero() -> None:
    space = read_space(
        ArrayObject([
            NameObject("/Indexed"), NameObject("/DeviceGray"), pdf(3), ByteStringObject(b"\xff"),
        ])
    )  # fmt: skip
    assert space.inks((3,)) == (("Black", 1.0),)


def test_indexed_on_lab_decodes_by_range() -> None:
    lab = ["Lab", {"WhitePoint": [0.9642, 1.0, 0.8249], "Range": [-128, 127, -128, 127]}]
    space = read_space(
        ArrayObject([NameObject("/Indexed"), pdf(lab), pdf(0), ByteStringObject(b"\xff\x80\x80")])
    )
    assert space.rgb((0,)) == pytest.approx((1, 1, 1), abs=0.01)


def test_profiles_are_told_by_their_component_count_and_named() -> None:
    rgb = read_space(icc(srgb(), 3))
    assert rgb.facts.family is SpaceFamily.ICC
    assert rgb.facts.kind == "rgb"
    assert rgb.facts.profile == "sRGB built-in"
    assert rgb.inks((0, 0, 0)) == ()
    cmyk = read_space(icc(b"no profile", 4))
    assert cmyk.facts == Space(SpaceFamily.ICC, 4, CMYK)
    assert cmyk.initial == (0, 0, 0, 0)
    assert cmyk.inks((0, 0, 0, 1))[3] == ("Black", 1)
    assert read_space(icc(b"", 1)).inks((0.0,)) == (("Black", 1.0),)


@pytest.mark.parametrize(
    "lab", [(50, 0, 0), (60, 40, 30), (40, -30, 20), (95, 0, 5), (30, 20, -60)]
)
def test_lab_looks_as_skimage_says(lab: tuple[float, float, float]) -> None:
    space = read_space(pdf(["Lab", {"WhitePoint": [0.9505, 1.0, 1.089]}]))
    assert space.inks(lab) == ()
    expected = lab2rgb(np.array([[lab]], float), illuminant="D65")[0, 0]
    assert space.rgb(lab) == pytest.approx(expected, abs=0.002)


def test_default_spaces_stand_in() -> None:
    resources = pdf({"ColorSpace": {"DefaultCMYK": icc(b"", 4), "DefaultRGB": icc(b"", 4)}})
    assert read_space(pdf("DeviceCMYK"), resources).facts.family is SpaceFamily.ICC
    assert read_space(pdf("DeviceRGB"), resources).facts.family is SpaceFamily.RGB


def test_pattern_keeps_the_space_of_its_colour() -> None:
    plain, coloured = read_space(pdf("Pattern")), read_space(pdf(["Pattern", "DeviceCMYK"]))
    assert (plain.facts.family, plain.initial) == (SpaceFamily.PATTERN, ())
    assert coloured.facts.base == CMYK
    assert coloured.inks((1, 0, 0, 0))[0] == ("Cyan", 1)


@pytest.mark.parametrize(
    "damaged",
    [
        None, 7, [], ["Separation"], ["Separation", "X", "DeviceCMYK", {}], ["ICCBased", {}],
        ["Indexed", "Pattern", 1, "x"], ["DeviceN", [], "DeviceCMYK", TINT], ["Lab"], "Frob",
        ["Separation", "X", "DeviceRGB", {**TINT, "C0": [0], "C1": [1]}], ["Pattern", "Pattern"],
    ],
)  # fmt: skip
def test_damage_is_the_unknown_space(damaged: object) -> None:
    space = read_space(pdf(damaged))
    assert space.facts.family is SpaceFamily.UNKNOWN
    assert space.inks(()) == ()
    assert space.rgb(()) == (0.5, 0.5, 0.5)


def test_a_circle_is_the_unknown_space() -> None:
    loop = pdf(["Separation", "X"])
    assert isinstance(loop, ArrayObject)
    loop.extend([loop, pdf(TINT)])
    assert read_space(loop) is UNKNOWN
    resources = pdf({"ColorSpace": {"A": "B", "B": "A"}})
    assert read_space(pdf("A"), resources) is UNKNOWN
