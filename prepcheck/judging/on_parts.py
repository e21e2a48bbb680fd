"""Runs every check on a part and holds each to its contract."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from prepcheck.errors import ArtworkError, BudgetError, CrashError, itself_failed
from prepcheck.findings import Finding, Outcome, Severity, Status, Value
from prepcheck.frozen import dataclass
from prepcheck.judging.check import Check
from prepcheck.said import Clear, Declaration, Measured, NotApplicable
from prepcheck.sheets.ahead import look_ahead
from prepcheck.sheets.exam import Exam


@dataclass(frozen=True, slots=True)
class SaidOfPart:
    """What all checks said about a part."""

    outcomes: tuple[Outcome, ...]
    findings: tuple[Finding, ...]
    measured: dict[str, Value | tuple[str, ...] | None]


def run_checks(
    exam: Exam,
    checks: Sequence[Check],
    noticed: Callable[[Finding], object] = lambda finding: None,
) -> SaidOfPart:
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
    for check in _in_turn(exam, checks):
        try:
            said = list(check.examine(exam))
        except (ArtworkError, MemoryError):  # damaged, or too large: no fault of the check
            raise
        except Exception as error:  # a defect of ours must not cost the rest of the order
            why = f"{error if isinstance(error, CrashError) else itself_failed(error)}; not judged"
            outcomes += [crashed(d, why) for d in check.declarations]
            continue
        own = [
            replace(item, severity=exam.spec.severity.get(item.check, item.severity))
            for item in said
            if isinstance(item, Finding)
        ]
        findings += own
        for finding in own:
            noticed(finding)
        measured.update(_reduced(item for item in said if isinstance(item, Measured)))
        outcomes += [outcome_of(d, own, said) for d in check.declarations]
    findings.sort(key=grave_first)
    place = {declaration.identifier: index for index, declaration in enumerate(declared)}
    outcomes.sort(key=lambda outcome: place[outcome.check])
    return SaidOfPart(tuple(outcomes), tuple(findings), measured)


def _in_turn(exam: Exam, checks: Sequence[Check]) -> Iterator[Check]:
    """Yield the checks that need no plates; then, after what else needs none, the others.

    Those that need plates alone run while the view is made of them. Of the others, the ones that
    may stop a part run first, and among these type and trim before bleed: the sooner a place is
    found, the sooner its close-up is made ready, and type and live edges near the trim are at fault
    most often (common practice, no source). Barcodes come last of all: they are looked for
    meanwhile, once the page's look has been made.
    """

    def turn(check: Check) -> tuple[bool, bool]:
        stops = any(Severity.STOP in declared.severities for declared in check.declarations)
        return check.declarations[0].identifier.startswith("barcode."), not stops

    yield from (check for check in checks if not check.needs_plates)
    painted = [check for check in checks if check.needs_plates]
    if painted:
        _foresee(exam)
    yield from (check for check in painted if not check.needs_view)
    late = [check for check in reversed(painted) if check.needs_view]
    yield from sorted(late, key=turn)


def _foresee(exam: Exam) -> None:
    try:
        look_ahead(exam)
    except (BudgetError, MemoryError):
        raise
    except Exception:  # each check that asks for it says so
        return


def crashed(declared: Declaration, why: str) -> Outcome:
    """Return what is told of a check that failed."""
    return Outcome(declared.identifier, Status.CRASHED, why, title=declared.title)


def outcome_of(declared: Declaration, findings: list[Finding], said: Sequence[object]) -> Outcome:
    """Return what a check said in one line: its gravest finding, else why there is none."""
    return replace(_outcome(declared.identifier, findings, said), title=declared.title)


def _outcome(identifier: str, findings: list[Finding], said: Sequence[object]) -> Outcome:
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
    clear = [item for item in said if isinstance(item, Clear) and item.check == identifier]
    if clear:
        shown = _nearest_its_limit(clear)
        return Outcome(
            identifier, Status.CLEAR, shown.why, shown.measured, shown.required, shown.unit
        )
    idle = [item for item in said if isinstance(item, NotApplicable) and item.check == identifier]
    if idle:
        first = next((item for item in idle if item.untold), idle[0])
        return Outcome(identifier, Status.NOT_APPLICABLE, first.why, untold=first.untold)
    return Outcome(identifier, Status.CRASHED, "the check said nothing; not judged")


def _nearest_its_limit(clear: Sequence[Clear]) -> Clear:
    """Return which of several clear pages or things is shown: the one with least to spare.

    A limit that most of them lie above is a lower one, else it is an upper one. What was measured
    in words, or against words, has no order; then the first is shown.
    """
    spare: list[tuple[float, Clear]] = []
    for item in clear:
        if not isinstance(item.measured, int | float) or not isinstance(item.required, int | float):
            return clear[0]
        spare.append((item.measured - item.required, item))
    least = sum(room for room, _ in spare) >= 0
    return (min if least else max)(spare, key=lambda pair: pair[0])[1]


def _reduced(said: Iterable[Measured]) -> dict[str, Value | tuple[str, ...] | None]:
    """Return what is kept of each measure; a page without a number does not count."""
    kept: dict[str, Value | tuple[str, ...] | None] = {}
    for item in said:
        before = kept.get(item.name)
        if isinstance(before, int | float) and item.keep != "last":
            if isinstance(item.value, int | float):
                kept[item.name] = (min if item.keep == "least" else max)(before, item.value)
        else:
            kept[item.name] = item.value
    return kept


def grave_first(finding: Finding) -> tuple[int, int, str]:
    """Return the key by which findings stand gravest first."""
    gravity = {Severity.STOP: 0, Severity.QUERY: 1, Severity.NOTE: 2}
    return gravity[finding.severity], finding.page or 0, finding.check
