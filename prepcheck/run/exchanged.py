"""Files of an order that stand in each other's place, or in a second one, by their sizes.

A label named for the jacket and the jacket for the label are one mistake. Judged as what they were
named for they would show a dozen others, and what is really wrong with them would stay hidden: so
each is examined as what it is, and the exchange is told once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from prepcheck.measure.assign import NEVER, best_assignment
from prepcheck.proof.model import ProofPart
from prepcheck.run.answer import Answer, Task
from prepcheck.run.awaited import awaited_part
from prepcheck.sheets.texts import LiveTexts

_FITS, _SIDE = 1.0, 0.5


def put_right(tasks: Sequence[Task], answers: Sequence[Answer]) -> dict[int, Task]:
    """Return by their places the tasks that get another's file: those of a closed chain in which
    each file fits the piece that the next part is, and not its own. In the order of the places."""
    odd = [i for i, answer in enumerate(answers) if answer.fits and _may_move(tasks[i])]
    values = [[_worth(tasks[to], answers[i]) for to in odd] for i in odd]
    goes_to = {
        i: odd[column]
        for i, column in zip(odd, best_assignment(values), strict=True)
        if column is not None
    }
    chained = {i for i in goes_to if _comes_back(i, goes_to)}
    right = {goes_to[i]: _with_file(tasks[goes_to[i]], tasks[i]) for i in chained}
    return dict(sorted(right.items()))


def named_twice(tasks: Sequence[Task], answers: Sequence[Answer]) -> dict[int, str]:
    """Return by their places the tasks whose file fits another part that it is named for as well,
    each with the name of that part."""
    found = {}
    for i, (task, answer) in enumerate(zip(tasks, answers, strict=True)):
        if not answer.fits or not _may_move(task):
            continue
        for other in tasks:
            same = other is not task and other.path.resolve() == task.path.resolve()
            if same and len(other.specs) == 1 and other.specs[0].name in answer.fits:
                found[i] = other.name
    return found


def not_received(task: Task, instead: str) -> Answer:
    """Return what stands for a part whose file is another part."""
    spec = task.specs[0].name
    if task.part is None:
        raise ValueError(f"{task.name} is no part of an order")
    return Answer(ProofPart(awaited_part(task.part, (), spec, instead=instead), None))


def _may_move(task: Task) -> bool:
    part = task.part
    return part is not None and part.page is None and len(task.specs) == 1


def _worth(to: Task, answer: Answer) -> float:
    """Return what it is worth that a file goes to a part: it fits, and names the side."""
    if to.specs[0].name not in answer.fits:
        return NEVER
    side = None if to.part is None else to.part.side
    sides = LiveTexts(answer.digest.words).sides() if answer.digest is not None else frozenset()
    return _FITS + (_SIDE if side is not None and side in sides else 0.0)


def _comes_back(start: int, goes_to: dict[int, int]) -> bool:
    at = goes_to[start]
    for _ in goes_to:
        if at == start:
            return True
        if at not in goes_to:
            return False
        at = goes_to[at]
    return at == start


def _with_file(task: Task, source: Task) -> Task:
    part = None if task.part is None else task.part.replaced(file=source.file)
    return replace(task, path=source.path, file=source.file, part=part, sharing=None)
