"""The board and an order's whole story, read by plain SQL that both databases understand.

Whoever asks brings `Rows`, so that commands which only read need no more than SQLite's own module
(`glance`). Nothing here writes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import Any

from prepcheck.book.records import (
    Decide,
    Decision,
    Delivery,
    Examination,
    FileLine,
    FindingLine,
    JournalEntry,
    Letter,
    OrderLine,
    PartLine,
    Question,
    Release,
    Role,
    SignOff,
    Story,
    Waiting,
)
from prepcheck.book.stored import storable
from prepcheck.book.when import moment
from prepcheck.errors import BookError

MARK = "%s"
"""Stands in a statement for a value."""
Rows = Callable[[str, Sequence[Any]], Sequence[Sequence[Any]]]
"""Answers a statement, each `%s` filled in, with rows."""

_LINE = (
    "number, client, title, catalogue, barcode, due, parts, received, clear, open, round, "
    "waiting_for, waiting_why, waiting_since"
)
_SORTED = " ORDER BY due IS NULL, due, number"
_MOST = 1 << 62


def board(
    rows: Rows,
    *,
    waiting_for: Waiting | None = None,
    due_by: date | None = None,
    like: str | None = None,
    first: int = 0,
    most: int | None = None,
) -> tuple[OrderLine, ...]:
    """Return orders as the board has them: by due date, those without one last, then by number.

    `like` is looked for in number, client, title and catalogue number, and as the barcode;
    `first` counts from 0.
    """
    which, values = _which(waiting_for, due_by, like)
    limit = f"{_SORTED} LIMIT %s OFFSET %s"
    values += [_MOST if most is None else most, first]
    if first:  # what is passed over is sorted by no more than it takes
        return _lines(rows, f" WHERE id IN (SELECT id FROM orders{which}{limit})", values)
    return _lines(rows, which, values, limit)


def tally(rows: Rows, *, due_by: date | None = None, like: str | None = None) -> dict[Waiting, int]:
    """Return how many orders wait for whom, of those that `board` has."""
    which, values = _which(None, due_by, like)
    asked = f"SELECT waiting_for, count(*) FROM orders{which} GROUP BY waiting_for"
    found = {str(name): int(count) for name, count in rows(asked, values)}
    return {waiting: found.get(waiting.value, 0) for waiting in Waiting}


def board_and_tally(
    rows: Rows,
    *,
    waiting_for: Waiting | None,
    due_by: date | None,
    like: str | None,
    first: int,
    most: int,
) -> tuple[tuple[OrderLine, ...], dict[Waiting, int]]:
    """Return what `board` and `tally` do; a text is looked for once only."""
    if not like:
        lines = board(rows, waiting_for=waiting_for, due_by=due_by, first=first, most=most)
        return lines, tally(rows, due_by=due_by)
    which, values = _which(None, due_by, like)
    found = rows(f"SELECT id, waiting_for FROM orders{which}{_SORTED}", values)
    count = dict.fromkeys(Waiting, 0)
    for _, waiting in found:
        count[Waiting(waiting)] += 1
    ids = [
        id_ for id_, waiting in found if waiting_for is None or waiting == waiting_for.value
    ][first : first + most]  # fmt: skip
    if not ids:
        return (), count
    return _lines(rows, f" WHERE id IN {many(ids)}", ids), count


def many(values: Sequence[object]) -> str:
    """Return what a statement has for so many values, at least one."""
    return f"({', '.join([MARK] * len(values))})"


def _lines(
    rows: Rows, which: str, values: Sequence[Any], order: str = _SORTED
) -> tuple[OrderLine, ...]:
    found = rows(f"SELECT {_LINE} FROM orders{which}{order}", values)
    return tuple(_line(row) for row in found)


def _which(
    waiting_for: Waiting | None, due_by: date | None, like: str | None
) -> tuple[str, list[Any]]:
    """Return the condition on `orders` that all this makes, and its values."""
    where: list[str] = []
    values: list[Any] = []
    if waiting_for is not None:
        where.append("waiting_for = %s")
        values.append(waiting_for.value)
    if due_by is not None:
        where.append("due <= %s")
        values.append(due_by.isoformat())
    if like:
        said, names = storable(like), ("number", "client", "title", "catalogue")
        has = [f"lower({name}) LIKE lower(%s) ESCAPE '/'" for name in names]
        where.append(f"({' OR '.join(has)} OR barcode = %s)")
        for special in "/%_":
            said = said.replace(special, f"/{special}")
        code = "".join(c for c in storable(like) if c not in " -\u00a0")  # as it is printed
        values += [f"%{said}%"] * len(names) + [code]
    return (f" WHERE {' AND '.join(where)}" if where else ""), values


def _line(row: Sequence[Any]) -> OrderLine:
    number, client, title, catalogue, barcode, due, *counts, waiting, why, since = row
    day = None if due is None else date.fromisoformat(str(due))
    parts, received, clear, still_open, rounds = counts
    return OrderLine(
        number, client, title, catalogue, barcode, day, parts, received, clear, still_open, rounds,
        Waiting(waiting), why, moment(since),
    )  # fmt: skip


def story(rows: Rows, number: str) -> Story:
    """Return all that is known of an order. Raises BookError."""
    found = rows(f"SELECT id, head, {_LINE} FROM orders WHERE number = %s", (storable(number),))
    if not found:
        raise not_there(number)
    order, head, *line = found[0]
    decisions = _decisions(rows, order)
    return Story(
        line=_line(line),
        head=head,
        parts=_parts(rows, order),
        deliveries=deliveries(rows, "delivery.order_id = %s", order),
        examinations=tuple(
            Examination(
                id_, round_, turn, moment(at), version, verdict, bool(crashed), result, report,
                proof,
            )
            for id_, round_, turn, at, version, verdict, crashed, result, report, proof in rows(
                "SELECT id, round, turn, at, version, verdict, crashed, result, report, proof "
                "FROM examination WHERE order_id = %s ORDER BY id", (order,),
            )
        ),
        findings=_findings(rows, order, decisions),
        decisions=decisions,
        questions=_questions(rows, order),
        letters=tuple(
            Letter(round_, moment(at), by, digest)
            for round_, at, by, digest in rows(
                'SELECT round, at, "by", digest FROM letter WHERE order_id = %s ORDER BY id',
                (order,),
            )
        ),
        signoffs=tuple(
            SignOff(round_, moment(at), *said)
            for round_, at, *said in rows(
                "SELECT round, at, name, role, choice, remarks, proof FROM signoff "
                "WHERE order_id = %s ORDER BY id", (order,),
            )
        ),
        releases=tuple(
            Release(revision, round_, moment(at), by, manifest, proof)
            for revision, round_, at, by, manifest, proof in rows(
                'SELECT revision, round, at, "by", manifest, proof FROM "release" '
                "WHERE order_id = %s ORDER BY revision", (order,),
            )
        ),
        journal=tuple(
            JournalEntry(id_, moment(at), *said)
            for id_, at, *said in rows(
                "SELECT id, at, who, act, order_number, data, before, digest FROM journal "
                "WHERE order_number = %s ORDER BY id", (line[0],),
            )
        ),
    )  # fmt: skip


def not_there(number: str) -> BookError:
    """Return what is said of an order that is not in the book."""
    return BookError(f"order {number}: is not in the book; `prepcheck orders` lists what is")


def deliveries(rows: Rows, which: str, *values: int) -> tuple[Delivery, ...]:
    """Return deliveries in the order they came; `which` is a condition on `delivery`."""
    placed: dict[int, list[str]] = defaultdict(list)
    for file, name, page in rows(
        "SELECT placement.file_id, part.name, placement.page FROM placement "
        "JOIN part ON part.id = placement.part_id JOIN file ON file.id = placement.file_id "
        "JOIN delivery ON delivery.id = file.delivery_id "
        f"WHERE {which} AND NOT placement.withdrawn ORDER BY placement.id",
        values,
    ):
        placed[file].append(name if page is None else f"{name} (page {page})")
    files: dict[int, list[FileLine]] = defaultdict(list)
    for delivery, file, name, digest, size, note, asked in rows(
        "SELECT file.delivery_id, file.id, file.name, file.digest, content.bytes, file.note, "
        "file.asked FROM file JOIN content ON content.digest = file.digest "
        f"JOIN delivery ON delivery.id = file.delivery_id WHERE {which} ORDER BY file.id",
        values,
    ):
        files[delivery].append(
            FileLine(file, name, digest, size, tuple(placed[file]), note, bool(asked))
        )
    return tuple(
        Delivery(id_, number, round_, state, moment(at), sender, way, tuple(files[id_]))
        for id_, number, round_, state, at, sender, way in rows(
            "SELECT delivery.id, orders.number, delivery.round, delivery.state, "
            "delivery.came_at, delivery.sender, delivery.way FROM delivery "
            f"LEFT JOIN orders ON orders.id = delivery.order_id WHERE {which} "
            "ORDER BY delivery.id",
            values,
        )
    )


def _parts(rows: Rows, order: int) -> tuple[PartLine, ...]:
    """Return an order's parts as ordered, each with the file it has now."""
    here = {
        part: file
        for part, *file in rows(
            "SELECT placement.part_id, file.name, file.id, file.digest, placement.page, "
            "placement.why, delivery.round FROM placement "
            "JOIN part ON part.id = placement.part_id JOIN file ON file.id = placement.file_id "
            "JOIN delivery ON delivery.id = file.delivery_id "
            "WHERE part.order_id = %s AND NOT placement.withdrawn ORDER BY placement.id",
            (order,),
        )
    }
    return tuple(
        PartLine(*said, *here.get(part, ()))
        for part, *said in rows(
            "SELECT id, name, side, data, spec_digest, verdict FROM part "
            "WHERE order_id = %s AND NOT dropped ORDER BY position",
            (order,),
        )
    )


