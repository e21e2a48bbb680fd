"""What a check of the order is: a check that looks at all parts side by side.

Such a check is a module in this package with `DECLARATIONS` and `examine_order(exam)`, which
yields `Finding`, `Clear`, `NotApplicable` and `Missing` values and is held to what holds for a
check of a part: never silent, no I/O, nothing changed. A module may have both, where one identifier
is judged on each part and on the order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from prepcheck.checks._base import Clear, Declaration, NotApplicable
from prepcheck.checks._digest import Digest
from prepcheck.checks._run import grave_first, outcome_of
from prepcheck.findings import Finding, Outcome, PartResult, Severity, Status
from prepcheck.order import Order, OrderPart
from prepcheck.spec.model import Spec


@dataclass(frozen=True, slots=True)
class Missing:
    """A piece the order needs and does not have, by the name people know it by."""

    name: str


OrderSaid = Finding | Clear | NotApplicable | Missing


@dataclass(frozen=True)
class Piece:
    """One examined part; `digest` is None where the file could not be examined."""

    part: OrderPart
    result: PartResult
    spec: Spec | None
    digest: Digest | None

    @property
    def name(self) -> str:
        return self.part.name

    @property
    def side(self) -> str | None:
        return self.part.side

    @property
    def is_label(self) -> bool:
        """A label has a side, or is round and has a hole."""
        return self.side is not None or (
            self.spec is not None
            and self.spec.outline.kind == "disc"
            and self.spec.hole is not None
        )

    def is_a(self, *kinds: str) -> bool:
        """Say whether it is of a kind, by the first word of its spec's name or its parent's."""
        if self.spec is None:
            return False
        names = (self.spec.name, self.spec.extends or "")
        return any(name.partition("-")[0] in kinds for name in names)


@dataclass(frozen=True)
class OrderExam:
    """An order under examination; `pieces` may be a choice of its parts."""

    order: Order
    pieces: tuple[Piece, ...]

    @property
    def labels(self) -> tuple[Piece, ...]:
        return tuple(piece for piece in self.pieces if piece.is_label)

    @property
    def whole(self) -> bool:
        """Whether every part of the order was examined."""
        return len(self.pieces) == len(self.order.part)


@dataclass(frozen=True, slots=True)
class OrderCheck:
    """A registered check of orders."""

    module: str
    declarations: tuple[Declaration, ...]
    examine: Callable[[OrderExam], Iterator[OrderSaid]]


@dataclass(frozen=True, slots=True)
class OrderExamined:
    """What all checks said about an order."""

    outcomes: tuple[Outcome, ...]
    findings: tuple[Finding, ...]
    missing: tuple[str, ...]


def run_order_checks(exam: OrderExam, checks: Iterable[OrderCheck]) -> OrderExamined:
    """Run each check; one that crashes or stays silent is reported as crashed, the rest go on."""
    outcomes: list[Outcome] = []
    findings: list[Finding] = []
    missing: list[str] = []
    severities = _severities(exam)
    for check in checks:
        try:
            said = list(check.examine(exam))
        except Exception as error:  # a defect of ours must not cost the rest of the order
            why = f"prepcheck itself failed here ({type(error).__name__}: {error}); not judged"
            outcomes += [Outcome(d.identifier, Status.CRASHED, why) for d in check.declarations]
            continue
        own = [
            replace(item, severity=severities.get(item.check, item.severity))
            for item in said
            if isinstance(item, Finding)
        ]
        findings += own
        missing += [item.name for item in said if isinstance(item, Missing)]
        outcomes += [outcome_of(d.identifier, own, said) for d in check.declarations]
    findings.sort(key=grave_first)
    return OrderExamined(tuple(outcomes), tuple(findings), tuple(missing))


def _severities(exam: OrderExam) -> dict[str, Severity]:
    """Return what the specs of the parts set; of several that differ, the gravest holds."""
    found: dict[str, Severity] = {}
    for piece in exam.pieces:
        for check, severity in (piece.spec.severity if piece.spec else {}).items():
            before = found.get(check)
            if before is None or severity.weight > before.weight:
                found[check] = severity
    return found
