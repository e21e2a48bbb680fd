"""Shapes of the fern record: fronds, moons in their phases, ridges, and its barcode."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fontTools.ttLib import TTFont as FontFile
from reportlab.graphics.barcode.eanbc import Ean13BarcodeWidget
from reportlab.lib.colors import CMYKColor, Color
from reportlab.pdfgen.canvas import FILL_NON_ZERO

from drawing.brand import BLACK, PAPER, Ink
from drawing.motifs import dune_line
from drawing.page import FONTS, PT, REGULAR, Art, Xy


def frond(
    art: Art,
    foot: Xy,
    length: float,
    lean: float,
    paint: Ink | Color,
    *,
    leaflets: int = 17,
    curl: float = 40.0,
) -> None:
    """Draw a fern's frond as one outline, rising from `foot` at `lean` degrees off upright.

    `curl` is by how many degrees the stem has bent over at its tip.
    """
    left, right = [], []
    x, y = foot
    for step in range(leaflets + 1):
        share = step / leaflets
        heading = math.radians(90.0 - lean - curl * share**2)
        along, across = (math.cos(heading), math.sin(heading)), (
            -math.sin(heading), math.cos(heading)
        )  # fmt: skip
        pitch = length / leaflets * (1.25 - 0.5 * share)
        reach = 0.0 if step == 0 else length * 0.21 * math.sin(math.pi * (0.12 + 0.88 * share))
        stem = length * 0.008 * (1.0 - 0.8 * share)
        for side, run in ((1.0, left), (-1.0, right)):
            leaflet = (
                (0.0, stem),
                (pitch * 0.35 + reach * 0.30, stem + reach * 0.72),
                (reach * 0.62, stem + reach),
                (pitch * 0.10 + reach * 0.62, stem + reach * 0.55),
                (pitch * 0.52, stem),
            )
            for u, v in leaflet if reach else leaflet[:1]:
                run.append((
                    x + along[0] * u + across[0] * v * side, y + along[1] * u + across[1] * v * side
                ))  # fmt: skip
        x, y = x + along[0] * pitch, y + along[1] * pitch
    canvas = art.canvas
    canvas.setFillColor(paint if isinstance(paint, Color) else CMYKColor(*paint))
    path = canvas.beginPath()
    path.moveTo(*left[0])
    for corner in (*left[1:], (x, y), *reversed(right)):
        path.lineTo(*corner)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1, fillMode=FILL_NON_ZERO)


def ridge(
    art: Art, base: float, swell: float, length: float, seed: int, paint: Ink | Color,
    *, bleed: float = 3.0,
) -> None:  # fmt: skip
    """Paint a ridge across the whole piece, from its crest down past the trim."""
    half, foot = art.trim[0] / 2 + bleed, -art.trim[1] / 2 - bleed
    crest = dune_line(-half, half, base, swell, length, seed)
    art.shape([(-half, foot), *crest, (half, foot)], paint)


def moon(
    art: Art, x: float, y: float, radius: float, phase: float, paint: Ink | Color
) -> None:  # fmt: skip
    """Draw the lit part of a moon; `phase` 0 is new, 0.5 full, 1 new again."""
    waxing, lit = phase < 0.5, 1.0 - abs(2.0 * phase - 1.0)
    side = 1.0 if waxing else -1.0
    points = []
    for step in range(121):
        turn = math.pi * step / 60
        away = math.sin(turn)
        if step > 60:  # the terminator is half an ellipse
            away *= 2.0 * lit - 1.0
        points.append((x + side * radius * away, y + radius * math.cos(turn)))
    art.shape(points, paint)


def ink_height(words: str, pt: float, font: str) -> float:
    """Return the height in mm from the lowest to the highest point of any letter of a line."""
    file = FontFile(FONTS / f"{font}.ttf")
    names, glyphs = file.getBestCmap(), file["glyf"]
    marks = [glyphs[names[ord(letter)]] for letter in words if letter != " "]
    high, low = max(mark.yMax for mark in marks), min(mark.yMin for mark in marks)
    return float(high - low) / file["head"].unitsPerEm * pt / PT


def left_of(words: str, pt: float, font: str) -> float:
    """Return how far the first letter's ink begins right of where the line is set, in mm."""
    file = FontFile(FONTS / f"{font}.ttf")
    _, bearing = file["hmtx"][file.getBestCmap()[ord(words[0])]]
    return float(bearing) / file["head"].unitsPerEm * pt / PT


@dataclass(frozen=True)
class Symbol:
    """How an EAN-13 is drawn; lengths in mm. `left` and `right` are what the white box leaves free
    beside the bars; digits are always black."""

    digits: str
    module: float = 0.33
    height: float = 22.85
    left: float = 11 * 0.33
    right: float = 7 * 0.33
    ink: Ink = BLACK

    def bars(self) -> str:
        """Return the 95 modules as ones and zeros (tables of reportlab, check digit as given)."""
        tables, digits = Ean13BarcodeWidget, [int(digit) for digit in self.digits]
        ways = tables._lhconvert[self.digits[0]]
        near = "".join(tables._left[w][d] for w, d in zip(ways, digits[1:7], strict=True))
        far = "".join(tables._right[digit] for digit in digits[7:])
        return f"101{near}01010{far}101"

    @property
    def width(self) -> float:
        return 95 * self.module


def white_box(art: Art, x: float, y: float, symbol: Symbol) -> None:
    """Paint a barcode's white box; (x, y) is the lower left corner of its first bar."""
    foot = 5.0 + 9.0 / PT * 0.5
    art.rect(
        x - symbol.left, y - foot, x + symbol.width + symbol.right, y + symbol.height + 2.0, PAPER
    )


def draw_symbol(art: Art, x: float, y: float, symbol: Symbol) -> None:
    """Draw a barcode on its white box; guard bars reach five modules down between the digits."""
    white_box(art, x, y, symbol)
    row, start = symbol.bars(), 0
    for at in range(96):
        if at < 95 and row[at] == row[start]:
            continue
        if row[start] == "1":
            guard = start < 3 or 45 <= start < 50 or start >= 92
            low = y - (5 * symbol.module if guard else 0.0)
            art.rect(
                x + start * symbol.module, low, x + at * symbol.module, y + symbol.height,
                symbol.ink,
            )  # fmt: skip
        start = at
    draw_digits(art, x, y, symbol)


def draw_digits(art: Art, x: float, y: float, symbol: Symbol) -> None:
    """Set the digits below the bars."""
    size, base = symbol.module / 0.33 * 9.0, y - symbol.module / 0.33 * 3.0
    art.text(symbol.digits[0], x - 9.5 * symbol.module, base, size, BLACK, REGULAR)
    for first, middle in ((1, 24.0), (7, 71.0)):
        words = symbol.digits[first : first + 6]
        art.text(words, x + middle * symbol.module, base, size, BLACK, align="middle")
