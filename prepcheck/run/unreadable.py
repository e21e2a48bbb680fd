"""A part of which nothing could be examined."""

from __future__ import annotations

import hashlib
from pathlib import Path

from prepcheck.findings import NOT_EXAMINED, Finding, Outcome, PartResult, Severity, Status
from prepcheck.proof.model import ProofPart
from prepcheck.run.answer import Task

UNREADABLE = "file.unreadable"


def unreadable_part(
    task: Task,
    why: str,
    *,
    ours: bool = False,
    asked: str = "",
    severity: Severity = Severity.STOP,
    code: str = "unread",
) -> ProofPart:
    """Return a part that could not be examined, as one stop; `ours` when prepcheck is at fault.

    `asked` is what to ask of the client where `why` advises somebody else. As in every answer of
    a worker, its spec is named and left out.
    """
    from prepcheck.judging.registry import (
        declarations,  # takes long to import, and is rarely needed here
    )

    spec = task.specs[0] if len(task.specs) == 1 else None
    # An error of the art room names the file, says what is wrong and, behind a semicolon, what
    # to do about it.
    what, _, advice = why.removeprefix(f"{task.path.name}: ").rpartition("; ")
    if not what:
        what, advice = advice, "export it again as PDF, and have it looked at if that is no help"
    fix = f"Please {asked or advice}."
    if ours:
        fix = "Nothing is asked of you: we look at this file by hand."
    finding = Finding(
        check=UNREADABLE,
        severity=severity,
        code=NOT_EXAMINED if ours else code,
        message=f"The file cannot be examined: {what}.",
        fix=fix,
        source="common practice",
    )
    status = Status.CRASHED if ours else Status(severity.value)
    none = (Status.NOT_APPLICABLE, "the file cannot be examined")
    outcomes = [
        Outcome(name, *((status, finding.message) if name == UNREADABLE else none), title=one.title)
        for name, one in declarations().items()
    ]
    digest, size = _digest(task.path)
    result = PartResult(
        name=task.name,
        file=task.file,
        sha256=digest,
        bytes=size,
        spec=None if spec is None else spec.name,
        recognised_by=task.told or "not recognised: the file cannot be examined",
        pages=0,
        trim_mm=None,
        trim_found_by=None,
        outcomes=tuple(sorted(outcomes, key=lambda outcome: outcome.check)),
        findings=(finding,),
        measured={name: None for d in declarations().values() for name in d.measures},
        side=None if task.part is None else task.part.side,
    )
    return ProofPart(result, None)


def _digest(path: Path) -> tuple[str, int]:
    """Return the SHA-256 and the size of a file; of nothing when it cannot even be read."""
    if not path.is_file():
        return "", 0
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            return digest, file.tell()
    except OSError:
        return "", 0
