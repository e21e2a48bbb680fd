"""A spot that stands for a process ink is asked about once: as lines of a template where it is
named or laid out like them, else as the process ink that was meant.

Truth by construction: the same stand-ins, for inks of the art and for lines of a template.
"""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Severity
from tests.checks.exams import findings
from tests.truth._page import exam_of, worst_of
from tests.truth.case import Case
from tests.truth.guide_spots import INKS, NAMES, PLACES, PROCESS, page_of

CLASS = "spots of a template are asked about once"
SEEDS = 30
FAST = 3


def cases(seed: int) -> Iterator[Case]:
    place = "laid out" if seed % 3 == 2 else PLACES[seed // 3 % 2]
    name = "Technik 7" if place == "laid out" else NAMES[seed * 11 % len(NAMES)]
    yield Case(f"'{name}' {place}", False, (seed, name, place))
    name = INKS[seed % len(INKS)]
    yield Case(f"the ink '{name}'", True, (seed, name, "art"))


def judge(case: Case) -> Severity | None:
    seed, name, place = case.held
    exam = exam_of(page_of(seed, name, place, PROCESS[seed % len(PROCESS)]))
    asked = {finding.severity for finding in findings("guide.printing", exam)}
    if bool(asked) is case.faulty:  # of lines it must be asked whether they are a guide's
        return None if case.faulty else Severity.STOP
    return worst_of(exam, ("colour.spot-clash",))
