"""The output profile that a file brings along."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from prepcheck.art.model import OutputIntent
from prepcheck.errors import UsageError
from prepcheck.geometry import Grid
from prepcheck.press.appearance import appearance
from prepcheck.press.condition import conditions_folder, load_condition
from prepcheck.press.icc import condition_profile
from prepcheck.press.output import as_intended
from prepcheck.press.plates import Plates

COATED, UNCOATED = load_condition("coated-board"), load_condition("uncoated-label")
PROFILE = condition_profile(UNCOATED)
INTENT = OutputIntent("GTS_PDFX", "Our uncoated", None, None, True, PROFILE)
SOLIDS = Plates(
    ("Cyan", "Magenta", "Yellow", "Black"),
    np.concatenate([np.zeros((4, 1), np.uint8), 255 * np.eye(4, dtype=np.uint8)], 1)[:, None],
    Grid(5, 1, 1.0, 0.0, 0.0),
)


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


def test_a_named_profile_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"house\.toml: the output profile house\.icc"):
        load_condition(named(tmp_path, None))
