"""What the heavy jacket costs, beside the programs a person would run on it by hand."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

from tests.bench.heavy import write_heavy_jacket
from tests.bench.measure import Cost, middle, run, weighed
from tests.bench.table import PREPCHECK, Bench, check

PPI = "150"
SMOOTH = ("-dTextAlphaBits=4", "-dGraphicsAlphaBits=4")
Chain = Sequence[Sequence[str]]


def heavy(bench: Bench) -> None:
    """Plates and the whole check, by turns with Ghostscript and poppler where installed."""
    folder = bench.folder
    art = folder / "heavy-jacket.pdf"
    write_heavy_jacket(art)
    out = folder / "heavy"
    plates = (*PREPCHECK, "plates", str(art), "--spec", "jacket-12in", "--ppi", PPI)
    only = (sys.executable, "-m", "tests.bench.only_plates", str(art), "jacket-12in", PPI)
    ours: dict[str, Chain] = {
        f"plates at {PPI} ppi, nothing written": [only],
        f"prepcheck plates --ppi {PPI}": [(*plates, "--out", str(out))],
        "prepcheck check, proof and report": [check(art, out, "--spec", "jacket-12in")],
    }
    theirs = by_hand(art, folder)
    bench.head(f"The heavy jacket, all by turns; the median of {bench.rounds} rounds")
    costs: dict[str, list[Cost]] = {title: [] for title in (*ours, *theirs)}
    for _ in range(bench.rounds):
        for title, commands in (*ours.items(), *theirs.items()):
            costs[title].append(run(*commands))
    for title, commands in (*ours.items(), *theirs.items()):
        bench.row(title, weighed(middle(costs[title]), *commands))
    if not theirs:
        print("\nGhostscript or poppler's programs are not installed: no ratios.")
        return
    tiffsep, chain = theirs
    print()
    for title, other in zip(ours, (tiffsep, tiffsep, chain), strict=True):
        if middle(costs[other]).exit_code:
            raise RuntimeError(f"{other}: a program failed, there is nothing to compare with")
        ratio = middle(costs[title]).wall / middle(costs[other]).wall
        print(f"{title} = {ratio:.2f} × {other}")
        bench.keep(f"{title} against {other}", ratio=ratio)


def by_hand(art: Path, folder: Path) -> dict[str, Chain]:
    """Return what a person would run: plates with smoothed edges, and the whole chain."""
    if not all(map(shutil.which, ("gs", "pdfimages", "pdffonts", "pdftoppm"))):
        return {}
    made = folder / "by-hand"
    made.mkdir(exist_ok=True)
    tiffsep = (
        "gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=tiffsep", f"-r{PPI}",
    )  # fmt: skip
    to = (f"-sOutputFile={made / 'plates.tif'}", str(art))
    return {
        "gs tiffsep, smoothed": [(*tiffsep, *SMOOTH, *to)],
        "gs tiffsep, pdfimages, pdffonts, pdftoppm": [
            (*tiffsep, *to),
            ("pdfimages", "-list", str(art)),
            ("pdffonts", str(art)),
            ("pdftoppm", "-png", "-r", "100", str(art), str(made / "page")),
        ],
    }
