"""Orders, files and examinations to fill books with: invented, and cheap."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from prepcheck.book.book import Book
from prepcheck.book.orders import NewOrder
from prepcheck.findings import Finding, Mark, Outcome, PartResult, Result, Severity, Status
from prepcheck.geometry import Box
from prepcheck.intake.look import Seen
from prepcheck.intake.unpack import Delivered
from prepcheck.order import OrderHead, OrderPart
from prepcheck.proof.model import ProofPart
from prepcheck.run.examine import Examined
from prepcheck.run.gather import Batch
from prepcheck.spec.model import Spec

PARTS = ("Label A", "Label B", "Jacket")


def new_order(number: str = "TR-1", catalogue: str = "TRL 001") -> NewOrder:
    """Return an order of two labels and a jacket; files are named after parts."""
    head = OrderHead(
        number=number, client="Thornreed Records", title="Marl: Low Fields", catalogue=catalogue,
        format="12-inch",
    )  # fmt: skip
    parts = tuple(
        OrderPart(name=name, file=f"{name.lower().replace(' ', '-')}.pdf", side=side)
        for name, side in zip(PARTS, ("A", "B", None), strict=True)
    )
    return NewOrder(head, parts)


def files(folder: Path, texts: Mapping[str, str]) -> list[tuple[str, Path]]:
    """Write a file a name and return what `rounds.receive` takes."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, words in texts.items():
        (folder / name).write_text(words)
    return [(name, folder / name) for name in texts]


def finding(
    check: str, severity: str = "query", message: str = "", at: float = 0.0, **more: object
) -> Finding:
    """Return a finding with a place 2 mm wide at x = `at` mm."""
    where = (Mark(Box(at, 0.0, at + 2.0, 2.0)),)
    return Finding(
        check, Severity(severity), message or f"{check} says so", "do this", "made up", 1,
        where=where, **more,  # type: ignore[arg-type]
    )  # fmt: skip


class Scripted:
    """An examiner that reads findings from the files themselves, a line each.

    A line is `check severity x`, then what was measured in words; `check crashed` is one that
    failed.
    Counts how often each file was looked at.
    """

    def __init__(self) -> None:
        self.seen: list[str] = []

    def __call__(self, batch: Batch) -> Examined:
        parts = []
        for task in batch.tasks:
            text = task.path.read_text()
            self.seen.append(task.file)
            found, failed = [], []
            for line in filter(str.strip, text.splitlines()):
                if line.endswith(" crashed"):
                    failed.append(Outcome(line.split()[0], Status.CRASHED, "it failed"))
                    continue
                check, severity, at, *words = line.split()
                said = " ".join(words)
                found.append(finding(check, severity, said, float(at), measured=said or None))
            result = PartResult(
                task.name, task.file, "0" * 64, len(text), None, "said so", 1, None, None,
                tuple(failed), tuple(found),
            )  # fmt: skip
            parts.append(ProofPart(result, None, ()))
        said = Result("1.0", batch.facts, tuple(part.result for part in parts))
        return Examined(said, tuple(parts))


def entered(book: Book, number: str = "TR-1") -> None:
    """Enter the order of two labels and a jacket."""
    book.enter(new_order(number), "Ada Fenn")


def unseen(files: Sequence[Delivered], specs: tuple[Spec, ...]) -> list[Seen]:
    """Look into nothing, as made-up files hold no art: names and bytes tell."""
    return [Seen(file.name, file.path, why="is no art") for file in files]
