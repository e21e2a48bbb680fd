"""Examines what was gathered, and writes what came of it.

What takes long to import is imported only where it is needed: the parent of the workers waits
for little else than them.
"""

from __future__ import annotations

import functools
import importlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from prepcheck import __version__
from prepcheck.errors import OrderError, OutputError, SpecError, UsageError
from prepcheck.faults import hint
from prepcheck.findings import Result, Severity, shared_out
from prepcheck.frozen import dataclass
from prepcheck.numbering import numbered
from prepcheck.order import Order
from prepcheck.output import refuse_inputs, why_not, write_whole
from prepcheck.proof.model import ProofFor as ProofFor
from prepcheck.proof.model import ProofPart
from prepcheck.run.answer import Answer, Task, part_found, with_spec
from prepcheck.run.events import Event, Finished, Started
from prepcheck.run.executor import Executor, LocalWorkers
from prepcheck.run.gather import Batch, gather, order_batch
from prepcheck.run.message import Failed
from prepcheck.run.plate_use import PlatesUsed
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.run.unreadable import unreadable_part
from prepcheck.run.work import examine_part
from prepcheck.run.worker import EarlyWorker
from prepcheck.spec.load import load_spec
from prepcheck.spec.model import Spec

Progress = Callable[[Event], None]
ArtPath = Path | str
_NO_READER = (
    "some type cannot be read, and people are asked to look at it; after pip install "
    "'prepcheck[read]' it is read by eye first"
)


@dataclass(frozen=True)
class Examined:
    """A result and, part for part, what the proof shows of it."""

    result: Result
    parts: tuple[ProofPart, ...]
    tasks: tuple[Task, ...] = ()
    """What was examined, each part with the page it was found on."""
    told: tuple[str, ...] = ()
    """What only the caller can settle, a line each that names the option for it."""
    used: tuple[PlatesUsed | None, ...] = ()
    """What each task's plates carry, where that was asked for."""
    proof_for: ProofFor = "client"
    """Whose proof the parts are ready for; the plant's can be made as the client's as well."""


def inspect(
    order_or_art: ArtPath | Order | Sequence[ArtPath],
    *,
    spec: ArtPath | None = None,
    jobs: int = 1,
    proof: ArtPath | None = None,
    report: ArtPath | None = None,
    letter: ArtPath | None = None,
    mail: ArtPath | None = None,
    proof_for: ProofFor = "client",
    made_on: date | None = None,
    progress: Progress | None = None,
    settings: Settings = DEFAULT,
    executor: Executor | None = None,
) -> Result:
    """Examine one order, or art files together, and return the result.

    `order_or_art` is an order file (.toml), an art file, a folder with one order or with art, a
    sequence of art files, or an `Order` (its files are then looked for in the current folder).
    `spec` names a spec or a TOML file; without it each piece is recognised by its size. `proof`,
    `report` and `letter` are paths to write the proof PDF, the JSON report and the plain-text
    message to the client to, `mail` that message with the client's proof attached (.eml);
    `proof_for` says whose proof `proof` is: the client's is short, the plant's shows plates and
    ink besides. `made_on` is the date on the proof, today by default. `jobs` parts are examined
    at a time, or by an `executor`, such as `run.cluster.connected` gives.

    Worker processes may import the script that calls this: it must do so under
    `if __name__ == "__main__":`.

    Raises UsageError, SpecError or OrderError, one line a fault, and OutputError. An art file
    that cannot be read raises nothing: it is a finding.
    """
    if isinstance(order_or_art, Order):
        named = None if spec is None else load_spec(spec)
        batches: tuple[Batch, ...] = (order_batch(order_or_art, Path(), named, settings),)
    else:
        arts = [order_or_art] if isinstance(order_or_art, str | Path) else order_or_art
        batches = gather([Path(art) for art in arts], spec=spec, settings=settings).whole
    if len(batches) != 1:
        raise UsageError(f"{len(batches)} orders were named; inspect them one at a time")
    outputs = [Path(path) for path in (proof, report, letter, mail) if path is not None]
    refuse_inputs(outputs, batches[0].inputs)
    examined = examine(
        batches[0],
        jobs=jobs,
        pictures=bool(proof or mail),
        proof_for=proof_for,
        progress=progress,
        by_page=True,
        executor=executor,
    )
    write_outputs(
        examined,
        batches[0],
        proof=None if proof is None else Path(proof),
        report=None if report is None else Path(report),
        letter=None if letter is None else Path(letter),
        mail=None if mail is None else Path(mail),
        made_on=made_on or date.today(),
    )
    return examined.result


