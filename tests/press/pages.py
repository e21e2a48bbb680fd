"""Opens small files as pages, and finds edges in arrays."""

from pathlib import Path

import numpy as np

from prepcheck.art.model import Page
from prepcheck.art.open import open_art
from prepcheck.geometry import Grid


def page_of(data: bytes, folder: Path, name: str = "art.pdf") -> Page:
    """Write a file and return its first page."""
    path = folder / name
    path.write_bytes(data)
    return open_art(path).pages[0]


def inked_stretch(ink: np.ndarray, grid: Grid, *, x: float | None = None, y: float | None = None):
    """Return where one stretch of solid ink starts and ends in mm along a row or a column.

    The edge pixels' coverage places the edge inside the pixel.
    """
    column, row = grid.pixels(np.array((x or 0.0, y or 0.0)))
    line = ink[int(row)] if y is not None else ink[::-1, int(column)]
    start = grid.left if y is not None else grid.box.y0
    covered = line.astype(float) / 255
    first, last = np.nonzero(covered)[0][[0, -1]]
    assert covered[first + 1 : last].min() > 0.99
    return (
        start + (first + 1 - covered[first]) * grid.pitch,
        start + (last + covered[last]) * grid.pitch,
    )
