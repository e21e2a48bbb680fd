"""`python -m tests.bench`: prints what a check costs. It promises nothing and asserts nothing."""

from __future__ import annotations

import os
import platform
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from pypdf import PdfReader
from pypdf.generic import ContentStream, StreamObject

from prepcheck.art.pdf.tokens import operators
from prepcheck.run import gather
from prepcheck.run.part import examine_part
from tests.bench.heavy import paths, write_heavy_jacket
from tests.bench.measure import median, where_time_goes

ART = Path(__file__).parents[2] / "sample_art"
PREPCHECK = (sys.executable, "-m", "prepcheck")


def main() -> None:
    print(f"{platform.python_implementation()} {platform.python_version()}, {os.cpu_count()} cores")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        heavy = folder / "heavy-jacket.pdf"
        write_heavy_jacket(heavy)
        print("\nEach check with its proof and report; the median of three runs.\n")
        print(f"{'':34}{'wall s':>8}{'CPU s':>8}{'peak MB':>9}{'exit':>6}")
        row("prepcheck --help", (*PREPCHECK, "--help"))
        out = ("--quiet", "--out", str(folder / "out"))
        label = ART / "clear" / "label-a.pdf"
        row("a label", check(label, "--spec", "label-12in", *out))
        row("an order of five, --jobs 1", check(ART / "clear" / "order.toml", *out))
        row("an order of five, --jobs 2", check(ART / "clear" / "order.toml", "--jobs", "2", *out))
        row("the faulty five, --jobs 2", check(ART / "faulty" / "order.toml", "--jobs", "2", *out))
        row("the heavy jacket", check(heavy, "--spec", "jacket-12in", *out))
        tokeniser()
        for title, art, spec in (
            ("a label", label, "label-12in"), ("the heavy jacket", heavy, "jacket-12in")
        ):  # fmt: skip
            stages(title, art, spec)
        shutil.rmtree(folder / "out", ignore_errors=True)


def check(art: Path, *options: str) -> tuple[str, ...]:
    return (*PREPCHECK, "check", str(art), *options)


def row(title: str, command: tuple[str, ...]) -> None:
    cost = median(command)
    print(f"{title:34}{cost.wall:8.2f}{cost.cpu:8.2f}{cost.peak_mb:9.0f}{cost.exit_code:6}")


def tokeniser() -> None:
    """Compare our tokeniser with pypdf's on the same 360,000 operators, in this process."""
    data = paths(639.0, 321.0).encode()
    count, ours = timed(lambda: sum(1 for _ in operators(data)))
    stream = StreamObject()
    stream.set_data(data)
    reader = PdfReader(ART / "clear" / "label-a.pdf")
    theirs_count, theirs = timed(lambda: len(ContentStream(stream, reader).operations))
    print(f"\nCutting {count:,} operators ({theirs_count:,} by pypdf) apart:")
    print(f"  ours {ours:.2f} s, pypdf's ContentStream {theirs:.2f} s, ratio {theirs / ours:.1f}")


def timed(work: Callable[[], int]) -> tuple[int, float]:
    start = time.perf_counter()
    result = work()
    return result, time.perf_counter() - start


def stages(title: str, art: Path, spec: str) -> None:
    """Say in which rooms one part spends its time, the proof's own pages left out."""
    batch = gather([art], spec=spec).batches[0]
    booked = where_time_goes(lambda: examine_part(batch.tasks[0]))
    total = sum(seconds for _, seconds in booked)
    print(f"\nWhere the time goes, {title}, in one process ({total:.2f} s):")
    for room, seconds in booked[:12]:
        print(f"  {room:32}{seconds:6.2f} s{seconds / total:7.0%}")


if __name__ == "__main__":
    main()
