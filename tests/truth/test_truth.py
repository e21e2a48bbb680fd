"""Each class of cases keeps what is owed of it: recall 95 %, false stops 1 %, false queries 5 %."""

from __future__ import annotations

import pytest

from tests.truth.case import TruthClass
from tests.truth.table import FALSE_QUERIES, FALSE_STOPS, MOST_UNTOLD, RECALL, classes, outcome

LEAST_CASES = 30
CLASSES = tuple(classes())


@pytest.mark.parametrize("module", CLASSES, ids=lambda module: module.CLASS)
def test_class(module: TruthClass) -> None:
    result = outcome(module, getattr(module, "FAST", module.SEEDS))
    assert result.faulty
    assert result.sound
    assert result.recall >= RECALL, result.wrong
    assert result.share_untold <= MOST_UNTOLD, result.wrong
    assert result.false_stops <= FALSE_STOPS, result.wrong
    assert result.false_queries <= FALSE_QUERIES, result.wrong


@pytest.mark.parametrize("module", CLASSES, ids=lambda module: module.CLASS)
def test_enough_cases(module: TruthClass) -> None:
    assert module.SEEDS * len(list(module.cases(0))) >= LEAST_CASES
