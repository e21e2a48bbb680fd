"""What stands at a place is named as a person would name it."""

from __future__ import annotations

import pytest

from prepcheck.geometry import Box
from prepcheck.sheets.whereabouts import place_words
from prepcheck.spec.load import load_spec


@pytest.mark.parametrize(
    ("box", "words"),
    [
        (Box(-45, 30, -30, 40), "at the upper left"),
        (Box(30, -40, 45, -30), "at the lower right"),
        (Box(-5, 30, 5, 40), "at the top"),
        (Box(-5, -40, 5, -30), "at the foot"),
        (Box(-5, -5, 5, 5), "in the middle"),
    ],
)
def test_places_of_a_label(box: Box, words: str) -> None:
    assert place_words(box, load_spec("label-12in").outline_of(0)) == words


def test_places_of_a_sleeve_name_its_face() -> None:
    outline = load_spec("jacket-12in").outline_of(0)
    assert len(outline.panels) > 2
    for panel in outline.panels:
        box = panel.box
        large = Box.centred(0.95 * box.width, 0.95 * box.height, box.centre)
        assert place_words(large, outline).startswith("over all of")
        small = Box.centred(0.3 * box.width, 0.3 * box.height, box.centre)
        assert place_words(small, outline) == f"in the middle of the {panel.name}"
