"""Shapes that may be letters: told from others by the company they keep."""

from __future__ import annotations

from math import cos, sin

from prepcheck.art.model import Content, PathItem
from prepcheck.geometry import Box
from prepcheck.sheets.not_live import hidden_type, in_company
from tests.checks.exams import BLACK, make_exam, path, sleeve_spec


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


def letter(x: float, y: float) -> PathItem:
    """Return a filled shape of nine corners, about 2 mm across."""
    return path([(x + cos(0.7 * k), y + sin(0.7 * k)) for k in range(9)], fill=BLACK)


def test_letters_are_told_by_the_panel_they_stand_on() -> None:
    left, right, away = letter(-40, 5), letter(30, 5), letter(-40, 60)
    both = PathItem(
        left.box.union(right.box), BLACK, None, 0.0, False, None,
        (*left.segments, *right.segments),
    )  # fmt: skip
    drawn = left._replace(fill=None, stroke=BLACK)
    sheet = make_exam(
        sleeve_spec(), content=Content(paths=(right, drawn, left, away, both))
    ).sheets[0]
    names = {panel.name: panel.box for panel in sheet.outline.panels}
    found = hidden_type(sheet).shapes
    assert {name: len(shapes) for name, shapes in found.items()} == dict.fromkeys(found, 2)
    assert len(found) == 2
    for name, shapes in found.items():
        assert all(names[name].holds(shape) for shape in shapes)


def test_enough_letters_of_a_panel_say_it_all() -> None:
    many = [letter(-40, y / 20) for y in range(-500, 500)]
    sheet = make_exam(sleeve_spec(), content=Content(paths=(*many, letter(30, 0)))).sheets[0]
    assert sorted(map(len, hidden_type(sheet).shapes.values())) == [1, 400]
