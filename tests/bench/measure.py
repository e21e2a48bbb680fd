"""Runs a command and measures it with everything it starts."""

from __future__ import annotations

import resource
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

import prepcheck

PAGE = resource.getpagesize()
ROOT = Path(prepcheck.__file__).parent


@dataclass(frozen=True)
class Cost:
    """Wall time and processor time in s, greatest memory of the process tree in MB.

    `peak_mb` counts shared pages in each process that holds them, `shared_mb` counts them once;
    `parent_mb` is the greatest memory of the first process alone. Memory is 0 where it was not
    weighed.
    """

    wall: float
    cpu: float
    exit_code: int
    peak_mb: float = 0.0
    shared_mb: float = 0.0
    parent_mb: float = 0.0


def run(*commands: Sequence[str]) -> Cost:
    """Run commands one after another, each to its end, and return the time they take together."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    worst = max(_started(command).wait() for command in commands)
    wall = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Cost(wall, cpu, worst)


def beside(command: Sequence[str]) -> Cost:
    """Run a command once; of memory only its first process's is weighed, which halts nothing."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    process, parent = _started(command), 0
    while process.poll() is None:
        parent = max(parent, _resident(process.pid))
        time.sleep(0.05)
    wall = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Cost(wall, cpu, process.returncode, parent_mb=parent / 1e6)


def weighed(cost: Cost, *commands: Sequence[str]) -> Cost:
    """Run commands again and return their cost with the memory they take.

    That is not done in the run that is timed: to look at shared pages the kernel halts a process.
    """
    peak = shared = parent = 0
    for command in commands:
        process = _started(command)
        while process.poll() is None:
            tree = list(_tree(process.pid))
            held = [_resident(pid) for pid in tree]
            if sum(held) > 0.95 * peak:
                shared = max(shared, sum(_proportional(pid) for pid in tree))
            peak, parent = max(peak, sum(held)), max(parent, held[0])
            time.sleep(0.01)
    return replace(cost, peak_mb=peak / 1e6, shared_mb=shared / 1e6, parent_mb=parent / 1e6)


def _started(command: Sequence[str]) -> subprocess.Popen[bytes]:
    return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def middle(costs: Sequence[Cost]) -> Cost:
    """Return the run of the median wall time."""
    return sorted(costs, key=lambda cost: cost.wall)[len(costs) // 2]


def median(command: Sequence[str], times: int = 3) -> Cost:
    """Run a command several times; return the run of the median wall time, memory weighed once."""
    return weighed(middle([run(command) for _ in range(times)]), command)


def _tree(pid: int) -> Iterator[int]:
    """Yield a process and all below it (Linux; else itself alone)."""
    yield pid
    with suppress(OSError):  # it has ended meanwhile
        for task in Path(f"/proc/{pid}/task").iterdir():
            for child in (task / "children").read_text().split():
                yield from _tree(int(child))


def _resident(pid: int) -> int:
    """Return the bytes of memory that a process holds (Linux; else 0)."""
    try:
        return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * PAGE
    except (OSError, IndexError):
        return 0


def _proportional(pid: int) -> int:
    """Return the bytes a process holds, each page shared out among its holders (Linux; else 0)."""
    try:
        words = Path(f"/proc/{pid}/smaps_rollup").read_text().split()
        return int(words[words.index("Pss:") + 1]) * 1024
    except (OSError, ValueError):
        return 0


def where_time_goes(work: Callable[[], object]) -> list[tuple[str, float]]:
    """Run `work` and return seconds by room of the house, longest first.

    A thread looks every millisecond where the main thread is and books the time since its last
    look to the innermost room, so that the libraries' time is counted where they are called.
    """
    main, booked, done = threading.main_thread().ident, Counter[str](), threading.Event()

    def look() -> None:
        last = time.perf_counter()
        while not done.is_set():
            time.sleep(0.001)
            frame = sys._current_frames().get(main or 0)
            now = time.perf_counter()
            while frame is not None and ROOT not in Path(frame.f_code.co_filename).parents:
                frame = frame.f_back
            name = "elsewhere"
            if frame is not None:
                name = "/".join(Path(frame.f_code.co_filename).relative_to(ROOT).parts[:2])
            booked[name] += now - last
            last = now

    watcher = threading.Thread(target=look)
    watcher.start()
    try:
        work()
    finally:
        done.set()
        watcher.join()
    return booked.most_common()
