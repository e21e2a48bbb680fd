"""How the program begins and ends: what is there before a worker is, and what is left undone."""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import nullcontext
from pathlib import Path

import pytest

from prepcheck.cli.first_worker import worker_ahead


def python(code: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", code]
    return subprocess.run(command, capture_output=True, text=True, check=False)


ENDS = """
import atexit, sys, threading, time
import prepcheck.cli

class Taken:
    def __del__(self): print("taken apart")

taken = Taken()

def late():
    time.sleep(0.2)
    print("thread", end=" ")

def run():
    atexit.register(lambda: print("at exit", end=" "))
    threading.Thread(target=late).start()
    print("printed", end=" ")
    raise {how}

prepcheck.cli.main = run
prepcheck.cli.program()
"""


@pytest.mark.parametrize("code", [0, 3, 130])
def test_threads_and_what_is_due_at_exit_are_done_and_nothing_is_taken_apart(code: int) -> None:
    ended = python(ENDS.format(how=f"SystemExit({code})"))
    assert (ended.stdout, ended.stderr, ended.returncode) == ("printed thread at exit ", "", code)


def test_what_is_no_exit_code_ends_as_python_ends_it() -> None:
    ended = python(ENDS.format(how="SystemExit('why')"))
    assert ended.stdout == "printed thread at exit taken apart\n"
    assert (ended.stderr, ended.returncode) == ("why\n", 1)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no such device")
def test_what_cannot_be_flushed_is_no_success() -> None:
    code = "import prepcheck.cli as c\nc.main = lambda: [print(1), exit(0)]\nc.program()"
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    with Path("/dev/full").open("w") as full:
        command = [sys.executable, "-c", code]
        ended = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, env=kept, check=False)
    assert ended.returncode == 120, "as Python says it"


def test_before_a_worker_is_started_no_command_is_imported() -> None:
    code = "import sys, prepcheck.cli; print({'click', 'prepcheck.cli.commands'} & {*sys.modules})"
    assert python(code).stdout == "set()\n"
    assert python("from prepcheck.cli import cli; print(cli.name)").stdout == "cli\n"


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        (["check", "a.pdf"], True),
        (["check"], True),
        (["check", "a.pdf", "--cluster", "tcp://a:1"], False),
        (["check", "--cluster=a.json", "a.pdf"], False),
        (["check", "--help"], False),
        (["check", "a.pdf", "-h"], False),
        (["plates", "check"], False),
        (["--version"], False),
        ([], False),
    ],
)
def test_a_worker_is_started_where_art_is_checked_here(
    words: list[str], wanted: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    started: list[str] = []

    def start(preload: str) -> nullcontext[None]:
        started.append(preload)
        return nullcontext()

    monkeypatch.setattr("prepcheck.run.worker.started_ahead", start)
    monkeypatch.delenv("PREPCHECK_CLUSTER", raising=False)
    with worker_ahead(words):
        assert started == ["prepcheck.run.part"] * wanted
    monkeypatch.setenv("PREPCHECK_CLUSTER", "tcp://a:1")
    with worker_ahead(words):
        assert started == ["prepcheck.run.part"] * wanted, "machines elsewhere are named"
