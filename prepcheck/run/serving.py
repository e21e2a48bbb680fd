"""What a worker does: it does its work, answers over a pipe, and ends when its parent does.

Its work it has from its parent, which it is a part of and trusts: by fork as it lies in memory,
else pickled, as `multiprocessing` starts processes.
"""

from __future__ import annotations

import ctypes
import gc
import importlib
import multiprocessing
import os
import shutil
import signal
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import TypeVar

from prepcheck.errors import CrashError, itself_failed, short_of
from prepcheck.run.budget import ASKED_OF_CLIENT, WorkerLimits
from prepcheck.run.memory import hold_memory_to, keep_freed_memory
from prepcheck.run.message import Failed, packed

T = TypeVar("T")
R = TypeVar("R")

_CHUNK = 1 << 20
_DEATH_SIGNAL = 1
"""PR_SET_PDEATHSIG of prctl(2)."""


def serve(
    work: Callable[[T], R],
    task: T,
    writer: Connection,
    limits: WorkerLimits,
    scratch: Path | None = None,
) -> None:
    """Do the work and write the answer; `scratch` is removed if the parent dies meanwhile."""
    settle_in(scratch)
    _answer(work, task, writer, limits)


def serve_later(
    preload: str, asked: Connection, writer: Connection, others: Sequence[Connection]
) -> None:
    """Import a module, wait for work, and do it."""
    settle_in(None)
    gc.disable()  # to look for rubbish while importing takes a tenth of that time
    for other in others:  # the caller's ends: its death must end this worker too
        other.close()
    importlib.import_module(preload)
    with suppress(EOFError):  # nothing is wanted after all
        work, task, limits = asked.recv()
        _answer(work, task, writer, limits)


def settle_in(scratch: Path | None) -> None:
    """Leave interrupts to the parent, end with it, say nothing, and be sparing with the system's
    time."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, signal.SIG_DFL)
    silence = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):  # native libraries talk; stdout is for reports alone
        os.dup2(silence, stream)
    if silence > 2:
        os.close(silence)
    if scratch is not None or not _dies_with_parent():
        threading.Thread(target=_end_with_parent, args=(scratch,), daemon=True).start()
    keep_freed_memory()


def _answer(work: Callable[[T], R], task: T, writer: Connection, limits: WorkerLimits) -> None:
    hold_memory_to(limits.memory_mb)
    gc.disable()  # a worker lives for one part, and its many small facts are no rubbish
    try:
        data = packed(work(task))
    except MemoryError:
        data = packed(Failed(limits.out_of_memory(), asked=ASKED_OF_CLIENT))
    except Exception as error:
        own = str(error) if isinstance(error, CrashError) else itself_failed(error)
        data = packed(Failed(short_of(error) or own, ours=True))
    view = memoryview(data)
    while view:
        view = view[os.write(writer.fileno(), view[:_CHUNK]) :]
    writer.close()


def _dies_with_parent() -> bool:
    """Have the system kill this process with its parent; say whether it will.

    It will on Linux, where a worker is forked from its parent and not from a server.
    """
    parent = multiprocessing.parent_process()
    if sys.platform != "linux" or parent is None:
        return False
    try:
        done: bool = ctypes.CDLL(None).prctl(_DEATH_SIGNAL, signal.SIGKILL, 0, 0, 0) == 0
    except (OSError, AttributeError):
        return False
    return done and os.getppid() == parent.pid  # another has taken its place if it is dead


def _end_with_parent(scratch: Path | None) -> None:
    parent = multiprocessing.parent_process()
    if parent is None:
        return
    wait([parent.sentinel])
    for _ in range(3):  # the other thread may be writing there still
        if scratch is not None:
            shutil.rmtree(scratch, ignore_errors=True)
    os._exit(1)
