"""What is asked about files that may be any of several parts of an order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from prepcheck.findings import Finding, Severity
from prepcheck.intake.match import UndecidedFile
from prepcheck.order import Order
from prepcheck.run.awaited import MISSING_PART
from prepcheck.words import listed


def asking(order: Order, questions: Sequence[UndecidedFile]) -> Iterator[Finding]:
    """Yield what is asked about files that may be any of several parts, once for all files that
    may be the same ones."""
    alike: dict[tuple[str, ...], list[UndecidedFile]] = {}
    for question in questions:
        parts = tuple(part.name for part in order.part if part.name in question.parts)
        alike.setdefault(parts, []).append(question)
    for parts, own in alike.items():
        files = [one.named for one in own]
        each = " each" if len(own) > 1 and len(parts) > 1 else ""
        them = "it" if len(own) == 1 else "them"
        yield Finding(
            MISSING_PART,
            Severity.QUERY,
            f"{listed(files)} may{each} be {listed(parts, 'or')}, and nothing in {them} tells "
            "which.",
            f"Please tell us what {listed(files)} {'is' if len(own) == 1 else 'are'}.",
            "the order",
            code="which-file",
            subject=listed(files),
            parts=parts,
        )
