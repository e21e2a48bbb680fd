"""Small art files of known size, for tests of whole runs."""

from __future__ import annotations

from pathlib import Path

from PIL import Image

from prepcheck.run.budget import WorkerLimits
from prepcheck.run.settings import Resolution, Settings
from tests.factories import Pdf, disc_path

QUICK = Settings(
    worker=WorkerLimits(seconds=60.0),
    view=Resolution(150.0, 1e6),
    picture=Resolution(72.0, 1e6),
    inset=Resolution(150.0, 1e5),
)
"""Coarse enough for tests that are not about pictures."""


def label_pdf(
    path: Path,
    trim: float = 100.0,
    *,
    bleed: float = 3.0,
    with_trim_box: bool = True,
    pages: int = 1,
) -> Path:
    """Write a label in solid cyan with its ink out to the bleed."""
    side = trim + 2 * bleed
    box = (bleed, bleed, bleed + trim, bleed + trim) if with_trim_box else None
    pdf = Pdf()
    for _ in range(pages):
        content = f"1 0 0 0 k {disc_path(side / 2, side / 2, side / 2)} f"
        pdf.page(content, (side, side), trim_mm=box, bleed_mm=(0, 0, side, side) if box else None)
    path.write_bytes(pdf.bytes())
    return path


def flat_pdf(path: Path, width: float, height: float, *, bleed: float = 3.0) -> Path:
    """Write an upright sheet in solid magenta with its TrimBox."""
    pdf = Pdf()
    size = (width + 2 * bleed, height + 2 * bleed)
    pdf.page(
        f"0 1 0 0 k 0 0 {size[0]} {size[1]} re f",
        size,
        trim_mm=(bleed, bleed, bleed + width, bleed + height),
        bleed_mm=(0, 0, *size),
    )
    path.write_bytes(pdf.bytes())
    return path


def tiff(path: Path, size_mm: float, ppi: float | None) -> Path:
    """Write a square grey TIFF of the given size."""
    samples = round(size_mm / 25.4 * (ppi or 100.0))
    image = Image.new("L", (samples, samples), 128)
    if ppi is None:
        image.save(path, "TIFF")
    else:
        image.save(path, "TIFF", dpi=(ppi, ppi))
    return path


def order_toml(folder: Path, parts: str, *, head: str = "", name: str = "order.toml") -> Path:
    path = folder / name
    path.write_text(
        '[order]\nnumber = "P-0417"\nclient = "Fernweh Tapes"\ntitle = "Harbour Songs"\n'
        f'catalogue = "FWT 012"\nformat = "12-inch"\n{head}\n{parts}',
        encoding="utf-8",
    )
    return path


def two_labels(folder: Path) -> Path:
    """Write an order with a label a side and return its file."""
    label_pdf(folder / "a.pdf")
    label_pdf(folder / "b.pdf")
    return order_toml(
        folder,
        '[[part]]\nname = "Label A"\nside = "A"\nfile = "a.pdf"\n'
        '[[part]]\nname = "Label B"\nside = "B"\nfile = "b.pdf"\n',
    )
