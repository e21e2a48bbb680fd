"""Things that are alike are told as one: held against sets and dictionaries of Python."""

import numpy as np
import pytest

from prepcheck.measure.distinct import Alike, alike, alike_colours, alike_rows


def holds(found: Alike, things: list[tuple[float, ...]]) -> None:
    """Assert that each thing equals the one it is said to be like, and that no kind is missing."""
    firsts = [things[at] for at in found.first]
    assert [firsts[number] for number in found.number] == things
    assert set(firsts) == set(things)


@pytest.mark.parametrize(("count", "kinds"), [(1, 1), (500, 3), (4000, 4000), (60_000, 900)])
def test_numbers(count: int, kinds: int) -> None:
    chance = np.random.default_rng(count)
    values = chance.integers(0, 2**63, kinds, dtype=np.uint64)
    other = chance.integers(0, 9, kinds, dtype=np.uint64)
    which = chance.integers(0, kinds, count)
    one, two = values[which], other[which]
    holds(alike(one, two), [*zip(one.tolist(), two.tolist(), strict=True)])


def test_few_kinds_are_told_few_times() -> None:
    keys = np.random.default_rng(1).integers(0, 20, 50_000).astype(np.uint64)
    assert len(alike(keys).first) <= 22


def test_none() -> None:
    assert len(alike(np.empty(0, np.uint64)).first) == 0


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_colours(kind: type) -> None:
    chance = np.random.default_rng(3)
    colours = (chance.integers(0, 256, (700, 3)) / chance.integers(1, 4, (700, 1))).astype(kind)
    colours = colours[chance.integers(0, 700, 9000)]
    holds(alike_colours(colours), [tuple(colour) for colour in colours.tolist()])


@pytest.mark.parametrize("wide", [1, 6, 41])
def test_rows(wide: int) -> None:
    chance = np.random.default_rng(wide)
    rows = chance.integers(0, 3, (300, wide)).astype(np.float32)[chance.integers(0, 300, 5000)]
    holds(alike_rows(rows), [tuple(row) for row in rows.tolist()])
