"""What orders cost on other machines: a cluster of two workers on this one."""

from __future__ import annotations

import shutil
from dataclasses import asdict

from tests.bench.measure import beside
from tests.bench.orders import SMALL
from tests.bench.table import Bench, check
from tests.run.art import label_pdf
from tests.run.machines import Machines

SIDE_BY_SIDE = 200
COUNTS = (10, 100, 1000)
PART = """
[[part]]
name = "Label A"
file = "a.pdf"
side = "A"
spec = "label-12in"
"""


def cluster(bench: Bench) -> None:
    """The same orders here and there, then ever more of them there, as many as are wanted."""
    bench.under = "Orders of one small label in one call, with proofs and reports; one run each"
    print(f"\n{bench.under}\n")
    folder = bench.folder
    machines = Machines(folder)
    try:
        machines.start()
        machines.start()
        there = ("--cluster", str(machines.file))
        print(
            f"{'where':>12}{'orders':>8}{'wall s':>9}{'s an order':>12}{'own CPU s':>11}"
            f"{'parent MB':>11}{'exit':>6}"
        )
        alike = min(SIDE_BY_SIDE, bench.orders)
        line(bench, "--jobs 2", alike, "--jobs", "2")
        line(bench, "two workers", alike, *there)
        for count in (count for count in COUNTS if count <= bench.orders):
            line(bench, "two workers", count, *there)
    finally:
        machines.end()


def line(bench: Bench, where: str, count: int, *how: str) -> None:
    """Check so many orders and print what it cost; own CPU is without that of other machines."""
    orders, out = bench.folder / "orders", bench.folder / "out"
    for number in range(1, count + 1):
        own = orders / f"{number:04}"
        own.mkdir(parents=True)
        label_pdf(own / "a.pdf", 100.0 - number / 10_000)
        (own / "order.toml").write_text(SMALL.format(number=number) + PART)
    command = check(orders, out, *how)
    cost = beside(command)
    written = len(list(out.glob("*-proof.pdf")))
    if written != count:
        raise RuntimeError(f"{count} orders gave {written} proofs")
    print(
        f"{where:>12}{count:8}{cost.wall:9.2f}{cost.wall / count:12.2f}{cost.cpu:11.2f}"
        f"{cost.parent_mb:11.1f}{cost.exit_code:6}",
        flush=True,
    )
    bench.keep(f"{count} orders, {where}", **asdict(cost))
    shutil.rmtree(orders)
    shutil.rmtree(out)
