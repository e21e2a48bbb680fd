"""Guides left in, and print just outside the trim, however the same look is delivered: turned, in
another space, in a form, or as a picture in any format.

Truth by construction: that of the classes whose cases are drawn here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from prepcheck.findings import Severity
from tests.truth import guide_lines, outside_trim
from tests.truth._delivered import PICTURES, SPACES, TURNED, delivered
from tests.truth._page import BLEED, exam_of, worst_of
from tests.truth.case import Case

CLASS = "guides and beside, delivered otherwise"
WAYS = (*TURNED, *SPACES, *PICTURES)
SEEDS = 4 * len(WAYS)
FAST = 1


def cases(seed: int) -> Iterator[Case]:
    way, beside = WAYS[seed % len(WAYS)], seed // len(WAYS) % 2
    for case in (outside_trim if beside else guide_lines).cases(seed):
        name = f"{'beside' if beside else 'guides'}: {case.name}, {way}"
        yield replace(case, name=name, held=(beside, case, way, seed))


def judge(case: Case) -> Severity | None:
    beside, own, way, seed = case.held
    if beside:
        page, sleeve = outside_trim.page_of(own)
        margin = outside_trim.MARGIN
    else:
        page, sleeve = guide_lines.page_of(own)
        margin = 6.0 if sleeve else BLEED
    exam = exam_of(delivered(page, way, seed, margin - BLEED), sleeve)
    return outside_trim.said_of(exam) if beside else worst_of(exam, guide_lines.CHECKS)
