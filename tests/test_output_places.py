"""Outputs appear whole or not at all, and replace nothing that is no plain file."""

from __future__ import annotations

import os
import signal
import socket
import stat
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from prepcheck.errors import OutputError, UsageError
from prepcheck.output import refuse_inputs, write_whole
from prepcheck.run.output_names import slug

posix = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")


def test_a_file_is_replaced_as_a_whole_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "out.json"
    write_whole(path, b"one")
    write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert [entry.name for entry in path.parent.iterdir()] == ["out.json"]
    umask = os.umask(0)
    os.umask(umask)
    assert stat.S_IMODE(path.stat().st_mode) == 0o666 & ~umask


def test_without_nameless_files_it_is_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr(os, "O_TMPFILE", raising=False)
    test_a_file_is_replaced_as_a_whole_and_nothing_is_left_beside_it(tmp_path)


def test_a_name_of_the_greatest_length_is_written(tmp_path: Path) -> None:
    path = tmp_path / ("n" * 250 + ".json")
    write_whole(path, b"x")
    assert path.read_bytes() == b"x"


@posix
def test_a_pipe_is_written_to_and_stays(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    read: list[bytes] = []
    reader = threading.Thread(target=lambda: read.append(pipe.read_bytes()), daemon=True)
    reader.start()
    until = time.monotonic() + 20
    while True:  # until the reader has opened its end
        try:
            write_whole(pipe, b"x" * 200_000)
            break
        except OutputError:
            assert time.monotonic() < until
            time.sleep(0.01)
    reader.join(20)
    assert read == [b"x" * 200_000]
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@posix
def test_a_pipe_that_nobody_reads_is_refused_at_once(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(OutputError, match="cannot be written"):
        write_whole(pipe, b"x")
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@posix
def test_a_socket_is_refused_and_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)  # names of sockets are short
    with socket.socket(socket.AF_UNIX) as server:
        server.bind("s")
        with pytest.raises(OutputError, match="cannot be written"):
            write_whole(Path("s"), b"x")
        assert stat.S_ISSOCK(Path("s").stat().st_mode)


def test_a_device_is_written_to_and_stays(tmp_path: Path) -> None:
    """A node of one's own, since as root the system's own would be lost."""
    node = tmp_path / "null"
    try:
        os.mknod(node, stat.S_IFCHR | 0o666, os.makedev(1, 3))
        write_whole(node, b"x")
    except (AttributeError, OSError, OutputError):
        pytest.skip("device nodes can be made by root only, and not everywhere")
    assert stat.S_ISCHR(node.stat().st_mode)


def test_two_outputs_on_one_path_are_refused(tmp_path: Path) -> None:
    again = tmp_path / "x" / ".." / "a.pdf"
    with pytest.raises(UsageError, match="two outputs"):
        refuse_inputs([tmp_path / "a.pdf", again], [])
    refuse_inputs([tmp_path / "a.pdf", tmp_path / "b.pdf"], [tmp_path / "c.pdf"])
    refuse_inputs([Path(os.devnull), Path(os.devnull)], [])


@pytest.mark.parametrize("text", ["ア" * 83, "é" * 200, "a" * 300, "𝔸" * 90, "-" * 90])
def test_names_made_of_text_fit_where_bytes_are_counted(text: str, tmp_path: Path) -> None:
    name = slug(text)
    assert name
    assert len(name.encode()) <= 80
    assert text.startswith(name) or name == "art"
    write_whole(tmp_path / f"{name}-{name}-proof.pdf", b"x")


KILLED = """
import os, sys, time
from pathlib import Path
from prepcheck import output
big = b"x" * (64 << 20)
print("ready", flush=True)
while True:
    output.write_whole(Path(sys.argv[1]), big)
"""


@pytest.mark.skipif(not hasattr(os, "O_TMPFILE"), reason="the system has no files without a name")
def test_one_killed_while_writing_leaves_nothing_beside(tmp_path: Path) -> None:
    """The moment is chance, but writing takes nearly all of the time."""
    for delay in (0.05, 0.11, 0.17):
        writer = subprocess.Popen(
            [sys.executable, "-c", KILLED, tmp_path / "out"], stdout=subprocess.PIPE
        )
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(delay)
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
    assert {entry.name for entry in tmp_path.iterdir()} <= {"out"}
