"""The book in words and as tables for other programs (schema `prepcheck-book/1`)."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import date, datetime
from enum import Enum
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from prepcheck.book.records import Delivery, FindingLine, OrderLine, Story
from prepcheck.words import count, listed

if TYPE_CHECKING:
    from prepcheck.book.delivering import Taken
    from prepcheck.book.findings import Tally

SCHEMA = "prepcheck-book/1"


def as_json(key: str, value: object) -> str:
    """Return records as JSON text under one key, beside the schema, ending in a line feed."""
    table = {"schema": SCHEMA, key: _plain(value)}
    return json.dumps(table, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def story_table(story: Story) -> dict[str, Any]:
    """Return an order's story as plain data: as `Story`, what is JSON in it as tables."""
    table: dict[str, Any] = asdict(story)
    table["order"] = json.loads(table.pop("head"))
    for part in table["parts"]:
        part["ordered"] = json.loads(part.pop("data"))
    for finding in table["findings"]:
        finding["found"] = json.loads(finding.pop("data") or "null")
    for entry in table["journal"]:
        entry["data"] = json.loads(entry["data"])
    table["missing"] = story.missing
    return table


def tally_words(tally: Tally) -> str:
    """Return what became of findings in a few words."""
    named = (("cured", "cured"), ("still", "still there"), ("back", "back again"), ("new", "new"))
    return ", ".join(f"{len(tally[key])} {words}" for key, words in named if tally[key])


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, PurePath):
        return str(value).encode("utf-8", "replace").decode("utf-8")
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    if hasattr(value, "__dataclass_fields__"):
        return _plain(asdict(value))
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | frozenset):
        return [_plain(item) for item in value]
    return value


def board_text(lines: Sequence[OrderLine]) -> str:
    """Return the board as text, two lines an order."""
    if not lines:
        return "No orders.\n"
    return "".join(f"{_head(line)}\n    {_state(line)}\n" for line in lines)


def _head(line: OrderLine) -> str:
    due = "" if line.due is None else f"  due {line.due.isoformat()}"
    return f"{line.number}  {line.client}: {line.title} ({line.catalogue}){due}"


def _state(line: OrderLine) -> str:
    parts = (
        f"round {line.round}, {line.received} of {count(line.parts, 'part')} received, "
        f"{line.clear} clear, {line.open} open"
    )
    return f"{parts}; waits for {line.waiting_for.value} since {_day(line.waiting_since)}: " + (
        line.waiting_why
    )


def story_text(story: Story) -> str:
    """Return an order's whole story as text."""
    line = story.line
    lines = [_head(line), f"    {_state(line)}", "", "Parts"]
    for part in story.parts:
        what = "not received" if part.file is None else f"{part.file}, round {part.round}"
        page = "" if part.page is None else f", page {part.page}"
        verdict = f": {part.verdict}" if part.verdict and part.file else ""
        lines.append(f"  {part.name}{verdict}  ({what}{page})")
    for delivery in story.deliveries:
        lines += ["", *delivery_lines(delivery)]
        lines += [
            f"  examined {_day(e.at)} with version {e.version}: {e.verdict}"
            for e in story.examinations
            if e.round == delivery.round
        ]
    still = [f for f in story.findings if f.there]
    if still:
        lines += ["", "Findings"]
        lines += [words for finding in still for words in _finding(finding)]
    cured = [f for f in story.findings if not f.there]
    if cured:
        lines += ["", "Cured"]
        lines += [
            f"  {f.number:>3}. {f.part or 'The order'}: {f.message} (round {f.cured_round})"
            for f in cured
        ]
    if story.questions:
        lines += ["", "Questions"]
    for question in story.questions:
        about = "" if question.finding is None else f"finding {question.finding}: "
        asked = f"{question.text} ({question.asked_by}, {_day(question.asked_at)})"
        lines.append(f"  {about}{asked if question.text else 'not asked'}")
        if question.answer is not None and question.answered_at is not None:
            who = f"{question.answered_by}, {_day(question.answered_at)}"
            lines.append(f"    answer: {question.answer} ({who})")
    for letter in story.letters:
        lines += ["", f"Letter for round {letter.round} written {_day(letter.at)} by {letter.by}"]
    for said in story.signoffs:
        lines += ["", f"Sign-off {_day(said.at)} by {said.name}: {said.choice} {said.remarks}"]
    for done in story.releases:
        lines += ["", f"Released {_day(done.at)} by {done.by}: revision {done.revision}"]
    return "\n".join(text.rstrip() for text in lines) + "\n"


def delivered_text(taken: Taken, delivery: Delivery, story: Story | None) -> str:
    """Return what came of a delivery: what its files are, and what they cured or brought."""
    lines = list(delivery_lines(delivery))
    if not taken.new:
        lines.append("  These very files came before; nothing new was recorded.")
    if taken.order is None:
        lines.append(f"  No order: {taken.why}")
        return "\n".join(lines) + "\n"
    for gone in taken.gone:
        lines += [f"  Not examined: {line}" for line in gone.trouble]
        if gone.tally is not None:
            lines.append(f"  Findings: {tally_words(gone.tally) or 'none'}")
    if story is not None:
        lines += ["", _head(story.line), f"    {_state(story.line)}"]
        lines += [words for finding in story.open for words in _finding(finding)]
        lines += [f"       {name}: not received" for name in story.missing]
    return "\n".join(lines) + "\n"


def delivered_table(taken: Taken, delivery: Delivery, story: Story | None) -> dict[str, Any]:
    """Return what came of a delivery as plain data."""
    return {
        **asdict(delivery),
        "new": taken.new,
        "why_aside": taken.why if taken.order is None else None,
        "refused": taken.refused,
        "not_examined": [line for gone in taken.gone for line in gone.trouble],
        "findings": [gone.tally for gone in taken.gone],
        "board": None if story is None else asdict(story.line),
        "missing": [] if story is None else story.missing,
        "open": [] if story is None else [asdict(finding) for finding in story.open],
    }


def delivery_lines(delivery: Delivery) -> Iterator[str]:
    """Yield a delivery in words, a line a file."""
    sender = "" if delivery.sender is None else f" from {delivery.sender}"
    name = "Put aside" if delivery.round is None else f"Round {delivery.round}"
    yield f"{name} (delivery {delivery.id}): {_day(delivery.came_at)}{sender}, {delivery.way}"
    for file in delivery.files:
        said = listed(file.parts) if file.parts else f"not placed; {file.note or 'not looked at'}"
        if file.parts and file.asked:
            said += f"; {file.note}"
        yield f"  {file.name}: {said}"


def _finding(finding: FindingLine) -> Iterator[str]:
    yield (
        f"  {finding.number:>3}. {finding.part or 'The order'}: {finding.severity}: "
        f"{finding.message} [{finding.check}, since round {finding.first_round}]"
    )
    decision = finding.decision
    if decision is not None:
        words = {"accept": "accepted", "refuse": "refused", "ask": "asked"}[decision.kind.value]
        yield (
            f"       {words} by {decision.by} ({decision.role.value}), {_day(decision.at)}: "
            f"{decision.why}"
        )


def _day(at: datetime) -> str:
    return at.strftime("%Y-%m-%d %H:%M")
