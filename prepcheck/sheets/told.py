"""How a check says what it found: required, unit and source follow from the limit's key."""

from __future__ import annotations

from collections.abc import Sequence

from prepcheck.findings import Finding, Mark, Severity, Value
from prepcheck.spec.model import Spec

_UNITS = {"mm2": "mm²", "mm": "mm", "pt": "pt", "ppi": "ppi", "percent": "%"}
"""What the last word of a limit's key says of its unit."""


def unit_of(key: str) -> str:
    """Return the unit that the key of a limit names, such as 'mm' for 'bleed.least_mm'."""
    return _UNITS.get(key.rpartition("_")[2], "")


def finding_of(
    spec: Spec | None,
    check: str,
    code: str,
    severity: Severity,
    message: str,
    fix: str,
    *,
    limit: str = "",
    source: str = "",
    page: int | None = None,
    measured: Value | None = None,
    required: Value | None = None,
    unit: str | None = None,
    subject: str = "",
    parts: Sequence[str] = (),
    to_confirm: Sequence[str] = (),
    marks: Sequence[Mark] = (),
) -> Finding:
    """Return a finding with its code; with `limit`, a dotted key of the spec, what that says of
    source, required value and unit stands in for what is left out.

    Raises ValueError where the code is empty or no source can be told, KeyError for a limit that
    the spec does not know.
    """
    if limit and spec is not None:
        source = source or spec.source_of(limit)
        if required is None:
            required = spec.limit(limit)
    if not code:
        raise ValueError(f"{check}: a finding without a code")
    if not source:
        raise ValueError(f"{check}: finding '{code}' without a source")
    return Finding(
        check,
        severity,
        message,
        fix,
        source,
        page=page,
        measured=measured,
        required=required,
        unit=unit_of(limit) if unit is None else unit,
        where=tuple(marks),
        code=code,
        subject=subject,
        limit=limit,
        parts=tuple(parts),
        to_confirm=tuple(to_confirm),
    )
