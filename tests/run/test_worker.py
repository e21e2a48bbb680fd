"""Workers that crash, hang, eat memory or answer nonsense cost no other part."""

from __future__ import annotations

import mmap
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from prepcheck.run.budget import WorkerLimits
from prepcheck.run.message import Failed
from prepcheck.run.worker import Ended, isolated, started_ahead

ROOT = Path(__file__).parents[2]
LIMITS = WorkerLimits(seconds=20.0, memory_mb=2048)
LIMITS_3 = WorkerLimits(seconds=3.0)
BIG = "checking it gave more than 1 MB of findings and pictures; simplify the file"


def run_all(
    work: Callable[[int], object],
    tasks: list[int],
    limits: WorkerLimits = LIMITS,
    jobs: int = 2,
) -> dict[int, object]:
    ended: list[Ended[int]] = list(isolated(work, tasks, int, jobs=jobs, limits=limits))  # type: ignore[arg-type]
    assert len(ended) == len(tasks)
    return {end.index: end.answer for end in ended}


def double(task: int) -> int:
    return 2 * task


def crash_on_two(task: int) -> int:
    if task == 2:
        os.kill(os.getpid(), signal.SIGSEGV)
    return task


def killed_on_two(task: int) -> int:
    if task == 2:
        os.kill(os.getpid(), signal.SIGKILL)
    return task


def hang_on_two(task: int) -> int:
    if task == 2:
        time.sleep(600)
    return task


def cut_short_on_two(task: int) -> int:
    if task == 2:
        with tempfile.TemporaryFile() as file:
            file.write(bytes(1 << 20))
            file.flush()
            mapped = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
            file.truncate(0)
            return mapped[-1]
    return task


def eat_on_two(task: int) -> int:
    return task if task != 2 else len(bytearray(8 << 30))


def raise_on_two(task: int) -> int:
    if task == 2:
        raise ValueError("no such luck")
    return task


def leave_on_two(task: int) -> int:
    if task == 2:
        os._exit(0)
    return task


class Trap:
    def __reduce__(self) -> tuple[Callable[[str], int], tuple[str]]:
        return os.system, ("exit 0",)


def trap_on_two(task: int) -> object:
    return Trap() if task == 2 else task


def wrong_type_on_two(task: int) -> object:
    return "two" if task == 2 else task


def big_on_two(task: int) -> object:
    return b"x" * (3 << 20) if task == 2 else task


def unpicklable_on_two(task: int) -> object:
    return (lambda: None) if task == 2 else task


def test_answers_come_back_in_whatever_order_with_their_index() -> None:
    assert run_all(double, [5, 6, 7, 8, 9]) == {0: 10, 1: 12, 2: 14, 3: 16, 4: 18}


@pytest.mark.parametrize(
    ("work", "why", "ours"),
    [
        (crash_on_two, "crashed (SIGSEGV)", False),
        (cut_short_on_two, "the file was cut short while it was being examined", False),
        (eat_on_two, "needs more than 2048 MB of memory", False),
        (raise_on_two, "prepcheck itself failed (ValueError: no such luck, ", True),
        (leave_on_two, "prepcheck itself failed on it (its worker gave no answer)", True),
        (trap_on_two, "prepcheck itself failed (TypeError: Trap is not carried", True),
        (wrong_type_on_two, "its worker's answer cannot be read: Expected `int`, got `str`", True),
        (killed_on_two, "ended from outside (SIGKILL)", True),
        (unpicklable_on_two, "prepcheck itself failed", True),
    ],
)
def test_one_that_fails_costs_no_other(work: Callable[[int], object], why: str, ours: bool) -> None:
    answers = run_all(work, [1, 2, 3])
    failed = answers.pop(1)
    assert answers == {0: 1, 2: 3}
    assert isinstance(failed, Failed)
    assert why in failed.why
    assert failed.ours is ours


def test_one_that_hangs_is_stopped() -> None:
    answers = run_all(hang_on_two, [1, 2, 3], LIMITS_3)
    assert answers[0] == 1
    assert answers[2] == 3
    assert isinstance(answers[1], Failed)
    assert answers[1].why == LIMITS_3.out_of_time()


