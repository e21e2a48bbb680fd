"""Labels put on sheets for tests, and what is read back at each position."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from prepcheck.art.model import Page
from prepcheck.art.open import open_art
from prepcheck.geometry import Affine, Box
from prepcheck.labelsheet.model import Art, Layout, RoundPiece
from prepcheck.labelsheet.paper import Paper
from prepcheck.labelsheet.plan import laid_out
from prepcheck.labelsheet.slug import band_of
from prepcheck.labelsheet.write import sheet_pdf
from prepcheck.press.separate.plates import Plates, make_plates, separation

SENTENCES = ("Order P-0417 · a sheet for tests", "Side A: label-a.pdf")


def art_of(path: Path, name: str | None = None) -> Art:
    """Return a file as a label whose piece lies in the middle of its page."""
    page = open_art(path).pages[0]
    x, y = page.boxes.media.centre
    return Art(name or path.stem, page, Affine.move(-x, -y), path.read_bytes())


def sheet_of(
    arts: Sequence[Art],
    paper: Paper,
    piece: RoundPiece,
    inks: Sequence[str],
    path: Path,
    *,
    turns: Sequence[float] = (),
    gap: float = 2.0,
    shares: Sequence[int] = (),
) -> tuple[Layout, Page]:
    """Write a sheet and return where everything stands, and the page read back."""
    names = [art.name for art in arts]
    band = band_of(paper, inks, SENTENCES)
    layout = laid_out(
        paper, piece, names, gap_mm=gap, shares=dict(zip(names, shares, strict=False)),
        band_mm=band.height, turns=turns,
    )  # fmt: skip
    path.write_bytes(sheet_pdf(layout, arts, band, inks, {}, title="A sheet"))
    return layout, open_art(path).pages[0]


def at_positions(layout: Layout, page: Page, ppi: float) -> list[Plates]:
    """Return the plates of a sheet round each position, trim and bleed, the label upright."""
    half = layout.piece.printed / 2
    read = separation(page)
    found = []
    for position in layout.positions:
        x, y = position.centre
        frame = Affine.move(-x, -y).then(Affine.turn(-position.turn))
        found += read.plates(frame, [Box(-half, -half, half, half)], ppi)
    return found


def alone(art: Art, layout: Layout, ppi: float) -> Plates:
    """Return the plates of a label by itself, over the same place."""
    half = layout.piece.printed / 2
    return make_plates(art.page, art.to_piece, Box(-half, -half, half, half), ppi)


def to_compare(layout: Layout, shape: tuple[int, ...], ppi: float) -> np.ndarray:
    """Return which pixels lie in the bleed and outside the hole, both by more than a pixel."""
    pitch = 25.4 / ppi
    rows, columns = shape
    y, x = np.mgrid[0:rows, 0:columns]
    away = np.hypot(x + 0.5 - columns / 2, y + 0.5 - rows / 2) * pitch
    hole = layout.piece.hole or 0.0
    return (away < layout.piece.printed / 2 - 1.5 * pitch) & (away > hole / 2 + 1.5 * pitch)
