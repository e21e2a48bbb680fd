"""How a check says what it found: required, unit and source follow from the limit's key."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypedDict, Unpack

from prepcheck.findings import Finding, Mark, Severity, Value
from prepcheck.spec.model import Spec

_UNITS = {"mm2": "mm²", "mm": "mm", "pt": "pt", "ppi": "ppi", "percent": "%"}
"""What the last word of a limit's key says of its unit."""


def unit_of(key: str) -> str:
    """Return the unit that the key of a limit names, such as 'mm' for 'bleed.least_mm'."""
    return _UNITS.get(key.rpartition("_")[2], "")


class Told(TypedDict, total=False):
    """What a finding may say beyond its kind and wording.

    With `limit`, a dotted key of the spec, source, required value and unit follow from it; what
    is given goes before. `subject` is the thing it is about, where a page may have several.
    `parts` are those that a finding of an order concerns, `to_confirm` texts for the client to
    confirm.
    """

    limit: str
    source: str
    page: int | None
    measured: Value | None
    required: Value | None
    unit: str | None
    subject: str
    parts: Sequence[str]
    to_confirm: Sequence[str]
    marks: Sequence[Mark]


def finding_of(
    spec: Spec | None,
    check: str,
    code: str,
    severity: Severity,
    message: str,
    fix: str,
    **told: Unpack[Told],
) -> Finding:
    """Return a finding; `code` names the kind of fault within its check.

    Raises ValueError where the code is empty or no source can be told, KeyError for a limit that
    the spec does not know.
    """
    limit, source = told.get("limit", ""), told.get("source", "")
    required, unit = told.get("required"), told.get("unit")
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
        page=told.get("page"),
        measured=told.get("measured"),
        required=required,
        unit=unit_of(limit) if unit is None else unit,
        where=tuple(told.get("marks", ())),
        code=code,
        subject=told.get("subject", ""),
        limit=limit,
        parts=tuple(told.get("parts", ())),
        to_confirm=tuple(told.get("to_confirm", ())),
    )