def test_one_that_says_too_much_is_stopped() -> None:
    answers = run_all(big_on_two, [1, 2, 3], WorkerLimits(answer_mb=1))
    assert answers[1] == Failed(BIG)
    assert answers[2] == 3


def note_pid_and_hang(path: Path) -> int:
    path.write_text(str(os.getpid()), encoding="utf-8")
    time.sleep(600)
    return 0


def test_stopping_early_kills_every_worker(tmp_path: Path) -> None:
    files = [tmp_path / "a", tmp_path / "b"]

    def interrupted(index: int) -> None:
        if index == 1:
            until = time.monotonic() + 20
            while not (files[0].exists() and files[0].read_text(encoding="utf-8")):
                assert time.monotonic() < until
                time.sleep(0.01)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        list(isolated(note_pid_and_hang, files, int, jobs=2, limits=LIMITS, started=interrupted))
    pid = int(files[0].read_text(encoding="utf-8"))
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)


UNGUARDED = """
import pathlib, sys, threading, time
from prepcheck.run.budget import WorkerLimits
from prepcheck.run.message import Failed
from prepcheck.run.worker import isolated

log = pathlib.Path(sys.argv[1])
if not log.exists():  # a second thread, so that workers are not forked from here
    threading.Thread(target=time.sleep, args=(60,), daemon=True).start()
with log.open("a") as file:
    file.write("run\\n")
(ended,) = isolated(abs, [-1], int, jobs=1, limits=WorkerLimits(seconds=20.0))
with log.open("a") as file:
    file.write(f"ended, failed: {isinstance(ended.answer, Failed)}\\n")
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no server forks workers here")
def test_a_script_without_a_guard_is_told_and_not_run_over_and_over(tmp_path: Path) -> None:
    script, log = tmp_path / "script.py", tmp_path / "log"
    script.write_text(UNGUARDED)
    ended = subprocess.run(
        [sys.executable, script, log], capture_output=True, text=True, check=False
    )
    assert log.read_text().splitlines() == ["run", "run", "ended, failed: True"]
    assert "if __name__ == '__main__':" in ended.stderr


def own_pid(task: int) -> int:
    return os.getpid()


def first_task_goes_ahead() -> None:
    with started_ahead("json") as ahead:
        assert ahead is not None
        pid = ahead.process.pid
        ended = isolated(own_pid, [1, 2], int, jobs=1, limits=LIMITS, ahead=ahead)
        answers = [one.answer for one in ended]
    assert answers[0] == pid
    assert answers[1] not in (pid, os.getpid())


def started_for_nothing() -> None:
    with started_ahead("json") as ahead:
        assert ahead is not None
        pid = ahead.process.pid
    assert pid is not None
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)


def dies_before_its_task() -> None:
    with started_ahead("no_such_module_anywhere") as ahead:
        assert ahead is not None
        ahead.process.join(20)
        (ended,) = isolated(double, [4], int, jobs=1, limits=LIMITS, ahead=ahead)
    assert ended.answer == 8


def hangs_over_its_task() -> None:
    limits = WorkerLimits(seconds=0.5)
    with started_ahead("json") as ahead:
        (ended,) = isolated(hang_on_two, [2], int, jobs=1, limits=limits, ahead=ahead)
    assert isinstance(ended.answer, Failed)
    assert ended.answer.why == limits.out_of_time()


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="workers are not forked from here")
@pytest.mark.parametrize(
    "does",
    [first_task_goes_ahead, started_for_nothing, dies_before_its_task, hangs_over_its_task],
)
def test_a_worker_started_ahead(does: Callable[[], None]) -> None:
    """In a process of its own, since only one without threads is forked."""
    line = f"import tests.run.test_worker as t; t.{does.__name__}()"
    alone = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    ended = subprocess.run(
        [sys.executable, "-c", line],
        env=alone,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr


def test_what_can_be_done_meanwhile_is_done_once_and_before_the_answers() -> None:
    order: list[object] = []
    ended = isolated(
        double, [1, 2, 3], int, jobs=2, limits=LIMITS,
        started=order.append, meanwhile=lambda: order.append("meanwhile"),
    )  # fmt: skip
    assert sorted(one.answer for one in ended if isinstance(one.answer, int)) == [2, 4, 6]
    assert order == [0, 1, "meanwhile", 2]
