"""Shapes that may be letters: told from others by the company they keep."""

from __future__ import annotations

from prepcheck.geometry import Box
from prepcheck.sheets.hidden import in_company


def row(count: int, step: float, size: float = 2.0, up: bool = False) -> list[Box]:
    """Return boxes of a size in mm, a step apart, across or up."""
    steps = [i * step for i in range(count)]
    return [Box.centred(size, size, (0.0, s) if up else (s, 0.0)) for s in steps]


def test_letters_of_a_word_stand_together_whichever_way_it_reads() -> None:
    for up in (False, True):
        word = row(5, 2.4, up=up)
        assert in_company(word) == word


def test_what_stands_alone_or_is_of_another_size_is_no_letter() -> None:
    assert in_company(row(5, 9.0)) == []
    assert in_company(row(2, 2.4)) == [], "two make no word"
    speck = Box.centred(0.6, 0.6, (2.4, 1.5))
    assert speck not in in_company([*row(5, 2.4), speck])
    assert in_company([]) == []
