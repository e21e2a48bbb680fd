"""A real cluster on this machine: a scheduler and workers, each a process."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TypeVar

T = TypeVar("T")
PATIENCE = 120.0
"""Seconds to wait for what must come; a loaded machine takes its time."""


class Machines:
    """A scheduler, and workers that are started as they are wanted."""

    def __init__(self, folder: Path, environment: Mapping[str, str] | None = None) -> None:
        self.folder, self.file = folder, folder / "scheduler.json"
        self.environment = environment
        self.workers: list[subprocess.Popen[bytes]] = []
        self.scheduler = self._run(
            "scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(self.file)
        )
        waited_for(self.file.is_file)

    def _run(self, what: str, *arguments: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-W", "ignore", "-m", "dask", what, "--no-dashboard"]
        with (self.folder / "log").open("ab") as log:
            return subprocess.Popen(
                [*command, *arguments], stdout=log, stderr=log, env=self.environment
            )

    def start(self) -> None:
        self.workers.append(
            self._run(
                "worker", "--scheduler-file", str(self.file), "--no-nanny", "--nthreads", "1",
                "--name", str(len(self.workers)),
                "--local-directory", str(self.folder / str(len(self.workers))),
            )
        )  # fmt: skip

    def busy(self) -> list[int]:
        """Return which living workers are at a part."""
        return [
            number
            for number, worker in enumerate(self.workers)
            if worker.poll() is None and list((self.folder / str(number)).glob("*/*/part-*"))
        ]

    def kill(self) -> None:
        """Kill a worker that is at a part, as soon as there is one; tests hold it there."""
        number = waited_for(self.busy)[0]
        self.workers[number].kill()
        self.workers[number].wait()

    def end(self) -> None:
        for process in (*self.workers, self.scheduler):
            process.kill()
            process.wait()


def waited_for(there: Callable[[], T]) -> T:
    until = time.monotonic() + PATIENCE
    while not (found := there()):
        assert time.monotonic() < until, "it never came"
        time.sleep(0.01)
    return found
