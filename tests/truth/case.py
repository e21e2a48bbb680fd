"""What a class of cases is made of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, Literal, Protocol

from prepcheck.findings import Severity

UNTOLD: Final = "untold"
"""What a judge returns where the check says that it could not tell, and why: neither clear nor
found."""
Judged = Severity | Literal["untold"] | None


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
    def judge(case: Case) -> Judged: ...
