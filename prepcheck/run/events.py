"""What a run tells while it goes on."""

from __future__ import annotations

from prepcheck.findings import Verdict
from prepcheck.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Started:
    """A part is being examined; `index` counts from 0."""

    part: str
    index: int
    total: int


@dataclass(frozen=True, slots=True)
class Finished:
    """A part has been examined; `done` of `total` are."""

    part: str
    verdict: Verdict
    done: int
    total: int


Event = Started | Finished
