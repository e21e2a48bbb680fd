"""A delivery's way through the book: kept, recorded, matched, examined, recorded.

Each step is one transaction. Whatever is cut off between two of them is found again by
`carry_on` and goes on where it stood; what has been examined is not examined again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path, PurePosixPath

from prepcheck.book.book import Book
from prepcheck.book.deliveries import Came
from prepcheck.book.examinations import ExaminedOrder, PartFile
from prepcheck.book.findings import Tally
from prepcheck.book.looking import Look
from prepcheck.book.matching import match, part_of
from prepcheck.book.records import Story
from prepcheck.book.stored import from_json, storable, to_json
from prepcheck.errors import PrepcheckError
from prepcheck.findings import Result
from prepcheck.intake.aside import aside
from prepcheck.intake.look import look_at
from prepcheck.numbering import with_numbers, with_other_numbers
from prepcheck.order import Order
from prepcheck.proof.model import Signed
from prepcheck.run.examine import Examined, examine
from prepcheck.run.gather import Batch, order_batch
from prepcheck.run.settings import DEFAULT
from prepcheck.tables import read_table

Examiner = Callable[[Batch], Examined]


@dataclass(frozen=True)
class Ways:
    """How deliveries are looked into and examined. `draw` says whether proofs are made; `shown` is
    told what was seen before it is recorded, so that its pictures are there by then."""

    look: Look = look_at
    examiner: Examiner = examine
    draw: bool = True
    shown: Callable[[ExaminedOrder, Examined], None] = lambda looked, examined: None


@dataclass(frozen=True)
class Gone:
    """How far a delivery has come: `tally` says what became of findings, once examined."""

    order: str
    delivery: int
    tally: Tally | None
    trouble: tuple[str, ...] = ()


def receive(
    book: Book,
    files: Sequence[tuple[str, Path]],
    order: str | None,
    who: str,
    *,
    sender: str | None = None,
    way: str = "by command",
) -> tuple[int, bool]:
    """Keep files, each with the name it came under, and record them as a delivery.

    Returns its id and whether it is new. From then on nothing is lost.
    """
    came = [Came(name, book.keep(path)) for name, path in files]
    return book.arrive(came, order, who, sender=sender, way=way)


def carry_on(
    book: Book,
    who: str,
    ways: Ways,
    *,
    order: str | None = None,
    told: Mapping[str, str] | None = None,
) -> tuple[Gone, ...]:
    """Match and examine what is unfinished, of one order or of all, and return what came of it.

    An order that another process is at is left to that one.
    """
    gone: list[Gone] = []
    waiting = dict.fromkeys(name for _, name, _ in book.unfinished())
    for number in waiting if order is None else [order]:
        with book.alone(f"order {number}") as mine:
            if mine:
                gone += _carry_on_one(book, number, who, ways, told or {})
    return tuple(gone)


def _carry_on_one(
    book: Book, number: str, who: str, ways: Ways, told: Mapping[str, str]
) -> Iterator[Gone]:
    for delivery_id, name, state in book.unfinished():
        if name != number or state != "arrived":
            continue
        delivery = book.delivery(delivery_id)
        own = told if delivery.round == book.story(number).line.round else {}
        found = match(book, book.story(number), delivery, own, ways.look)
        book.place(delivery_id, found.placed, found.unplaced, who)
    pending = [one for one, name, _ in book.unfinished() if name == number]
    if not pending:
        return
    round_, files = book.part_files(number)
    if not files:
        book.nothing_to_examine(number, who)
        yield Gone(number, pending[-1], None)
        return
    try:
        looked = look(book, book.story(number), round_, files, ways)
    except PrepcheckError as fault:
        book.trouble(number, " ".join(fault.lines), who)
        yield Gone(number, pending[-1], None, fault.lines)
        return
    yield Gone(number, pending[-1], book.record(number, looked, who))


def look(
    book: Book, story: Story, round_: int, files: frozenset[PartFile], ways: Ways
) -> ExaminedOrder:
    """Examine an order's files as they are now, and keep what was written of it.

    Raises UsageError, OrderError or SpecError where the order itself keeps it from being examined.
    """
    with laid_out(book, story) as batch:
        examined = numbered_as_known(book, story, ways.examiner(batch))
        result = examined.result
        proof = None
        if ways.draw:
            proof = book.store.keep_bytes(drawn(examined, story, book.clock().date()))
    from prepcheck.report.json import report_text
    from prepcheck.spec.load import resolved_toml

    specs = [
        (part.result.name, book.store.keep_bytes(resolved_toml(part.spec).encode()))
        for part in examined.parts
        if part.spec is not None
    ]
    looked = ExaminedOrder(
        round_, files, result,
        result=book.store.keep_bytes(to_json(result).encode()),
        report=book.store.keep_bytes(report_text(result).encode("utf-8", "replace")),
        proof=proof, specs=tuple(specs),
    )  # fmt: skip
    ways.shown(looked, examined)
    return looked


def numbered_as_known(book: Book, story: Story, examined: Examined) -> Examined:
    """Return what was examined with the numbers that its findings have in the book, so that a
    finding has one number in every round's proof and letter, and where it is decided on."""
    before = 0
    if story.examinations:
        last = from_json(Result, book.store.read(story.examinations[-1].result).decode())
        before = max((finding.number for finding in last.every), default=0)
    result = with_numbers(examined.result)
    result = with_other_numbers(result, book.numbers(story.line.number, result, before))
    parts = tuple(
        replace(part, result=said) for part, said in zip(examined.parts, result.parts, strict=True)
    )
    return replace(examined, result=result, parts=parts)


