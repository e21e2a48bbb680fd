"""Shaping, against the Unicode Character Database, Unicode's rules, and the fonts' own tables."""

import unicodedata
from functools import cache
from io import BytesIO

import pytest
from fontTools.ttLib import TTFont

from prepcheck.proof.shaping import EM
from prepcheck.proof.shipped_fonts import FOLDER, font_for
from prepcheck.proof.theme import BODY, FontFile
from prepcheck.proof.typeset import TypesetRun, clean, runs


def only(text: str) -> TypesetRun:
    (run,) = runs(clean(text), BODY)
    return run


def forms_of(text: str) -> list[str]:
    """Return the forms of Arabic letters in the order in which they are read; the isolated form
    is drawn as the letter itself is."""
    names = [unicodedata.name(c) for c in reversed(only(text).text)]
    return [name.rpartition("LETTER ")[2] for name in names]


@cache
def font_of(character: str) -> TTFont:
    name = font_for(character, FontFile.TEXT)
    assert name is not None
    return TTFont(BytesIO((FOLDER / f"{name.partition('-')[2]}.ttf").read_bytes()), lazy=True)


def glyphs_of(text: str) -> list[str]:
    font = font_of(text[0])
    return [font.getGlyphName(glyph.number) for glyph in only(text).glyphs]


def glyph_of(character: str) -> str:
    return str(font_of(character).getBestCmap()[ord(character)])


def test_arabic_letters_take_the_forms_their_neighbours_ask_for() -> None:
    """Joining types from the Unicode Standard, table 9-8: reh and waw join only backwards."""
    assert forms_of("فيروز") == [
        "FEH INITIAL FORM",
        "YEH MEDIAL FORM",
        "REH FINAL FORM",
        "WAW",
        "ZAIN",
    ]


def test_lam_and_alef_make_their_ligature() -> None:
    """The one ligature the Unicode Standard, 9.2, makes obligatory."""
    assert [unicodedata.name(c) for c in reversed(only("سلام").text)] == [
        "ARABIC LETTER SEEN INITIAL FORM",
        "ARABIC LIGATURE LAM WITH ALEF FINAL FORM",
        "ARABIC LETTER MEEM",
    ]


@pytest.mark.parametrize("text", ["فيروز", "سلام", "أضواء", "گوش"])
def test_joined_letters_are_still_the_same_text(text: str) -> None:
    read = "".join(reversed(only(text).text))
    assert unicodedata.normalize("NFKC", read) == text


def test_marks_do_not_break_a_join_and_lead_nowhere() -> None:
    assert [name for name in forms_of("ب\u064eب") if name.startswith("BEH")] == [
        "BEH INITIAL FORM",
        "BEH FINAL FORM",
    ]
    assert sorted(glyph.advance for glyph in only("ب\u064eب").glyphs)[0] == 0


def test_a_joiner_parts_letters_without_a_gap() -> None:
    """ZERO WIDTH NON-JOINER (Unicode Standard, 23.2): both letters stand alone, nothing between."""
    parted, alone = only("ب\u200cب"), only("ب")
    assert parted.width == pytest.approx(2 * alone.width)
    assert only("بب").width != pytest.approx(parted.width)


def test_a_point_stands_inside_its_hebrew_letter() -> None:
    """A dagesh leads nowhere and is drawn within the width of its letter."""
    dagesh, bet = sorted(only("ב\u05bc").glyphs, key=lambda glyph: glyph.advance)
    assert dagesh.advance == 0 or only("ב\u05bc").width == pytest.approx(only("ב").width)
    assert bet.advance > 0


@pytest.mark.parametrize(
    ("written", "seen"),
    [
        ("\u0915\u093f", "\u093f\u0915"),  # ki: the sign before ka
        ("\u0b95\u0bca", "\u0bc6\u0b95\u0bbe"),  # Tamil ko: on both sides of ka
        ("\u09ac\u09c7", "\u09c7\u09ac"),  # Bengali be
        ("\u0932\u0924\u093e", "\u0932\u0924\u093e"),  # lata: the sign stands behind
    ],
)
def test_indic_vowel_signs_stand_on_the_side_on_which_they_are_seen(
    written: str, seen: str
) -> None:
    """Unicode Standard, 12.1 (rule R15), 12.2 and 12.6 (two-part vowel signs). A font may have
    sorts of one sign for letters of several widths, named alike."""
    drawn = [name.partition("sign")[0] for name in glyphs_of(written)]
    assert drawn == [glyph_of(character).partition("sign")[0] for character in seen]


def test_a_conjunct_shows_no_virama() -> None:
    """Unicode Standard, 12.1: ka, virama, ssa become one shape, as do a reph's letters."""
    virama = glyph_of("\u094d")
    for word in ("\u0915\u094d\u0937", "\u0936\u0915\u094d\u0924\u093f", "\u0930\u094d\u0915"):
        assert virama not in glyphs_of(word)
        assert only(word).width < sum(only(letter).width for letter in word if letter != "\u094d")


def test_a_runs_width_is_what_its_glyphs_lead() -> None:
    for word in ("நாவிக", "ميناء", "แสงไฟ"):
        run = only(word)
        assert run.width == pytest.approx(sum(g.advance for g in run.glyphs) * run.size / EM)


def test_latin_type_is_set_as_it_was() -> None:
    assert [(run.text, run.glyphs) for run in runs("Harbour Lights", BODY)] == [
        ("Harbour Lights", ())
    ]