def examine(
    batch: Batch,
    *,
    jobs: int = 1,
    pictures: bool = True,
    proof_for: ProofFor = "client",
    progress: Progress | None = None,
    work: Callable[[Task], Answer] = examine_part,
    ahead: EarlyWorker | None = None,
    by_page: bool = False,
    inks: bool = False,
    meanwhile: Callable[[], object] | None = None,
    executor: Executor | None = None,
    coming: Iterable[Batch] = (),
) -> Examined:
    """Examine every part of a batch in worker processes; with `pictures`, ready for a proof.

    An `executor` may have them examined elsewhere; it is told what batches are `coming` next, which
    will be examined in the same way. Else `jobs` parts are at work at a time, and the first part
    goes to the worker that was started `ahead`, where there is one. With `by_page` loose art whose
    pages are each one complete piece is a part a page. With `inks` it is said what each part's
    plates carry. What is to be made ready for afterwards is done `meanwhile`.

    A part whose worker crashes, hangs or asks for too much memory becomes a finding; the rest
    goes on. Raises UsageError or OrderError when a piece cannot be recognised or an order asks
    for a page that is not there; SpecError when a spec sets the severity of an unknown check.
    """
    _refuse_unknown_checks(batch)
    tell = progress or (lambda event: None)

    def due(batch: Batch) -> list[Task]:
        return [
            replace(
                task,
                with_pictures=pictures,
                with_plates=pictures and proof_for == "plant",
                several=task.several and by_page,
                with_inks=inks,
                among=batch.order is None and len(batch.tasks) > 1,
            )
            for task in batch.tasks
        ]

    tasks = due(batch)
    if meanwhile is None:
        meanwhile = _made_ready(pictures, batch.order is not None or len(tasks) > 1)
    executor = executor or LocalWorkers(jobs, work, ahead)
    later = (task for one in coming for task in due(one))
    answers = _answers(tasks, executor, tell, meanwhile, later)
    open_ones = {
        task.name: found
        for task, found in zip(tasks, answers, strict=True)
        if found.pages or found.face is not None
    }
    if open_ones:
        from prepcheck.run.loose import told_apart

        batch = told_apart(replace(batch, tasks=tuple(tasks)), open_ones)
        settled = {
            task.name: answer
            for task, answer in zip(tasks, answers, strict=True)
            if task.name not in open_ones
        }
        tasks = list(batch.tasks)
        own = [task for task in tasks if not _is_settled(task, settled)]
        more = iter(_answers(own, executor, tell, _nothing, ()))
        answers = [
            settled[task.name] if _is_settled(task, settled) else next(more) for task in tasks
        ]
    moved: Mapping[str, str] = {}
    if any(answer.fits for answer in answers):
        from prepcheck.run.exchanged import named_twice, not_received, put_right

        right = put_right(tasks, answers)
        moved = {task.name: tasks[place].file for place, task in right.items()}
        more = iter(_answers(list(right.values()), executor, tell, _nothing, ()))
        tasks = [right.get(place, task) for place, task in enumerate(tasks)]
        answers = [next(more) if place in right else answer for place, answer in enumerate(answers)]
        twice = named_twice(tasks, answers)
        answers = [
            not_received(tasks[place], twice[place]) if place in twice else answer
            for place, answer in enumerate(answers)
        ]
    in_order = answers
    _raise_faults(in_order, batch)
    told = [line for answer in in_order for line in answer.usage_faults]
    told += [answer.aside for answer in in_order if answer.aside]
    if any(answer.digest is not None and answer.digest.reader is False for answer in in_order):
        told.append(_NO_READER)
    in_order = [
        _unsettled(answer, task) if answer.usage_faults else answer
        for answer, task in zip(in_order, tasks, strict=True)
    ]
    proofs = tuple(answer.proof for answer in in_order if answer.proof is not None)
    proofs = _with_standing(proofs, batch)
    result = Result(
        __version__,
        batch.facts,
        tuple(proof.result for proof in proofs),
        spare=batch.spare,
    )
    if batch.order is not None or len(tasks) > 1:
        from prepcheck.judging.on_orders import less_explained, with_known
        from prepcheck.run.whole_order import order_said

        said = order_said(replace(batch, tasks=tuple(tasks)), in_order, moved)
        findings = with_known(said.findings, batch.findings)
        proofs = tuple(
            replace(
                proof,
                result=shared_out(findings, less_explained(proof.result, said.explained)),
            )
            for proof in proofs
        )
        result = replace(
            result,
            parts=tuple(proof.result for proof in proofs),
            outcomes=said.outcomes,
            findings=findings,
            missing=said.missing,
        )
    result = numbered(result)
    proofs = tuple(
        replace(proof, result=part) for proof, part in zip(proofs, result.parts, strict=True)
    )
    found = (
        task if task.part is None else replace(task, part=part_found(task.part, answer))
        for task, answer in zip(tasks, in_order, strict=True)
    )
    used = tuple(answer.used for answer in in_order)
    return Examined(result, proofs, tuple(found), tuple(told), used, proof_for)


def _is_settled(task: Task, settled: Mapping[str, Answer]) -> bool:
    return task.page is None and task.name in settled


