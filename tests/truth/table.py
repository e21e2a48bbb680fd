"""Running classes of cases, and the table of what came of them."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import dataclass, field

import tests.truth
from prepcheck.findings import Severity
from tests.truth.case import UNTOLD, TruthClass

RECALL, FALSE_STOPS, FALSE_QUERIES = 0.95, 0.01, 0.05
"""What is owed of each class; recall is of the faulty cases of which something could be told."""
MOST_UNTOLD = 0.25
"""Share of the faulty cases of a class that may be said to be beyond telling."""
_FRAME = ("case", "table")
HEAD = (
    f"{'class':42}{'cases':>7}{'recall':>9}{'untold':>8}{'false stops':>13}{'false queries':>15}"
    f"{'seeds':>7}"
)


@dataclass
class Outcome:
    """Counts of one class."""

    name: str
    seeds: int
    faulty: int = 0
    found: int = 0
    untold: int = 0
    sound: int = 0
    stops: int = 0
    queries: int = 0
    wrong: list[str] = field(default_factory=list)

    @property
    def recall(self) -> float:
        told = self.faulty - self.untold
        return self.found / told if told else 1.0

    @property
    def share_untold(self) -> float:
        """The share of the faulty cases of which the check says that it could not tell."""
        return self.untold / self.faulty if self.faulty else 0.0

    @property
    def false_stops(self) -> float:
        return self.stops / self.sound if self.sound else 0.0

    @property
    def false_queries(self) -> float:
        return self.queries / self.sound if self.sound else 0.0

    @property
    def line(self) -> str:
        return (
            f"{self.name:42}{self.faulty + self.sound:7}{self.recall:9.1%}"
            f"{self.share_untold:8.1%}{self.false_stops:13.1%}{self.false_queries:15.1%}{self.seeds:7}"
        )


def classes() -> Iterator[TruthClass]:
    """Yield the classes of this package."""
    for found in pkgutil.iter_modules(tests.truth.__path__):
        if found.name in _FRAME or found.name.startswith(("_", "test_")):
            continue
        module = importlib.import_module(f"tests.truth.{found.name}")
        if hasattr(module, "CLASS"):
            yield module  # type: ignore[misc]


def outcome(module: TruthClass, seeds: int) -> Outcome:
    """Judge the cases of the first `seeds` seeds; a note is neither found nor a false alarm."""
    result = Outcome(module.CLASS, seeds)
    for seed in range(seeds):
        for case in module.cases(seed):
            said = module.judge(case)
            alarm = said in (Severity.STOP, Severity.QUERY)
            if case.faulty:
                result.faulty += 1
                result.found += alarm
                result.untold += said == UNTOLD
            else:
                result.sound += 1
                result.stops += said is Severity.STOP
                result.queries += said is Severity.QUERY
            if alarm is not case.faulty:
                missed = "could not be told" if said == UNTOLD else "missed"
                truth = missed if case.faulty else "false alarm"
                result.wrong.append(f"seed {seed}, {case.name}: {truth}")
    return result
