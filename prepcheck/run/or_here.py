"""Parts examined by a cluster, and on this machine for as long as that cannot be reached.

For what runs for months: an order is not to wait because another machine is down.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field

from prepcheck.errors import PrepcheckError
from prepcheck.run.answer import Answer, Task
from prepcheck.run.executor import Executor, LocalWorkers
from prepcheck.run.worker import Ended

_AGAIN_SECONDS = 60.0
"""How long a cluster that failed is left alone."""


@dataclass
class ClusterOrHere:
    """An executor: the workers of the scheduler at `address` (see `cluster.connected`), connected
    to when they are first needed; else worker processes here, `jobs` at a time. `tell` is told in
    one line each time that the cluster fails."""

    address: str
    shared: bool
    jobs: int
    tell: Callable[[str], None]
    again_seconds: float = _AGAIN_SECONDS
    _cluster: Executor | None = None
    _stack: ExitStack = field(default_factory=ExitStack)
    _failed: float | None = None

    def ended(
        self,
        tasks: Sequence[Task],
        *,
        started: Callable[[int], None],
        meanwhile: Callable[[], object],
        coming: Iterable[Task] = (),
    ) -> Iterator[Ended[Answer]]:
        """Yield what came of each task as it comes; see `Executor`."""
        left = dict(enumerate(tasks))
        if self._failed is None or time.monotonic() - self._failed >= self.again_seconds:
            try:
                there = self._reached().ended(
                    tasks, started=started, meanwhile=meanwhile, coming=coming
                )
                for end in there:
                    del left[end.index]
                    yield end
                self._failed = None
            except PrepcheckError as fault:
                self._failed = time.monotonic()
                self.tell(f"{' '.join(fault.lines)}; parts are examined on this machine meanwhile")
        places = [*left]
        here = LocalWorkers(self.jobs).ended(
            [*left.values()], started=lambda place: started(places[place]), meanwhile=meanwhile
        )
        for end in here:
            yield Ended(places[end.index], end.answer)

    def close(self) -> None:
        """Let go of the cluster."""
        self._stack.close()
        self._cluster = None

    def _reached(self) -> Executor:
        if self._cluster is None:
            from prepcheck.run.cluster import connected, dask_says_nothing

            dask_says_nothing()
            near = connected(self.address, shared=self.shared, jobs=self.jobs)
            self._cluster = self._stack.enter_context(near)
        return self._cluster
