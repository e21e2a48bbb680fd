"""Fine type and fine lines, however the same drawing is delivered: turned, in another space, in
other units, in a form.

Truth by construction: that of the classes whose cases are drawn here.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from prepcheck.findings import Severity
from tests.truth import fine_things
from tests.truth._delivered import SPACES, SPOTS, TURNED, delivered
from tests.truth._run import worst
from tests.truth.case import Case

CLASS = "fine type and lines, delivered otherwise"
WAYS = (*TURNED, *SPACES, *SPOTS)
SEEDS = 6 * len(WAYS)
FAST = 1


def cases(seed: int) -> Iterator[Case]:
    way, kind = WAYS[seed % len(WAYS)], (seed + seed // len(WAYS)) % 6
    for case in list(fine_things.cases(seed))[2 * kind : 2 * kind + 2]:
        yield replace(case, name=f"{case.name}, {way}", held=(*case.held, way, seed))


def judge(case: Case) -> Severity | None:
    source, check, way, seed = case.held
    with tempfile.TemporaryDirectory() as folder:
        path = delivered(source, way, seed).as_file(Path(folder))
        return worst(path, check, "sticker-square-50mm")
