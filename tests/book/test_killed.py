"""Killed at any moment, the book opens sound: no delivery is lost, nothing is done twice."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture
def kills(where: str) -> int:
    """How often; `python -m tests.book.killing BOOK FOLDER 200 SEED` does it longer."""
    return 6 if "://" in where else 16


def test_killed_at_random_moments_nothing_is_lost_or_done_twice(
    where: str, kills: int, tmp_path: Path
) -> None:
    command = [sys.executable, "-m", "tests.book.killing", where, str(tmp_path), str(kills), "7"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    said = json.loads(done.stdout)
    assert said["faults"] == []
    assert said["killed"] >= kills
