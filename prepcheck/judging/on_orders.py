"""Runs every check on an order and holds each to its contract."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from prepcheck.errors import itself_failed
from prepcheck.findings import Finding, Outcome, PartResult, Severity, Status
from prepcheck.judging.check import OrderCheck
from prepcheck.judging.on_parts import crashed, grave_first, outcome_of
from prepcheck.said import Explained, Missing, OrderSaid
from prepcheck.sheets.order_exam import OrderExam
from prepcheck.sheets.piece import Piece


@dataclass(frozen=True, slots=True)
class OrderExamined:
    """What all checks said about an order."""

    outcomes: tuple[Outcome, ...]
    findings: tuple[Finding, ...]
    missing: tuple[str, ...]
    explained: tuple[Explained, ...] = ()


def less_explained(part: PartResult, explained: Iterable[Explained]) -> PartResult:
    """Return a part without what a finding of its order explains: one mistake is told once."""
    own = [one for one in explained if one.part == part.name]
    gone = {
        id(finding): one.by
        for finding in part.findings
        for one in own
        if finding.check == one.check and one.code in ("", finding.code)
    }
    if not gone:
        return part
    left = tuple(finding for finding in part.findings if id(finding) not in gone)
    by = {f.check: gone[id(f)] for f in part.findings if id(f) in gone}
    for finding in left:
        by.pop(finding.check, None)
    outcomes = (
        Outcome(
            o.check,
            Status.NOT_APPLICABLE,
            f"told with the order: {by[o.check]}",
            title=o.title,
        )
        if o.check in by
        else o
        for o in part.outcomes
    )
    return replace(part, findings=left, outcomes=tuple(outcomes))


def with_known(found: Sequence[Finding], known: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return what was found and what was known before, the gravest first; what was found again is
    not told twice."""
    again = {(f.check, f.code, name) for f in found for name in f.parts}
    left = [f for f in known if not any((f.check, f.code, name) in again for name in f.parts)]
    return tuple(sorted((*found, *left), key=grave_first))


def run_order_checks(exam: OrderExam, checks: Iterable[OrderCheck]) -> OrderExamined:
    """Run each check; one that crashes or stays silent is reported as crashed, the rest go on."""
    calls = [(check, partial(check.examine, exam)) for check in checks]
    return _run(calls, _severities(exam.pieces))


def run_loose_checks(pieces: Sequence[Piece], checks: Iterable[OrderCheck]) -> OrderExamined:
    """Run what checks ask of files that came together without an order; nothing of one alone."""
    calls = [
        (check, partial(check.examine_loose, pieces))
        for check in checks
        if check.examine_loose is not None and len(pieces) > 1
    ]
    return _run(calls, _severities(pieces))


def _run(
    calls: Iterable[tuple[OrderCheck, Callable[[], Iterator[OrderSaid]]]],
    severities: Mapping[str, Severity],
) -> OrderExamined:
    outcomes: list[Outcome] = []
    findings: list[Finding] = []
    missing: list[str] = []
    explained: list[Explained] = []
    for check, call in calls:
        try:
            said = list(call())
        except Exception as error:  # a defect of ours must not cost the rest of the order
            why = f"{itself_failed(error)}; not judged"
            outcomes += [crashed(d, why) for d in check.declarations]
            continue
        own = [
            replace(item, severity=severities.get(item.check, item.severity))
            for item in said
            if isinstance(item, Finding)
        ]
        findings += own
        missing += [item.name for item in said if isinstance(item, Missing)]
        explained += [item for item in said if isinstance(item, Explained)]
        outcomes += [outcome_of(d, own, said) for d in check.declarations]
    findings.sort(key=grave_first)
    return OrderExamined(tuple(outcomes), tuple(findings), tuple(missing), tuple(explained))


def _severities(pieces: Iterable[Piece]) -> dict[str, Severity]:
    """Return what the specs of the parts set; of several that differ, the gravest holds."""
    found: dict[str, Severity] = {}
    for piece in pieces:
        for check, severity in (piece.spec.severity if piece.spec else {}).items():
            before = found.get(check)
            if before is None or severity.weight > before.weight:
                found[check] = severity
    return found
