"""How measures are held against limits, and places put in order: the same for all checks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import overload

import numpy as np
from numpy.typing import NDArray

from prepcheck.findings import Mark, Severity
from prepcheck.geometry import FloatArray
from prepcheck.spec.model import TOLERANCE_FINE


@overload
def short_of(measured: float, limit: float, tolerance: float) -> bool: ...
@overload
def short_of(measured: FloatArray, limit: float, tolerance: float) -> NDArray[np.bool_]: ...
def short_of(
    measured: float | FloatArray, limit: float, tolerance: float
) -> bool | NDArray[np.bool_]:
    """Say whether a measured value misses a lower limit by more than the tolerance."""
    return measured < limit - tolerance


@overload
def under_fine(measured: float, limit: float) -> bool: ...
@overload
def under_fine(measured: FloatArray, limit: float) -> NDArray[np.bool_]: ...
def under_fine(measured: float | FloatArray, limit: float) -> bool | NDArray[np.bool_]:
    """Say whether a type size or a line's width misses a lower limit."""
    return short_of(measured, limit, TOLERANCE_FINE * limit)


def over_fine(measured: FloatArray, limit: float) -> NDArray[np.bool_]:
    """Say whether shares or sizes (n,) pass an upper limit by more than the fine tolerance."""
    return np.asarray(measured > limit + TOLERANCE_FINE * limit)


def judge_least(measured: float, least: float, wanted: float, tolerance: float) -> Severity | None:
    """Return stop below `least`, query below `wanted`, None at or above (limits inclusive)."""
    if short_of(measured, least, tolerance):
        return Severity.STOP
    return Severity.QUERY if short_of(measured, wanted, tolerance) else None


def worst_first(marks: Sequence[Mark]) -> tuple[Mark, ...]:
    """Return marks ordered by rank, then by place, so that reports do not vary."""
    return tuple(sorted(marks, key=lambda m: (m.rank, -m.box.y1, m.box.x0, m.label)))
