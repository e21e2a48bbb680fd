"""The output profile that a file brings along."""

from dataclasses import replace

import numpy as np
import pytest

from prepcheck.art.model import OutputIntent
from prepcheck.geometry import Grid
from prepcheck.press.appearance import appearance
from prepcheck.press.condition import load_condition
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
