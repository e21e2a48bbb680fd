"""The numbers of the whole result in what was drawn while each part was examined alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from prepcheck.findings import PartResult, Result
from prepcheck.proof.model import InsetPlan, Printed, ProofPage, ProofPart


def numbered_parts(parts: Sequence[ProofPart], result: Result) -> tuple[ProofPart, ...]:
    """Return parts whose findings, close-ups and ink maps have the numbers of the whole result.

    Close-ups and ink maps come with the finding's place on its part, from 1; `result` holds the
    same parts in the same order.
    """
    if len(parts) != len(result.parts):
        return tuple(parts)
    return tuple(_part(part, said) for part, said in zip(parts, result.parts, strict=True))


def _part(part: ProofPart, said: PartResult) -> ProofPart:
    numbers = [finding.number for finding in said.findings]
    return replace(part, result=said, pages=tuple(_page(page, numbers) for page in part.pages))


def _page(page: ProofPage, numbers: Sequence[int]) -> ProofPage:
    insets = tuple(replace(inset, plan=_plan(inset.plan, numbers)) for inset in page.insets)
    return replace(page, insets=insets, printed=_printed(page.printed, numbers))


def _plan(plan: InsetPlan, numbers: Sequence[int]) -> InsetPlan:
    also = tuple(numbers[at - 1] for at in plan.also)
    return replace(plan, number=numbers[plan.number - 1], also=also)


def _printed(printed: Printed | None, numbers: Sequence[int]) -> Printed | None:
    if printed is None:
        return None
    found = tuple(numbers[at - 1] for at in printed.ink_map.numbers)
    return replace(printed, ink_map=replace(printed.ink_map, numbers=found))
