"""RGB and Lab paint as inks, by an output profile: compared with littleCMS (Pillow's ImageCms)."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from prepcheck.errors import UsageError
from prepcheck.geometry import Affine
from prepcheck.press.condition import load_condition
from prepcheck.press.conversion import OutputProfile, ToInks, leads_to_inks
from prepcheck.press.icc import condition_profile
from prepcheck.press.plates import Plates, make_plates
from tests.factories import Pdf
from tests.press.features import group, image, page
from tests.press.pages import page_of
from tests.press.profiles import press_profile

PRESS = OutputProfile(press_profile(), "the press's profile")
COLOURS = [(255, 255, 255), (0, 0, 0), (128, 128, 128), (255, 51, 0), (51, 102, 204), (0, 153, 51)]


def by_little_cms(profile: bytes, rgb: tuple[int, int, int]) -> tuple[int, ...]:
    transform = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"),
        ImageCms.ImageCmsProfile(io.BytesIO(profile)),
        "RGB",
        "CMYK",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )
    done = ImageCms.applyTransform(Image.new("RGB", (1, 1), rgb), transform)
    assert done is not None
    return done.getpixel((0, 0))


def plates_of(content: str, folder: Path, profile: OutputProfile | None, **kinds: dict) -> Plates:
    pdf = Pdf()
    made = {
        kind: {name: pdf.add(value) for name, value in entries.items()}
        for kind, entries in kinds.items()
    }
    pdf.page(content, (20, 20), resources=made)
    art = page_of(pdf.bytes(), folder)
    return make_plates(art, Affine.identity(), art.boxes.media, 72, profile)


def middle(plates: Plates) -> list[int]:
    _, rows, columns = plates.data.shape
    return plates.data[:4, rows // 2, columns // 2].tolist()


@pytest.mark.parametrize("rgb", COLOURS)
def test_rgb_paint_is_what_little_cms_makes_of_it(rgb: tuple[int, int, int], tmp_path) -> None:
    red, green, blue = (channel / 255 for channel in rgb)
    content = f"{red:.6f} {green:.6f} {blue:.6f} rg 0 0 99 99 re f"
    plates = plates_of(content, tmp_path, PRESS)
    assert middle(plates) == pytest.approx(by_little_cms(PRESS.data, rgb), abs=1)
    assert plates.seen is None
    assert plates.converted_by == "the press's profile"


def test_the_profile_of_the_tests_gives_every_ink() -> None:
    made = np.array([by_little_cms(PRESS.data, rgb) for rgb in COLOURS])
    assert made[0].max() <= 2  # white is bare paper
    assert made[1, 3] >= 200  # black is the black of the press, not more
    assert (made.max(axis=0) > 60).all()


def test_a_picture_in_rgb_too(tmp_path: Path) -> None:
    picture = image(2, 2, "DeviceRGB", bytes((51, 102, 204)) * 4)
    content = "q 60 0 0 60 0 0 cm /Im Do Q"
    plates = plates_of(content, tmp_path, PRESS, XObject={"Im": picture})
    assert middle(plates) == pytest.approx(by_little_cms(PRESS.data, (51, 102, 204)), abs=1)
    assert plates.converted_by


def test_a_mask_goes_by_its_light_not_by_its_inks(tmp_path: Path) -> None:
    """White lets all through and black nothing, whatever the profile makes of them."""
    for grey, cyan in ((1, 255), (0, 0)):
        pdf = Pdf()
        shape = group(f"{grey} {grey} {grey} rg 0 0 144 108 re f", CS="DeviceRGB")
        state = {"SMask": {"Type": "Mask", "S": "Luminosity", "G": pdf.add(shape)}}
        content = "0 0 0 rg 0 0 1 1 re f /Soft gs 1 0 0 0 k 0 0 144 108 re f"
        art = page_of(page(content, pdf, ExtGState={"Soft": state}), tmp_path)
        plates = make_plates(art, Affine.identity(), art.boxes.media, 72, PRESS)
        assert middle(plates) == [cyan, 0, 0, 0]


def test_without_a_profile_no_ink_is_known(tmp_path: Path) -> None:
    plates = plates_of("1 0.2 0 rg 0 0 99 99 re f", tmp_path, None)
    assert not plates.data.any()
    assert plates.seen is not None
    assert plates.converted_by == ""


def test_nothing_is_said_of_a_profile_that_nothing_went_through(tmp_path: Path) -> None:
    for content in ("1 0 0 0 k 0 0 99 99 re f", "1 0 0 rg 0 g 0 0 99 99 re f"):
        assert plates_of(content, tmp_path, PRESS).converted_by == ""


@pytest.mark.parametrize(
    "data",
    [b"no profile", condition_profile(load_condition("coated-board")),
     ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()],
    ids=["none", "only from inks to a look", "of a screen"],
)  # fmt: skip
def test_a_profile_that_does_not_lead_to_inks(data: bytes) -> None:
    profile = OutputProfile(data, "the house's profile")
    assert not leads_to_inks(profile)
    with pytest.raises(UsageError, match="the house's profile cannot be used"):
        ToInks(profile)
