"""RGB and Lab paint as inks, by an output profile: compared with littleCMS (Pillow's ImageCms)."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from prepcheck.art.open import open_art
from prepcheck.errors import UsageError
from prepcheck.geometry import Affine
from prepcheck.press.separate.conversion import OutputProfile, ToInks, leads_to_inks
from prepcheck.press.separate.plates import Plates, make_plates
from prepcheck.press.show.condition import load_condition
from prepcheck.press.show.icc import condition_profile
from tests.factories import Pdf, Raw, Stream
from tests.press.features import group, image, page
from tests.press.pages import page_of
from tests.press.profiles import exchanged_rgb, press_profile

PRESS = OutputProfile(press_profile(), "the press's profile")
COLOURS = [(255, 255, 255), (0, 0, 0), (128, 128, 128), (255, 51, 0), (51, 102, 204), (0, 153, 51)]


def by_little_cms(
    profile: bytes, rgb: tuple[int, int, int], source: bytes | None = None
) -> tuple[int, ...]:
    told = ImageCms.createProfile("sRGB") if source is None else io.BytesIO(source)
    transform = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(told),
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


EXCHANGED = exchanged_rgb()
ORANGE = (255, 51, 0)
FILL = "/Own cs 1 0.2 0 scn 0 0 99 99 re f"
SHOW = "q 60 0 0 60 0 0 cm /Im Do Q"


def own_space(pdf: Pdf, profile: bytes) -> list[object]:
    return ["ICCBased", pdf.add(Stream(profile, {"N": 3, "Alternate": "DeviceRGB"}))]


@pytest.mark.parametrize(
    "spaces",
    [
        lambda own: {"Own": own},
        lambda own: {"Own": "DeviceRGB", "DefaultRGB": own},
        lambda own: {"Own": ["Indexed", own, 1, Raw("<000000 FF3300>")]},
    ],
    ids=["named", "default", "indexed"],
)
def test_rgb_by_a_profile_of_its_own(tmp_path: Path, spaces) -> None:
    """ISO 32000-2, 8.6.5.5 and 8.6.5.6."""
    pdf = Pdf()
    made = spaces(own_space(pdf, EXCHANGED))
    indexed = made["Own"][0] == "Indexed"
    fill = "/Own cs 1 scn 0 0 99 99 re f" if indexed else FILL
    if "DefaultRGB" in made:
        fill = "1 0.2 0 rg 0 0 99 99 re f"
    art = page_of(page(fill, pdf, ColorSpace=made), tmp_path)
    plates = make_plates(art, Affine.identity(), art.boxes.media, 72, PRESS)
    true = by_little_cms(PRESS.data, ORANGE, EXCHANGED)
    assert middle(plates) == pytest.approx(true, abs=1)
    assert np.abs(np.subtract(true, by_little_cms(PRESS.data, ORANGE))).max() > 60


def test_a_picture_by_a_profile_of_its_own(tmp_path: Path) -> None:
    pdf = Pdf()
    shown = pdf.add(image(2, 2, own_space(pdf, EXCHANGED), bytes(ORANGE) * 4))
    art = page_of(
        page(SHOW + " q 144 0 0 108 0 0 cm /Im Do Q", pdf, XObject={"Im": shown}), tmp_path
    )
    plates = make_plates(art, Affine.identity(), art.boxes.media, 72, PRESS)
    assert middle(plates) == pytest.approx(by_little_cms(PRESS.data, ORANGE, EXCHANGED), abs=1)


@pytest.mark.parametrize(
    ("own", "told"),
    [(None, None), (EXCHANGED, EXCHANGED), (b"damaged", None), (PRESS.data, None)],
    ids=["none", "its own", "damaged", "of a press"],
)
def test_a_raster_by_a_profile_of_its_own(
    tmp_path: Path, own: bytes | None, told: bytes | None
) -> None:
    """What cannot tell RGB counts as none."""
    path = tmp_path / "art.tif"
    Image.new("RGB", (40, 30), ORANGE).save(path, dpi=(100, 100), icc_profile=own)
    art = open_art(path).pages[0]
    plates = make_plates(art, Affine.identity(), art.boxes.media, 100, PRESS)
    assert middle(plates) == pytest.approx(by_little_cms(PRESS.data, ORANGE, told), abs=1)
    assert plates.seen is None
    assert plates.converted_by == "the press's profile"


LABS = [(100, 0, 0), (50, 60, 40), (60, -60, 40), (40, 20, -60), (80, 0, 90), (55, -40, -45)]
"""The last four lie outside sRGB."""


@pytest.mark.parametrize("lab", LABS)
def test_lab_is_not_cut_to_what_a_screen_shows(tmp_path: Path, lab: tuple[int, int, int]) -> None:
    """The profile of the tests is simple enough to reckon by hand."""
    white = {"WhitePoint": [0.9642, 1, 0.8249], "Range": [-128, 127, -128, 127]}
    lightness, a, b = lab
    fill = f"/L cs {lightness} {a} {b} scn 0 0 144 108 re f"
    art = page_of(page(fill, ColorSpace={"L": ["Lab", white]}), tmp_path)
    plates = make_plates(art, Affine.identity(), art.boxes.media, 72, PRESS)
    # Cyan, magenta and yellow go with a* and b*, in 127.5ths; black point compensation takes up
    # to an eighth of them. By way of sRGB the last would have less than half its cyan.
    cyan, magenta, yellow = (max(0.0, value) / 127.5 * 255 for value in (-a, a, b))
    found = middle(plates)
    assert found[:3] == pytest.approx((cyan, magenta, yellow), rel=0.13, abs=3)
    samples = bytes((round(2.55 * lightness), a + 128, b + 128)) * 4
    pdf = Pdf()
    shown = pdf.add(image(2, 2, ["Lab", white], samples))
    content = "q 144 0 0 108 0 0 cm /Im Do Q"
    art = page_of(page(content, pdf, XObject={"Im": shown}), tmp_path)
    pictured = make_plates(art, Affine.identity(), art.boxes.media, 72, PRESS)
    assert middle(pictured) == pytest.approx(found, abs=2)


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