def _findings(rows: Rows, order: int, made: Sequence[Decision]) -> tuple[FindingLine, ...]:
    """Return an order's findings by number."""
    in_force = {decision.finding: decision for decision in made if decision.in_force}
    sightings = rows(
        "SELECT sighting.finding_id, sighting.data FROM sighting WHERE sighting.id IN "
        "(SELECT max(sighting.id) FROM sighting "
        "JOIN finding ON finding.id = sighting.finding_id "
        "WHERE finding.order_id = %s GROUP BY sighting.finding_id)",
        (order,),
    )
    last: dict[int, str] = {finding: str(data) for finding, data in sightings}
    lines = []
    for id_, state, number, part, check, severity, page, message, fix, first, latest, cured in rows(
        "SELECT finding.id, finding.state, finding.number, part.name, finding.check_name, "
        "finding.severity, finding.page, finding.message, finding.fix, finding.first_round, "
        "finding.last_round, finding.cured_round FROM finding "
        "LEFT JOIN part ON part.id = finding.part_id "
        "WHERE finding.order_id = %s ORDER BY finding.number",
        (order,),
    ):
        decision = in_force.get(number)
        accepted = decision is not None and decision.kind is Decide.ACCEPT
        there = state == "there"
        is_open = there and severity != "note" and not accepted
        lines.append(
            FindingLine(
                number, part, check, severity, page, message, fix, there, first, latest, cured,
                decision, is_open, last.get(id_, ""),
            )
        )  # fmt: skip
    return tuple(lines)


