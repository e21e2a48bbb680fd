"""What is taken out of archives is gone, whatever becomes of the process that took it out."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from prepcheck.intake.aside import aside

HOLD = """
import sys, time
from prepcheck.intake.aside import aside
with aside() as own:
    (own.folder() / "label.pdf").write_bytes(b"x" * 1000)
    print("ready", flush=True)
    time.sleep(60)
"""


def test_the_folder_is_made_when_it_is_asked_for_and_gone_at_the_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with aside() as own:
        assert list(tmp_path.iterdir()) == []
        folder = own.folder()
        assert own.folder() == folder
        assert folder.parent == tmp_path
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="nothing is killed outright here")
def test_killed_outright_nothing_is_left(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", HOLD],
        stdout=subprocess.PIPE,
        env={**os.environ, "TMPDIR": str(tmp_path)},
    )
    assert process.stdout is not None
    assert process.stdout.readline() == b"ready\n"
    (folder,) = tmp_path.iterdir()
    assert (folder / "label.pdf").is_file()
    process.kill()
    process.wait()
    process.stdout.close()
    for _ in range(200):
        if not folder.exists():
            break
        time.sleep(0.05)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="no locks of this kind here")
def test_what_a_lost_machine_left_is_removed_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only what nobody holds, is ours by its lock file, and is older than a minute."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    for name, held in (("prepcheck-left", True), ("prepcheck-new", True), ("prepcheck-out", False)):
        (tmp_path / name).mkdir()
        (tmp_path / name / "label.pdf").write_bytes(b"x")
        if held:
            (tmp_path / name / ".held").touch()
    long_ago = time.time() - 3600
    os.utime(tmp_path / "prepcheck-left" / ".held", (long_ago, long_ago))
    with aside() as first:
        os.utime(first.folder() / ".held", (long_ago, long_ago))
        with aside() as second:
            second.folder()
            assert first.folder().is_dir(), "it is in use"
    assert {path.name for path in tmp_path.iterdir()} == {"prepcheck-new", "prepcheck-out"}
