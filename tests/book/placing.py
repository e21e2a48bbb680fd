"""Holds what the book makes of invented deliveries against what they are; a program, and a test's.

python -m tests.book.placing [deliveries of each kind] [seed]
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from prepcheck.book.book import Book, open_book
from prepcheck.book.delivering import Taken, deliver
from prepcheck.book.rounds import Ways
from prepcheck.findings import PartResult, Result
from prepcheck.intake.look import Seen, ToLookInto, see
from prepcheck.intake.unpack import Delivered
from prepcheck.proof.model import ProofPart
from prepcheck.run.examine import Examined
from prepcheck.run.gather import Batch
from prepcheck.spec.model import Spec
from tests.book.invented import ASK, SPARE, Delivery, Sent, write

WHO = "Ada Fenn"


@dataclass
class Score:
    """Files by what became of them, and a line for each that was not placed rightly."""

    right: Counter[str] = field(default_factory=Counter)
    asked: Counter[str] = field(default_factory=Counter)
    wrong: Counter[str] = field(default_factory=Counter)
    lines: list[str] = field(default_factory=list)

    @property
    def share(self) -> float:
        """The share of files that were placed rightly, or left where they are no part."""
        known = self.right.total() + self.asked.total() + self.wrong.total()
        return self.right.total() / known

    def note(self, kind: str, name: str, truth: str, said: str, asked: bool, why: str) -> None:
        """Count one file, or a page of one."""
        if said == truth or (truth in (ASK, SPARE) and said == SPARE):
            self.right[kind] += 1
            return
        what = self.asked if said == SPARE and asked else self.wrong
        what[kind] += 1
        how = "ASKED" if what is self.asked else "WRONG"
        self.lines.append(f"{how} {kind}: {name} is {truth or 'no part'}, taken as "
                          f"{said or 'nothing'} ({why})")  # fmt: skip


def here(files: Sequence[Delivered], specs: tuple[Spec, ...]) -> list[Seen]:
    """Look into files in this process."""
    found = []
    for file in files:
        seen = see(ToLookInto(file, specs))
        found.append(Seen(file.name, file.path, seen.sha256, seen.pages, seen.why))
    return found


def blank(batch: Batch) -> Examined:
    """Find nothing in any part: only what files are taken as is looked at."""
    parts = tuple(
        PartResult(task.name, task.file, "0" * 64, 0, None, "", 1, None, None, (), ())
        for task in batch.tasks
    )
    result = Result("1", batch.facts, parts)
    return Examined(result, tuple(ProofPart(part, None, ()) for part in parts))


WAYS = Ways(look=here, examiner=blank, draw=False)


def tried(delivery: Delivery, folder: Path, score: Score) -> None:
    """Receive a delivery in a book of its own and score what its files were taken as."""
    book = open_book(folder / "book")
    try:
        for order in delivery.orders:
            book.enter(order, WHO)
        for number, files in enumerate(delivery.before):
            paths = write(folder / f"before-{number}", files)
            taken = deliver(book, paths, delivery.named, WHO, WAYS)
            _settled(book, taken, files)
        paths = write(folder / "now", delivery.files)
        taken = deliver(book, paths, delivery.named, WHO, WAYS)
        _score(book, taken, delivery, score)
    finally:
        book.close()


def _settled(book: Book, taken: Sequence[Taken], files: Sequence[Sent]) -> None:
    """Say by hand what was asked of an earlier round."""
    from prepcheck.book.deliveries import TakenAs
    from prepcheck.book.rounds import carry_on

    truth = {one.name: one.truth for one in files}
    for one in taken:
        for file in book.delivery(one.delivery).files:
            if file.asked and one.order is not None:
                by_hand = [TakenAs(file.id, str(truth[file.name]), "said by hand")]
                book.place(one.delivery, by_hand, [], WHO, by_hand=True)
                carry_on(book, WHO, WAYS, order=one.order)


def _score(book: Book, taken: Sequence[Taken], delivery: Delivery, score: Score) -> None:
    sent = {one.name: one for one in delivery.files}
    for one in taken:
        for file in book.delivery(one.delivery).files:
            known = sent.pop(file.name)
            due = known.order or delivery.named
            if due == ASK:
                due = None
            if one.order != due:
                score.note(delivery.kind, file.name, f"for {due}", f"for {one.order}", False,
                           one.why)  # fmt: skip
                continue
            if isinstance(known.truth, str):
                said = ", ".join(file.parts)
                score.note(delivery.kind, file.name, known.truth, said, file.asked, file.note)
                continue
            by_page = {int(p.rpartition("page ")[2][:-1]): p.partition(" (page")[0]
                       for p in file.parts if "(page" in p}  # fmt: skip
            for page, truth in enumerate(known.truth, 1):
                said = by_page.get(page, "")
                score.note(delivery.kind, f"{file.name}#{page}", truth, said, file.asked, file.note)
    for name in sent:
        score.note(delivery.kind, name, "in the book", "lost", False, "")
