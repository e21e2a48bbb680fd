"""What a part of the bench runs on: commands, the rows it prints, and the figures it keeps."""

from __future__ import annotations

import sys
from dataclasses import asdict, dataclass, field
from pathlib import Path

from tests.bench.measure import Cost, median

ART = Path(__file__).parents[2] / "sample_art"
PREPCHECK = (sys.executable, "-m", "prepcheck")


def check(art: Path, out: Path, *options: str) -> tuple[str, ...]:
    """Return the command that checks art and writes proof and report into a folder."""
    return (*PREPCHECK, "check", str(art), "--quiet", "--out", str(out), *options)


@dataclass
class Bench:
    """One run of the bench: a folder for its files, how often what is compared runs by turns, and
    all that was measured so far."""

    folder: Path
    rounds: int = 5
    kinds: tuple[str, ...] = ()
    """Kinds of heavy art that are wanted, by the names of what writes them; empty for all."""
    orders: int = 50
    """Orders of two labels that are examined in one call at most."""
    figures: list[dict[str, object]] = field(default_factory=list)
    under: str = ""

    def head(self, title: str) -> None:
        """Print the heads of the columns."""
        self.under = title
        print(f"\n{title}\n")
        print(f"{'':44}{'wall s':>8}{'CPU s':>8}{'peak MB':>9}{'shared once':>13}{'exit':>6}")

    def row(self, title: str, cost: Cost) -> None:
        """Print and keep what something cost."""
        print(
            f"{title:44}{cost.wall:8.2f}{cost.cpu:8.2f}{cost.peak_mb:9.0f}{cost.shared_mb:13.0f}"
            f"{cost.exit_code:6}",
            flush=True,
        )
        self.keep(title, **asdict(cost))

    def keep(self, title: str, **figures: object) -> None:
        """Keep figures for the file."""
        self.figures.append({"under": self.under, "title": title, **figures})

    def measured(self, title: str, command: tuple[str, ...]) -> Cost:
        """Print, keep and return the median run of a command."""
        cost = median(command)
        self.row(title, cost)
        return cost
