"""Answers of earlier examinations, for parts of which nothing has changed since."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import Protocol

from prepcheck import __version__
from prepcheck.run.answer import Answer, Task
from prepcheck.spec.load import resolved_toml


class Recall(Protocol):
    """What remembers answers."""

    def of(self, task: Task) -> Answer | None:
        """Return what was answered to this very task; None where nothing is known."""
        ...

    def keep(self, task: Task, answer: Answer) -> None:
        """Remember an answer; nothing is raised where that cannot be done."""
        ...


def key_of(task: Task) -> str | None:
    """Return what tells a task from every other whose answer may differ, as 64 hex digits: the
    file's bytes, the specs as resolved, what the order says, and this version.

    How the files of other parts are called does not count. None for a file that cannot be read,
    for one that several parts share, and where a print condition of the plant's own counts too.
    """
    if task.sharing is not None or task.several or task.among:
        return None
    if any(spec.print_condition.endswith(".toml") for spec in task.specs):
        return None
    try:
        with task.path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
    order = ""
    if task.order is not None:
        parts = tuple(part.model_copy(update={"file": None}) for part in task.order.part)
        order = task.order.model_copy(update={"part": parts}).model_dump_json()
    bare = replace(task, path=type(task.path)(), specs=(), order=None, part=None)
    said = (
        __version__, digest, *(resolved_toml(spec) for spec in task.specs), order,
        "" if task.part is None else task.part.model_dump_json(), repr(bare),
    )  # fmt: skip
    return hashlib.sha256("\0".join(said).encode("utf-8", "replace")).hexdigest()
