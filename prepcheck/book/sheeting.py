"""The press sheet that goes with a release: made once, kept in the book like the proof."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from prepcheck.book.book import Book
from prepcheck.book.records import FindingLine, Story
from prepcheck.book.store import Kept
from prepcheck.intake.aside import aside
from prepcheck.run.examine import Examined
from prepcheck.run.gather import Batch
from prepcheck.run.press_sheet import only_labels, sheet_of
from prepcheck.run.sheet_task import Wish


def sheet_kept(
    book: Book, batch: Batch, examined: Examined, story: Story, wish: Wish, on: date
) -> dict[str, Kept]:
    """Make the sheet of an order's labels and keep it; return its files' names as they are kept.

    A stop that was accepted is printed with who accepted it and why. Raises UsageError where the
    labels do not go onto the sheet.
    """
    labels = only_labels(batch)
    found = {part.name: part for part in examined.result.parts}
    parts = [found[task.name] for task in labels.tasks]
    names = {part.name for part in parts}
    accepted = _accepted([line for line in story.findings if line.part in names or not line.part])
    with aside() as kept:
        folder = kept.folder()
        _, files = sheet_of(labels, parts, replace(wish, despite=accepted, made_on=on), out=folder)
        return {file.name: book.store.keep_bytes(file.read_bytes()) for file in files}


def _accepted(findings: Sequence[FindingLine]) -> str:
    said = [
        f"accepted by {line.decision.by} ({line.decision.role.value}): {line.decision.why}"
        for line in findings
        if line.there and line.severity == "stop" and line.decision is not None
    ]
    return "; ".join(dict.fromkeys(said))
