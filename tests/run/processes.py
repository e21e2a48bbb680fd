"""What becomes of processes."""

from __future__ import annotations

from pathlib import Path


def alive(pid: int) -> bool:
    """Say whether a process runs still; one that has ended may be listed until it is asked for."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"