def _answers(
    tasks: Sequence[Task],
    executor: Executor,
    tell: Progress,
    meanwhile: Callable[[], object],
    coming: Iterable[Task],
) -> list[Answer]:
    """Return what workers answer to tasks; one that failed becomes a finding."""
    total = len(tasks)
    answers: dict[int, Answer] = {}
    ended = executor.ended(
        tasks,
        started=lambda index: tell(Started(tasks[index].name, index, total)),
        meanwhile=meanwhile,
        coming=coming,
    )
    for end in ended:
        answer = end.answer
        if isinstance(answer, Failed):
            answer = _failed(tasks[end.index], answer)
        if answer.proof is not None:
            answer = replace(answer, proof=with_spec(answer.proof, tasks[end.index]))
        answers[end.index] = answer
        if answer.proof is not None:
            part = answer.proof.result
            tell(Finished(part.name, part.verdict, len(answers), total))
    return [answers[index] for index in range(total)]


def _failed(task: Task, failed: Failed) -> Answer:
    """Return the part of a worker that failed, and what who runs the check can do about it."""
    proof = unreadable_part(task, failed.why, ours=failed.ours, asked=failed.asked)
    if not (failed.ours or failed.asked):
        return Answer(proof)
    advised = failed.why if "; " in failed.why else f"{failed.why}; please report this"
    return Answer(proof, aside=f"{task.file}: {advised}")


def write_outputs(
    examined: Examined,
    batch: Batch,
    *,
    proof: Path | None,
    report: Path | None,
    letter: Path | None = None,
    mail: Path | None = None,
    made_on: date,
) -> None:
    """Write the outputs that are wanted, each whole or not at all; a fault waits for the others.

    Raises UsageError before writing anything when a path is one of the inputs, else OutputError.
    """
    from prepcheck.proof.write import proof_bytes
    from prepcheck.report.json import report_text
    from prepcheck.report.letter import letter_text

    outputs = [path for path in (proof, report, letter, mail) if path is not None]
    refuse_inputs(outputs, batch.inputs)
    result = examined.result

    @functools.cache
    def drawn(proof_for: ProofFor) -> bytes:
        return proof_bytes(
            result,
            examined.parts,
            made_on=made_on,
            proof_for=proof_for,
        )

    lines: list[str] = []
    if report is not None:
        lines += why_not(lambda: write_whole(report, _encoded(report_text(result))))
    if letter is not None:
        lines += why_not(lambda: write_whole(letter, _encoded(letter_text(result))))
    if proof is not None:
        lines += why_not(lambda: write_whole(proof, drawn(examined.proof_for)))
    if mail is not None:
        from prepcheck.report.mail import mail_bytes, mail_subject

        message = mail_bytes(
            mail_subject(result), letter_text(result), version=result.version,
            proof=drawn("client"),
            proof_name=f"{batch.stem}-proof.pdf" if proof is None else proof.name,
        )  # fmt: skip
        lines += why_not(lambda: write_whole(mail, message))
    if lines:
        raise OutputError(*lines)


def _with_standing(proofs: tuple[ProofPart, ...], batch: Batch) -> tuple[ProofPart, ...]:
    """Return what was examined with what was not, each part in its place."""
    whole = list(proofs)
    for standing in batch.standing:
        whole.insert(standing.place, ProofPart(standing.result, None))
    return tuple(whole)


def _nothing() -> None:
    return


def _made_ready(pictures: bool, order: bool) -> Callable[[], object]:
    """Return what brings in what reports take, and a proof and an order's checks where they are
    wanted."""

    def make() -> None:
        for name in ("console", "json", "letter"):
            importlib.import_module(f"prepcheck.report.{name}")
        if pictures:
            from prepcheck.proof.write import make_ready

            make_ready()
        if order:
            importlib.import_module("prepcheck.run.whole_order")
            importlib.import_module("prepcheck.judging.registry").order_declarations()

    return make


def _encoded(text: str) -> bytes:
    return text.encode("utf-8", "replace")


def _raise_faults(answers: Iterable[Answer], batch: Batch) -> None:
    answers = list(answers)
    prefix = "" if batch.order_path is None else f"{batch.order_path}: "
    order_faults = [f"{prefix}{line}" for answer in answers for line in answer.order_faults]
    if order_faults:
        raise OrderError(*order_faults)
    usage_faults = [line for answer in answers for line in answer.usage_faults]
    if usage_faults and all(answer.usage_faults for answer in answers):
        raise UsageError(*usage_faults)


def _unsettled(answer: Answer, task: Task) -> Answer:
    """Return a part of which it could not be told what piece it is: a query, and only that."""
    line = answer.usage_faults[0].removeprefix(f"{task.file}: ")
    what = line.partition("; say which")[0]
    return Answer(
        unreadable_part(
            task,
            f"which piece this is cannot be told: {what}; tell us which piece it is for",
            severity=Severity.QUERY,
            code="piece-not-told",
        )
    )


def _refuse_unknown_checks(batch: Batch) -> None:
    specs: dict[str, Spec] = {spec.name: spec for task in batch.tasks for spec in task.specs}
    if not any(spec.severity for spec in specs.values()):
        return
    from prepcheck.judging.registry import declarations, order_declarations

    known = declarations().keys() | order_declarations().keys()
    lines = [
        f"spec {spec.name}: severity: there is no check {name!r}; {hint(name, known)}"
        for spec in specs.values()
        for name in spec.severity
        if name not in known
    ]
    if lines:
        raise SpecError(*lines)
