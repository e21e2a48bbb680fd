"""Which side a file's name says: names as clients give them (common practice, no source)."""

from __future__ import annotations

import pytest

from prepcheck.intake.evidence import sides_named


@pytest.mark.parametrize(
    ("name", "sides"),
    [
        ("LFR014_A_side_label_OUTLINED", "A"), ("LFR 014 A outlined", "A"), ("label_b", "B"),
        ("Side2_v3", "B"), ("side one", "A"), ("Strana 1", "A"), ("LP1_strona_B_krzywe", "B"),
        ("cara a (trazado)", "A"), ("LP2 side A", "C"), ("a final", "A"), ("labels A+B", "AB"),
        ("Сторона А", "A"), ("Этикетка сторона 2", "B"), ("Πλευρά Β", "B"), ("A面", "A"),
        ("ラベル　Ｂ", "B"), ("What a Night - B", "B"),
        # A letter that is a word of a language or a piece of one names no side.
        ("What a Night", ""), ("A Rumour", ""), ("pronto para a grafica", ""), ("okładka", ""),
        ("label-12in", ""),
        # Cyrillic: the third letter, or the Latin second.
        ("Сторона В", ""),
    ],
)  # fmt: skip
def test_the_side_that_a_name_says(name: str, sides: str) -> None:
    assert sorted(sides_named(name, "ABCD")) == list(sides)
