"""Runs each task in a process of its own, so that what breaks a library breaks one part only.

A worker that read a hostile file is not to be trusted: its answer is a typed message (`message`),
read by the type that is expected.
"""

from __future__ import annotations

import importlib
import multiprocessing
import os
import signal
import sys
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, Generic, TypeVar

from prepcheck.frozen import dataclass
from prepcheck.run.budget import ASKED_OF_CLIENT, WorkerLimits
from prepcheck.run.memory import own_memory_mb
from prepcheck.run.message import Failed, MessageError, unpacked
from prepcheck.run.serving import serve, serve_later
from prepcheck.run.spent import Spent

T = TypeVar("T")
R = TypeVar("R")

_CHUNK = 1 << 20
_PRELOAD = "prepcheck.run.preload"
_LOOK_SECONDS = 0.2
"""How often workers are looked after, where nothing else happens."""
_ENDING_SECONDS = 60.0
"""How long a worker that has closed its pipe may take to end."""
_SHORT = 0.6
"""Share of its memory from which a worker that a library ended is held to have run out of it."""
_FROM_OUTSIDE = ("SIGKILL", "SIGTERM", "SIGHUP")
_CUT_SHORT = "SIGBUS"
"""What ends who reads a large file where it lies, behind what is left of it."""


@dataclass(frozen=True, slots=True)
class Ended(Generic[R]):
    """What came of a task, by its place in the sequence."""

    index: int
    answer: R | Failed


@dataclass(frozen=True, slots=True)
class EarlyWorker:
    """A worker started before there is a task: it imports what tasks take and waits for one."""

    process: BaseProcess
    asks: Connection
    pipe: Connection


@dataclass(slots=True)
class _Worker:
    index: int
    process: BaseProcess
    pipe: Connection
    spent: Spent
    data: bytearray
    peak_mb: float = 0.0
    too_slow: bool = False


def isolated(
    work: Callable[[T], R],
    tasks: Sequence[T],
    kind: type[R],
    *,
    jobs: int,
    limits: WorkerLimits,
    started: Callable[[int], None] = lambda index: None,
    ahead: EarlyWorker | None = None,
    meanwhile: Callable[[], object] = lambda: None,
    scratch: Path | None = None,
) -> Iterator[Ended[R]]:
    """Run `work` on each task, `jobs` at a time, and yield what came of it as it comes.

    The first task goes to a worker started `ahead`, where there is one; `meanwhile` is called
    once, when as many workers run as may. An answer that is no `kind` counts as failed, like a
    crash, a hang or want of memory. When the caller stops early (Ctrl-C included) every worker is
    killed before this returns, and when it dies they end by themselves; a folder `scratch` they
    write to is then removed.

    Raises RuntimeError in a worker that is only starting: it imports the script that called
    here, and would examine everything over again.
    """
    if getattr(multiprocessing.current_process(), "_inheriting", False):
        raise RuntimeError(
            "a script that examines art does so under `if __name__ == '__main__':`, since each "
            "worker process imports it"
        )
    context: Any = None
    waiting = deque(enumerate(tasks))
    running: list[_Worker] = []
    idle = True
    try:
        while waiting or running:
            while waiting and len(running) < max(jobs, 1):
                index, task = waiting.popleft()
                started(index)
                first = None if ahead is None else _begun(ahead, work, task, index, limits)
                ahead = None
                if first is not None:
                    running.append(first)
                    continue
                context = context or _context(many=len(tasks) > 1)
                with _interrupts_held():
                    running.append(_start(context, work, task, index, limits, scratch))
            if idle:
                idle = False
                meanwhile()
            for worker in _finished(running, limits):
                running.remove(worker)
                yield Ended(worker.index, _answer(worker, kind, limits))
    finally:
        for worker in running:
            _stop(worker)


@contextmanager
def started_ahead(preload: str) -> Iterator[EarlyWorker | None]:
    """Start a worker that imports a module while the caller finds out what there is to do.

    Gives None where workers are not forked from here. The worker is stopped at the end.
    """
    if not _forks():
        yield None
        return
    context = multiprocessing.get_context("fork")
    asked, asks = context.Pipe(duplex=False)
    reader, writer = context.Pipe(duplex=False)
    with _interrupts_held():
        process = context.Process(
            target=serve_later, args=(preload, asked, writer, (asks, reader)), daemon=True
        )
        process.start()
    asked.close()
    writer.close()
    try:
        yield EarlyWorker(process, asks, reader)
    finally:
        asks.close()
        if not reader.closed:  # else it had a task, and is known to have ended
            _stop(_of(0, process, reader))


