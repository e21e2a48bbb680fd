"""The letter about a comparison: what was put right, what is still open, what is new."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from prepcheck.comparison import Comparison
from prepcheck.findings import PartResult, Result, Severity
from prepcheck.numbering import numbered
from prepcheck.report.letter import letter_text


def comparison_letter(comparison: Comparison) -> str:
    """Return the message: thanks for what is cured, then all that keeps the art from plates."""
    cured = [
        f"{part.name}: {finding.message}"
        for part in comparison.parts
        for finding in part.fate.cured
        if finding.severity is not Severity.NOTE
    ]
    cured += [f.message for f in comparison.order.cured if f.severity is not Severity.NOTE]
    return letter_text(_open(comparison), thanks=cured)


def _open(comparison: Comparison) -> Result:
    """Return the newer result with what is still open on files that were not sent again."""
    new = comparison.new
    parts = (*new.parts, *_waiting(comparison))
    order = new.order if new.order is not None else comparison.old.order
    # What stands from the earlier check had numbers of its own.
    return numbered(
        replace(new, order=order, parts=parts, findings=(*new.findings, *comparison.order.open))
    )


def _waiting(comparison: Comparison) -> Iterator[PartResult]:
    for part in comparison.parts:
        if part.after is None and part.before is not None:
            yield replace(part.before, findings=part.fate.open)
