"""`python -m tests.bench [PART...]`: prints what prepcheck costs. It promises and asserts nothing.

The parts are labels, gatefold, heavy, growth, rooms, books and sheets; without any, all of them.
"""

from __future__ import annotations

import argparse
import os
import platform
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.bench.books import books
from tests.bench.jacket import heavy
from tests.bench.orders import gatefold, growth, labels
from tests.bench.rooms import rooms
from tests.bench.sheets import sheets

PARTS: dict[str, Callable[[Path], None]] = {
    "labels": labels, "gatefold": gatefold, "heavy": heavy, "growth": growth, "rooms": rooms,
    "books": books, "sheets": sheets,
}  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("part", nargs="*", metavar="PART", help=f"of: {', '.join(PARTS)}")
    wanted = parser.parse_args().part
    unknown = [name for name in wanted if name not in PARTS]
    if unknown:
        parser.error(f"there is no part {unknown[0]!r}; the parts are {', '.join(PARTS)}")
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    print(
        f"{platform.python_implementation()} {platform.python_version()}, {os.cpu_count()} cores, "
        f"load {load:.1f} at the start"
    )
    with tempfile.TemporaryDirectory() as name:
        for part in wanted or PARTS:
            PARTS[part](Path(name))


if __name__ == "__main__":
    main()
