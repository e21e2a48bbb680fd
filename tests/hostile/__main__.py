"""`python -m tests.hostile [NAME ...]`: what each file comes to, in full size."""

from __future__ import annotations

import json
import os
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from subprocess import DEVNULL, Popen

from tests.bench.measure import _resident, _tree
from tests.hostile.files import HONEST, HOSTILE, LABEL

SPECS = {"gatefold-tiff": "gatefold-12in"}


def checked(path: Path, out: Path, spec: str, more: Sequence[str]) -> tuple[float, float, int]:
    """Check a file; return seconds, greatest MB of the process tree, and the exit code."""
    command = [
        sys.executable, "-m", "prepcheck", "check", str(path), "--spec", spec, "--out", str(out),
        *more,
    ]  # fmt: skip
    start, peak = time.perf_counter(), 0
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
    return time.perf_counter() - start, peak / 1e6, code


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
    yield f"{'file':26}{'size':>14}{'s':>8}{'MB':>7}{'exit':>6}  what was said"
    with tempfile.TemporaryDirectory() as folder:
        for name, (make, size) in {**HOSTILE, **HONEST}.items():
            if wanted and name not in wanted:
                continue
            path = Path(folder) / f"{name}.bin"
            path.write_bytes(make(size))
            seconds, mb, code = checked(path, Path(folder), SPECS.get(name, "label-12in"), more)
            sentence = said(Path(folder) / f"{name}-report.json")
            yield f"{name:26}{size:14,}{seconds:8.1f}{mb:7.0f}{code:6}  {sentence}"
            for left in Path(folder).iterdir():
                left.unlink()


if __name__ == "__main__":
    for line in main(sys.argv[1:]):
        print(line, flush=True)
