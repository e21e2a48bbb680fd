"""Whatever the shell does to a run, it ends with one clear line and leaves nothing behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from prepcheck.errors import ExitCode
from tests.run.art import label_pdf
from tests.run.processes import alive

ROOT = Path(__file__).parents[2]
PREPCHECK = f"{sys.executable} -m prepcheck"
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="tries what a Linux shell can do")


def shell(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["bash", "-c", line],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


@pytest.fixture
def label(tmp_path: Path) -> Path:
    return label_pdf(tmp_path / "a.pdf")


@dataclass(frozen=True)
class Usual:
    """What a run that nothing is done to ends with."""

    code: int
    proof: bytes
    report: bytes


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> Usual:
    folder = tmp_path_factory.mktemp("usual")
    label_pdf(folder / "a.pdf")
    ended = shell(f"{PREPCHECK} check a.pdf --quiet --out usual", folder)
    assert ended.returncode in (ExitCode.STOP, ExitCode.QUERY, ExitCode.CLEAR)
    out = folder / "usual"
    return Usual(
        ended.returncode, (out / "a-proof.pdf").read_bytes(), (out / "a-report.json").read_bytes()
    )


def test_a_hard_limit_of_address_space_below_ours(label: Path, usual: Usual) -> None:
    ended = shell(f"ulimit -v 3000000; {PREPCHECK} check a.pdf --json two.json", label.parent)
    assert ended.returncode == usual.code
    assert (label.parent / "two.json").read_bytes() == usual.report


@pytest.mark.parametrize("files", [6, 8, 12, 24])
def test_few_files_that_may_be_open(label: Path, files: int) -> None:
    ended = shell(f"ulimit -n {files}; {PREPCHECK} check a.pdf --quiet", label.parent)
    assert "Traceback" not in ended.stderr
    if ended.returncode in (ExitCode.STOP, ExitCode.QUERY, ExitCode.CLEAR):
        assert ended.stderr == ""
    else:
        assert ended.returncode in (ExitCode.USAGE, ExitCode.OUTPUT, ExitCode.CRASHED)
        assert len(ended.stderr.splitlines()) == 1
        assert "open" in ended.stderr


def test_a_closed_stdout(label: Path, usual: Usual) -> None:
    quiet = shell(f"{PREPCHECK} check a.pdf --quiet --out q >&-", label.parent)
    assert quiet.returncode == usual.code
    ended = shell(f"{PREPCHECK} check a.pdf --out told >&-", label.parent)
    assert ended.returncode == ExitCode.OUTPUT
    assert ended.stderr.splitlines() == [
        "prepcheck: stdout is closed; send the output elsewhere, or use --quiet"
    ]
    names = sorted(path.name for path in (label.parent / "told").iterdir())
    assert names == ["a-proof.pdf", "a-report.json"]


@pytest.mark.parametrize("closed", ["2>&-", "<&-", ">&- 2>&- <&-"])
def test_closed_streams_get_nothing_that_is_meant_for_files(
    label: Path, usual: Usual, closed: str
) -> None:
    ended = shell(f"{PREPCHECK} check a.pdf --quiet --out odd {closed}", label.parent)
    assert ended.returncode == usual.code
    assert (label.parent / "odd" / "a-report.json").read_bytes() == usual.report
    assert (label.parent / "odd" / "a-proof.pdf").read_bytes() == usual.proof


def test_a_folder_that_was_deleted_under_the_run(label: Path) -> None:
    gone = label.parent / "gone"
    gone.mkdir()
    ended = shell(f"cd gone; rmdir ../gone; {PREPCHECK} check {label}", label.parent)
    assert ended.returncode == ExitCode.USAGE
    assert ended.stderr.splitlines() == [
        "prepcheck: the current folder is no longer there; change to another folder first"
    ]


def test_a_pipe_or_an_endless_device_as_input_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.pdf")
    for args in ("check pipe.pdf", "plates /dev/zero", "compare pipe.pdf /dev/zero"):
        ended = shell(f"{PREPCHECK} {args} --spec label-12in", tmp_path)
        assert ended.returncode == ExitCode.STOP
        said = " ".join((ended.stdout + ended.stderr).split())
        assert "this is a pipe or a device" in said


def test_the_same_as_spec_or_order(tmp_path: Path, label: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    for args in ("pipe.toml", "a.pdf --spec pipe.toml", "a.pdf --order pipe.toml"):
        ended = shell(f"{PREPCHECK} check {args}", tmp_path)
        assert ended.returncode == ExitCode.USAGE
        assert "pipe.toml: this is a pipe" in ended.stderr
        assert len(ended.stderr.splitlines()) == 1


SLOW = """
import os, signal, sys, time
from pathlib import Path
from prepcheck.run.budget import WorkerLimits
from prepcheck.run.worker import isolated

def work(task):
    scratch = Path(sys.argv[1])
    (scratch / "plates").mkdir(exist_ok=True)
    (scratch / "plates" / f"{task}.tif").write_text("x")
    (scratch / f"pid-{task}").write_text(str(os.getpid()))
    while True:
        time.sleep(0.01)

if __name__ == "__main__":
    signal.signal(signal.SIGHUP, signal.SIG_DFL)  # tests may run under nohup, which ignores it
    if sys.argv[2] == "threads":
        import threading
        threading.Thread(target=time.sleep, args=(600,), daemon=True).start()
    plates = Path(sys.argv[1]) / "plates" if sys.argv[3] == "scratch" else None
    list(isolated(work, [1, 2], int, jobs=2, limits=WorkerLimits(), scratch=plates))
"""


def pids(folder: Path) -> list[int]:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        found = [path.read_text() for path in sorted(folder.glob("pid-*"))]
        if len(found) == 2 and all(found):
            return [int(text) for text in found]
        time.sleep(0.02)
    raise AssertionError("the workers did not start")


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    yield tmp_path
    for path in tmp_path.glob("pid-*"):  # should the test fail
        if alive(int(path.read_text())):
            os.kill(int(path.read_text()), signal.SIGKILL)


@pytest.mark.parametrize("scratch", ["scratch", "none"])
@pytest.mark.parametrize("how", ["alone", "threads"])
@pytest.mark.parametrize("by", [signal.SIGHUP, signal.SIGKILL, signal.SIGTERM])
def test_workers_end_with_their_parent(
    folder: Path, by: signal.Signals, how: str, scratch: str
) -> None:
    script = folder / "script.py"
    script.write_text(SLOW)
    parent = subprocess.Popen(
        [sys.executable, script, folder, how, scratch],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stderr=subprocess.DEVNULL,
    )
    workers = pids(folder)
    assert all(map(alive, workers))
    parent.send_signal(by)
    parent.wait(20)
    until = time.monotonic() + 2.0  # so long, and no longer, is the promise
    while any(map(alive, workers)) and time.monotonic() < until:
        time.sleep(0.02)
    assert not any(map(alive, workers))
    assert (folder / "plates").exists() is (scratch == "none")
