"""Where a cluster fails, parts are examined here, each once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from prepcheck.errors import ClusterError
from prepcheck.run.answer import Answer, Task
from prepcheck.run.executor import LocalWorkers
from prepcheck.run.message import Failed
from prepcheck.run.or_here import ClusterOrHere
from prepcheck.run.worker import Ended


class Cluster:
    """Answers one task a call, and is then gone."""

    asked = 0

    def ended(self, tasks: Sequence[Task], **more: Any) -> Iterator[Ended[Answer]]:
        self.asked += 1
        yield Ended(1, Failed("there"))
        raise ClusterError("tcp://other:8786: the scheduler is gone")


def test_what_a_cluster_left_is_done_here_until_it_is_tried_again(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def here(workers: object, tasks: Sequence[Any], **more: Any) -> Iterator[Ended[Answer]]:
        for place, task in enumerate(tasks):
            more["started"](place)
            yield Ended(place, Failed(f"here {task}"))

    monkeypatch.setattr(LocalWorkers, "ended", here)
    told: list[str] = []
    begun: list[int] = []
    executor = ClusterOrHere("tcp://other:8786", False, 1, told.append, again_seconds=3600.0)
    cluster = Cluster()
    executor._cluster = cluster  # type: ignore[assignment]
    tasks: Any = ["a", "b", "c"]

    def run() -> dict[int, str]:
        found = list(executor.ended(tasks, started=begun.append, meanwhile=lambda: None))
        assert len(found) == 3
        return {end.index: end.answer.why for end in found if isinstance(end.answer, Failed)}

    assert run() == {0: "here a", 1: "there", 2: "here c"}
    assert begun == [0, 2]
    assert told == ["tcp://other:8786: the scheduler is gone; parts are examined on this machine "
                    "meanwhile"]  # fmt: skip
    assert run() == {0: "here a", 1: "here b", 2: "here c"}
    assert cluster.asked == 1, "one that failed is left alone for a while"
    executor.again_seconds = 0.0
    assert run()[1] == "there"
