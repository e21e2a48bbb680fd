"""Every label on a sheet prints as it does alone: by our plates, and by Ghostscript's tiffsep.

The labels are pages of one feature of painting each (spots, overprint, blends, soft masks,
pictures, shadings, layers), of which each sheet carries some of a kind; pages with blends of hue
stand apart, since overprint beside them splits the plates that they mix.
"""

import shutil
from pathlib import Path

import numpy as np
import pytest

from prepcheck.art.model import Page
from prepcheck.labelsheet.model import Art, Layout, RoundPiece
from prepcheck.labelsheet.paper import Paper
from prepcheck.labelsheet.slug import band_of
from tests.labelsheet.sheets import SENTENCES, alone, art_of, at_positions, sheet_of, to_compare
from tests.press import test_plates_outside
from tests.press.features import FEATURES
from tests.press.test_plates_outside import near_edges, separate

PPI = 80
MOST_MEAN = 1.0
INCH = 25.4
PIECE, GAP = RoundPiece(34, 2, 6), 1.6 * INCH - 38
"""Labels stand 1.6 inches apart, so that each lies on whole pixels."""
INKS = ["Cyan", "Magenta", "Yellow", "Black", "Gold", "Green"]
HUES = ("blend-hue", "blend-saturation", "blend-color", "blend-luminosity")
PICTURES = tuple(name for name in FEATURES if name.startswith(("picture", "stencil", "inline")))
OTHERS = tuple(name for name in FEATURES if name not in HUES + PICTURES)
SHEETS = ((HUES, 90.0), (PICTURES[::2], 0.0), (OTHERS[::2], 0.0), (OTHERS[1::2], 180.0))
MORE_PLATES = {
    "all": "All is every plate in use (ISO 32000-2, 8.6.6.4): on a sheet there are more of them.",
    "blend-difference": "Ghostscript blends spots by Difference, as tests/press says.",
    "blend-exclusion": "Ghostscript blends spots by Exclusion, as tests/press says.",
}
"""Features that mark plates of which their own page knows nothing, and why."""


def on_pixels(width: float, height: float) -> Paper:
    """Return a sheet on which labels stand round a place at whole pixels."""
    band = band_of(Paper(width, height), INKS, SENTENCES).height
    gripper = 2 * 5.4 * INCH - height + band + 4  # so that the middle lies 5.4 inches up
    return Paper(width, height, gripper_mm=gripper)


Made = tuple[Layout, Page, list[Art], Path]


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> list[Made]:
    folder = tmp_path_factory.mktemp("sheets")
    made = []
    for number, (names, turn) in enumerate(SHEETS):
        arts = []
        for name in names:
            path = folder / f"{number}-{len(arts)}.pdf"
            path.write_bytes(FEATURES[name])
            arts.append(art_of(path, name))
        path = folder / f"sheet-{number}.pdf"
        layout, page = sheet_of(
            arts, on_pixels(10.4 * INCH, 11.2 * INCH), PIECE, INKS, path, gap=GAP,
            turns=[turn] * len(arts), shares=[1] * len(arts),
        )  # fmt: skip
        made.append((layout, page, arts, path))
    return made


def test_every_position_has_the_plates_of_its_label(sheets: list[Made]) -> None:
    compared = 0
    for layout, page, arts, _ in sheets:
        for position, plates in zip(layout.positions, at_positions(layout, page, PPI), strict=True):
            art = arts[position.label]
            own = alone(art, layout, PPI)
            looked = to_compare(layout, own.data.shape[1:], PPI)
            for ink, plate in zip(plates.inks, plates.data.astype(int), strict=True):
                if ink not in own.inks and art.name in MORE_PLATES:
                    continue
                other = (own.plate(ink) if ink in own.inks else np.zeros(plate.shape)).astype(int)
                flat = looked & ~(near_edges(plate) | near_edges(other))
                assert flat.mean() > 0.05, art.name
                assert np.abs(plate - other)[flat].mean() <= MOST_MEAN, (art.name, ink)
                compared += int(other.max() > 20)
    assert compared > 100


@pytest.mark.outside
def test_ghostscript_separates_every_position_as_its_label(
    sheets: list[Made], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if shutil.which("gs") is None:
        pytest.skip("Ghostscript is not installed (Debian: apt-get install ghostscript)")
    monkeypatch.setattr(test_plates_outside, "PPI", PPI)
    single = [art.page.document.path for _, _, arts, _ in sheets for art in arts]  # type: ignore[attr-defined]
    made = separate([*(path for *_, path in sheets), *single], tmp_path)
    compared = 0
    alone_at = len(sheets)
    for number, (layout, _, arts, _) in enumerate(sheets):
        side = int(PIECE.printed / INCH * PPI) // 2 * 2
        looked = to_compare(layout, (side, side), PPI)
        for position in layout.positions:
            art, own = arts[position.label], made[alone_at + position.label]
            shape = next(iter(own.values())).shape
            for ink, plate in made[number].items():
                if ink not in own and art.name in MORE_PLATES:
                    continue
                x, y = (mm / INCH * PPI for mm in position.centre)
                placed = window(plate, x, plate.shape[0] - y, side)
                rows, columns = shape
                other = window(own.get(ink, np.zeros(shape)), columns / 2, rows / 2, side)
                other = np.rot90(other, round(position.turn / 90))
                flat = looked & ~(near_edges(placed) | near_edges(other))
                assert np.abs(placed - other)[flat].mean() <= MOST_MEAN, (art.name, ink)
                compared += int(other.max() > 20)
        alone_at += len(arts)
    assert compared > 100


def window(plate: np.ndarray, column: float, row: float, side: int) -> np.ndarray:
    """Return a square of a plate round a place between pixels."""
    assert abs(row - round(row)) < 0.01
    assert abs(column - round(column)) < 0.01
    padded = np.pad(plate.astype(int), side)
    top, left = round(row) + side // 2, round(column) + side // 2
    return padded[top : top + side, left : left + side]
