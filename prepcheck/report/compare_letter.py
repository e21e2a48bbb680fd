"""The letter about a comparison: what was put right, what is still open, what is new."""

from __future__ import annotations

from prepcheck.comparison import Comparison
from prepcheck.findings import Severity
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
    return letter_text(comparison.standing, thanks=cured)
