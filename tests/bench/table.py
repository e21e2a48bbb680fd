"""The bench's commands and the rows it prints."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.bench.measure import Cost, median

ART = Path(__file__).parents[2] / "sample_art"
PREPCHECK = (sys.executable, "-m", "prepcheck")


def check(art: Path, out: Path, *options: str) -> tuple[str, ...]:
    """Return the command that checks art and writes proof and report into a folder."""
    return (*PREPCHECK, "check", str(art), "--quiet", "--out", str(out), *options)


def head(title: str) -> None:
    """Print the heads of the columns."""
    print(f"\n{title}\n")
    print(f"{'':44}{'wall s':>8}{'CPU s':>8}{'peak MB':>9}{'shared once':>13}{'exit':>6}")


def row(title: str, cost: Cost) -> None:
    """Print what something cost."""
    print(
        f"{title:44}{cost.wall:8.2f}{cost.cpu:8.2f}{cost.peak_mb:9.0f}{cost.shared_mb:13.0f}"
        f"{cost.exit_code:6}",
        flush=True,
    )


def measured(title: str, command: tuple[str, ...]) -> Cost:
    """Print and return the median run of a command."""
    cost = median(command)
    row(title, cost)
    return cost
