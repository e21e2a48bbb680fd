"""One task in a process of its own, whose faults are raised here."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Protocol, TypeVar

from prepcheck.errors import CrashError, OutputError, UnreadableError, UsageError
from prepcheck.run.budget import WorkerLimits
from prepcheck.run.message import Failed
from prepcheck.run.worker import isolated


class Faulty(Protocol):
    """An answer that may tell a kind of fault and its lines instead."""

    @property
    def fault(self) -> str: ...
    @property
    def lines(self) -> tuple[str, ...]: ...


T = TypeVar("T")
A = TypeVar("A", bound=Faulty)
_KINDS = {"usage": UsageError, "unreadable": UnreadableError, "output": OutputError}


def done_alone(
    work: Callable[[T], A],
    task: T,
    kind: type[A],
    *,
    limits: WorkerLimits,
    scratch: Path,
    what: str,
) -> A:
    """Return the answer of a task; raise the fault it tells, or that its process failed of.

    `what` names it in a sentence; `scratch` is removed when this process dies.
    """
    ended = isolated(work, [task], kind, jobs=1, limits=limits, scratch=scratch)
    answer = next(iter(ended)).answer
    if isinstance(answer, Failed):
        error = CrashError if answer.ours else UnreadableError
        raise error(f"{what}: {answer.why}")
    if answer.fault:
        raise _KINDS[answer.fault](*answer.lines)
    return answer
