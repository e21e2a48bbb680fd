"""The best assignment, against trying them all."""

from __future__ import annotations

import random
from itertools import permutations

import pytest

from prepcheck.measure.assign import NEVER, best_assignment, worth


def by_trying_all(values: list[list[float]]) -> float:
    rows, columns = len(values), len(values[0])
    choices = [*range(columns), *([None] * rows)]
    return max(
        sum(values[r][c] for r, c in enumerate(chosen) if c is not None)
        for chosen in permutations(choices, rows)
    )


@pytest.mark.parametrize("seed", range(40))
def test_against_trying_all(seed: int) -> None:
    rng = random.Random(seed)
    rows, columns = rng.randint(1, 4), rng.randint(1, 4)
    values = [
        [rng.choice([NEVER, rng.uniform(-5, 10), 3.0]) for _ in range(columns)] for _ in range(rows)
    ]
    found = best_assignment(values)
    chosen = [c for c in found if c is not None]
    assert len(chosen) == len(set(chosen))
    assert worth(values, found) == pytest.approx(by_trying_all(values))


def test_nothing_to_assign() -> None:
    assert best_assignment([]) == []
    assert best_assignment([[], []]) == [None, None]
