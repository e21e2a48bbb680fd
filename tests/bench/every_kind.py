"""What each kind of heavy art costs, by turns with the programs a person would run by hand."""

from __future__ import annotations

import sys
from pathlib import Path

from PIL import Image

from tests.bench.jacket import PPI, Chain, by_hand
from tests.bench.kinds import KINDS, Kind
from tests.bench.measure import Cost, middle, run, weighed
from tests.bench.table import Bench, check

WHOLE = "check, proof and report"


def every_kind(bench: Bench) -> None:
    """Plates and the whole check of each kind, and what they come to against the programs by hand:
    by the clock, and in seconds of processor."""
    found = []
    for kind in KINDS:
        if not bench.kinds or kind.write.__name__ in bench.kinds:
            bench.head(f"{kind.title}, all by turns; the median of {bench.rounds} rounds")
            found += _measured(bench, kind)
    if found:
        median = sorted(found)[len(found) // 2]
        print(f"\nmedian of kinds: {WHOLE} = {median:.2f} × the chain by the clock")
        bench.keep("median of kinds", ratio=median)


def _measured(bench: Bench, kind: Kind) -> list[float]:
    """Return how long the whole check of a kind takes against the chain, if that is installed."""
    art = bench.folder / f"{kind.write.__name__}{kind.suffix}"
    kind.write(art)
    checked = [check(art, bench.folder / "kinds", "--spec", kind.spec)]
    only = (sys.executable, "-m", "tests.bench.only_plates", str(art), kind.spec, PPI)
    theirs = by_hand(_as_pdf(art), bench.folder)
    runs: dict[str, Chain] = {"plates, nothing written": [only], WHOLE: checked, **theirs}
    costs: dict[str, list[Cost]] = {title: [] for title in runs}
    for _ in range(bench.rounds):
        for title, commands in runs.items():
            costs[title].append(run(*commands))
    for title, commands in runs.items():
        cost = middle(costs[title])
        bench.row(title, weighed(cost, *commands) if title == WHOLE else cost)
    art.unlink()
    ratios = []
    for ours, other in zip(runs, theirs, strict=False):
        if middle(costs[other]).exit_code:
            raise RuntimeError(f"{other}: a program failed, there is nothing to compare with")
        mine, theirs_cost = middle(costs[ours]), middle(costs[other])
        wall, cpu = mine.wall / theirs_cost.wall, mine.cpu / theirs_cost.cpu
        print(f"{'':4}{ours} = {wall:.2f} × {other} ({cpu:.2f} × in seconds of processor)")
        bench.keep(f"{kind.title}: {ours} against {other}", ratio=wall, cpu_ratio=cpu)
        ratios.append(wall)
    return ratios[1:]


def _as_pdf(art: Path) -> Path:
    """Return art as the programs by hand read it: a raster as the one picture of a PDF."""
    if art.suffix == ".pdf":
        return art
    made = art.with_suffix(".pdf")
    with Image.open(art) as picture:
        picture.save(made, "PDF", resolution=float(picture.info["dpi"][0]))
    return made
