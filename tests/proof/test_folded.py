"""The finished look of sleeves: what is seen together, and which way the fold does harm."""

from __future__ import annotations

from dataclasses import replace

import pytest

from prepcheck.findings import Finding, Mark, PartResult, Severity
from prepcheck.geometry import Box, Point
from prepcheck.proof.folded import fold_shift, sides_of
from prepcheck.spec.load import load_spec

JACKET = load_spec("jacket-12in").outline_of()
"""Folds at x = -1.5 and 1.5 mm."""


def names(spec: str, page: int = 0) -> list[tuple[str, ...]]:
    return [
        tuple(panel.name for panel in side.panels)
        for side in sides_of(load_spec(spec).outline_of(page))
    ]


def test_a_jacket_is_seen_from_the_front_and_from_the_back() -> None:
    assert names("jacket-12in") == [("spine", "front"), ("back", "spine")]


def test_pockets_are_seen_side_by_side() -> None:
    assert names("gatefold-12in", 1) == [("left inside", "spine inside", "right inside")]


def test_a_flat_shows_the_outside_then_the_inside_turned_upright() -> None:
    assert names("gatefold-12in-flat") == [
        ("spine", "front"),
        ("back", "spine"),
        ("right inside", "spine inside", "left inside"),
    ]
    sides = sides_of(load_spec("gatefold-12in-flat").outline_of())
    assert [side.turned for side in sides] == [False, False, True]
    inside = sides[-1]
    left, right = inside.panels[2].box.centre.x, inside.panels[0].box.centre.x
    assert inside.upright(left, 0.0) < inside.upright(right, 0.0)


def test_flaps_are_glued_away() -> None:
    assert names("jacket-12in-flaps") == [("spine", "front"), ("back", "spine")]


def result(*findings: Finding) -> PartResult:
    return PartResult(
        "Jacket", "a.pdf", "", 1, "jacket-12in", "named", 1, None, None, (), tuple(findings)
    )


def at(x: float, severity: Severity = Severity.STOP, page: int | None = 1) -> Finding:
    mark = Mark(Box(x - 0.2, 5, x + 0.2, 40))
    return Finding("any", severity, "m", "f", "s", page, where=(mark,))


@pytest.mark.parametrize(
    ("findings", "shift", "number"),
    [
        ((), 1.0, None),
        ((at(3.0),), -1.0, 1),  # on the front: the print must move left to reach the fold
        ((at(0.9),), 1.0, 1),  # on the spine, nearer to the right fold
        ((at(-0.9),), -1.0, 1),
        ((at(-0.9, Severity.QUERY), at(4.0)), -1.0, 2),  # the gravest decides
        ((at(2.5), at(-1.0)), -1.0, 2),  # then the nearest
        ((at(60.0),), 1.0, None),  # far from every fold
        ((at(3.0, Severity.NOTE), at(3.0, page=2)), 1.0, None),
    ],
)
def test_the_print_moves_towards_the_fold_that_does_harm(
    findings: tuple[Finding, ...], shift: float, number: int | None
) -> None:
    found = fold_shift(result(*findings), 1, JACKET, 1.0)
    assert (found.x, found.y, found.number) == (shift, 0.0, number)


def test_a_change_of_colour_counts_by_its_line() -> None:
    line = (Point(2.4, -100.0), Point(2.4, 100.0))
    finding = replace(at(0.0), where=(Mark(Box.around(line), "", line),))
    assert fold_shift(result(finding), 1, JACKET, 0.8).x == -0.8
