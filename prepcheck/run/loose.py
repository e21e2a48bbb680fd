"""Loose art that is one face of a piece of several: which face each file is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import PurePath

from prepcheck.measure.assign import best_assignment
from prepcheck.run.answer import Answer, FaceSeen, Task
from prepcheck.run.gather import Batch, by_pages
from prepcheck.run.pages import ALIKE_MM
from prepcheck.spec.model import Spec

_NAME, _SIZE, _OUTSIDE, _PLACE = 4.0, 3.0, 2.0, 0.5
_ANY = 10.0
"""What any face is worth, so that no file is left without one."""


def told_apart(batch: Batch, answers: Mapping[str, Answer]) -> Batch:
    """Return a batch of loose art whose open tasks, by name, are told apart: files of several
    pieces by their pages, and the faces of one piece from each other."""
    faces = {name: answer.face for name, answer in answers.items() if answer.face is not None}
    pages = {name: answer.pages for name, answer in answers.items() if answer.pages}
    batch = with_faces(by_pages(batch, pages) if pages else batch, faces)
    # What was asked once is not asked again.
    tasks = (replace(t, several=t.several and t.name not in answers) for t in batch.tasks)
    several = len(batch.tasks) > 1
    return replace(batch, tasks=tuple(replace(task, among=several) for task in tasks))


def with_faces(batch: Batch, seen: Mapping[str, FaceSeen]) -> Batch:
    """Return a batch of loose art in which files that are faces of one piece are told apart.

    By the name of the face in the file's, by size, by what only an outside carries, and then as
    they came. A face without another is left as it is: that the rest is missing is found there.
    """
    groups: dict[str, list[Task]] = {}
    for task in batch.tasks:
        if task.page is None and task.name in seen:
            groups.setdefault(seen[task.name].spec, []).append(task)
    told: dict[str, tuple[str, str]] = {}
    for name, tasks in groups.items():
        spec = next(spec for spec in tasks[0].specs if spec.name == name)
        if len(tasks) > 1:
            told |= _shared_out(tasks, spec, seen)
    found = (
        task if task.name not in told or task.page is not None
        else replace(task, face=told[task.name][0], face_why=told[task.name][1])
        for task in batch.tasks
    )  # fmt: skip
    return replace(batch, tasks=tuple(found))


def _shared_out(
    tasks: Sequence[Task], spec: Spec, seen: Mapping[str, FaceSeen]
) -> dict[str, tuple[str, str]]:
    """Return the face of each file, and why; each face as often as there are pieces."""
    names = [page.name for page in spec.pages]
    times = -(-len(tasks) // len(names))
    said = [
        [_said(task, seen[task.name], names, column, row) for column in range(len(names))]
        for row, task in enumerate(tasks)
    ]
    values = [
        [_ANY + sum(weight for weight, _ in cell) for cell in row for _ in range(times)]
        for row in said
    ]
    found = {}
    for task, row, column in zip(tasks, said, best_assignment(values), strict=True):
        if column is None:
            continue
        face = column // times
        reasons = [why for weight, why in row[face] if weight > 0]
        found[task.name] = names[face], "; ".join(reasons[:2]) or "the face that was left"
    return found


def _said(
    task: Task, seen: FaceSeen, names: Sequence[str], face: int, row: int
) -> list[tuple[float, str]]:
    """Return what speaks for a file being a face, and against it."""
    said = []
    stem = PurePath(task.file).stem.casefold()
    in_name = [name for name in names if name.casefold() in stem]
    if len(in_name) == 1:
        own = names[face] == in_name[0]
        said.append((_NAME, "its name says so") if own else (-_NAME, ""))
    best = min(seen.misses)
    fits = [index for index, miss in enumerate(seen.misses) if miss <= best + ALIKE_MM]
    if len(fits) < len(names):
        said.append((_SIZE, "its size is that face's") if face in fits else (-_SIZE, ""))
    for shown, why in (
        (seen.spine, "type stands on its spine"),
        (seen.number, "it carries a barcode's number"),
    ):
        if shown:
            said.append((_OUTSIDE, why) if face == 0 else (-_OUTSIDE, ""))
    if row % len(names) == face:
        said.append((_PLACE, "as the files came"))
    return said
