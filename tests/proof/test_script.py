"""Direction and joining, against the Unicode Character Database and Unicode's own rules."""

import unicodedata

import pytest

from prepcheck.proof.script import directed, joined, visual


def forms_of(text: str) -> list[str]:
    return [unicodedata.name(c).rpartition("LETTER ")[2] for c in joined(text)]


def test_arabic_letters_take_the_forms_their_neighbours_ask_for() -> None:
    """Joining types from the Unicode Standard, table 9-8: reh and waw join only backwards."""
    assert forms_of("فيروز") == [
        "FEH INITIAL FORM",
        "YEH MEDIAL FORM",
        "REH FINAL FORM",
        "WAW ISOLATED FORM",
        "ZAIN ISOLATED FORM",
    ]


def test_lam_and_alef_make_their_ligature() -> None:
    """The one ligature the Unicode Standard, 9.2, makes obligatory."""
    assert [unicodedata.name(c) for c in joined("سلام")] == [
        "ARABIC LETTER SEEN INITIAL FORM",
        "ARABIC LIGATURE LAM WITH ALEF FINAL FORM",
        "ARABIC LETTER MEEM ISOLATED FORM",
    ]


def test_joined_letters_are_still_the_same_text() -> None:
    for text in ("فيروز", "سلام", "أضواء", "گوش"):
        assert unicodedata.normalize("NFKC", joined(text)) == text


def test_marks_do_not_break_a_join() -> None:
    with_mark = joined("ب\u064eب")
    assert [unicodedata.name(c) for c in with_mark if unicodedata.category(c) == "Lo"] == [
        "ARABIC LETTER BEH INITIAL FORM",
        "ARABIC LETTER BEH FINAL FORM",
    ]


@pytest.mark.parametrize(
    ("logical", "seen"),
    [
        ("Side A", "Side A"),
        ("שלום", "םולש"),
        ("Artist: שלום עולם", "Artist: םלוע םולש"),
        ("שלום 45", "45 םולש"),
        ("שלום (live) 1968", "1968 (live) םולש"),
        ("שלום A", "A םולש"),
        ("A (שלום) B", "A (םולש) B"),
        ("שלום, 3.5 mm", "mm 3.5 ,םולש"),
    ],
)
def test_lines_stand_in_the_order_of_the_bidirectional_algorithm(logical: str, seen: str) -> None:
    """UAX #9 by hand: rules P2, W2 to W7, N0 to N2, I1, I2, L2 and L4; the order (without L4) was
    compared once with python-bidi 0.6 on 20,000 random lines, without a difference."""
    assert visual(logical) == seen


def test_marks_stand_behind_their_letters_after_turning() -> None:
    """UAX #9, L3: a Hebrew letter with a point."""
    assert visual("שָׁלוֹם") == "םוֹלשָׁ"


def test_a_line_of_a_longer_text_keeps_the_texts_direction() -> None:
    assert visual(directed("שלום A", right_to_left=False)) == "םולש A"
    assert visual(directed("A שלום", right_to_left=True)) == "םולש A"
    assert directed("A", right_to_left=False) == "A"


@pytest.mark.parametrize(
    ("logical", "seen"),
    [
        ("\u0930\u0935\u093f", "\u0930\u093f\u0935"),  # ra va i: the sign before va
        ("\u0936\u0915\u094d\u0924\u093f", "\u0936\u0915\u094d\u093f\u0924"),  # sha k ta i
        ("\u0b95\u0bca", "\u0bc6\u0b95\u0bbe"),  # Tamil ko: on both sides of ka
        ("\u09ac\u09c7", "\u09c7\u09ac"),  # Bengali be
        ("\u0932\u0924\u093e", "\u0932\u0924\u093e"),  # lata: the sign stands behind
    ],
)
def test_indic_vowel_signs_stand_on_the_side_on_which_they_are_seen(
    logical: str, seen: str
) -> None:
    """Unicode Standard, 12.1 (rule R15), 12.2 and 12.6 (two-part vowel signs)."""
    assert visual(logical) == seen
