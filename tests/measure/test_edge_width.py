"""How wide edges are, on lines of samples whose steps are known: truth by construction."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from prepcheck.measure.edge_width import HARDER, LEAST_STEPS, edge_width


def tile_of(line: Sequence[int], lines: int = 64) -> NDArray[np.uint8]:
    """Return lines that are all alike, so that nothing changes the other way."""
    return np.tile(np.array(line, np.uint8), (lines, 1))


@pytest.mark.parametrize("samples", [1, 2, 4, 8])
def test_ramps_are_as_wide_as_they_were_drawn(samples: int) -> None:
    up = [40] * 6 + [40 + 80 * at // samples for at in range(1, samples + 1)] + [120] * 5
    assert edge_width([tile_of(up + up[::-1])]) == samples
    assert edge_width([tile_of(up + up[::-1]).T]) == samples


def test_steps_that_end_at_the_end_of_a_line_do_not_run_on_in_the_next() -> None:
    rising = list(range(10, 250, 30))  # seven changes of 30, and down at once to the next line
    assert edge_width([tile_of(rising)]) == 7


def test_faint_steps_do_not_count() -> None:
    assert edge_width([tile_of([100, 123] * 20)]) is None
    assert edge_width([tile_of([100, 124] * 20)]) == 1
    assert edge_width([tile_of([100, 123] * 20)], least_step=23) == 1


def walked(tiles: Sequence[NDArray[np.uint8]], least: int) -> float | None:
    """Return the width sample by sample, as the definition reads."""
    steps = []
    for tile in tiles:
        for lines in (tile.tolist(), tile.T.tolist()):
            for line in lines:
                way, height, steepest = 0, 0, 0
                for before, after in [*pairwise(line), (0, 0)]:
                    now = (after > before) - (after < before)
                    if now != way:
                        if height >= least:
                            steps.append((height / steepest, height))
                        way, height, steepest = now, 0, 0
                    height += abs(after - before)
                    steepest = max(steepest, abs(after - before))
    if len(steps) < LEAST_STEPS:
        return None
    steps.sort()
    wanted, passed = HARDER * sum(height for _, height in steps), 0
    for width, height in steps:
        passed += height
        if passed >= wanted:
            return width
    raise AssertionError


@pytest.mark.parametrize("least", [1, 12, 24])
def test_any_samples_give_what_walking_along_them_gives(least: int) -> None:
    seed = np.random.default_rng(7)
    noise = seed.integers(0, 256, (40, 40))
    drift = np.clip(np.cumsum(seed.integers(-9, 10, (40, 40)), axis=1) + 128, 0, 255)
    flat = np.where(seed.random((40, 40)) < 0.8, 100, noise)
    tiles = [values.astype(np.uint8) for values in (noise, drift, flat)]
    for own in ([tile] for tile in tiles):
        assert edge_width(own, least) == walked(own, least)
    assert edge_width(tiles, least) == walked(tiles, least)
