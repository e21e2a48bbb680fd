"""What drawing templates and laying labels out on a press sheet cost."""

from __future__ import annotations

from pathlib import Path

from tests.bench.heavy import paths, photograph
from tests.bench.table import ART, PREPCHECK, Bench
from tests.factories import Pdf, Raw, Stream

SIDE_MM, BLEED_MM = 106.0, 3.0
PATHS = 6000
SIDE_PX = 1252
"""Samples at 300 ppi over trim and bleed."""


def sheets(bench: Bench) -> None:
    """Templates, and a sheet of twelve heavy labels."""
    folder = bench.folder
    bench.head("Templates and press sheets; the median of three runs")
    out = folder / "templates"
    for spec in ("label-12in", "gatefold-12in-flat"):
        for kind in ("pdf", "svg"):
            command = (*PREPCHECK, "template", spec, "--format", kind, "--out", str(out))
            bench.measured(f"template {spec}, {kind}", command)
    plain = ART / "clear" / "order.toml"
    _sheet("sheet of 10 sample labels, two files", bench, "SRA3", str(plain))
    heavy = [folder / f"heavy-{side}.pdf" for side in "ab"]
    for seed, path in enumerate(heavy):
        write_heavy_label(path, seed)
    _sheet(
        "sheet of 12 heavy labels, two files", bench, "460x365", *map(str, heavy), "--spec",
        "label-12in", "--share", "heavy-a=6,heavy-b=6", "--despite", "weighing",
    )  # fmt: skip


def _sheet(title: str, bench: Bench, size: str, *words: str) -> None:
    out = str(bench.folder / "sheets")
    bench.measured(title, (*PREPCHECK, "sheet", *words, "--sheet", size, "--out", out, "--quiet"))


def write_heavy_label(path: Path, seed: int) -> None:
    """Write a label of a photograph at 300 ppi under 6,000 paths."""
    pdf = Pdf()
    photo = pdf.add(
        Stream(
            photograph(SIDE_PX, seed),
            {
                "Type": "XObject", "Subtype": "Image", "Width": SIDE_PX, "Height": SIDE_PX,
                "ColorSpace": "DeviceCMYK", "BitsPerComponent": 8, "Filter": "DCTDecode",
                "Decode": Raw("[1 0 1 0 1 0 1 0]"),
            },
        )
    )  # fmt: skip
    edge = SIDE_MM - BLEED_MM
    pdf.page(
        f"q {SIDE_MM} 0 0 {SIDE_MM} 0 0 cm /Photo Do Q\n{paths(SIDE_MM, SIDE_MM, PATHS)}",
        (SIDE_MM, SIDE_MM),
        trim_mm=(BLEED_MM, BLEED_MM, edge, edge),
        bleed_mm=(0, 0, SIDE_MM, SIDE_MM),
        resources={"XObject": {"Photo": photo}},
    )
    path.write_bytes(pdf.bytes())
