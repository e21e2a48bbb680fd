"""Outlined type against the fonts it was made from: glyphs placed by `tests/outlined.py`, with
capitals and stems as the fonts state them."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from prepcheck.art.model import Content
from prepcheck.art.open import open_art
from prepcheck.geometry import Affine
from prepcheck.measure.outlined_type import outlined_lines, short_rows
from tests.factories import disc_path
from tests.outlined import FACES, PT, Set, label

PLAIN = ("DejaVuSans", "SourceSansPro-Regular", "SourceSerifPro-Regular", "Fraunces-Italic")


def content_of(folder: Path, *lines: Set, extra: str = "") -> Content:
    art = open_art(label(folder / "label.pdf", lines, extra=extra))
    return art.pages[0].content(Affine.move(-53, -53))


def cap_mm(face: str, pt: float) -> float:
    font = TTFont(FACES[face])
    return float(font["glyf"]["H"].yMax / font["head"].unitsPerEm * pt * PT)


@pytest.mark.parametrize("face", PLAIN)
@pytest.mark.parametrize("words", ["Lamps Out at Nine", "Kein Licht im Hafen", "LFR 204 STEREO"])
@pytest.mark.parametrize(("pt", "turn"), [(4.0, 0), (9.0, 90), (6.0, 37), (30.0, 0)])
def test_a_line_is_told_with_the_height_of_its_capitals(face, words, pt, turn, tmp_path) -> None:
    lines = outlined_lines(content_of(tmp_path, Set(words, 0, 10, pt, face, turn)))
    assert lines
    longest = max(lines, key=lambda line: line.letters)
    assert longest.cap_mm == pytest.approx(cap_mm(face, pt), rel=0.1)
    assert longest.size_pt == pytest.approx(pt, rel=0.12)
    assert 0.05 < longest.stem_mm / longest.cap_mm < 0.3


@pytest.mark.parametrize("face", PLAIN)
@pytest.mark.parametrize("inward", [True, False])
def test_a_line_round_the_rim(face, inward, tmp_path) -> None:
    words = "All rights of the producer reserved"
    (line, *_) = outlined_lines(
        content_of(tmp_path, Set(words, 0, 0, 6, face, 90, 45, inward=inward))
    )
    assert line.size_pt == pytest.approx(6, rel=0.15)
    assert math.hypot(*line.box.centre) > 20


def test_lower_case_without_ascenders_may_be_larger_than_it_seems(tmp_path) -> None:
    (line,) = outlined_lines(content_of(tmp_path, Set("moons rose over sea", 0, 0, 5)))[:1]
    assert line.size_pt < 5 < line.most_pt * 1.06


def row(shape: str, count: int = 12) -> str:
    return "".join(f"q 1 0 0 1 {20 + 4 * n} 50 cm {shape} f Q\n" for n in range(count))


STAR = "0 2 m 0.5 0.6 l 2 0.6 l 0.8 -0.3 l 1.2 -1.8 l 0 -0.9 l -1.2 -1.8 l -0.8 -0.3 l -2 0.6 l -0.5 0.6 l h"  # noqa: E501


@pytest.mark.parametrize(
    "extra",
    [
        row("0 0 2 3 re"),
        row(disc_path(0, 0, 1.4)),
        row(STAR),
        "".join(f"{20 + 1.2 * n} 40 {0.2 + 0.2 * (n % 3)} 20 re f\n" for n in range(30)),
        "".join(
            disc_path(20 + 5 * n, 50 + 3 * math.sin(n * 2.1), 0.5 + 0.3 * (n % 4)) + " f\n"
            for n in range(14)
        ),
    ],
    ids=["boxes", "discs", "stars", "bars", "bubbles"],
)
def test_borders_bars_and_bubbles_are_no_type(extra, tmp_path) -> None:
    assert outlined_lines(content_of(tmp_path, extra=f"0 0 0 1 k\n{extra}")) == ()


@pytest.mark.parametrize("face", ["Jost-Regular", "Jost-SemiBold"])
def test_letters_of_parts_that_overlap(face, tmp_path) -> None:
    """These fonts draw E and T by bars that cross one another, as variable fonts do."""
    (line,) = outlined_lines(content_of(tmp_path, Set("STEREO", 0, 10, 4, face, 20)))
    assert line.letters == 6
    assert line.size_pt == pytest.approx(4, rel=0.15)


@pytest.mark.parametrize("words", ["EP", "33", "LP1"])
def test_few_letters_may_be_type(words, tmp_path) -> None:
    content = content_of(tmp_path, Set(words, 0, 10, 4), Set("Lamps Out at Nine", 0, 20, 8))
    lines = outlined_lines(content)
    assert [line.letters for line in lines] == [14]
    (row,) = short_rows(content, lines)
    assert min(row.width, row.height) == pytest.approx(cap_mm("Jost-Regular", 4), rel=0.15)


@pytest.mark.parametrize("shape", ["0 0 1 1 re", disc_path(0, 0, 0.5), "0 0 2 1 re", STAR])
def test_a_pair_of_ornaments_is_no_type(shape, tmp_path) -> None:
    content = content_of(tmp_path, extra=row(shape, 2))
    assert short_rows(content, outlined_lines(content)) == ()
