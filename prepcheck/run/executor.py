"""Where parts are examined: anything that takes tasks and gives back what came of each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from prepcheck.run.answer import Answer, Task
from prepcheck.run.budget import WorkerLimits
from prepcheck.run.work import examine_part
from prepcheck.run.worker import EarlyWorker, Ended, isolated


class Executor(Protocol):
    """Has tasks examined, wherever that is."""

    def ended(
        self,
        tasks: Sequence[Task],
        *,
        started: Callable[[int], None],
        meanwhile: Callable[[], object],
        coming: Iterable[Task] = (),
    ) -> Iterator[Ended[Answer]]:
        """Yield what came of each task as it comes, every task once.

        `started` is told the place of a task that is begun; `meanwhile` is called once, when as
        many are under way as may be. Tasks that are `coming` after these may be begun too where
        there is room; they are given again, the same, by a later call. Whatever is under way is
        given up when the caller stops early. A part whose check crashes, hangs or is lost is
        answered as failed.
        """
        ...


@dataclass(slots=True)
class LocalWorkers:
    """Worker processes on this machine, `jobs` at a time; the first task goes to the worker that
    was started `ahead`, where there is one."""

    jobs: int = 1
    work: Callable[[Task], Answer] = examine_part
    ahead: EarlyWorker | None = None

    def ended(
        self,
        tasks: Sequence[Task],
        *,
        started: Callable[[int], None],
        meanwhile: Callable[[], object],
        coming: Iterable[Task] = (),
    ) -> Iterator[Ended[Answer]]:
        """Yield what came of each task as it comes; none that is coming is begun."""
        ahead, self.ahead = self.ahead, None
        limits = tasks[0].settings.worker if tasks else WorkerLimits()
        return isolated(
            self.work, tasks, Answer, jobs=self.jobs, limits=limits, started=started, ahead=ahead,
            meanwhile=meanwhile,
        )  # fmt: skip
