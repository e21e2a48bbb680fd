"""The journal: who did what when, each entry holding the digest of the one before."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from prepcheck.book.models import JournalRow
from prepcheck.book.records import JournalEntry
from prepcheck.book.stored import storable
from prepcheck.book.when import moment, stamp

BEGINNING = "0" * 64
"""What stands for the entry before the first."""


def write(
    session: Session,
    at: datetime,
    who: str,
    act: str,
    order: str | None,
    data: Mapping[str, object],
) -> None:
    """Add an entry, within the step that it tells of."""
    last = session.scalars(select(JournalRow).order_by(JournalRow.id.desc()).limit(1)).first()
    number = 1 if last is None else last.id + 1
    before = BEGINNING if last is None else last.digest
    text = json.dumps(data, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    row = JournalRow(
        id=number, at=stamp(at), who=storable(who), act=act, order_number=order, data=text,
        before=before, digest="",
    )  # fmt: skip
    row.digest = digest_of(entry_of(row))
    session.add(row)
    session.flush()


def digest_of(entry: JournalEntry) -> str:
    """Return the SHA-256 of an entry: of its fields as a JSON list, in ASCII, without spaces."""
    fields = [
        entry.number, stamp(entry.at), entry.who, entry.act, entry.order, entry.data, entry.before,
    ]  # fmt: skip
    text = json.dumps(fields, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def entry_of(row: JournalRow) -> JournalEntry:
    """Return a row as a record."""
    return JournalEntry(
        row.id, moment(row.at), row.who, row.act, row.order_number, row.data, row.before, row.digest
    )


def faults_of(entries: Iterable[JournalEntry]) -> list[str]:
    """Return, a line each, where a journal was altered; entries must come by number."""
    faults = []
    number, before = 0, BEGINNING
    for entry in entries:
        number += 1
        if entry.number != number:
            gone = f"entry {number}" if entry.number == number + 1 else (
                f"entries {number} to {entry.number - 1}"
            )  # fmt: skip
            faults.append(f"journal: {gone} gone")
            number, before = entry.number, entry.before
        if entry.before != before:
            faults.append(f"journal: entry {number} does not follow from the one before it")
        if digest_of(entry) != entry.digest:
            faults.append(f"journal: entry {number} ({entry.act}) was altered")
        before = entry.digest
    return faults
