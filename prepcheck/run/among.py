"""What the parts of an order must know of each other before they are examined."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from prepcheck.order import Order
from prepcheck.run.answer import Sharing, Task
from prepcheck.run.pages import pages_due


def among_others(tasks: Sequence[Task], order: Order) -> list[Task]:
    """Return the tasks with the specs of the other parts, as far as it is known which those are,
    and with the parts that share a file with them."""
    tasks = _shared(tasks, order)
    known = {task.name: task.specs[0] for task in tasks if len(task.specs) == 1}
    return [
        replace(
            task,
            others=tuple({s.name: s for s in known.values() if s.name != own.name}.values()),
        )
        if (own := known.get(task.name)) is not None
        else task
        for task in tasks
    ]


def _shared(tasks: Sequence[Task], order: Order) -> list[Task]:
    """Return the tasks with what they must know of each other where several are of one file."""
    groups: dict[Path, list[Task]] = {}
    for task in tasks:
        groups.setdefault(task.path.resolve(), []).append(task)
    found = []
    for task in tasks:
        group = groups[task.path.resolve()]
        open_ones = [(t.part, t.specs) for t in group if t.part is not None and not t.part.page]
        whole = all(
            part.face is not None or min(pages_due(spec) for spec in specs) == 1
            for part, specs in open_ones
        )
        if len(group) > 1 and task.part is not None and task.part.page is None and whole:
            pages = {part.page for part in order.part if part.file == task.part.file and part.page}
            pages |= {t.part.page for t in group if t.part is not None and t.part.page}
            sharing = Sharing(
                tuple(part for part, _ in open_ones),
                tuple(specs for _, specs in open_ones),
                tuple(sorted(pages)),
            )
            task = replace(task, sharing=sharing)
        found.append(task)
    return found