def _decisions(rows: Rows, order: int) -> tuple[Decision, ...]:
    """Return all decisions about an order's findings, in the order they were made."""
    return tuple(
        Decision(
            number, Decide(kind), why, by, Role(role), moment(at), round_, id_ == current
        )
        for id_, number, current, kind, why, by, role, at, round_ in rows(
            "SELECT decision.id, finding.number, finding.decision_id, decision.kind, "
            'decision.why, decision."by", decision.role, decision.at, decision.round '
            "FROM decision JOIN finding ON finding.id = decision.finding_id "
            "WHERE finding.order_id = %s ORDER BY decision.id", (order,),
        )
    )  # fmt: skip


def _questions(rows: Rows, order: int) -> tuple[Question, ...]:
    return tuple(
        Question(id_, finding, text, by, moment(at), answer, answered_by, _moment(answered_at))
        for id_, finding, text, by, at, answer, answered_by, answered_at in rows(
            "SELECT question.id, finding.number, question.text, question.asked_by, "
            "question.asked_at, question.answer, question.answered_by, question.answered_at "
            "FROM question LEFT JOIN finding ON finding.id = question.finding_id "
            "WHERE question.order_id = %s ORDER BY question.id",
            (order,),
        )
    )


def _moment(text: str | None) -> datetime | None:
    return None if text is None else moment(text)
