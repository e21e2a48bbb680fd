"""The report for other programs: JSON, schema `prepcheck-report/1`.

Lengths are in mm. A place `{x, y, w, h}` is the lower left corner and the size of an upright box
in the piece's frame: origin at the centre of the trimmed piece, x right, y up. Floats have three
decimals; null stands where there was nothing to measure. The same result gives the same bytes.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from prepcheck.findings import Finding, Mark, Outcome, PartResult, Result
from prepcheck.numbering import with_numbers

SCHEMA = "prepcheck-report/1"
DECIMALS = 3


def schema_text() -> str:
    """Return the JSON Schema (draft 2020-12) of the report, ending in a line feed."""
    return Path(__file__).with_name("report-schema.json").read_text("utf-8")


def report_text(result: Result) -> str:
    """Return the report as JSON text, ending in a line feed."""
    result = with_numbers(result)
    report: dict[str, Any] = {
        "schema": SCHEMA,
        "version": result.version,
        "verdict": result.verdict.value,
        "order": None if result.order is None else asdict(result.order),
        "parts": [_part(part, result.findings) for part in result.parts],
    }
    # What was checked on the order as a whole; a part lists the numbers of those that name it.
    if result.order is not None or result.outcomes:
        report["checks"] = [_outcome(outcome) for outcome in result.outcomes]
        report["findings"] = [finding_table(finding) for finding in result.findings]
    if result.missing:
        report["missing"] = list(result.missing)
    if result.spare:
        report["spare"] = list(result.spare)
    return json.dumps(rounded(report), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def _part(part: PartResult, of_order: Sequence[Finding]) -> dict[str, Any]:
    # Said only where it is not the usual.
    more: dict[str, Any] = {} if part.received else {"received": False}
    if part.kept_from:
        more["kept_from"] = part.kept_from
    return {
        "name": part.name,
        "side": part.side,
        "file": part.file,
        "sha256": part.sha256,
        "bytes": part.bytes,
        "spec": part.spec,
        "recognised_by": part.recognised_by,
        "verdict": part.verdict.value,
        "pages": part.pages,
        "trim_mm": part.trim_mm,
        "trim_found_by": part.trim_found_by,
        "measured": dict(sorted(part.measured.items())),
        "checks": [_outcome(outcome) for outcome in part.outcomes],
        "findings": [finding_table(finding) for finding in part.findings],
        "order_findings": [
            index for index, finding in enumerate(of_order) if part.name in finding.parts
        ],
        **more,
    }


def _outcome(outcome: Outcome) -> dict[str, Any]:
    # Said only where it is so.
    more = {"untold": True} if outcome.untold else {}
    return {
        "check": outcome.check,
        "title": outcome.title,
        "outcome": outcome.status.value,
        "measured": outcome.measured,
        "required": outcome.required,
        "unit": outcome.unit,
        "why": outcome.why,
        **more,
    }


def finding_table(finding: Finding) -> dict[str, Any]:
    """Return a finding as the report has it."""
    return {
        "check": finding.check,
        "severity": finding.severity.value,
        "page": finding.page,
        "message": finding.message,
        "measured": finding.measured,
        "required": finding.required,
        "unit": finding.unit,
        "where": [_place(mark) for mark in finding.where],
        "fix": finding.fix,
        "source": finding.source,
        "code": finding.code,
        "subject": finding.subject,
        "limit": finding.limit,
        "parts": finding.parts,
        "to_confirm": finding.to_confirm,
        "number": finding.number,
    }


def _place(mark: Mark) -> dict[str, Any]:
    box = mark.box
    place: dict[str, Any] = {"x": box.x0, "y": box.y0, "w": box.width, "h": box.height}
    # Only places of an order's finding are not on the part and page they are listed under.
    if mark.part:
        place["part"] = mark.part
    if mark.page is not None:
        place["page"] = mark.page
    if mark.subject:
        place["subject"] = mark.subject
    return place


def rounded(value: Any) -> Any:
    """Return plain data with its floats to three decimals; no number that JSON cannot hold."""
    match value:
        case bool() | int() | str() | None:
            return value
        case float():
            # Adding 0.0 turns a negative zero into zero.
            return round(value, DECIMALS) + 0.0 if math.isfinite(value) else None
        case dict():
            return {str(key): rounded(item) for key, item in value.items()}
        case list() | tuple():
            return [rounded(item) for item in value]
    raise TypeError(f"{type(value).__name__} has no place in a report")
