"""Runs each task in a process of its own, so that what breaks a library breaks one part only.

A worker answers over a pipe with a pickle. The parent takes nothing but prepcheck's own plain
types out of it, since a worker that read a hostile file is not to be trusted.
"""

from __future__ import annotations

import gc
import importlib
import io
import math
import multiprocessing
import os
import pickle
import signal
import sys
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, Generic, TypeVar

from prepcheck.run.settings import WorkerLimits

try:
    import resource
except ImportError:  # not on Windows; the time limit still holds there
    resource = None  # type: ignore[assignment]

T = TypeVar("T")
R = TypeVar("R")

_CHUNK = 1 << 20
_PRELOAD = "prepcheck.run.preload"
_TRUSTED = frozenset(
    {
        "prepcheck.checks._digest",
        "prepcheck.comparison",
        "prepcheck.findings",
        "prepcheck.geometry",
        "prepcheck.proof.model",
        "prepcheck.report.plates",
        "prepcheck.run.answer",
        "prepcheck.run.pair",
        "prepcheck.run.plates",
    }
)


@dataclass(frozen=True, slots=True)
class Failed:
    """A worker that gave no result: why, and whether prepcheck itself is at fault."""

    why: str
    ours: bool = False


@dataclass(frozen=True, slots=True)
class Ended(Generic[R]):
    """What came of a task, by its place in the sequence."""

    index: int
    answer: R | Failed


@dataclass(slots=True)
class _Worker:
    index: int
    process: BaseProcess
    pipe: Connection
    deadline: float
    data: bytearray


def isolated(
    work: Callable[[T], R],
    tasks: Sequence[T],
    kind: type[R],
    *,
    jobs: int,
    limits: WorkerLimits,
    started: Callable[[int], None] = lambda index: None,
) -> Iterator[Ended[R]]:
    """Run `work` on each task, `jobs` at a time, and yield what came of it as it comes.

    An answer that is no `kind` counts as failed, like a crash, a hang or want of memory. When
    the caller stops early (Ctrl-C included) every worker is killed before this returns.

    Raises RuntimeError in a worker that is only starting: it imports the script that called
    here, and would examine everything over again.
    """
    if getattr(multiprocessing.current_process(), "_inheriting", False):
        raise RuntimeError(
            "a script that examines art does so under `if __name__ == '__main__':`, since each "
            "worker process imports it"
        )
    context = _context()
    waiting = deque(enumerate(tasks))
    running: list[_Worker] = []
    try:
        while waiting or running:
            while waiting and len(running) < max(jobs, 1):
                index, task = waiting.popleft()
                started(index)
                with _interrupts_held():
                    running.append(_start(context, work, task, index, limits))
            for worker in _finished(running, limits):
                running.remove(worker)
                yield Ended(worker.index, _answer(worker, kind, limits))
    finally:
        for worker in running:
            _stop(worker)


def _context() -> Any:
    """Return how to start workers: by fork where that is safe, where no second thread is running.

    Elsewhere a server without threads forks them where the platform has that, with what takes
    long to import already in it; else each starts from nothing.
    """
    methods = multiprocessing.get_all_start_methods()
    if "forkserver" not in methods or sys.platform == "darwin":
        return multiprocessing.get_context("spawn")
    threads = Path("/proc/self/task")
    if threads.is_dir() and len(list(threads.iterdir())) == 1:
        importlib.import_module(_PRELOAD)
        return multiprocessing.get_context("fork")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([_PRELOAD])
    return context


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Let Ctrl-C wait, so that no worker is started without being known of.

    An interrupt while Python forks would also be lost: hooks that run then swallow it.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _start(
    context: Any, work: Callable[[T], R], task: T, index: int, limits: WorkerLimits
) -> _Worker:
    reader, writer = context.Pipe(duplex=False)
    process = context.Process(target=_serve, args=(work, task, writer, limits), daemon=True)
    process.start()
    writer.close()
    return _Worker(index, process, reader, time.monotonic() + limits.seconds, bytearray())


def _serve(work: Callable[[T], R], task: T, writer: Connection, limits: WorkerLimits) -> None:
    """Do the work in the worker and write the answer; the parent looks after interrupts."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    silence = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):  # native libraries talk; stdout is for reports alone
        os.dup2(silence, stream)
    if resource is not None:
        most = limits.memory_mb << 20
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    gc.disable()  # a worker lives for one part, and its many small facts are no rubbish
    try:
        packed = pickle.dumps((False, work(task)), protocol=5)
    except MemoryError:
        packed = _packed(Failed(f"reading it needs more than {limits.memory_mb} MB of memory"))
    except Exception as error:
        why = f"prepcheck itself failed on it ({type(error).__name__}: {error})"
        packed = _packed(Failed(why, ours=True))
    data = memoryview(packed)
    while data:
        data = data[os.write(writer.fileno(), data[:_CHUNK]) :]
    writer.close()


def _packed(failed: Failed) -> bytes:
    return pickle.dumps((True, (failed.why, failed.ours)), protocol=5)


def _finished(running: list[_Worker], limits: WorkerLimits) -> list[_Worker]:
    """Read what workers wrote; return those that closed their pipe or ran out of time."""
    now = time.monotonic()
    patience = max(0.0, min(worker.deadline for worker in running) - now)
    ready = wait([worker.pipe for worker in running], timeout=patience)
    done = []
    for worker in running:
        if worker.pipe in ready:
            chunk = os.read(worker.pipe.fileno(), _CHUNK)
            worker.data += chunk
            if not chunk or len(worker.data) > limits.answer_mb << 20:
                done.append(worker)
                continue
        if time.monotonic() >= worker.deadline:
            worker.deadline = -math.inf
            done.append(worker)
    return done


def _answer(worker: _Worker, kind: type[R], limits: WorkerLimits) -> R | Failed:
    if worker.deadline == -math.inf:
        _stop(worker)
        return Failed(f"reading it took longer than {limits.seconds:g} s and was stopped")
    if len(worker.data) > limits.answer_mb << 20:
        _stop(worker)
        return Failed(f"reading it gave more than {limits.answer_mb} MB of result")
    worker.process.join(max(0.0, worker.deadline - time.monotonic()))
    code = worker.process.exitcode
    _stop(worker)
    if code is not None and code < 0:
        return Failed(f"reading it crashed ({_signal_name(-code)})")
    if code:
        return Failed(f"prepcheck itself failed on it (its worker ended with {code})", ours=True)
    try:
        failed, value = _Careful(io.BytesIO(worker.data)).load()
        if failed is True:
            why, ours = value
            return Failed(str(why), bool(ours))
    except Exception:
        return Failed("reading it gave a result that cannot be used")
    if not isinstance(value, kind):
        return Failed("reading it gave a result that cannot be used")
    return value


def _signal_name(number: int) -> str:
    with suppress(ValueError):
        return signal.Signals(number).name
    return f"signal {number}"


def _stop(worker: _Worker) -> None:
    if worker.process.is_alive():
        worker.process.kill()
    worker.process.join()
    worker.pipe.close()
    worker.process.close()


class _Careful(pickle.Unpickler):
    """Takes prepcheck's own data types from a pickle and nothing else."""

    def find_class(self, module: str, name: str) -> Any:
        found = super().find_class(module, name) if module in _TRUSTED else None
        if not isinstance(found, type) or found.__module__ != module:
            raise pickle.UnpicklingError(f"{module}.{name} is not taken from a worker")
        return found
