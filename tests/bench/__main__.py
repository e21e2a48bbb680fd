"""`python -m tests.bench [PART...]`: prints what prepcheck costs. It promises and asserts nothing.

The parts are labels, gatefold, heavy, kinds, growth, rooms, books, sheets, cluster, desk and
viewer; without any, all of them. `--json FILE` keeps the figures.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.bench.books import books
from tests.bench.desk import desk
from tests.bench.every_kind import every_kind
from tests.bench.jacket import heavy
from tests.bench.kinds import KINDS
from tests.bench.machines import cluster
from tests.bench.orders import gatefold, growth, labels
from tests.bench.rooms import rooms
from tests.bench.sheets import sheets
from tests.bench.table import Bench
from tests.bench.viewer import viewer

PARTS: dict[str, Callable[[Bench], None]] = {
    "labels": labels, "gatefold": gatefold, "heavy": heavy, "kinds": every_kind, "growth": growth,
    "rooms": rooms, "books": books, "sheets": sheets, "cluster": cluster, "desk": desk,
    "viewer": viewer,
}  # fmt: skip


def main() -> None:
    names = [kind.write.__name__ for kind in KINDS]
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("part", nargs="*", metavar="PART", help=f"of: {', '.join(PARTS)}")
    parser.add_argument("--rounds", type=int, default=5, help="runs of what is compared by turns")
    parser.add_argument("--kind", action="append", default=[], choices=names)
    parser.add_argument("--orders", type=int, default=50, help="most orders in one call")
    parser.add_argument("--json", type=Path, metavar="FILE", help="keep the figures in a file")
    given = parser.parse_args()
    unknown = [name for name in given.part if name not in PARTS]
    if unknown:
        parser.error(f"there is no part {unknown[0]!r}; the parts are {', '.join(PARTS)}")
    if given.rounds < 1:
        parser.error("there has to be one round at least")
    machine = {
        "python": f"{platform.python_implementation()} {platform.python_version()}",
        "cores": os.cpu_count(), "load": _load(),
    }  # fmt: skip
    print(f"{machine['python']}, {machine['cores']} cores, load {_load():.1f} at the start")
    with tempfile.TemporaryDirectory() as name:
        bench = Bench(Path(name), given.rounds, tuple(given.kind), given.orders)
        for part in given.part or PARTS:
            PARTS[part](bench)
            if given.json is not None:
                kept = {**machine, "load_at_the_end": _load(), "figures": bench.figures}
                given.json.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")


def _load() -> float:
    return os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0


if __name__ == "__main__":
    main()
