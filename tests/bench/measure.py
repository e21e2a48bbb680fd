"""Runs a command and measures it with everything it starts."""

from __future__ import annotations

import resource
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import prepcheck

PAGE = resource.getpagesize()
ROOT = Path(prepcheck.__file__).parent


@dataclass(frozen=True)
class Cost:
    """Wall time and processor time in s, greatest memory of the process tree in MB."""

    wall: float
    cpu: float
    peak_mb: float
    exit_code: int


def run(command: Sequence[str]) -> Cost:
    """Run a command to its end. Memory is resident pages, shared ones counted in each process."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    peak = 0
    while process.poll() is None:
        peak = max(peak, _resident(process.pid))
        time.sleep(0.01)
    wall = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Cost(wall, cpu, peak / 1e6, process.returncode)


def median(command: Sequence[str], times: int = 3) -> Cost:
    """Run a command several times and return the run of the median wall time."""
    return sorted((run(command) for _ in range(times)), key=lambda cost: cost.wall)[times // 2]


def _resident(pid: int) -> int:
    """Return the bytes of memory held by a process and all below it (Linux; else 0)."""
    total = 0
    try:
        total += int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * PAGE
        for task in Path(f"/proc/{pid}/task").iterdir():
            for child in (task / "children").read_text().split():
                total += _resident(int(child))
    except (OSError, IndexError):
        pass  # it has ended meanwhile
    return total


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
