"""Proves that neither the journal nor the files were altered, and that the tables say the same."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from prepcheck.book import journal
from prepcheck.book.models import (
    ContentRow,
    DecisionRow,
    DeliveryRow,
    ExaminationRow,
    FileRow,
    FindingRow,
    JournalRow,
    LetterRow,
    OrderRow,
    ReleaseRow,
    SignOffRow,
)
from prepcheck.book.records import JournalEntry
from prepcheck.book.store import Store


@dataclass(frozen=True, slots=True)
class Verified:
    """What verifying found.

    `faults` is a line each of what was altered or lost. `head` is the digest of the last entry:
    written down elsewhere, it shows later that no entry at the end has gone. `strays` are files in
    the folder that no step recorded, such as those of a step that was broken off; they harm
    nothing.
    """

    entries: int
    head: str
    files: int
    bytes: int
    strays: int
    faults: tuple[str, ...]


def verify(session: Session, store: Store, *, expect: str | None = None) -> Verified:
    """Read the whole journal and every kept file, and hold the tables against the journal.

    `expect` is a digest that `head` was at an earlier time: it must still stand in the journal.
    """
    entries = [
        journal.entry_of(row) for row in session.scalars(select(JournalRow).order_by(JournalRow.id))
    ]
    faults = journal.faults_of(entries)
    if expect is not None and all(entry.digest != expect for entry in entries):
        faults.append(f"journal: the entry {expect[:16]}… that was there before is gone")
    faults += _table_faults(session, entries)
    known = dict(session.execute(select(ContentRow.digest, ContentRow.bytes)).all())
    named = _names(session)
    for digest, size in sorted(known.items()):
        path = store.path(digest)
        words = f"{named.get(digest, 'an output')}: {path}"
        if not path.is_file():
            faults.append(f"{words}: missing; put it back from a backup")
        elif path.stat().st_size != size or not store.sound(digest):
            faults.append(f"{words}: altered; put it back from a backup")
    strays = sum(digest not in known for digest in store.digests()) + len(store.left_aside())
    head = entries[-1].digest if entries else journal.BEGINNING
    return Verified(len(entries), head, len(known), sum(known.values()), strays, tuple(faults))


def _names(session: Session) -> dict[str, str]:
    """Return for each received file the order and the name it came under."""
    rows = session.execute(
        select(FileRow.digest, FileRow.name, OrderRow.number, DeliveryRow.round)
        .join(DeliveryRow, DeliveryRow.id == FileRow.delivery_id)
        .outerjoin(OrderRow, OrderRow.id == DeliveryRow.order_id)
    )
    return {
        digest: f"{name} (put aside)"
        if number is None
        else f"{name} (order {number}, round {round_})"
        for digest, name, number, round_ in rows
    }


def _table_faults(session: Session, entries: list[JournalEntry]) -> Iterator[str]:
    """Yield where a table says something else than the journal."""
    told = _Told(entries)
    yield from _against("delivery", told.deliveries, _deliveries(session))
    yield from _against("decision", told.decisions, _decisions(session))
    for kind, act, rows in (
        ("examination", "examined", _examinations(session)),
        ("letter", "letter", _letters(session)),
        ("sign-off", "signed off", _signoffs(session)),
        ("release", "released", _releases(session)),
    ):
        yield from _against(kind, told.of(act), rows)


def _against(kind: str, told: list[object], rows: list[object]) -> Iterator[str]:
    left = list(rows)
    for one in told:
        if one in left:
            left.remove(one)
        else:
            yield f"{kind}: what the journal tells of is not in its table: {one}"
    for one in left:
        yield f"{kind}: stands in its table, but the journal does not tell of it: {one}"


class _Told:
    """What the journal tells, by kind, in the form the tables are read in."""

    def __init__(self, entries: list[JournalEntry]) -> None:
        self.entries = [(entry, json.loads(entry.data)) for entry in entries]

    @property
    def deliveries(self) -> list[object]:
        return [
            (data["delivery"], tuple(sorted(tuple(file) for file in data["files"])))
            for entry, data in self.entries
            if entry.act in ("received", "put aside")
        ]

    @property
    def decisions(self) -> list[object]:
        return [
            (entry.order, number, entry.act, data["why"], entry.who, stand)
            for entry, data in self.entries
            if entry.act in ("accept", "refuse", "ask")
            for number, _, stand in data["findings"]
        ]

    def of(self, act: str) -> list[object]:
        keys = {
            "examined": ("round", "turn", "verdict", "result", "report", "proof"),
            "letter": ("round", "text"),
            "signed off": ("round", "role", "choice", "remarks", "proof"),
            "released": ("revision", "round", "manifest", "proof"),
        }[act]
        return [
            (entry.order, *(data[key] for key in keys))
            for entry, data in self.entries
            if entry.act == act
        ]


def _deliveries(session: Session) -> list[object]:
    files: dict[int, list[tuple[str, str]]] = {
        number: [] for number in session.scalars(select(DeliveryRow.id).order_by(DeliveryRow.id))
    }
    for number, name, digest in session.execute(
        select(FileRow.delivery_id, FileRow.name, FileRow.digest)
    ):
        files[number].append((name, digest))
    return [(number, tuple(sorted(own))) for number, own in files.items()]


def _decisions(session: Session) -> list[object]:
    rows = session.execute(
        select(
            OrderRow.number, FindingRow.number, DecisionRow.kind, DecisionRow.why, DecisionRow.by,
            DecisionRow.stand,
        )
        .join(FindingRow, FindingRow.id == DecisionRow.finding_id)
        .join(OrderRow, OrderRow.id == FindingRow.order_id)
        .order_by(DecisionRow.id)
    )  # fmt: skip
    return [tuple(row) for row in rows]


def _examinations(session: Session) -> list[object]:
    row = ExaminationRow
    query = select(
        OrderRow.number, row.round, row.turn, row.verdict, row.result, row.report, row.proof
    )
    found = session.execute(query.join(OrderRow, OrderRow.id == row.order_id).order_by(row.id))
    return [tuple(one) for one in found]


def _letters(session: Session) -> list[object]:
    row = LetterRow
    query = select(OrderRow.number, row.round, row.digest)
    found = session.execute(query.join(OrderRow, OrderRow.id == row.order_id).order_by(row.id))
    return [tuple(one) for one in found]


def _signoffs(session: Session) -> list[object]:
    row = SignOffRow
    query = select(OrderRow.number, row.round, row.role, row.choice, row.remarks, row.proof)
    found = session.execute(query.join(OrderRow, OrderRow.id == row.order_id).order_by(row.id))
    return [tuple(one) for one in found]


def _releases(session: Session) -> list[object]:
    row = ReleaseRow
    query = select(OrderRow.number, row.revision, row.round, row.manifest, row.proof)
    found = session.execute(query.join(OrderRow, OrderRow.id == row.order_id).order_by(row.id))
    return [tuple(one) for one in found]
