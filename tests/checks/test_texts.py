"""Texts are compared as a person does. Forms are those of Unicode Standard Annex 15 (NFKC)."""

from __future__ import annotations

import pytest

from prepcheck.geometry import Box
from prepcheck.sheets.digest import LiveWords
from prepcheck.sheets.texts import LiveTexts, compact, slips

SMALL, LARGE = Box(0, 0, 2, 2), Box(0, 0, 5, 6)


def reading(*texts: str, box: Box = SMALL) -> LiveTexts:
    return LiveTexts(LiveWords(text, "face", box) for text in texts)


@pytest.mark.parametrize(
    ("wanted", "there"),
    [
        ("Salt Roads", "SALT ROADS"),
        ("Salt Roads", "Salt\u00a0Roads"),
        ("Salt Roads", "SaltRoads"),
        ("LFR 014", "LFR-014"),
        ("LFR-014", "LFR \u2013 014"),
        ("LFR\u2011014", "lfr014"),
        ("Don't Look", "Don\u2019t Look"),
        ("\u201cHeroes\u201d", '"Heroes"'),
        ("Official Finish", "O\ufb03cial \ufb01nish"),
        ("Straße", "STRASSE"),
        ("Bjo\u0308rk", "Bj\u00f6rk"),
        ("\uff21\uff22 12", "AB 12"),
        ("co-operate", "co\u00adoperate"),
        ("Halden Orrery: Salt Roads", "Salt Roads by Halden Orrery"),
        ("Side A", "Side A"),
        ("A", "A"),
    ],
)
def test_found(wanted: str, there: str) -> None:
    assert reading("Stereo", there, "2026").has(wanted)


@pytest.mark.parametrize(
    ("wanted", "there"),
    [
        ("Salt Roads", "Salt Road"),
        ("LFR 014", "LFR 015"),
        ("Björk", "Bjork"),
        ("A", "Alleys"),
        ("B", "Side A"),
        ("!!!", "Chk"),
    ],
)
def test_not_found(wanted: str, there: str) -> None:
    assert not reading(there).has(wanted)


def test_type_on_a_circle_comes_letter_by_letter() -> None:
    assert reading(*"HARBOUR SONGS  FWT 012").has("Harbour Songs")
    assert reading(*"SIDE B 45 RPM").sides() == {"B"}
    assert reading(*"SIDE B 45 RPM").speeds() == {"45"}


@pytest.mark.parametrize(
    ("text", "speeds"),
    [
        ("33⅓", {"33"}),
        ("33 ⅓ RPM", {"33"}),
        ("33 1/3 r.p.m.", {"33"}),
        ("33 1⁄3 rpm", {"33"}),
        ("33-1/3 rpm", {"33"}),
        ("33–1/3", {"33"}),
        ("33rpm", {"33"}),
        ("33,3 U/min", {"33"}),
        ("45 RPM", {"45"}),
        ("45 T/min", {"45"}),
        ("78 rpm", {"78"}),
        ("33⅓ or 45 rpm", {"33", "45"}),
        ("Track 4:45", set()),
        ("1945 rpm", set()),
        ("45", set()),
        ("33 days, 1/3 of them wet", set()),
        ("3:33 Revolution", set()),
    ],
)
def test_speeds(text: str, speeds: set[str]) -> None:
    assert reading(text).speeds() == speeds


@pytest.mark.parametrize(
    ("text", "sides"),
    [
        ("Side A", {"A"}),
        ("SIDE: B", {"B"}),
        ("B-Side", {"B"}),
        ("B side", {"B"}),
        ("Side Two", {"B"}),
        ("Side 1", {"A"}),
        ("Seite C", {"C"}),
        ("Face A", {"A"}),
        ("A1  Low Water 5:12", {"A"}),
        ("Inside a house", set()),
        ("Sideways", set()),
        ("A Rumour of Birds", set()),
        ("A", set()),
    ],
)
def test_sides(text: str, sides: set[str]) -> None:
    assert reading(text).sides() == sides


def test_a_large_letter_names_the_side() -> None:
    assert reading("A", box=LARGE).sides() == {"A"}


# Worked by hand; the first four are the textbook cases of one edit of each kind.
@pytest.mark.parametrize(
    ("one", "other", "count"),
    [
        ("lfr014", "lfr015", 1), ("lfr014", "lfr14", 1), ("lfr014", "lfr0144", 1),
        ("lfr014", "lfr041", 1), ("lfr014", "lfr014", 0), ("ca", "abc", 3),
        ("kitten", "sitting", 3), ("a", "abcd", 4),
    ],
)  # fmt: skip
def test_slips(one: str, other: str, count: int) -> None:
    assert slips(one, other) == slips(other, one) == count


def test_signs_alone_are_compared_as_they_are() -> None:
    assert compact("!!!") == "!!!"
    assert reading("!!!").has("!!!")
    assert reading().empty


BEFORE = ("", "Salt Roads 12 ", "A1 ", "1. Salt Roads ", "\u2117 2026 Lanternfold ", "33\u2153 ")
BEHIND = (
    "", " 1. Salt Roads", " A2", " A", " \u00b7 A", "-A", "A", " Side A", " (A)", " 33\u2153 rpm",
    " 2026", " A1 Salt 3:45", "-1", " 1", ".1 Salt", " LP", " 4:33", "/1", "_A1", ' 12" LP',
    " No. 3",
)  # fmt: skip


@pytest.mark.parametrize(
    "number",
    ["LFR 014", "ABC-123", "FWT012", "K7-22", "RUN 7", "AA 1000", "4XD-7", "LFR14", "LFR-014-1"],
)
def test_a_number_is_right_whatever_stands_about_it(number: str) -> None:
    """Tracks, sides, years and speeds about a number are no part of it."""
    for before in BEFORE:
        for behind in BEHIND:
            text = before + number + behind
            assert reading(text).numbers_like(number) == (), text
            assert reading(*filter(str.strip, (before, number, behind))).numbers_like(number) == ()


@pytest.mark.parametrize(
    ("number", "wrong"),
    [
        ("LFR 014", "LFR 015"), ("LFR 014", "LFR 041"), ("LFR 014", "LFR 14"),
        ("LFR 014", "LRF 014"), ("LFR 014", "LFR O14"), ("ABC-123", "ABC-124"),
        ("ABC-123", "ABC 132"), ("FWT012", "FWT 021"), ("AA 1000", "AA 100"), ("LFR14", "LFR 15"),
    ],
)  # fmt: skip
def test_a_wrong_number_is_quoted_without_what_stands_about_it(number: str, wrong: str) -> None:
    for before in BEFORE:
        for behind in BEHIND:
            text = before + wrong + behind
            assert reading(text).numbers_like(number) == (wrong,), text
