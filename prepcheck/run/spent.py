"""How much time a worker has had: what it waited for a processor that others use does not count."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from prepcheck.frozen import dataclass

_APART = 0.1
"""Least seconds between two looks: processor time is told in steps of a hundredth."""
_STATE, _USER, _SYSTEM = 0, 11, 12
"""Places in /proc/PID/stat, counted from the state, from proc(5)."""
_RUNNABLE = "R"


@dataclass(frozen=True, slots=True)
class SpentThen:
    """What a process had done at a moment."""

    at: float
    """Seconds of a clock that never goes back."""
    busy: float | None
    """Processor seconds of all its threads; None where the system does not tell."""
    wants: bool
    """Whether one of its threads runs, or waits for nothing but a processor."""


def counted(before: SpentThen, after: SpentThen) -> float:
    """Return the seconds that a process had between two looks.

    One that wants to run has had what it ran, at most the time between; for one that waits for
    anything else (a slow disk, a sleep, a lock that nobody opens) all time counts, so that a hang
    ends. On a machine with nothing else to do both are the time by the clock.
    """
    by_clock = after.at - before.at
    if after.wants and before.busy is not None and after.busy is not None:
        return min(by_clock, after.busy - before.busy)
    return by_clock


def look_at(process: int) -> SpentThen:
    """Return what a process has done by now; where nothing is told, the time by the clock."""
    at = time.monotonic()
    try:
        words = _stat(Path(f"/proc/{process}/stat"))
        ticks = int(words[_USER]) + int(words[_SYSTEM])
        return SpentThen(at, ticks / os.sysconf("SC_CLK_TCK"), _wants(process))
    except (OSError, ValueError, IndexError, AttributeError):
        return SpentThen(at, None, False)


class Spent:
    """Adds up the time that one process has had since this was made."""

    def __init__(self, process: int, look: Callable[[int], SpentThen] = look_at) -> None:
        self._process, self._look = process, look
        self._last = look(process)
        self._sum = 0.0

    def seconds(self) -> float:
        """Return the seconds had until now."""
        if time.monotonic() - self._last.at >= _APART:
            now = self._look(self._process)
            self._sum += counted(self._last, now)
            self._last = now
        return self._sum


def _wants(process: int) -> bool:
    for thread in Path(f"/proc/{process}/task").iterdir():
        with suppress(OSError):  # it ended meanwhile
            if _stat(thread / "stat")[_STATE] == _RUNNABLE:
                return True
    return False


def _stat(path: Path) -> list[str]:
    # The command's name stands in brackets and may hold anything.
    return path.read_text(encoding="latin-1").rpartition(")")[2].split()
