"""`python -m tests.hostile [NAME ...]`: what each file comes to, in full size."""

from __future__ import annotations

import json
import os
import resource
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from subprocess import DEVNULL, Popen
from typing import NamedTuple

from tests.bench.measure import _resident, _tree
from tests.hostile.files import HONEST, HOSTILE, LABEL, TOO_HEAVY
from tests.hostile.rasters import RASTERS


class Cost(NamedTuple):
    """Seconds by the clock and of processors, greatest MB of the process tree, exit code."""

    wall: float
    cpu: float
    mb: float
    code: int


def checked(path: Path, out: Path, spec: str, more: Sequence[str]) -> Cost:
    """Check a file as a user would."""
    command = [
        sys.executable, "-m", "prepcheck", "check", str(path), "--spec", spec, "--out", str(out),
        *more,
    ]  # fmt: skip
    start, peak, before = time.perf_counter(), 0, resource.getrusage(resource.RUSAGE_CHILDREN)
    process = Popen(command, stdout=DEVNULL, stderr=DEVNULL)
    done = threading.Event()

    def watch() -> None:
        nonlocal peak
        while not done.wait(0.02):
            peak = max(peak, sum(map(_resident, _tree(process.pid))))

    watcher = threading.Thread(target=watch)
    watcher.start()
    code = process.wait()
    done.set()
    watcher.join()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Cost(time.perf_counter() - start, cpu, peak / 1e6, code)


def said(report: Path) -> str:
    """Return what was said of the one part: why it was not read, or that it was."""
    if not report.is_file():
        return "no report"
    (part,) = json.loads(report.read_text(encoding="utf-8"))["parts"]
    crashed = [one["check"] for one in part["checks"] if one["outcome"] == "crashed"]
    for finding in part["findings"]:
        if finding["check"] == "file.unreadable":
            return f"{'OURS ' if crashed else ''}{finding['message']}"
    return f"read, {len(part['findings'])} findings" + (f", CRASHED {crashed}" if crashed else "")


def main(arguments: list[str]) -> Iterator[str]:
    more = [one for one in arguments if one.startswith("--")]
    wanted = [one for one in arguments if not one.startswith("--")]
    yield f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores; label {LABEL} mm"
    yield f"{'file':26}{'size':>14}{'s':>8}{'cpu s':>8}{'MB':>7}{'exit':>6}  what was said"
    with tempfile.TemporaryDirectory() as folder:
        for name, (make, size) in {**HOSTILE, **HONEST, **TOO_HEAVY, **RASTERS}.items():
            if wanted and name not in wanted:
                continue
            path = Path(folder) / f"{name}.bin"
            path.write_bytes(make(size))
            spec = "gatefold-12in" if name.startswith("gatefold") else "label-12in"
            cost = checked(path, Path(folder), spec, more)
            sentence = said(Path(folder) / f"{name}-report.json")
            taken = f"{cost.wall:8.1f}{cost.cpu:8.1f}{cost.mb:7.0f}{cost.code:6}"
            yield f"{name:26}{size:14,}{taken}  {sentence}"
            for left in Path(folder).iterdir():
                left.unlink()


if __name__ == "__main__":
    for line in main(sys.argv[1:]):
        print(line, flush=True)
