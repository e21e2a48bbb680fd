"""Photographs on label and sleeve, those that measures were tuned on: see `_photographs.py`."""

from __future__ import annotations

from collections.abc import Iterator

from tests.truth import _photographs
from tests.truth._photographs import judge
from tests.truth.case import Case

__all__ = ["CLASS", "FAST", "SEEDS", "cases", "judge"]
CLASS = "photographs"
SEEDS = 24
FAST = 1


def cases(seed: int) -> Iterator[Case]:
    yield from _photographs.cases(seed, _photographs.TUNED_ON)
