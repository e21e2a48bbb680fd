"""The gatefold: outside in the colours of the night, inside in those of the morning."""

from __future__ import annotations

from pathlib import Path

from PIL import Image
from reportlab.lib.colors import Color

from drawing.brand import BLACK, FIRM, Ink
from drawing.gatefold.brand import (
    ARTIST,
    BARCODE,
    CATALOGUE,
    CORAL,
    CREDITS,
    FERN,
    FOREST,
    GLOW,
    HALO,
    HARP,
    MIST,
    MOON,
    MOSS,
    NIGHT,
    PALE,
    SIDES,
    TITLE,
)  # fmt: skip
from drawing.gatefold.motifs import Symbol, draw_symbol, frond, moon, ridge
from drawing.motifs import byline, lantern, songs
from drawing.page import ITALIC, PT, STRONG, Art, Xy

OUTSIDE = (636.0, 315.0)
INSIDE = (635.0, 314.5)
MIDDLE = 160.5
"""Middle of the front, in mm right of the middle of the spine."""
LEFT, RIGHT = -318.0 + 30.0, -3.0 - 30.0
"""Margins of the type on the back."""
SPINE_PT = 9.0


def outside(path: Path) -> None:
    """Back, spine and front."""
    art = Art(path, OUTSIDE)
    art.canvas.setTitle(f"{TITLE}, outside")
    outside_ground(art)
    front(art)
    back(art)
    draw_symbol(art, RIGHT - 2.31 - 95 * 0.33, -128.0, Symbol(BARCODE))
    spine(art)
    art.save()


def outside_ground(art: Art) -> None:
    """Night, a moon with its halo, and ridges that run across back, spine and front."""
    art.flood(NIGHT)
    for radius, ink in ((120.0, HALO), (99.0, GLOW), (78.0, MOON)):
        art.disc(MIDDLE, 26.0, radius, ink)
    ridge(art, -62.0, 9.0, 330.0, 3, MOSS)
    ridge(art, -86.0, 8.0, 280.0, 8, FOREST)


def front(art: Art) -> None:
    """Ferns before the moon, the title below them."""
    for x, length, lean, curl in (
        (-58.0, 168.0, -10.0, 34.0), (-4.0, 206.0, 3.0, -38.0), (52.0, 150.0, 12.0, -30.0),
        (-96.0, 118.0, -6.0, -24.0), (92.0, 108.0, 2.0, 30.0),
    ):  # fmt: skip
        frond(art, (MIDDLE + x, -104.0), length, lean, NIGHT, curl=curl, leaflets=21)
    ridge_front(art)
    art.outlined(TITLE.upper(), MIDDLE, -124.0, 74, PALE, track=0.07)
    byline(art, ARTIST, MIDDLE, -143.0, 32, PALE)


def ridge_front(art: Art) -> None:
    """The last ridge, dark, over the feet of the ferns."""
    ridge(art, -106.0, 4.0, 300.0, 5, NIGHT)


def back(art: Art) -> None:
    """Phases of the moon, the songs of four sides, the firm."""
    art.text(TITLE, LEFT, 112.0, 46, PALE, STRONG)
    art.text(ARTIST, LEFT, 97.0, 24, MOON, ITALIC)
    for place, phase in enumerate((0.08, 0.16, 0.28, 0.5, 0.72, 0.84, 0.92)):
        moon(art, LEFT + 7.0 + 39.8 * place, 74.0, 7.0, phase, MOON)
    for place, (side, (hour, tracks)) in enumerate(SIDES.items()):
        x, y = LEFT + 134.0 * (place % 2), 48.0 - 52.0 * (place // 2)
        art.text(f"Side {side}", x, y, 14, MOON, STRONG)
        art.text(hour, x + 20.0, y, 14, MIST, ITALIC)
        songs(art, tracks, x, y - 11.0, 14, 8.8, PALE, width=116.0)
    lantern(art, LEFT + 7.0, -128.0, 22.0, PALE)
    art.text(FIRM, LEFT + 22.0, -126.0, 13, PALE, STRONG)
    art.text(CATALOGUE, LEFT + 22.0, -133.0, 13, PALE)


def spine(
    art: Art,
    *,
    off: float = 0.0,
    pt: float = SPINE_PT,
    up: bool = False,
    ink: Ink | Color = PALE,
    words: str = f"{ARTIST}   ·   {TITLE}   ·   {CATALOGUE}",
    at: Xy = (0.0, 20.0),
    font: str = STRONG,
) -> None:
    """Set type along the spine, its capitals `off` mm right of the middle; down unless `up`."""
    half = 0.35 * pt / PT
    art.canvas.saveState()
    art.canvas.translate(at[0] + off, at[1])
    art.canvas.rotate(90 if up else -90)
    art.text(words.upper(), 0, -half, pt, ink, font, align="middle", track=0.16)
    art.canvas.restoreState()


def inside(path: Path, photo: Path | Image.Image) -> None:
    """Left inside, spine inside, right inside: the sun comes up in the fold."""
    art = Art(path, INSIDE)
    art.canvas.setTitle(f"{TITLE}, inside")
    inside_ground(art)
    inside_left(art)
    inside_right(art, photo)
    art.save()


def inside_ground(art: Art) -> None:
    """Morning: a pale sky, the sun on the fold, ridges from the left to the right."""
    art.flood(PALE)
    art.disc(0, -32.0, 70.0, (0.01, 0.22, 0.34, 0.00))
    art.disc(0, -32.0, 52.0, CORAL)
    ridge(art, -58.0, 8.0, 300.0, 2, MIST)
    ridge(art, -82.0, 8.0, 340.0, 6, FERN)
    ridge(art, -108.0, 7.0, 280.0, 4, MOSS)
    for x, length, lean, curl in (
        (-270.0, 96.0, 6.0, 40.0), (-236.0, 66.0, -8.0, 46.0), (-204.0, 50.0, 4.0, -30.0),
        (-124.0, 72.0, 10.0, -44.0), (112.0, 66.0, -8.0, 40.0), (206.0, 54.0, 6.0, 36.0),
        (240.0, 62.0, 8.0, -40.0), (272.0, 80.0, -4.0, 30.0),
    ):  # fmt: skip
        frond(art, (x, -134.0), length, lean, FOREST, curl=curl)
    ridge(art, -131.0, 5.0, 240.0, 9, FOREST)


def inside_left(art: Art, harp: str = HARP) -> None:
    """Who played what, in black."""
    art.text(TITLE, -284.0, 112.0, 40, BLACK, ITALIC)
    art.text(f"{ARTIST}  ·  {CATALOGUE}", -284.0, 99.0, 13, BLACK, STRONG)
    for row, words in enumerate(CREDITS):
        art.text(words.replace(HARP, harp), -284.0, 76.0 - 9.5 * row, 14, BLACK)


def inside_right(art: Art, photo: Path | Image.Image) -> None:
    """A photograph and its caption."""
    art.picture(photo, 124.0, -36.0, 160.0, 160.0)
    art.text("From the shed, a little before the first bus.", 284.0, -46.0, 12, BLACK, ITALIC,
             align="right")  # fmt: skip
