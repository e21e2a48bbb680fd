"""What a class of cases is made of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Protocol

from prepcheck.findings import Severity


@dataclass(frozen=True)
class Case:
    """One thing to judge: `faulty` is the truth; `held` is whatever the class's judge needs."""

    name: str
    faulty: bool
    held: Any


class TruthClass(Protocol):
    """A module of this package that is a class of cases."""

    CLASS: str
    SEEDS: int

    @staticmethod
    def cases(seed: int) -> Iterator[Case]: ...

    @staticmethod
    def judge(case: Case) -> Severity | None: ...