def drawn(examined: Examined, story: Story, on: date, signed: Signed | None = None) -> bytes:
    """Return the proof of an order, with what was accepted said beside what was found.

    It is the one the client gets with the letter and signs; released, for the plant, where the
    parts were made ready for that.
    """
    from prepcheck.book.letters import with_decisions
    from prepcheck.proof.write import proof_bytes

    result = with_decisions(examined.result, story)
    parts = tuple(
        replace(part, result=said) for part, said in zip(examined.parts, result.parts, strict=True)
    )
    return proof_bytes(
        result,
        parts,
        made_on=on,
        signed=signed,
        proof_for=examined.proof_for,
    )


@contextmanager
def laid_out(book: Book, story: Story) -> Iterator[Batch]:
    """Lay an order's files out under the names they came by, ready to be examined."""
    with aside() as kept:
        folder = kept.folder()
        parts = []
        for index, line in enumerate(story.parts):
            if line.digest is None or line.file is None:
                parts.append(part_of(line, None))
                continue
            path = folder / str(index) / _safe(line.file)
            path.parent.mkdir()
            path.symlink_to(book.path(line.digest).resolve())
            part = part_of(line, f"{index}/{path.name}")
            if line.spec_digest is not None:
                own = folder / f"{index}.toml"
                own.write_bytes(book.store.read(line.spec_digest))
                part = part.replaced(spec=own.name)
            parts.append(part)
        order = read_table(Order, {"order": json.loads(story.head), "part": tuple(parts)})
        batch = order_batch(order, folder, None, DEFAULT)
        names = {line.name: line.file for line in story.parts}
        tasks = tuple(
            replace(task, file=names.get(storable(task.name)) or task.file) for task in batch.tasks
        )
        yield replace(batch, tasks=tasks)


def _safe(name: str) -> str:
    """Return the last part of a name, as one that any file system takes."""
    last = PurePosixPath(name.replace("\\", "/")).name
    kept = "".join(c if c.isprintable() and c not in '<>:"|?*' else "_" for c in last)
    stem, dot, end = kept.rpartition(".")
    return f"{stem[:80]}{dot}{end[:12]}" if dot else kept[:92] or "file"
