"""How plates look: the print conditions and the model against every patch of the published
characterisations they were made from, and CIEDE2000 against its published pairs."""

import io
import itertools
from pathlib import Path

import numpy as np
import pytest
from PIL import ImageCms

from prepcheck.errors import UsageError
from prepcheck.geometry import Affine, Grid
from prepcheck.press.separate.plates import Plates, make_plates
from prepcheck.press.show.appearance import appearance
from prepcheck.press.show.ciede2000 import ciede2000, reaches
from prepcheck.press.show.condition import PrintCondition, lab_of_xyz, load_condition
from prepcheck.press.show.icc import apply_transform, condition_profile, screen_transform
from tests.press.features import page
from tests.press.pages import page_of

DATA = Path(__file__).parent.parent / "data"
TABLES = {"coated-board": "FOGRA39L.ti3", "uncoated-label": "FOGRA29L.ti3"}
SHARMA = (
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, 2.8361, -74.0200), (50, 0, -82.7485), 3.4412),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, -1.1848, -84.8006), (50, 0, -82.7485), 1.0000),
    ((50, -0.9009, -85.5211), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, -1, 2), (50, 0, 0), 2.3669),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0009), 7.1792),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0010), 7.1792),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0011), 7.2195),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0012), 7.2195),
    ((50, -0.0010, 2.4900), (50, 0.0009, -2.4900), 4.8045),
    ((50, -0.0010, 2.4900), (50, 0.0010, -2.4900), 4.8045),
    ((50, -0.0010, 2.4900), (50, 0.0011, -2.4900), 4.7461),
    ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (61, -5, 29), 22.8977),
    ((50, 2.5, 0), (56, -27, -3), 31.9030),
    ((50, 2.5, 0), (58, 24, 15), 19.4535),
    ((50, 2.5, 0), (50, 3.1736, 0.5854), 1.0000),
    ((50, 2.5, 0), (50, 3.2972, 0), 1.0000),
    ((50, 2.5, 0), (50, 1.8634, 0.5757), 1.0000),
    ((50, 2.5, 0), (50, 3.2592, 0.3350), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.2480, -4.9620), 1.8731),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((36.4612, 47.8580, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((6.7747, -0.2908, -2.4247), (5.8714, -0.0985, -2.2286), 0.6377),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
)
"""Sharma, Wu, Dalal, Color Research and Application 30 (2005), 21-30, Table 1."""


def patches(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return tints 0..1, X Y Z and L* a* b* of a characterisation."""
    text = (DATA / TABLES[name]).read_text().split("BEGIN_DATA\n")[1].split("END_DATA")[0]
    rows = np.array([line.split() for line in text.strip().splitlines()], float)
    return rows[:, 1:5] / 100, rows[:, 5:8], rows[:, 8:11]


@pytest.mark.parametrize(("first", "second", "difference"), SHARMA)
def test_ciede2000_gives_the_published_differences(
    first: tuple[float, ...], second: tuple[float, ...], difference: float
) -> None:
    for one, other in ((first, second), (second, first)):
        found = ciede2000(np.array(one, float), np.array(other, float))
        assert found == pytest.approx(difference, abs=5e-5)


def test_ciede2000_takes_whole_pictures() -> None:
    pairs = np.array([(first, second) for first, second, _ in SHARMA], float)
    found = ciede2000(pairs[:, 0].reshape(2, 17, 3), pairs[:, 1].reshape(2, 17, 3))
    assert found.ravel() == pytest.approx([difference for *_, difference in SHARMA], abs=5e-5)


@pytest.mark.parametrize("least", [1.0, 2.5, 8.0, 20.0])
@pytest.mark.parametrize("apart", [0.5, 3.0, 12.0])
def test_where_a_difference_is_reached_is_where_it_is(apart: float, least: float) -> None:
    """Pairs by chance, grey, muted and vivid, and the published ones."""
    chance = np.random.default_rng(7)
    one = chance.uniform((0, -128, -128), (100, 127, 127), (30_000, 3))
    one[:, 1:] *= np.repeat((1.0, 0.2, 0.01), 10_000)[:, None]
    other = one + chance.normal(0, apart, one.shape)
    other[:, 0] = other[:, 0].clip(0, 100)
    assert np.array_equal(reaches(one, other, least), ciede2000(one, other) >= least)
    for first, second, difference in SHARMA:
        if abs(difference - least) > 5e-5:
            pair = np.array([first], float), np.array([second], float)
            assert reaches(*pair, least).tolist() == [difference > least]


@pytest.mark.parametrize("name", TABLES)
def test_lab_is_that_of_the_tables(name: str) -> None:
    """The tables round X, Y, Z to two places and L*, a*, b* to two."""
    _, xyz, lab = patches(name)
    assert np.abs(lab_of_xyz(xyz) - lab).max() < 0.3


@pytest.mark.parametrize("name", TABLES)
def test_the_model_meets_every_patch(name: str) -> None:
    tints, _, lab = patches(name)
    difference = ciede2000(load_condition(name).lab(tints), lab)
    assert len(difference) == {"coated-board": 1617, "uncoated-label": 1485}[name]
    assert difference.mean() <= 2.0
    assert np.percentile(difference, 95) <= 4.0


@pytest.mark.parametrize("name", TABLES)
def test_the_figures_are_those_of_the_table(name: str) -> None:
    condition = load_condition(name)
    tints, xyz, _ = patches(name)
    for place, marks in enumerate(itertools.product((0.0, 1.0), repeat=4)):
        measured = xyz[(tints == marks).all(axis=1)].mean(axis=0)
        assert condition.primaries[place] == pytest.approx(measured, abs=0.0006)
    for ink, (steps, coverage) in enumerate(condition.curves):
        single = (np.delete(tints, ink, axis=1) == 0).all(axis=1)
        roots = np.array(
            [xyz[single & (np.abs(tints[:, ink] - step) < 1e-9)].mean(axis=0) for step in steps]
        ) ** (1 / condition.yule_nielsen)
        way = roots[-1] - roots[0]
        assert coverage == pytest.approx((roots - roots[0]) @ way / (way @ way), abs=0.0001)


@pytest.mark.parametrize(("name", "paper"), [("coated-board", (95, 0, -2)),
                                             ("uncoated-label", (95.71, 0.61, -2.32))])  # fmt: skip
def test_bare_paper_looks_like_the_paper(name: str, paper: tuple[float, float, float]) -> None:
    condition = load_condition(name)
    assert condition.lab(np.zeros(4)) == pytest.approx(paper, abs=0.02)
    grid = Grid(2, 2, 1.0, 0.0, 0.0)
    plates = Plates(("Cyan", "Magenta", "Yellow", "Black"), np.zeros((4, 2, 2), np.uint8), grid)
    assert appearance(plates, condition)[0, 0] == pytest.approx(srgb(condition.paper), abs=1)


def srgb(xyz: np.ndarray) -> np.ndarray:
    """Return X, Y, Z for D50 (..., 3) as sRGB bytes, out of gamut cut off.

    Matrix: IEC 61966-2-1 with Bradford adaptation, as B. Lindbloom prints it (from memory).
    """
    matrix = np.array(
        ((3.1338561, -1.6168667, -0.4906146), (-0.9787684, 1.9161415, 0.0334540),
         (0.0719453, -0.2289914, 1.4052427))
    )  # fmt: skip
    light = (np.asarray(xyz) / 100 @ matrix.T).clip(0, 1)
    return 255 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


@pytest.mark.parametrize("name", TABLES)
def test_the_screen_shows_what_the_model_says(name: str) -> None:
    """A colour engine's own table stands between: within 2 of 255 at 98 % of the patches that
    the screen can show, and within 7 at all of them."""
    condition = load_condition(name)
    tints = np.rint(patches(name)[0] * 255).astype(np.uint8)
    transform = screen_transform(condition_profile(condition))
    shown = apply_transform(transform, np.ascontiguousarray(tints.T)[:, None])[0]
    exact = srgb(condition.xyz(tints / 255.0))
    inside = ((exact > 1) & (exact < 254)).all(axis=1)
    assert inside.sum() > 500
    off = np.abs(shown - exact)[inside].max(axis=1)
    assert np.percentile(off, 98) <= 2
    assert off.max() <= 7


def test_the_profile_made_is_read_by_a_colour_engine() -> None:
    profile = ImageCms.ImageCmsProfile(
        io.BytesIO(condition_profile(load_condition("coated-board")))
    )
    assert profile.profile.xcolor_space.strip() == "CMYK"
    assert profile.profile.connection_space.strip() == "Lab"
    assert "coated board" in ImageCms.getProfileDescription(profile)


def test_an_output_profile_stands_for_the_process_inks() -> None:
    grid = Grid(3, 1, 1.0, 0.0, 0.0)
    data = np.zeros((4, 1, 3), np.uint8)
    data[0, 0, 1], data[1, 0, 2] = 255, 255
    plates = Plates(("Cyan", "Magenta", "Yellow", "Black"), data, grid)
    coated, label = load_condition("coated-board"), load_condition("uncoated-label")
    through = appearance(plates, label, condition_profile(coated))
    # A made profile is absolute already; its stated white is D50, so both intents agree.
    assert np.abs(through.astype(int) - appearance(plates, coated)).max() <= 2
    with pytest.raises(UsageError, match="output profile"):
        appearance(plates, coated, b"no profile")


def test_spots_are_shown_by_their_stand_in_over_what_is_below(tmp_path: Path) -> None:
    condition = load_condition("coated-board")
    content = "/Gold cs 1 scn 0 0 72 108 re f 1 0 0 rg 72 54 72 54 re f"
    art = page_of(page(content), tmp_path)
    plates = make_plates(art, Affine.identity(), art.boxes.media, 30)
    seen = appearance(plates, condition)
    gold = srgb(condition.xyz(np.array((0.0, 0.2, 0.8, 0.2))))
    assert seen[-4, 4] == pytest.approx(gold, abs=3)
    paper = srgb(condition.paper)
    assert seen[-4, -4] == pytest.approx(paper, abs=1)
    assert seen[4, -4] == pytest.approx((paper[0], 0, 0), abs=1)
    assert plates.looks["Gold"].in_inks
    assert plates.looks["Gold"].steps[-1] == pytest.approx((0, 0.2, 0.8, 0.2))


def test_a_spot_under_a_solid_does_not_lighten_it() -> None:
    grid = Grid(2, 1, 1.0, 0.0, 0.0)
    data = np.zeros((5, 1, 2), np.uint8)
    data[3] = 255
    data[4, 0, 1] = 255
    plates = Plates(("Cyan", "Magenta", "Yellow", "Black", "Varnish"), data, grid)
    seen = appearance(plates, load_condition("coated-board"))
    assert (seen[0, 1] <= seen[0, 0]).all()


def test_a_wrong_name_or_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="there are coated-board, uncoated-label"):
        load_condition("newsprint")
    (tmp_path / "bad.toml").write_text("name = 'x'")
    with pytest.raises(UsageError, match=r"bad\.toml: not a print condition"):
        load_condition(str(tmp_path / "bad.toml"))


def test_a_condition_of_ones_own_is_read_from_a_path(tmp_path: Path) -> None:
    source = Path(load_condition.__wrapped__.__code__.co_filename).parents[3]
    text = (source / "profiles" / "conditions" / "coated-board.toml").read_text()
    (tmp_path / "own.toml").write_text(text.replace("coated-board", "own"))
    own = load_condition(str(tmp_path / "own.toml"))
    assert isinstance(own, PrintCondition)
    assert own.name == "own"
