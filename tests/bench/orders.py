"""What labels and whole orders cost, and how cost grows with the number of orders."""

from __future__ import annotations

import shutil
from dataclasses import asdict
from pathlib import Path

from tests.bench.measure import run, weighed
from tests.bench.table import ART, PREPCHECK, Bench, check

COUNTS = (1, 5, 10, 25, 50, 100, 250, 500)
SMALL = """\
[order]
number = "B-{number:04}"
client = "Lanternfold Recordings"
title = "Halden Orrery: Salt Roads"
catalogue = "LFR 014"
format = "12-inch"
"""
PART = """
[[part]]
name = "Label {side}"
file = "{file}"
side = "{side}"
spec = "label-12in"
"""
LABELS = (("A", "label-a.pdf"), ("B", "label-b.tif"))


def labels(bench: Bench) -> None:
    """Start-up, one label, an order of five."""
    bench.head(
        "Start-up, labels, an order of five; the median of three runs, proof and report written"
    )
    out = bench.folder / "labels"
    bench.measured("prepcheck --help", (*PREPCHECK, "--help"))
    label = check(ART / "clear" / "label-a.pdf", out, "--spec", "label-12in")
    bench.measured("a label", label)
    for jobs in ("1", "2"):
        order = ART / "clear" / "order.toml"
        bench.measured(f"an order of five, --jobs {jobs}", check(order, out, "--jobs", jobs))
    faulty = ART / "faulty" / "order.toml"
    bench.measured("the faulty five, --jobs 2", check(faulty, out, "--jobs", "2"))


def gatefold(bench: Bench) -> None:
    """The 2-disc gatefold order: nine files."""
    bench.head("A 2-disc gatefold order of nine files; the median of three runs, proof and report")
    out = bench.folder / "gatefold"
    for order in ("gatefold", "gatefold-faulty"):
        art = ART / order / "order.toml"
        bench.measured(f"{order}, --jobs 2", check(art, out, "--jobs", "2"))


def growth(bench: Bench) -> None:
    """Orders of two labels, ever more of them in one call."""
    print("\nOrders of two labels in one call, --jobs 2, with proofs and reports; one run each\n")
    print(
        f"{'orders':>8}{'wall s':>9}{'s an order':>12}{'CPU s':>9}{'peak MB':>9}"
        f"{'shared once':>13}{'parent MB':>11}{'exit':>6}"
    )
    for count in (count for count in COUNTS if count <= bench.orders):
        orders, out = bench.folder / f"orders-{count}", bench.folder / f"out-{count}"
        write_orders(orders, count)
        command = check(orders, out, "--jobs", "2")
        cost = weighed(run(command), command)
        written = len(list(out.glob("*-proof.pdf")))
        if written != count:
            raise RuntimeError(f"{count} orders gave {written} proofs")
        print(
            f"{count:8}{cost.wall:9.2f}{cost.wall / count:12.2f}{cost.cpu:9.2f}{cost.peak_mb:9.0f}"
            f"{cost.shared_mb:13.0f}{cost.parent_mb:11.1f}{cost.exit_code:6}",
            flush=True,
        )
        bench.keep(f"{count} orders", **asdict(cost))
        shutil.rmtree(out)
        shutil.rmtree(orders)


def write_orders(folder: Path, count: int) -> None:
    """Write so many orders that differ in their number, each with copies of its files."""
    for number in range(1, count + 1):
        own = folder / f"{number:04}"
        own.mkdir(parents=True)
        for _, file in LABELS:
            shutil.copy(ART / "clear" / file, own / file)
        parts = (PART.format(side=side, file=file) for side, file in LABELS)
        (own / "order.toml").write_text(SMALL.format(number=number) + "".join(parts))
