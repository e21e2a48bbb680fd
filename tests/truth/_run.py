"""Having prepcheck judge a file, in this process."""

from __future__ import annotations

from pathlib import Path

from prepcheck.findings import Finding, Severity
from prepcheck.run.answer import Task
from prepcheck.run.part import examine_part
from prepcheck.spec.load import load_spec


def said(path: Path, check: str, spec: str = "label-12in") -> list[Finding]:
    """Return what a check found in a file that is judged by a shipped spec."""
    answer = examine_part(Task("part", path.name, path, (load_spec(spec),), "named"))
    assert answer.proof is not None, answer
    return [finding for finding in answer.proof.result.findings if finding.check == check]


def worst(path: Path, check: str, spec: str = "label-12in") -> Severity | None:
    """Return the worst severity a check gave, None where it found nothing."""
    found = {finding.severity for finding in said(path, check, spec)}
    order = (Severity.STOP, Severity.QUERY, Severity.NOTE)
    return next((severity for severity in order if severity in found), None)
