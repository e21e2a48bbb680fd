"""Outlined type of scripts whose letters join, hang, carry marks or are of many strokes; rows of
ornaments, which are none.

Truth by construction: words shaped by HarfBuzz, glyphs placed by `tests/outlined.py` at a known
size; ornaments are drawn here.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence

import pytest

from prepcheck.art.model import Content
from prepcheck.measure.letter_shapes import lettering_of
from prepcheck.measure.outlined_type import TypeLine, outlined_lines
from prepcheck.measure.writing import with_writing
from tests.measure.test_outlined_type import content_of
from tests.outlined import SCRIPTS, Shaped, shaped

Points = list[tuple[float, float]]
TURNS = [{}, {"turn": 90.0}, {"turn": 37.0}, {"turn": 90.0, "radius": 14.0}]


def lines_in(content: Content) -> tuple[TypeLine, ...]:
    lettering = lettering_of(content)
    return with_writing(content, lettering, outlined_lines(content, lettering.letters))


@pytest.mark.parametrize("script", SCRIPTS)
@pytest.mark.parametrize("pt", [4.0, 9.0])
def test_words_of_other_scripts_are_type_of_about_their_size(script, pt, tmp_path) -> None:
    """Of the ways a word may be set most are known as type, and none to be far larger or smaller
    than it is."""
    known = 0
    for turn in TURNS:
        word = shaped(Shaped(SCRIPTS[script], 0, 0 if "radius" in turn else 20, pt, script, **turn))
        lines = lines_in(content_of(tmp_path, extra=f"q 1 0 0 1 53 53 cm 0 0 0 1 k {word} Q\n"))
        known += bool(lines)
        for line in lines:
            assert line.size_pt < 1.35 * pt, (turn, line)
            assert line.most_pt * 1.06 > 0.9 * pt, (turn, line)
    assert known >= len(TURNS) - 1


KANA = ("ひらがな", "さくら", "きみのうた", "すべての歌", "港の灯", "東京録音株式会社")


@pytest.mark.parametrize("word", KANA)
@pytest.mark.parametrize("turn", [0.0, 90.0, 37.0])
def test_signs_set_in_squares_are_of_the_size_of_these(word, turn, tmp_path) -> None:
    line = shaped(Shaped(word, 0, 20, 6.0, "WenQuanYiMicroHei-CJK", turn))
    found = lines_in(content_of(tmp_path, extra=f"q 1 0 0 1 53 53 cm 0 0 0 1 k {line} Q\n"))
    assert found
    for one in found:
        assert one.size_pt == pytest.approx(6.0, rel=0.08)


@pytest.mark.parametrize("sign", "盤録楽鳥響館艶曲")
def test_strokes_of_one_sign_are_no_line(sign, tmp_path) -> None:
    word = shaped(Shaped(sign, 0, 20, 9.0, "WenQuanYiMicroHei-CJK"))
    assert not lines_in(content_of(tmp_path, extra=f"q 1 0 0 1 53 53 cm 0 0 0 1 k {word} Q\n"))


def star(rng: random.Random) -> list[Points]:
    turn, size = rng.uniform(0, 6), rng.uniform(0.6, 1)
    return [
        [
            (r * math.cos(turn + n * math.pi / 5), r * math.sin(turn + n * math.pi / 5))
            for n in range(10)
            for r in [size * (0.4 if n % 2 else 1)]
        ]
    ]


def ring(rng: random.Random) -> list[Points]:
    inner = rng.uniform(0.5, 0.8)
    steps = [n * math.pi / 16 for n in range(32)]
    return [
        [(math.cos(a), math.sin(a)) for a in steps],
        [(inner * math.cos(a), -inner * math.sin(a)) for a in steps],
    ]


def leaf(rng: random.Random) -> list[Points]:
    turn, wide, size = rng.uniform(0, 6), rng.uniform(0.2, 0.45), rng.uniform(0.7, 1)
    sides = [(n / 10 * 2 - 1, wide * math.sin(math.pi * n / 10)) for n in range(11)]
    sides += [(-x, -y) for x, y in sides[1:-1]]
    c, s = size * math.cos(turn), size * math.sin(turn)
    return [[(c * x - s * y, s * x + c * y) for x, y in sides]]


def spiral(rng: random.Random) -> list[Points]:
    turns = rng.uniform(1, 2)
    path = []
    for side in (0.07, -0.07):
        run = [n / 30 for n in range(31)]
        for t in run if side > 0 else run[::-1]:
            r, a = 0.15 + 0.8 * t + side, 2 * math.pi * turns * t
            path.append((r * math.cos(a), r * math.sin(a)))
    return [path]


def capsule(rng: random.Random) -> list[Points]:
    half, r = rng.uniform(0.1, 0.8), 0.25
    ends = [n * math.pi / 10 for n in range(11)]
    return [
        [(r * math.cos(a), half + r * math.sin(a)) for a in ends]
        + [(-r * math.cos(a), -half - r * math.sin(a)) for a in ends]
    ]


def blot(rng: random.Random) -> list[Points]:
    waves = [(rng.uniform(0, 0.5) / (k + 1), rng.uniform(0, 6)) for k in range(6)]
    size = rng.uniform(0.4, 1)
    path = []
    for a in (n * math.pi / 20 for n in range(40)):
        r = size * (1 + sum(m * math.sin((k + 2) * a + p) for k, (m, p) in enumerate(waves)))
        path.append((r * math.cos(a), r * math.sin(a)))
    return [path]


def arrow(rng: random.Random) -> list[Points]:
    turn = rng.choice((0, 1, 2, 3))
    points = [(-1, -0.2), (0.2, -0.2), (0.2, -0.6), (1, 0), (0.2, 0.6), (0.2, 0.2), (-1, 0.2)]
    for _ in range(turn):
        points = [(-y, x) for x, y in points]
    return [points]


def scallop(_: random.Random) -> list[Points]:
    steps = [n * math.pi / 16 for n in range(17)]
    outer = [(math.cos(a), math.sin(a)) for a in steps]
    return [outer + [(0.8 * x, 0.8 * y) for x, y in outer[::-1]]]


def link(rng: random.Random) -> list[Points]:
    flat = rng.choice((0.5, 1.0))
    return [[(x, flat * y) for x, y in one] for one in ring(random.Random(3))]


def key(rng: random.Random) -> list[Points]:
    white: Points = [(-0.5, -1), (0.5, -1), (0.5, 1), (-0.5, 1)]
    black: Points = [(0.4, 0), (0.8, 0), (0.8, 1), (0.4, 1)]
    return [white, black] if rng.random() < 0.7 else [white]


ORNAMENTS: Sequence[Callable[[random.Random], list[Points]]] = (
    star, ring, leaf, spiral, capsule, blot, arrow, scallop, link, key,
)  # fmt: skip


def row_of(draw: Callable[[random.Random], list[Points]], rng: random.Random) -> str:
    """Return a row of ornaments, straight, turned or about a circle."""
    size, gap = rng.uniform(0.4, 1.6), rng.uniform(0.05, 0.5)
    turn, radius = rng.uniform(0, 6), rng.choice((0.0, rng.uniform(14, 30)))
    at, out = -16 * size, []
    for _ in range(13):
        parts = draw(rng)
        low = min(x for part in parts for x, _ in part)
        high = max(x for part in parts for x, _ in part)
        for part in parts:
            line = []
            for px, py in part:
                x, y = at + (px - low) * size, py * size
                if radius:
                    a = turn - x / radius
                    line.append(((radius + y) * math.cos(a), (radius + y) * math.sin(a)))
                else:
                    c, s = math.cos(turn), math.sin(turn)
                    line.append((x * c - y * s, x * s + y * c))
            steps = " ".join(f"{x:.4f} {y:.4f} l" for x, y in line[1:])
            out.append(f"{line[0][0]:.4f} {line[0][1]:.4f} m {steps} h\n")
        out.append("f*\n")
        at += (high - low + gap) * size
    return "".join(out)


@pytest.mark.parametrize("draw", ORNAMENTS, ids=lambda draw: draw.__name__)
def test_rows_of_ornaments_are_no_type(draw, tmp_path) -> None:
    """Turned, of several sizes, unlike one another, drawn with one width of line: of forty rows of
    a kind at most one may pass."""
    taken = []
    for seed in range(40):
        row = row_of(draw, random.Random(f"{draw.__name__}{seed}"))
        content = content_of(tmp_path, extra=f"q 1 0 0 1 53 53 cm 0 0 0 1 k {row} Q\n")
        if lines_in(content):
            taken.append(seed)
    assert len(taken) <= 1, taken
