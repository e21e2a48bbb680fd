"""Photographs in a folder that PREPCHECK_PHOTOGRAPHS names, for measuring on others than come with
the tests: see `_photographs.py`."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from tests.truth import _photographs
from tests.truth._photographs import judge
from tests.truth.case import Case

__all__ = ["SEEDS", "cases", "judge"]
FOLDER = Path(os.environ.get("PREPCHECK_PHOTOGRAPHS", "none"))
SEEDS = 30
if FOLDER.is_dir():
    CLASS = "photographs elsewhere"


def cases(seed: int) -> Iterator[Case]:
    names = [str(path.resolve()) for path in sorted(FOLDER.iterdir())]
    yield from _photographs.cases(seed + 2000, names)
