"""The time of a part is the time it has had, not the time that others took."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from prepcheck.run.budget import WorkerLimits
from prepcheck.run.message import Failed
from prepcheck.run.spent import Spent, SpentThen, counted
from prepcheck.run.worker import isolated

pytestmark = pytest.mark.skipif(
    not hasattr(os, "sched_setaffinity"), reason="only Linux tells what a process has had"
)
WORK = 0.5
"""Processor seconds of the task, of the one second that it may take."""


def work_for(seconds: float) -> int:
    until = time.process_time() + seconds
    while time.process_time() < until:
        pass
    return 7


def sleep_for(seconds: float) -> int:
    time.sleep(seconds)
    return 7


@contextmanager
def crowded(others: int) -> Iterator[None]:
    """Share one processor, this process and its children, with so many that never rest."""
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(before)})
    command = [sys.executable, "-c", "print(flush=True)\nwhile True: pass"]
    busy = [subprocess.Popen(command, stdout=subprocess.PIPE) for _ in range(others)]
    try:
        for one in busy:  # each has begun
            assert one.stdout is not None
            assert one.stdout.readline()
        yield
    finally:
        for one in busy:
            one.kill()
            one.communicate()
        os.sched_setaffinity(0, before)


def test_a_light_part_on_a_crowded_machine_is_not_told_to_be_heavy() -> None:
    """Four times the work passes by the clock, as the system's own count of both shows."""
    began = time.monotonic()
    with crowded(5):
        (ended,) = isolated(work_for, [WORK], int, jobs=1, limits=WorkerLimits(seconds=1.0))
    assert time.monotonic() - began > 1.0, "nothing was shown"
    assert ended.answer == 7


@pytest.mark.parametrize("work", [work_for, sleep_for])
def test_what_works_or_waits_too_long_is_stopped(work: object) -> None:
    limits = WorkerLimits(seconds=0.3)
    (ended,) = isolated(work, [30.0], int, jobs=1, limits=limits)  # type: ignore[arg-type]
    assert isinstance(ended.answer, Failed)
    assert "longer than 0.3 s" in ended.answer.why


def test_waiting_for_a_processor_does_not_count_and_a_second_thread_counts_once() -> None:
    start = SpentThen(10.0, 2.0, True)
    assert counted(start, SpentThen(14.0, 3.0, True)) == 1.0
    assert counted(start, SpentThen(14.0, 9.0, True)) == 4.0
    assert counted(start, SpentThen(14.0, 3.0, False)) == 4.0
    assert counted(SpentThen(10.0, None, False), SpentThen(14.0, None, False)) == 4.0


def test_a_process_that_is_gone_is_no_error() -> None:
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    assert Spent(gone.pid).seconds() == 0.0
