"""The output profile that a file brings along."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from prepcheck.art.facts import DocumentFacts, OutputIntent
from prepcheck.art.model import ArtKind, Artwork, RasterFacts, Space, SpaceFamily
from prepcheck.errors import UsageError
from prepcheck.geometry import Grid
from prepcheck.press.separate.plates import Plates
from prepcheck.press.show.appearance import appearance
from prepcheck.press.show.condition import PrintCondition, conditions_folder, load_condition
from prepcheck.press.show.icc import condition_profile
from prepcheck.press.show.profiles import ink_profile, intended
from tests.press.profiles import press_profile

COATED, UNCOATED = load_condition("coated-board"), load_condition("uncoated-label")
PROFILE = condition_profile(UNCOATED)
INTENT = OutputIntent("GTS_PDFX", "Our uncoated", None, None, True, PROFILE)
SOLIDS = Plates(
    ("Cyan", "Magenta", "Yellow", "Black"),
    np.concatenate([np.zeros((4, 1), np.uint8), 255 * np.eye(4, dtype=np.uint8)], 1)[:, None],
    Grid(5, 1, 1.0, 0.0, 0.0),
)


def pdf(intents) -> Artwork:
    facts = DocumentFacts(output_intents=tuple(intents))
    return Artwork(Path("art.pdf"), ArtKind.PDF, "", 0, facts, ())


def picture(space: Space, profile: bytes | None, name: str | None) -> Artwork:
    facts = RasterFacts((10, 10), 8, space, None, "none", profile=name, profile_data=profile)
    return Artwork(Path("art.tif"), ArtKind.TIFF, "", 0, DocumentFacts(), (), facts)


def as_intended(condition: PrintCondition, intents) -> PrintCondition:
    return intended(condition, pdf(intents)).condition


def test_a_coated_piece_is_shown_by_the_profile_of_its_file() -> None:
    shown = as_intended(COATED, [INTENT])
    by_profile = appearance(SOLIDS, shown).astype(int)
    assert np.abs(by_profile - appearance(SOLIDS, UNCOATED)).max() <= 2
    assert np.abs(by_profile - appearance(SOLIDS, COATED)).max() > 20
    assert (shown.title, shown.remark) == ("The file's own output profile", "")
    assert "uncoated" in shown.source


@pytest.mark.parametrize(
    ("condition", "intent", "why"),
    [
        (UNCOATED, INTENT, "not printed on coated paper"),
        (COATED, replace(INTENT, profile=None), "damaged"),
        (COATED, replace(INTENT, profile=PROFILE[:200]), "can be read"),
        (COATED, replace(INTENT, profile=PROFILE.replace(b"CMYK", b"RGB ")), "can be read"),
    ],
    ids=["uncoated", "damaged", "cut short", "of a screen"],
)
def test_what_cannot_be_used_is_told(condition, intent, why) -> None:
    shown = as_intended(condition, [intent])
    assert shown.profile is None
    assert "Our uncoated" in shown.remark
    assert why in shown.remark
    assert (appearance(SOLIDS, shown) == appearance(SOLIDS, condition)).all()


@pytest.mark.parametrize(
    "intents",
    [
        [],
        [replace(INTENT, has_profile=False, profile=None)],
        [replace(INTENT, subtype="GTS_PDFA1", profile=PROFILE.replace(b"CMYK", b"RGB "))],
    ],
    ids=["none", "only a name", "an archive's screen profile"],
)
def test_nothing_is_said_where_no_press_profile_came(intents) -> None:
    assert as_intended(COATED, intents) is COATED


def named(folder: Path, profile: bytes | None) -> str:
    """Return the path of a condition of coated board that names an output profile beside it."""
    text = (conditions_folder() / "coated-board.toml").read_text()
    path = folder / "house.toml"
    path.write_text(text.replace("coated = true", 'coated = true\nprofile = "house.icc"'))
    if profile is not None:
        (folder / "house.icc").write_bytes(profile)
    return str(path)


def test_a_profile_that_the_condition_names_comes_first(tmp_path: Path) -> None:
    condition = load_condition(named(tmp_path, PROFILE))
    shown = as_intended(condition, [replace(INTENT, profile=condition_profile(COATED))])
    assert np.abs(appearance(SOLIDS, shown).astype(int) - appearance(SOLIDS, UNCOATED)).max() <= 2


def test_a_named_profile_that_cannot_be_used(tmp_path: Path) -> None:
    shown = as_intended(load_condition(named(tmp_path, b"no profile")), [])
    assert "print condition is not used" in shown.remark
    assert (appearance(SOLIDS, shown) == appearance(SOLIDS, COATED)).all()


def test_a_condition_that_only_adds_a_profile(tmp_path: Path) -> None:
    (tmp_path / "house.icc").write_bytes(PROFILE)
    path = tmp_path / "house.toml"
    path.write_text('extends = "coated-board"\ntitle = "Our press"\nprofile = "house.icc"\n')
    found = load_condition(str(path))
    assert (found.name, found.title, found.profile) == ("house", "Our press", PROFILE)
    assert found.coated
    assert (found.primaries == COATED.primaries).all()
    deeper = tmp_path / "deeper"
    deeper.mkdir()
    (deeper / "night.toml").write_text('extends = "../house.toml"\ntitle = "At night"\n')
    below = load_condition(str(deeper / "night.toml"))
    assert (below.name, below.title, below.profile) == ("night", "At night", PROFILE)


def test_conditions_in_a_circle(tmp_path: Path) -> None:
    for one, other in (("a", "b"), ("b", "a")):
        (tmp_path / f"{one}.toml").write_text(f'extends = "{other}.toml"\n')
    with pytest.raises(UsageError, match=r"a\.toml: not a print condition .*circle"):
        load_condition(str(tmp_path / "a.toml"))
    (tmp_path / "c.toml").write_text('extends = "coted-board"\n')
    with pytest.raises(UsageError, match=r"c\.toml: .*extends 'coted-board', which is not there"):
        load_condition(str(tmp_path / "c.toml"))


def test_a_named_profile_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"house\.toml: the output profile house\.icc"):
        load_condition(named(tmp_path, None))


CMYK, GREY, RGB = (
    Space(SpaceFamily.ICC, count, Space(family, count), (), "ours")
    for family, count in ((SpaceFamily.CMYK, 4), (SpaceFamily.GREY, 1), (SpaceFamily.RGB, 3))
)
CMYK_AND_GOLD = Space(SpaceFamily.DEVICE_N, 5, CMYK, ("Cyan", "Magenta", "Yellow", "Black", "Gold"))


@pytest.mark.parametrize("space", [CMYK, CMYK_AND_GOLD], ids=["four inks", "and a spot"])
def test_a_picture_in_cmyk_is_shown_by_its_own_profile(space: Space) -> None:
    shown = intended(COATED, picture(space, PROFILE, "ours")).condition
    assert np.abs(appearance(SOLIDS, shown).astype(int) - appearance(SOLIDS, UNCOATED)).max() <= 2
    assert (shown.title, shown.remark) == ("The file's own output profile", "")


@pytest.mark.parametrize("space", [GREY, RGB], ids=["grey", "RGB"])
def test_the_profile_of_a_picture_without_inks_says_nothing_of_them(space: Space) -> None:
    """Whatever the profile is: a CMYK one cannot belong to such samples."""
    for profile in (PROFILE, PROFILE.replace(b"CMYK", b"GRAY"), b"damaged"):
        assert intended(COATED, picture(space, profile, "ours")) == (COATED, None)


@pytest.mark.parametrize(
    ("profile", "why"),
    [
        (b"damaged", "it is damaged"),
        (PROFILE[:200], "no profile from CMYK"),
        (PROFILE.replace(b"CMYK", b"RGB "), "no profile from CMYK"),
        (PROFILE.replace(b"CMYK", b"GRAY"), "no profile from CMYK"),
        (PROFILE.replace(b"prtr", b"link"), "no profile from CMYK"),
    ],
    ids=["damaged", "cut short", "of a screen", "of grey", "from inks to inks"],
)
def test_the_wrong_profile_in_a_picture_in_cmyk_is_told(profile: bytes, why: str) -> None:
    shown = intended(COATED, picture(CMYK, profile, "ours")).condition
    assert shown.profile is None
    assert shown.remark.startswith("The picture's profile (ours) is not used")
    assert why in shown.remark


BOTH_WAYS = press_profile()


def test_colour_becomes_inks_by_the_profile_of_the_file_whatever_the_paper() -> None:
    intent = replace(INTENT, profile=BOTH_WAYS)
    for condition in (COATED, UNCOATED, None):
        found = ink_profile(condition, pdf([intent]))
        assert found == (BOTH_WAYS, "the file's output profile (Our uncoated)")


def test_colour_becomes_inks_by_the_profile_of_the_plant_first(tmp_path: Path) -> None:
    condition = load_condition(named(tmp_path, BOTH_WAYS))
    found = ink_profile(condition, pdf([replace(INTENT, profile=press_profile("uncoated-label"))]))
    assert found is not None
    assert found.data == BOTH_WAYS
    assert found.name == f"the output profile of the print condition ({condition.title})"


def test_no_inks_by_a_profile_that_leads_to_none() -> None:
    """One that only tells how inks look, or a damaged one, leaves colour what it is."""
    for profile in (PROFILE, PROFILE[:200], None):
        assert ink_profile(COATED, pdf([replace(INTENT, profile=profile)])) is None
