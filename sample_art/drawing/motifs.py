"""Shapes that the pieces share: dunes, the firm's lantern, a list of songs."""

from __future__ import annotations

import math
from collections.abc import Sequence

from reportlab.graphics.barcode.eanbc import Ean13BarcodeWidget
from reportlab.graphics.shapes import Rect
from reportlab.lib.colors import Color

from drawing.brand import BARCODE, BLACK, PAPER, Ink
from drawing.page import ITALIC, PT, REGULAR, Art, Xy


def dune_line(
    x0: float, x1: float, base: float, swell: float, length: float, seed: int
) -> list[Xy]:
    """Return a long wave from x0 to x1 about the height `base`, `swell` mm up and down."""
    points = []
    for step in range(121):
        x = x0 + (x1 - x0) * step / 120
        wave = (
            math.sin(x / length * 2 * math.pi + seed * 1.7)
            + 0.45 * math.sin(x / length * 3.4 * math.pi + seed * 2.9)
            + 0.18 * math.sin(x / length * 8.2 * math.pi + seed * 4.3)
        )
        points.append((x, base + swell * wave / 1.63))
    return points


def dunes(
    art: Art, bands: Sequence[tuple[float, float, float, int, Ink | Color]], bleed: float = 3.0
) -> None:
    """Paint bands one before another, out past the trim: base, swell, length, seed, ink."""
    half, foot = art.trim[0] / 2 + bleed, -art.trim[1] / 2 - bleed
    for base, swell, length, seed, ink in bands:
        crest = dune_line(-half, half, base, swell, length, seed)
        art.shape([(-half, foot), *crest, (half, foot)], ink)


def lantern(art: Art, x: float, y: float, height: float, paint: Ink | Color) -> None:
    """Draw the firm's mark, a folded paper lantern, `height` mm high and centred on (x, y)."""
    pleat = height / 9.2
    for row, width in enumerate((0.40, 0.62, 0.72, 0.72, 0.62, 0.40)):
        top = y + height * 0.375 - row * pleat * 1.30
        half = width * height * 0.46
        tip = half + pleat * 0.42
        art.shape(
            [(x - half, top), (x + half, top), (x + tip, top - pleat / 2),
             (x + half, top - pleat), (x - half, top - pleat), (x - tip, top - pleat / 2)],
            paint,
        )  # fmt: skip
    bar = height * 0.07
    for middle in (y + height * 0.46, y - height * 0.465):
        art.rect(x - height * 0.1, middle - bar / 2, x + height * 0.1, middle + bar / 2, paint)


def songs(
    art: Art,
    tracks: Sequence[tuple[str, str]],
    x: float,
    y: float,
    pt: float,
    lead: float,
    paint: Ink | Color,
    *,
    width: float | None = None,
) -> None:
    """Set a list of songs from (x, y) down, `lead` mm a line; `width` sets times flush right."""
    for row, (name, time) in enumerate(tracks):
        at = y - row * lead
        if width is None:
            art.text(f"{row + 1}  {name}  {time}", x, at, pt, paint, align="middle")
        else:
            art.text(str(row + 1), x, at, pt, paint)
            art.text(name, x + pt * 0.62, at, pt, paint)
            art.text(time, x + width, at, pt, paint, align="right")


def byline(art: Art, words: str, x: float, y: float, pt: float, paint: Ink | Color) -> None:
    """Set the artist's name."""
    art.text(words, x, y, pt, paint, ITALIC, align="middle")


def barcode(art: Art, x: float, y: float) -> None:
    """Set the order's EAN-13 at 100 % on white, lower left corner of the white at (x, y)."""
    art.rect(x, y, x + 40.0, y + 29.0, PAPER)
    size = 9.0 / PT
    # The widget counts the row of digits, 1.2 times the type size, into the height of the bars.
    height = 22.85 + 1.2 * size
    symbol = Ean13BarcodeWidget(
        BARCODE[:12], barWidth=0.33, barHeight=height, fontName=REGULAR, fontSize=size, quiet=1
    )
    for item in symbol.draw().contents:
        at_x, at_y = x + 1.2 + item.x, y + 2.0 + item.y
        if isinstance(item, Rect) and item.fillColor is None:
            continue  # the box of the quiet zones
        if isinstance(item, Rect):
            art.rect(at_x, at_y, at_x + item.width, at_y + item.height, BLACK)
        else:
            art.text(item.text, at_x, at_y, 9.0, BLACK, align=item.textAnchor)
