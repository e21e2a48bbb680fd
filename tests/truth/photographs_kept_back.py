"""Photographs on label and sleeve, others than what is told of edges was tuned on.

What samples tell (enlarging, compression) has been mended on these too: see `_photographs.py`.
"""

from __future__ import annotations

from collections.abc import Iterator

from tests.truth import _photographs
from tests.truth._photographs import judge
from tests.truth.case import Case

__all__ = ["CLASS", "FAST", "SEEDS", "cases", "judge"]
CLASS = "photographs kept back"
SEEDS = 24
FAST = 1


def cases(seed: int) -> Iterator[Case]:
    yield from _photographs.cases(seed + 1000, _photographs.KEPT_BACK)
