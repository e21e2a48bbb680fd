"""What is told on each page of a part: its own findings and those of its order that concern it."""

from __future__ import annotations

from dataclasses import replace

from prepcheck.findings import Finding
from prepcheck.frozen import dataclass
from prepcheck.proof.close_up_plan import COARSE, numbered, page_of, planned
from prepcheck.proof.model import Inset, ProofPage, ProofPart

Numbered = tuple[int, Finding]


@dataclass(frozen=True, slots=True)
class PageFindings:
    """The findings listed on a page, and those of the part listed on an earlier one that have
    places here too; each with its places on this page only."""

    listed: tuple[Numbered, ...]
    again: tuple[Numbered, ...] = ()

    @property
    def every(self) -> tuple[Numbered, ...]:
        return (*self.listed, *self.again)


def told_on(part: ProofPart, page: ProofPage) -> PageFindings:
    """Return what is told on a page of art; what has no page of its own is on the first."""
    known = {p.number for p in part.pages}
    first = part.pages[0].number
    listed: list[Numbered] = []
    again: list[Numbered] = []
    for number, finding in numbered(part.result):
        where = page_of(finding) if page_of(finding) in known else first
        if where == page.number:
            listed.append((number, finding))
    for number, finding in of_order(part):
        pages = sorted({m.page for m in finding.where if m.page in known and m.page is not None})
        here = tuple(m for m in finding.where if (m.page or first) == page.number)
        shown = replace(finding, where=here, page=page.number if pages else None)
        if page.number == (pages[0] if pages else first):
            listed.append((number, shown))
        elif here:
            again.append((number, shown))
    return PageFindings(tuple(sorted(listed, key=_at)), tuple(sorted(again, key=_at)))


def of_order(part: ProofPart) -> tuple[Numbered, ...]:
    """Return the findings of the order that name a part, with their places on it alone."""
    return tuple(
        (finding.number, replace(finding, where=finding.places_on(part.result.name)))
        for finding in part.result.of_order
    )


def insets_on(part: ProofPart, page: ProofPage) -> tuple[Inset, ...]:
    """Return the insets of a page: those made with it, and places that the order's findings name.

    Those are known only once all parts have been examined, and are cut from the page's picture.
    """
    plans = planned(of_order(part), part.result, COARSE)
    own = [Inset(replace(plan, sharp=False), page.picture) for plan in plans
           if plan.page == page.number]  # fmt: skip
    return (*page.insets, *own)


def _at(numbered: Numbered) -> int:
    return numbered[0]


def numbered_of(part: ProofPart) -> tuple[Numbered, ...]:
    """Return all findings that count in a part's verdict, with their numbers."""
    return (*numbered(part.result), *of_order(part))
