"""Runs every check on a part and holds each to its contract."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from prepcheck.errors import ArtworkError, CrashError, itself_failed
from prepcheck.findings import Finding, Outcome, Severity, Status, Value
from prepcheck.judging.check import Check
from prepcheck.said import Clear, Measured, NotApplicable
from prepcheck.sheets.exam import Exam


@dataclass(frozen=True, slots=True)
class Examined:
    """What all checks said about a part."""

    outcomes: tuple[Outcome, ...]
    findings: tuple[Finding, ...]
    measured: dict[str, Value | tuple[str, ...] | None]


def run_checks(
    exam: Exam,
    checks: Sequence[Check],
    noticed: Callable[[Finding], object] = lambda finding: None,
) -> Examined:
    """Run each check; one that crashes or stays silent is reported as crashed, the rest go on.

    Those that need no plates run first, while plates may still be in the making. Each finding is
    told to `noticed` at once. Raises ArtworkError where a check finds that the file cannot be read
    after all.
    """
    outcomes: list[Outcome] = []
    findings: list[Finding] = []
    declared = [declaration for check in checks for declaration in check.declarations]
    measured: dict[str, Value | tuple[str, ...] | None] = {
        name: None for declaration in declared for name in declaration.measures
    }
    for check in _first_things_first(checks):
        try:
            said = list(check.examine(exam))
        except (ArtworkError, MemoryError):  # damaged, or too large: no fault of the check
            raise
        except Exception as error:  # a defect of ours must not cost the rest of the order
            why = f"{error if isinstance(error, CrashError) else itself_failed(error)}; not judged"
            outcomes += [Outcome(d.identifier, Status.CRASHED, why) for d in check.declarations]
            continue
        own = [
            replace(item, severity=exam.spec.severity.get(item.check, item.severity))
            for item in said
            if isinstance(item, Finding)
        ]
        findings += own
        for finding in own:
            noticed(finding)
        measured.update({item.name: item.value for item in said if isinstance(item, Measured)})
        outcomes += [outcome_of(d.identifier, own, said) for d in check.declarations]
    findings.sort(key=grave_first)
    place = {declaration.identifier: index for index, declaration in enumerate(declared)}
    outcomes.sort(key=lambda outcome: place[outcome.check])
    return Examined(tuple(outcomes), tuple(findings), measured)


def _first_things_first(checks: Sequence[Check]) -> list[Check]:
    """Return checks in the order in which they are run.

    Of those that need plates, the ones that may stop a part run first, and among these type and
    trim before barcodes and bleed: the sooner a place is found, the sooner its close-up is made
    ready, and type and live edges near the trim are at fault most often (common practice, no
    source).
    """

    def may_stop(check: Check) -> bool:
        return any(Severity.STOP in declared.severities for declared in check.declarations)

    early = [check for check in checks if not check.needs_plates]
    late = [check for check in reversed(checks) if check.needs_plates]
    return early + sorted(late, key=may_stop, reverse=True)


def outcome_of(identifier: str, findings: list[Finding], said: Sequence[object]) -> Outcome:
    """Return what a check said in one line: its gravest finding, else why there is none."""
    own = sorted((f for f in findings if f.check == identifier), key=grave_first)
    if own:
        worst = own[0]
        return Outcome(
            identifier,
            Status(worst.severity.value),
            worst.message,
            worst.measured,
            worst.required,
            worst.unit,
        )
    for item in said:
        if isinstance(item, Clear) and item.check == identifier:
            return Outcome(
                identifier, Status.CLEAR, item.why, item.measured, item.required, item.unit
            )
    for item in said:
        if isinstance(item, NotApplicable) and item.check == identifier:
            return Outcome(identifier, Status.NOT_APPLICABLE, item.why)
    return Outcome(identifier, Status.CRASHED, "the check said nothing; not judged")


def grave_first(finding: Finding) -> tuple[int, int, str]:
    """Return the key by which findings stand gravest first."""
    gravity = {Severity.STOP: 0, Severity.QUERY: 1, Severity.NOTE: 2}
    return gravity[finding.severity], finding.page or 0, finding.check
