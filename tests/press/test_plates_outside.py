"""Plates against an independent interpreter: Ghostscript's tiffsep device, page for page."""

import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from prepcheck.geometry import Affine
from prepcheck.press.separate.conversion import OutputProfile
from prepcheck.press.separate.plates import make_plates
from tests.factories import Pdf
from tests.press.features import BLENDS, FEATURES, image, page, ramp
from tests.press.pages import page_of

PPI = 150
MOST_MEAN = 1.5
"""Largest mean difference a plate, in 255ths, away from edges."""
EDGE_STEP = 6
"""A step between neighbours from which a place counts as an edge."""

EXCEPTIONS = {
    "colour-into-group": (
        {"Magenta", "Black"},
        "A form starts with the colour it is drawn in (ISO 32000-2, 8.10.1): ours. Ghostscript "
        "starts a transparency group in black.",
    ),
    **{
        f"blend-{mode.lower()}": (
            {"Gold"},
            "A spot takes Difference, Exclusion and the blends of hue as Normal (ISO 32000-2, "
            "11.7.4.2), so a colour without gold knocks gold out: ours. Ghostscript blends it.",
        )
        for mode in ("Difference", "Exclusion", "Hue", "Saturation", "Color")
    },
}
"""Features and plates where the two differ, with who is right and why."""


@pytest.fixture(scope="module")
def separations(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, np.ndarray]]:
    """Return the plates Ghostscript makes of every feature, in order, 255 solid."""
    if shutil.which("gs") is None:
        pytest.skip("Ghostscript is not installed (Debian: apt-get install ghostscript)")
    folder = tmp_path_factory.mktemp("separations")
    files = []
    for name, data in FEATURES.items():
        files.append(folder / f"{name}.pdf")
        files[-1].write_bytes(data)
    return separate(files, folder)


def separate(files: list[Path], folder: Path) -> list[dict[str, np.ndarray]]:
    """Return the plates of one-page files."""
    subprocess.run(
        ["gs", "-q", "-dSAFER", "-dNOPAUSE", "-dBATCH", "-sDEVICE=tiffsep", f"-r{PPI}",
         "-dTextAlphaBits=4", "-dGraphicsAlphaBits=4", f"-sOutputFile={folder}/p%03d.tif",
         *map(str, files)],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    pages: list[dict[str, np.ndarray]] = [{} for _ in files]
    for path in folder.glob("p*(*).tif"):
        number, ink = re.fullmatch(r"p(\d+)\((.*)\)", path.stem).groups()  # type: ignore[union-attr]
        with Image.open(path) as picture:
            pages[int(number) - 1][ink] = 255 - np.asarray(picture.convert("L"))
    return pages


def near_edges(plate: np.ndarray) -> np.ndarray:
    """Return where a plate has a step within two pixels."""
    steps = np.zeros(plate.shape, bool)
    for axis in (0, 1):
        step = np.abs(np.diff(plate, axis=axis)) > EDGE_STEP
        first, last = (
            (slice(None),) * axis + (slice(1, None),),
            (slice(None),) * axis + (slice(None, -1),),
        )
        steps[first] |= step
        steps[last] |= step
    grown = steps.copy()
    grown[1:] |= steps[:-1]
    grown[:-1] |= steps[1:]
    grown[:, 1:] |= steps[:, :-1]
    grown[:, :-1] |= steps[:, 1:]
    return grown


@pytest.mark.outside
@pytest.mark.parametrize("name", FEATURES)
def test_plates_are_those_of_ghostscript(
    name: str, separations: list[dict[str, np.ndarray]], tmp_path: Path
) -> None:
    art = page_of(FEATURES[name], tmp_path)
    plates = make_plates(art, Affine.identity(), art.boxes.media, PPI)
    assert plates.troubles == ()
    theirs = separations[list(FEATURES).index(name)]
    unlike = set()
    assert set(theirs) <= set(plates.inks)
    for ink in plates.inks:
        ours = plates.plate(ink).astype(int)
        other = theirs.get(ink, np.zeros(ours.shape)).astype(int)
        flat = ~(near_edges(ours) | near_edges(other))
        assert flat.mean() > 0.3
        if np.abs(ours - other)[flat].mean() > MOST_MEAN:
            unlike.add(ink)
    assert unlike == EXCEPTIONS.get(name, (set(), ""))[0]


PROFILE = Path("/usr/share/color/icc/ghostscript/default_cmyk.icc")
"""The CMYK profile that Ghostscript converts RGB by (Debian package libgs-common)."""


def rgb_page() -> bytes:
    pdf = Pdf()
    picture = pdf.add(image(40, 30, "DeviceRGB", ramp(40, 30, 3).tobytes()))
    content = (
        "1 0.2 0 rg 10 10 50 30 re f 0.5 0.5 0.5 rg 60 10 50 30 re f "
        "0.2 0.4 0.8 RG 9 w 10 50 m 130 50 l S q 100 0 0 40 20 60 cm /Im Do Q"
    )
    return page(content, pdf, XObject={"Im": picture})


@pytest.mark.outside
def test_rgb_is_converted_by_an_output_profile_as_by_ghostscript(tmp_path: Path) -> None:
    if shutil.which("gs") is None or not PROFILE.is_file():
        pytest.skip("Ghostscript and its profiles are not installed")
    art = page_of(rgb_page(), tmp_path)
    profile = OutputProfile(PROFILE.read_bytes(), "Ghostscript's profile")
    plates = make_plates(art, Affine.identity(), art.boxes.media, PPI, profile)
    assert plates.seen is None
    theirs = separate([tmp_path / "art.pdf"], tmp_path)[0]
    for ink in plates.inks:
        ours, other = plates.plate(ink).astype(int), theirs[ink].astype(int)
        flat = ~(near_edges(ours) | near_edges(other))
        assert ours.max() > 20
        assert np.abs(ours - other)[flat].mean() <= MOST_MEAN


def test_every_blend_mode_and_25_features_are_compared() -> None:
    assert len(FEATURES) >= 25
    assert {f"blend-{mode.lower()}" for mode in BLENDS[1:]} <= set(FEATURES)
    assert set(EXCEPTIONS) <= set(FEATURES)