def _begun(
    ahead: EarlyWorker, work: Callable[[T], R], task: T, index: int, limits: WorkerLimits
) -> _Worker | None:
    """Give a waiting worker its task; None when it no longer waits."""
    try:
        ahead.asks.send((work, task, limits))
    except OSError:
        return None
    return _of(index, ahead.process, ahead.pipe)


def _of(index: int, process: BaseProcess, pipe: Connection) -> _Worker:
    return _Worker(index, process, pipe, Spent(process.pid or 0), bytearray())


def _context(*, many: bool) -> Any:
    """Return how to start workers: by fork where that is safe, where no second thread is running.

    Elsewhere a server without threads forks them where the platform has that; else each starts
    from nothing. What takes long to import is there before `many` are forked.
    """
    if _forks():
        if many:
            importlib.import_module(_PRELOAD)
        return multiprocessing.get_context("fork")
    if "forkserver" not in multiprocessing.get_all_start_methods() or sys.platform == "darwin":
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([_PRELOAD])
    return context


def _forks() -> bool:
    """Say whether this process may be forked: on Linux, with no thread but this."""
    threads = Path("/proc/self/task")
    return threads.is_dir() and len(list(threads.iterdir())) == 1


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
    context: Any,
    work: Callable[[T], R],
    task: T,
    index: int,
    limits: WorkerLimits,
    scratch: Path | None,
) -> _Worker:
    reader, writer = context.Pipe(duplex=False)
    process = context.Process(target=serve, args=(work, task, writer, limits, scratch), daemon=True)
    process.start()
    writer.close()
    return _of(index, process, reader)


def _finished(running: list[_Worker], limits: WorkerLimits) -> list[_Worker]:
    """Read what workers wrote; return those that closed their pipe or ran out of time."""
    ready = wait([worker.pipe for worker in running], timeout=_LOOK_SECONDS)
    done = []
    for worker in running:
        worker.peak_mb = max(worker.peak_mb, own_memory_mb(worker.process.pid or 0))
        if worker.pipe in ready:
            chunk = os.read(worker.pipe.fileno(), _CHUNK)
            worker.data += chunk
            if not chunk or len(worker.data) > limits.answer_mb << 20:
                done.append(worker)
                continue
        if worker.spent.seconds() >= limits.seconds:
            worker.too_slow = True
            done.append(worker)
    return done


def _answer(worker: _Worker, kind: type[R], limits: WorkerLimits) -> R | Failed:
    if worker.too_slow:
        _stop(worker)
        return Failed(limits.out_of_time(), asked=ASKED_OF_CLIENT)
    if len(worker.data) > limits.answer_mb << 20:
        _stop(worker)
        return Failed(
            f"checking it gave more than {limits.answer_mb} MB of findings and pictures; "
            "simplify the file"
        )
    if worker.data:
        try:
            answer = unpacked(worker.data, kind)
        except MessageError as error:
            why = f"prepcheck itself failed on it (its worker's answer cannot be read: {error})"
            answer = Failed(why, ours=True)
        else:
            # What it holds takes a while to be given back, which nobody need wait for.
            worker.process.kill()
            worker.pipe.close()
            return answer
    else:
        answer = Failed("prepcheck itself failed on it (its worker gave no answer)", ours=True)
    worker.process.join(_ENDING_SECONDS)
    code = worker.process.exitcode
    _stop(worker)
    if code is not None and code < 0:
        return _killed(-code, worker.peak_mb, limits)
    if code:
        return Failed(f"prepcheck itself failed on it (its worker ended with {code})", ours=True)
    return answer


def _killed(number: int, peak_mb: float, limits: WorkerLimits) -> Failed:
    """Tell why a worker was ended by a signal.

    Libraries that get no memory end their process in ways of their own.
    """
    name = _signal_name(number)
    if name in _FROM_OUTSIDE:
        return Failed(
            f"its check was ended from outside ({name}), as systems do that run short of memory; "
            "free some, or use fewer --jobs",
            ours=True,
        )
    if name == _CUT_SHORT:
        return Failed("the file was cut short while it was being examined; copy it afresh")
    if peak_mb > _SHORT * limits.memory_mb:
        return Failed(limits.out_of_memory(), asked=ASKED_OF_CLIENT)
    return Failed(f"reading it crashed ({name})")


def _signal_name(number: int) -> str:
    with suppress(ValueError):
        return signal.Signals(number).name
    return f"signal {number}"


def _stop(worker: _Worker) -> None:
    """End a worker, if it is not known to have ended."""
    if worker.pipe.closed:
        return
    worker.process.kill()
    worker.process.join()
    worker.pipe.close()
    worker.process.close()
