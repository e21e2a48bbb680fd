"""Ctrl-C ends a command, whatever it comes upon."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from prepcheck.errors import ExitCode

_INTERRUPTED = """
import os, signal, time, weakref, click
from prepcheck.cli.interrupts import heed_signals
from prepcheck.cli.terminal import ends_with_exit_code

def passed_over():
    try:
        os.kill(os.getpid(), signal.{name})
        time.sleep(60)
    except BaseException:  # as libraries do around their imports
        print("passed over")

class Known:
    def __getattr__(self, name):
        os.kill(os.getpid(), signal.{name})
        return None

def cleaned_up():
    def lost(reference):
        os.kill(os.getpid(), signal.{name})
    known = Known()
    reference = weakref.ref(known, lost)
    del known

def tidied(done):
    try:
        done()
        time.sleep(60)
    finally:
        time.sleep(0.3)
        print("tidied up")

heed_signals()
click.command()(ends_with_exit_code(lambda: tidied({what})))()
"""

_IMPORTING = """
import os, signal, time
from prepcheck.cli.interrupts import heed_signals

if __name__ == "__main__":
    heed_signals()
    try:
        import importing
        time.sleep(60)
    except KeyboardInterrupt:
        print("interrupted")
else:
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(0.3)
    print("imported whole")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="it has no timers that signal")
@pytest.mark.parametrize("what", ["passed_over", "cleaned_up", "lambda: hasattr(Known(), 'name')"])
@pytest.mark.parametrize(
    ("name", "code", "said"),
    [("SIGINT", ExitCode.INTERRUPTED, "prepcheck: interrupted\n"), ("SIGTERM", 128 + 15, "")],
)
def test_what_is_passed_over_comes_again_but_not_while_things_are_tidied_up(
    tmp_path: Path, what: str, name: str, code: int, said: str
) -> None:
    script = tmp_path / "interrupted.py"
    script.write_text(_INTERRUPTED.format(what=what, name=name))
    ended = subprocess.run(
        [sys.executable, script], capture_output=True, text=True, check=False, timeout=50
    )
    assert (ended.returncode, ended.stderr) == (code, said)
    lines = ended.stdout.splitlines()
    assert lines[-1] == "tidied up"
    assert lines.count("tidied up") == 1


@pytest.mark.skipif(sys.platform == "win32", reason="it has no timers that signal")
def test_a_module_is_imported_whole_first(tmp_path: Path) -> None:
    script = tmp_path / "importing.py"
    script.write_text(_IMPORTING)
    ended = subprocess.run(
        [sys.executable, script], capture_output=True, text=True, check=False, timeout=50
    )
    assert ended.stdout.splitlines() == ["imported whole", "interrupted"]
