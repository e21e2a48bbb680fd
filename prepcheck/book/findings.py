"""Findings through the rounds: which are cured, still there, back again or new."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from prepcheck.book.models import FindingRow, OrderRow, PartRow, SightingRow
from prepcheck.book.stored import from_json, storable, to_json
from prepcheck.errors import BookError

if TYPE_CHECKING:  # what is judged with is slow to import, and reading needs none of it
    from prepcheck.findings import Finding, Result

    _Pairs = list[tuple[FindingRow, Finding]]

Tally = dict[str, list[int]]
"""Numbers of findings that are 'cured', 'still', 'back' and 'new'."""


def note_findings(
    session: Session, order: OrderRow, examination_id: int, result: Result, round_: int
) -> Tally:
    """Record what an examination found against what is known, and return what became of it.

    Parts that were not examined keep their findings: what was not sent again is still open. That
    a part has not come is no finding here: the book knows which have. A new finding keeps the
    number that it has by `numbers_of`, where nothing has that yet.
    """
    tally: Tally = {"cured": [], "still": [], "back": [], "new": []}
    known = _most_used(session, order)
    taken = {known}
    for group in _groups(session, order, result):
        for row, finding in (*group.still, *group.back):
            tally["still" if row.state == "there" else "back"].append(row.number)
            _stands(session, row, finding, round_)
            _sight(session, row, finding, examination_id)
        for row in group.cured:
            row.state, row.cured_round = "cured", round_
            tally["cured"].append(row.number)
        for finding in group.new:
            fit = finding.number > known and finding.number not in taken
            number = finding.number if fit else max(taken) + 1
            taken.add(number)
            row = _new(order.id, group.part_id, number, finding, round_)
            session.add(row)
            session.flush()
            tally["new"].append(row.number)
            _sight(session, row, finding, examination_id)
    return tally


def numbers_of(session: Session, order: OrderRow, result: Result, above: int = 0) -> dict[int, int]:
    """Return the numbers that a result's findings have in the book, or will have, by the numbers
    that they have in the result.

    What is new comes behind all that is known, and behind the number `above`. That a part has not
    come has a number for this once, behind them all.
    """
    groups = list(_groups(session, order, result))
    numbers = {
        finding.number: row.number
        for group in groups
        for row, finding in (*group.still, *group.back)
    }
    new = sorted((finding for group in groups for finding in group.new), key=lambda f: f.number)
    rest = sorted({f.number for f in result.every} - {f.number for f in new} - numbers.keys())
    first = max(_most_used(session, order), above) + 1
    fresh = enumerate([*(finding.number for finding in new), *rest], first)
    return numbers | {old: number for number, old in fresh}


def _most_used(session: Session, order: OrderRow) -> int:
    found = session.scalar(
        select(func.max(FindingRow.number)).where(FindingRow.order_id == order.id)
    )
    return found or 0


@dataclass(frozen=True, slots=True)
class _Group:
    """Findings of a part, or of the order: what is known of each, what is gone, what is new."""

    part_id: int | None
    still: _Pairs
    back: _Pairs
    cured: list[FindingRow]
    new: list[Finding]


def _groups(session: Session, order: OrderRow, result: Result) -> Iterator[_Group]:
    parts = {
        part.name: part.id
        for part in session.scalars(select(PartRow).where(PartRow.order_id == order.id))
    }
    groups: list[tuple[int | None, Sequence[Finding]]] = [(None, result.findings)]
    groups += [
        (parts[storable(part.name)], part.findings) for part in result.parts if part.received
    ]
    known: dict[int | None, list[FindingRow]] = defaultdict(list)
    for row in session.scalars(
        select(FindingRow).where(FindingRow.order_id == order.id).order_by(FindingRow.number)
    ):
        known[row.part_id].append(row)
    last = _latest(session, order.id)
    for part_id, found in groups:
        there = [row for row in known[part_id] if row.state == "there"]
        gone = [row for row in known[part_id] if row.state == "cured"]
        still, left = _paired(there, found, last)
        back, new = _paired(gone, left, last)
        cured = [row for row in there if all(row is not one for one, _ in still)]
        yield _Group(part_id, still, back, cured, new)


def _paired(
    rows: Sequence[FindingRow], found: Sequence[Finding], last: dict[int, str]
) -> tuple[_Pairs, list[Finding]]:
    """Return what is known with what it has become, and what belongs to nothing known."""
    from prepcheck.comparison import fate_of
    from prepcheck.findings import Finding

    earlier = [from_json(Finding, last[row.id]) for row in rows]
    fate = fate_of(earlier, found)
    left = list(zip(earlier, rows, strict=True))
    pairs: _Pairs = []
    for old, new in fate.still:
        index = next(i for i, (one, _) in enumerate(left) if one is old)
        pairs.append((left.pop(index)[1], new))
    return pairs, list(fate.new)


def _latest(session: Session, order_id: int) -> dict[int, str]:
    """Return the latest sighting of each finding of an order, by the finding's id."""
    newest = (
        select(func.max(SightingRow.id))
        .join(FindingRow, FindingRow.id == SightingRow.finding_id)
        .where(FindingRow.order_id == order_id)
        .group_by(SightingRow.finding_id)
    )
    rows = session.execute(
        select(SightingRow.finding_id, SightingRow.data).where(SightingRow.id.in_(newest))
    )
    return dict(rows.all())


def stand_of(finding: Finding) -> str:
    """Return a digest of what a decision is made on: what was found, how grave, how much and in
    how many places; not where to the mm, nor how it is worded.
    """
    said = (
        finding.check, finding.code, finding.subject, finding.severity.value, finding.page,
        finding.measured, finding.required, finding.unit, finding.to_confirm,
        len(finding.where),
    )  # fmt: skip
    return hashlib.sha256(to_json(said).encode()).hexdigest()


def _stands(session: Session, row: FindingRow, finding: Finding, round_: int) -> None:
    row.state, row.last_round, row.cured_round = "there", round_, None
    row.severity, row.page = finding.severity.value, finding.page
    row.message, row.fix = storable(finding.message), storable(finding.fix)
    stand = stand_of(finding)
    if stand != row.stand:  # what was decided was decided of something else
        row.stand, row.decision_id = stand, None


def _new(
    order_id: int, part_id: int | None, number: int, finding: Finding, round_: int
) -> FindingRow:
    return FindingRow(
        order_id=order_id, part_id=part_id, number=number, check=finding.check,
        severity=finding.severity.value, state="there", page=finding.page,
        message=storable(finding.message), fix=storable(finding.fix), stand=stand_of(finding),
        first_round=round_, last_round=round_, cured_round=None, decision_id=None,
    )  # fmt: skip


def _sight(session: Session, row: FindingRow, finding: Finding, examination_id: int) -> None:
    session.add(
        SightingRow(finding_id=row.id, examination_id=examination_id, data=to_json(finding))
    )


def finding_row(session: Session, order: OrderRow, number: int) -> FindingRow:
    """Return an order's finding by its number. Raises BookError."""
    row = session.scalars(
        select(FindingRow).where(FindingRow.order_id == order.id, FindingRow.number == number)
    ).first()
    if row is None:
        raise BookError(
            f"order {order.number}: has no finding {number}; `prepcheck show {order.number}` "
            "lists them"
        )
    return row
