"""Examinations: what an order's files are now, and what looking at them said."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from prepcheck.book import journal
from prepcheck.book.deliveries import know
from prepcheck.book.findings import Tally, note_findings
from prepcheck.book.models import (
    DeliveryRow,
    ExaminationRow,
    ExaminedRow,
    FileRow,
    OrderRow,
    PartRow,
    PlacementRow,
)
from prepcheck.book.standing import files_now, settle
from prepcheck.book.store import Kept
from prepcheck.book.stored import storable
from prepcheck.book.when import stamp

if TYPE_CHECKING:
    from prepcheck.findings import Result


@dataclass(frozen=True, slots=True)
class PartFile:
    """What a part's file was taken to be: its digest and the page of it (from 1)."""

    part: str
    digest: str
    page: int | None = None


@dataclass(frozen=True, slots=True)
class ExaminedOrder:
    """An order's files looked at: what was said, and what was written of it.

    `files` are those that were looked at; `specs` maps a part's name to the kept TOML of the spec
    it was judged by; `result`, `report` and `proof` are kept files.
    """

    round: int
    files: frozenset[PartFile]
    said: Result
    result: Kept
    report: Kept
    proof: Kept | None
    specs: tuple[tuple[str, Kept], ...] = ()


def part_files(session: Session, order_id: int) -> frozenset[PartFile]:
    """Return what the files of an order's parts are now."""
    placed = files_now(session, order_id)
    if not placed:
        return frozenset()
    rows = session.execute(
        select(PartRow.name, FileRow.digest, PlacementRow.page)
        .join(PlacementRow, PlacementRow.part_id == PartRow.id)
        .join(FileRow, FileRow.id == PlacementRow.file_id)
        .where(PlacementRow.id.in_([row.id for row in placed.values()]), PartRow.dropped.is_(False))
    )
    return frozenset(PartFile(name, digest, page) for name, digest, page in rows)


def record(
    session: Session, order: OrderRow, looked: ExaminedOrder, at: datetime, who: str
) -> Tally | None:
    """Record an examination and return what became of findings.

    Returns None, and records nothing, where it is of no use any more: the order's files have
    changed meanwhile, or have been examined by another.
    """
    waiting = _waiting(session, order)
    current = order.round == looked.round and part_files(session, order.id) == looked.files
    if not waiting or not current:
        return None
    kept = [looked.result, looked.report, *(kept for _, kept in looked.specs)]
    know(session, kept if looked.proof is None else [*kept, looked.proof], at)
    turn = session.scalar(
        select(func.count())
        .select_from(ExaminationRow)
        .where(ExaminationRow.order_id == order.id, ExaminationRow.round == order.round)
    )
    said = looked.said
    row = ExaminationRow(
        order_id=order.id, round=order.round, turn=(turn or 0) + 1, at=stamp(at),
        version=said.version, verdict=said.verdict.value, crashed=said.crashed,
        result=looked.result.digest, report=looked.report.digest,
        proof=None if looked.proof is None else looked.proof.digest,
    )  # fmt: skip
    session.add(row)
    session.flush()
    _record_parts(session, order, row, looked)
    tally = note_findings(session, order, row.id, said, order.round)
    for delivery in waiting:
        delivery.state = "examined"
    journal.write(
        session, at, who, "examined", order.number,
        {
            "round": row.round, "turn": row.turn, "verdict": row.verdict, "version": row.version,
            "result": row.result, "report": row.report, "proof": row.proof,
            "files": sorted([f.part, f.digest, f.page or 0] for f in looked.files),
            "findings": tally,
        },
    )  # fmt: skip
    settle(session, order, at)
    return tally


def nothing_to_examine(session: Session, order: OrderRow, at: datetime, who: str) -> None:
    """Record that of an order's deliveries no file was taken as a part."""
    waiting = _waiting(session, order)
    if waiting and not part_files(session, order.id):
        for delivery in waiting:
            delivery.state = "examined"
        journal.write(session, at, who, "nothing to examine", order.number, {"round": order.round})
        settle(session, order, at)


def _waiting(session: Session, order: OrderRow) -> list[DeliveryRow]:
    return list(
        session.scalars(
            select(DeliveryRow).where(
                DeliveryRow.order_id == order.id, DeliveryRow.state == "placed"
            )
        )
    )


def _record_parts(
    session: Session, order: OrderRow, row: ExaminationRow, looked: ExaminedOrder
) -> None:
    parts = {
        part.name: part
        for part in session.scalars(select(PartRow).where(PartRow.order_id == order.id))
    }
    files = {storable(file.part): file for file in looked.files}
    specs = {storable(name): kept.digest for name, kept in looked.specs}
    for result in looked.said.parts:
        name = storable(result.name)
        if name not in files:
            continue
        parts[name].verdict = result.verdict.value
        session.add(
            ExaminedRow(
                examination_id=row.id, part_id=parts[name].id, digest=files[name].digest,
                page=files[name].page, spec=result.spec, spec_digest=specs.get(name),
                verdict=result.verdict.value, crashed=result.crashed,
            )
        )  # fmt: skip
