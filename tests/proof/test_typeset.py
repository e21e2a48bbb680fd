"""Lines fit their measure, lose nothing, and every character is shown by some font."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.proof import typeset
from prepcheck.proof.shipped_fonts import FOLDER, font_for
from prepcheck.proof.theme import BODY, LEAD, SMALL, TITLE, FontFile, TextStyle
from prepcheck.proof.typeset import (
    balanced,
    clean,
    clipped,
    runs,
    shortened,
    width_of,
    wrap,
)

NAMES = (
    "Ærø Ðorđević Łódź Ấn",
    "Φώτα στο λιμάνι, μαΐστρος",
    "Огни гавани і Ґ",
    "أضواء الميناء",
    "אורות הנמל",
    "बंदरगाह की रोशनी",
    "แสงไฟท่าเรือ",
    "港の灯り カナ",
    "海港燈火 港湾灯火",
    "항구의 불빛",
    "լույսեր",
    "სინათლე",
    "துறைமுக விளக்குகள்",
    "বন্দরের আলো",
    "★ ♥ ☮ → ⅓ ℗ © ″",
)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("face", list(FontFile))
def test_names_in_any_script_have_a_font(name: str, face: FontFile) -> None:
    assert [c for c in clean(name) if font_for(c, face) is None] == []


def test_a_character_without_a_font_is_shown_by_its_number() -> None:
    shown = runs("a\U00012000b", BODY)
    assert [run.text for run in shown] == ["a", "U+12000", "b"]
    assert shown[1].size < BODY.size


def test_what_only_controls_layout_is_left_out() -> None:
    assert clean("A\u00adB\u200bC\ufeff\ufe0f\tD\n") == "ABC D "
    assert clean(unicodedata.normalize("NFD", "Höfn")) == "Höfn"


def test_numbers_are_tied_to_their_units() -> None:
    assert clean("2.4 mm at 300 ppi, 12 % of 3 parts, 5 mms") == (
        "2.4\u202fmm at 300\u202fppi, 12\u202f% of 3 parts, 5 mms"
    )


@given(
    st.text(
        st.characters(exclude_categories=("Cs",), exclude_characters="\u200e\u200f"), max_size=120
    ),
    st.sampled_from((BODY, SMALL, LEAD, TITLE)),
)
def test_lines_fit_and_lose_nothing(text: str, style: TextStyle) -> None:
    measure = 180.0
    lines = wrap(text, style, measure)
    assert all(width_of(line, style) <= measure + 0.01 for line in lines)
    plain = str.maketrans("", "", " \u200e\u200f")
    assert "".join(lines).translate(plain) == clean(text).translate(plain)


def test_long_names_without_spaces_break_at_their_joints() -> None:
    assert wrap("harbour_lights_front_cover_v17-final.pdf", BODY, 100.0) == (
        "harbour_lights_front_",
        "cover_v17-final.pdf",
    )


def test_balanced_lines_are_as_many_and_nearly_equal() -> None:
    text = "The Low Tide Assembly: Harbour Lights"
    assert wrap(text, TITLE, 493.0)[1] == "Lights"
    lines = balanced(text, TITLE, 493.0)
    assert lines == ("The Low Tide Assembly:", "Harbour Lights")


def test_what_does_not_fit_ends_in_an_ellipsis() -> None:
    text = "a few words too many for one narrow line"
    assert len(clipped(text, BODY, 60.0, 2)) == 2
    assert clipped(text, BODY, 60.0, 2)[-1].endswith("…")
    assert clipped("short", BODY, 60.0, 2) == ("short",)
    short = shortened("a_very_long_file_name_final.pdf", BODY, 80.0)
    assert width_of(short, BODY) <= 80.0
    assert short.startswith("a_v")
    assert short.endswith("pdf")


def test_every_font_has_its_licence_beside_it() -> None:
    fonts = sorted(path.stem for path in FOLDER.glob("*.ttf"))
    families = {path.name.removesuffix("-LICENSE.txt") for path in FOLDER.glob("*-LICENSE.txt")}
    assert len(fonts) == 9
    assert [font for font in fonts if not any(font.startswith(f) for f in families)] == []
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < 6_000_000


ENDLESS = {
    "words": "Lantern fold ",
    "unbroken": "Lanternfold",
    "right to left": "أضواء (الميناء) ",
    "one side of brackets": "(",
    "pairs after a letter": "ا()",
    "marks": "\u0316\u0301",
    "signs before letters": "कि",
}


@pytest.mark.parametrize("kind", ENDLESS)
@pytest.mark.parametrize("setting", ["shortened", "wrap", "balanced", "clipped"])
def test_work_grows_with_length_not_its_square(
    kind: str, setting: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Characters that are looked up in fonts, counted: twice the text, about twice the work."""
    set_in = {
        "shortened": lambda text: shortened(text, BODY, 300),
        "wrap": lambda text: wrap(text, BODY, 300),
        "balanced": lambda text: balanced(text, TITLE, 300),
        "clipped": lambda text: clipped(text, BODY, 300, 2),
    }[setting]
    looked_up = 0

    def counted(character: str, face: FontFile) -> str | None:
        nonlocal looked_up
        looked_up += 1
        return font_for(character, face)

    monkeypatch.setattr(typeset, "font_for", counted)
    work = []
    for length in (1500, 3000):
        looked_up = 0
        runs.cache_clear()
        set_in((ENDLESS[kind] * length)[:length])
        work.append(looked_up)
    assert work[1] <= 2.6 * work[0] + 500
    assert work[1] <= 40 * 3000


@pytest.mark.parametrize("length", [2000, 5000, 100_000])
@pytest.mark.parametrize("kind", ["words", "unbroken", "right to left"])
def test_a_long_title_is_shortened_to_its_measure(kind: str, length: int) -> None:
    text = (ENDLESS[kind] * length)[:length]
    short = shortened(text, LEAD, 400)
    assert 300 < width_of(short, LEAD) <= 400
    head, tail = short.split("…")
    assert clean(text).startswith(head)
    assert clean(text).endswith(tail)


def test_long_runs_of_marks_are_composed_as_ever() -> None:
    text = "o" + "\u0316\u0301" * 200 + "e\u0301"
    assert "\u034f" not in clean(text)
    assert clean(text).endswith("é")
    assert clean("e\u0301" * 40) == "é" * 40
