"""Parts on a real cluster, a scheduler and workers on this machine: the same bytes as here,
whatever becomes of a worker."""

from __future__ import annotations

import importlib.util
import json
import os
import pty
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import pytest

from prepcheck.errors import UsageError
from tests.holding import Holding
from tests.run.art import label_pdf
from tests.run.machines import PATIENCE, Machines, waited_for
from tests.run.processes import alive

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(
        importlib.util.find_spec("distributed") is None, reason="distributed is not installed"
    ),
]
ORDER = """
[order]
number = "P-1"
client = "Ålund"
title = "Two Rooms"
catalogue = "TR 1"
format = "12-inch"
[[part]]
name = "Label A"
side = "A"
file = "a.pdf"
[[part]]
name = "Label B"
side = "B"
file = "b.pdf"
"""


@pytest.fixture(scope="module")
def holding(tmp_path_factory: pytest.TempPathFactory) -> Holding:
    """Holds workers at the files that are laid beside their parcels."""
    return Holding(tmp_path_factory.mktemp("holding"), "/part-")


@pytest.fixture(scope="module")
def machines(tmp_path_factory: pytest.TempPathFactory, holding: Holding) -> Iterator[Machines]:
    found = Machines(tmp_path_factory.mktemp("machines"), holding.environment)
    try:
        found.start()
        found.start()
        yield found
    finally:
        found.end()


@pytest.fixture(scope="module")
def order(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("order")
    (folder / "order.toml").write_text(ORDER)
    label_pdf(folder / "a.pdf")
    (folder / "b.pdf").write_bytes(b"%PDF-1.4 and no more")
    return folder / "order.toml"


def check(order: Path, out: Path, *more: str, **environment: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "prepcheck", "check", str(order), "--out", str(out), *more],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, **environment},
    )  # fmt: skip


@dataclass(frozen=True)
class Here:
    """What checking the order on this machine wrote, said and ended with."""

    folder: Path
    out: str
    err: str
    code: int


@pytest.fixture(scope="module")
def here(order: Path, tmp_path_factory: pytest.TempPathFactory) -> Here:
    folder = tmp_path_factory.mktemp("here")
    done = check(order, folder)
    out, err = done.communicate()
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["P-1-proof.pdf", "P-1-report.json"]
    return Here(folder, out, err, done.returncode)


def same_came_back(there: subprocess.Popen[str], folder: Path, here: Here) -> None:
    out, err = there.communicate(timeout=PATIENCE)
    assert (err, there.returncode) == (here.err, here.code)
    assert out.replace(str(folder), str(here.folder)) == here.out
    for path in here.folder.iterdir():
        assert (folder / path.name).read_bytes() == path.read_bytes(), path.name


def test_the_same_bytes_come_back_though_a_worker_is_lost_midway(
    machines: Machines, holding: Holding, order: Path, here: Here, tmp_path: Path
) -> None:
    with holding.held():
        there = check(order, tmp_path / "out", "--cluster", str(machines.file))
        machines.kill()
    machines.start()
    same_came_back(there, tmp_path / "out", here)


def test_files_on_storage_that_all_share_are_read_there(
    machines: Machines, order: Path, here: Here, tmp_path: Path
) -> None:
    (tmp_path / "tmp").mkdir()  # what lies where archives are unpacked is sent nevertheless
    address = json.loads(machines.file.read_text())["address"]
    assert address.startswith("tcp://")
    there = check(
        order, tmp_path / "out", "--cluster", address, "--shared", TMPDIR=str(tmp_path / "tmp")
    )
    same_came_back(there, tmp_path / "out", here)


AT_A_TERMINAL = """
import fcntl, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
from prepcheck.cli import main
main()
"""


def test_an_interrupt_at_a_terminal_ends_it_here_and_there(
    machines: Machines, holding: Holding, tmp_path: Path
) -> None:
    # One part alone: a second might be about to begin, and be taken for the next test's.
    label = label_pdf(tmp_path / "a.pdf")
    ours, theirs = pty.openpty()
    with holding.held():
        there = subprocess.Popen(
            [sys.executable, "-c", AT_A_TERMINAL, "check", str(label), "--out",
             str(tmp_path / "out"), "--spec", "label-12in", "--cluster", str(machines.file)],
            stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True,
        )  # fmt: skip
        os.close(theirs)
        workers = waited_for(holding.reached)
        assert machines.busy()
        os.write(ours, b"\x03")  # as Ctrl-C does
        said = b""
        with suppress(OSError):  # the other end is closed
            while part := os.read(ours, 1 << 12):
                said += part
        os.close(ours)
        assert there.wait(PATIENCE) == 130
        waited_for(lambda: not machines.busy())
        waited_for(lambda: not any(map(alive, workers)))
    shown, _, last = said.decode().rstrip().rpartition("\n")
    assert "Examining a" in shown
    assert last == "prepcheck: interrupted"
    assert not (tmp_path / "out").exists()


def test_a_part_that_two_workers_are_lost_with_is_told_of(
    machines: Machines, holding: Holding, tmp_path: Path
) -> None:
    (tmp_path / "one").mkdir()
    label = label_pdf(tmp_path / "one" / "a.pdf")
    with holding.held():
        there = check(label, tmp_path, "--spec", "label-12in", "--cluster", str(machines.file))
        machines.kill()
        machines.kill()
    machines.start()
    _, err = there.communicate(timeout=PATIENCE)
    assert there.returncode == 5
    (part,) = json.loads((tmp_path / "a-report.json").read_text())["parts"]
    (finding,) = part["findings"]
    assert finding["check"] == "file.unreadable"
    assert "two machines that checked it were lost" in finding["message"]
    assert err.count("\n") == 1
    assert "a.pdf: two machines that checked it were lost while they did" in err


def test_a_wrong_address_is_one_line(order: Path, tmp_path: Path) -> None:
    ended = check(order, tmp_path / "out", "--cluster", "tcp://127.0.0.1:1")
    assert ended.communicate(timeout=PATIENCE) == (
        "",
        "prepcheck: tcp://127.0.0.1:1: no scheduler can be reached there (Connection refused); "
        "see that it runs, and that the address is right\n",
    )
    assert ended.returncode == 2


def test_what_listens_and_never_answers_is_not_waited_for_long() -> None:
    from prepcheck.run.cluster import connected

    with socket.create_server(("127.0.0.1", 0)) as silent:
        address = f"tcp://127.0.0.1:{silent.getsockname()[1]}"
        with (
            pytest.raises(UsageError, match="listens there and does not answer as a scheduler"),
            connected(address, reply_seconds=0.5),
        ):
            pass


@pytest.mark.parametrize("address", ["127.0.0.1:8786", "http://127.0.0.1:8786", "none.json", ""])
def test_what_is_no_address_is_told(address: str) -> None:
    from prepcheck.run.cluster import connected

    with pytest.raises(UsageError, match="write tcp://HOST:8786"), connected(address):
        pass
