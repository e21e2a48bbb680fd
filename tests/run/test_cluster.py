"""Parts on a real cluster, a scheduler and workers on this machine: the same bytes as here,
whatever becomes of a worker."""

from __future__ import annotations

import importlib.util
import json
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from prepcheck.errors import UsageError
from tests.run.art import label_pdf
from tests.run.machines import PATIENCE, Machines, waited_for

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
def machines(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Machines]:
    found = Machines(tmp_path_factory.mktemp("machines"))
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


def check(order: Path, out: Path, *more: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "prepcheck", "check", str(order), "--out", str(out), *more],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def test_the_same_bytes_come_back_though_a_worker_is_lost_midway(
    machines: Machines, order: Path, tmp_path: Path
) -> None:
    here = check(order, tmp_path / "here")
    said = here.communicate()
    there = check(order, tmp_path / "there", "--cluster", str(machines.file))
    machines.kill()
    machines.start()
    out, err = there.communicate(timeout=PATIENCE)
    assert (err, there.returncode) == (said[1], here.returncode)
    assert out.replace("/there/", "/here/") == said[0]
    names = sorted(path.name for path in (tmp_path / "here").iterdir())
    assert names == ["P-1-proof.pdf", "P-1-report.json"]
    for name in names:
        found = [(tmp_path / where / name).read_bytes() for where in ("here", "there")]
        assert found[0] == found[1], name


def test_an_interrupt_ends_it_here_and_there(
    machines: Machines, order: Path, tmp_path: Path
) -> None:
    # One part alone: a second might be about to begin, and be taken for the next test's.
    label = order.parent / "a.pdf"
    there = check(label, tmp_path, "--spec", "label-12in", "--cluster", str(machines.file))
    waited_for(machines.busy)
    there.send_signal(signal.SIGINT)
    assert there.communicate(timeout=PATIENCE) == ("", "prepcheck: interrupted\n")
    assert there.returncode == 130
    waited_for(lambda: not machines.busy())
    assert not list(tmp_path.iterdir())


def test_a_part_that_two_workers_are_lost_with_is_told_of(
    machines: Machines, order: Path, tmp_path: Path
) -> None:
    (tmp_path / "one").mkdir()
    label = label_pdf(tmp_path / "one" / "a.pdf")
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


@pytest.mark.parametrize("address", ["127.0.0.1:8786", "http://127.0.0.1:8786", "none.json", ""])
def test_what_is_no_address_is_told(address: str) -> None:
    from prepcheck.run.cluster import connected

    with pytest.raises(UsageError, match="write tcp://HOST:8786"), connected(address):
        pass
