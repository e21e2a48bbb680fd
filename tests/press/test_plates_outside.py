"""Plates against an independent interpreter: Ghostscript's tiffsep device, page for page."""

import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from prepcheck.geometry import Affine
from prepcheck.press.plates import make_plates
from tests.press.features import BLENDS, FEATURES
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


def test_every_blend_mode_and_25_features_are_compared() -> None:
    assert len(FEATURES) >= 25
    assert {f"blend-{mode.lower()}" for mode in BLENDS[1:]} <= set(FEATURES)
    assert set(EXCEPTIONS) <= set(FEATURES)
