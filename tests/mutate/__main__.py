"""`python -m tests.mutate N [--seed S] [--from N] [--keep FOLDER]`."""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.mutate.examining import Examiner
from tests.mutate.mutants import mutant


def main(count: int, seed: int, first: int, keep: Path | None) -> Iterator[str]:
    said: Counter[str] = Counter()
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        examiner = Examiner(Path(folder))
        for number in range(first, first + count):
            one = mutant(seed, number)
            wrong, heard = examiner.wrong_with(one)
            said["WRONG" if wrong else heard.partition(":")[0]] += 1
            if wrong:
                yield f"{seed} {number} {one.name}: {wrong}"
                if keep is not None:
                    keep.mkdir(parents=True, exist_ok=True)
                    (keep / f"{seed}-{number}.bin").write_bytes(one.data)
            if (number - first + 1) % 250 == 0:
                yield f"# {number - first + 1} in {time.monotonic() - start:.0f} s: {dict(said)}"
        examiner.stop()
    yield f"{count} mutants of seed {seed}: {dict(said)}"


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("count", type=int)
    parser.add_argument("--seed", type=int, default=20)
    parser.add_argument("--from", type=int, default=0, dest="first")
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args()
    for line in main(given.count, given.seed, given.first, given.keep):
        print(line, flush=True)
