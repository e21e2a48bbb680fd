"""Room round type, lines, shapes and pictures: the same verdict however the same look is delivered,
turned, in another space, in a form, or as a picture in any format.

Truth by construction: that of the classes whose cases are drawn here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from prepcheck.findings import Severity
from tests.truth import clear_edges, clear_seams, clear_seen, clear_type
from tests.truth._delivered import GREY, PICTURES, SPACES, SPOTS, TURNED, delivered
from tests.truth._page import exam_of, worst_of
from tests.truth.case import Case

CLASS = "room, delivered otherwise"
WAYS = (*TURNED, *SPACES, *SPOTS, *PICTURES)
FAMILIES: tuple[Any, ...] = (clear_type, clear_edges, clear_seen, clear_seams)
SEEDS = len(WAYS) * len(FAMILIES) + 2 * len(GREY)
FAST = 1


def cases(seed: int) -> Iterator[Case]:
    family, way = FAMILIES[(seed + seed // len(WAYS)) % len(FAMILIES)], WAYS[seed % len(WAYS)]
    grey = seed - len(WAYS) * len(FAMILIES)
    if grey >= 0:
        # Only dark type on pale grounds is sure to be seen in grey.
        family, way = clear_type, GREY[grey % len(GREY)]
    for case in family.cases(seed):
        name = f"{family.__name__.split('.')[-1]}: {case.name}, {way}"
        yield replace(case, name=name, held=(family, case, way, seed))


def judge(case: Case) -> Severity | None:
    family, own, way, seed = case.held
    page, sleeve = family.page_of(own)
    return worst_of(exam_of(delivered(page, way, seed), sleeve), family.checks_of(own))
