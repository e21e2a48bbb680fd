"""The pieces of the order that is clear."""

from __future__ import annotations

from pathlib import Path

from PIL import Image

from drawing.brand import (
    ARTIST,
    BLACK,
    CATALOGUE,
    CLAY,
    DUNE,
    FIRM,
    NIGHT,
    PLUM,
    RUST,
    RUST_SPOT,
    SAND,
    SIDE_A,
    SIDE_B,
    TITLE,
    Ink,
)  # fmt: skip
from drawing.motifs import barcode, byline, dune_line, dunes, lantern, songs
from drawing.page import ITALIC, REGULAR, STRONG, Art, spot
from drawing.raster import RasterArt

LABEL = (100.0, 100.0)
JACKET = (633.0, 315.0)
INNER = (310.0, 310.0)
INSERT = (279.4, 279.4)

JACKET_BANDS: tuple[tuple[float, float, float, int, Ink], ...] = (
    (-84.0, 7.0, 300.0, 1, DUNE),
    (-100.0, 8.0, 260.0, 4, CLAY),
    (-118.0, 7.0, 330.0, 2, PLUM),
    (-136.0, 6.0, 280.0, 6, NIGHT),
)
SMALL_PRINT = (
    "All songs written by Halden Orrery. Recorded at the old brine works over nine winter tides.",
    "Made for Lanternfold Recordings. Nobody here is real, and neither is the record.",
)


def label_a(path: Path) -> None:
    """Side A: black and one spot on bare paper, type on a circle, the bleed in the spot."""
    art = Art(path, LABEL)
    label_a_ground(art)
    label_a_type(art)
    art.save()


def label_a_ground(art: Art, bleed: float = 3.0, name: str = RUST_SPOT) -> None:
    """Paint the sun and the dunes in tints of the spot."""
    art.flood(spot(name, RUST, 0.14), bleed)
    art.disc(0, 0, 24.5, spot(name, RUST, 0.30))
    bands = ((-12.5, 2.2, 70.0, 3, 0.45), (-21.0, 2.4, 84.0, 8, 0.66), (-30.0, 2.0, 74.0, 5, 0.86))
    dunes(
        art,
        [(*wave, spot(name, RUST, tint)) for *wave, tint in bands],
        bleed,
    )  # fmt: skip


def label_a_type(art: Art) -> None:
    """Set side A's type, all of it in black."""
    art.circle_text(FIRM.upper(), 42.6, 7.5, BLACK, STRONG, track=0.16)
    lantern(art, 0, 34.5, 9.0, BLACK)
    art.outlined(TITLE.upper(), 0, 15.6, 21, BLACK, track=0.05)
    byline(art, ARTIST, 0, 10.4, 11, BLACK)
    art.text("Side A", -38.5, 1.0, 9, BLACK, STRONG)
    art.text("33⅓ rpm", -38.5, -3.0, 7, BLACK)
    art.text(CATALOGUE, 38.5, 1.0, 9, BLACK, STRONG, align="right")
    art.text("Stereo", 38.5, -3.0, 7, BLACK, align="right")
    songs(art, SIDE_A, 0, -14.5, 7, 3.6, BLACK)
    art.circle_text(
        "All rights of the maker reserved. Copying, lending and broadcasting by leave only.",
        44.6, 5.5, BLACK, middle=270.0, track=0.05, inward=True,
    )  # fmt: skip


def jacket(path: Path, photo: Path) -> None:
    """The flat jacket: back, spine, front."""
    art = Art(path, JACKET)
    jacket_ground(art)
    jacket_front(art, photo)
    jacket_back(art)
    jacket_spine(art)
    art.save()


def jacket_ground(art: Art, bleed: float = 3.0) -> None:
    """Sand, and dunes that run across back, spine and front."""
    art.flood(SAND, bleed)
    dunes(art, JACKET_BANDS, bleed)


def jacket_front(art: Art, photo: Path | Image.Image) -> None:
    """A square picture, the title below it in outlines."""
    middle = 1.5 + 157.5
    art.picture(photo, middle - 95.0, -61.0, 190.0, 190.0)
    art.outlined(TITLE.upper(), middle, -124.5, 92, SAND, track=0.07)
    byline(art, ARTIST, middle, -143.5, 34, SAND)


def jacket_back(art: Art) -> None:
    """Songs, credits and the barcode."""
    left, right = -316.5 + 34.0, -1.5 - 34.0
    art.text(TITLE, left, 112.0, 46, NIGHT, STRONG)
    art.text(ARTIST, left, 97.0, 24, RUST, ITALIC)
    art.rect(left, 86.0, right, 86.35, NIGHT)
    for x, side, tracks in ((left, "Side A", SIDE_A), (left + 133.0, "Side B", SIDE_B)):
        art.text(side, x, 68.0, 15, RUST, STRONG)
        songs(art, tracks, x, 53.0, 16, 10.6, BLACK, width=112.0)
    for row, words in enumerate(SMALL_PRINT):
        art.text(words, left, -22.0 - 6.0 * row, 11, BLACK)
    lantern(art, left + 7.0, -133.0, 22.0, SAND)
    art.text(FIRM, left + 22.0, -131.0, 13, SAND, STRONG)
    art.text(CATALOGUE, left + 22.0, -138.0, 13, SAND)
    barcode(art, right - 40.0, -144.0)


def jacket_spine(art: Art) -> None:
    """Type down the spine in black, centred between the folds."""
    art.canvas.saveState()
    art.canvas.translate(0, 112.0)
    art.canvas.rotate(-90)
    words = f"{ARTIST}   ·   {TITLE}   ·   {CATALOGUE}".upper()
    art.text(words, 0, -0.617, 5, BLACK, STRONG, track=0.16)
    art.canvas.restoreState()


WORDS = (
    ("Low Water Bearing", ("We took our line from the pier lamp",
     "and walked until the lamp was small.",
     "The sea had left its furniture", "and did not want it back at all.")),
    ("The Brine Ledger", ("Four sacks to Anselm, two to Ruth,",
     "one to the hand that rang the bell.",
     "What dries by noon is yours to keep,", "what dries by dusk is ours to sell.")),
    ("Salt Roads", ("There is no map of where we went,", "the tide has ironed every sheet;",
     "but I can tell you every turn", "by what it did to both my feet.")),
    ("Carrying Lanterns Home", ("Hold it lower, hold it still,", "let the paper take the rain.",
     "One more field and then the hill,", "then the lane, and then the lane.")),
)  # fmt: skip


def inner(path: Path) -> None:
    """Inner bag, two pages: words in black and one spot; the firm's marks in rows."""
    rust = spot(RUST_SPOT, RUST)
    art = Art(path, INNER)
    art.flood(spot(RUST_SPOT, RUST, 0.10))
    dunes(
        art,
        [(-96.0, 7.0, 210.0, 2, spot(RUST_SPOT, RUST, 0.35)),
         (-114.0, 6.0, 250.0, 5, spot(RUST_SPOT, RUST, 0.65)), (-131.0, 5.0, 190.0, 7, rust)],
    )  # fmt: skip
    art.outlined("WORDS", -125.0, 112.0, 58, rust, align="left", track=0.06)
    for place, (name, lines) in enumerate(WORDS):
        x, y = (-125.0, 8.0)[place % 2], 82.0 - 82.0 * (place // 2)
        art.text(name, x, y, 15, rust, STRONG)
        for row, line in enumerate(lines):
            art.text(line, x, y - 11.0 - 7.4 * row, 14, BLACK, ITALIC)
    art.text(f"{FIRM}  ·  {CATALOGUE}", 0, -142.0, 9, BLACK, align="middle", track=0.05)
    art.next_page()
    art.flood(rust)
    for row in range(7):
        for column in range(7 - row % 2):
            x = (column - 3 + 0.5 * (row % 2)) * 40.0
            lantern(art, x, (3 - row) * 40.0, 24.0, spot(RUST_SPOT, RUST, 0.25))
    art.save()


def insert(path: Path, photo: Path) -> None:
    """Insert: a greyscale photograph to the bleed, black type in its sky."""
    art = Art(path, INSERT)
    side = INSERT[0] / 2 + 3.0
    art.picture(photo, -side, -side, 2 * side, 2 * side)
    art.text("Nine winter tides", 0, 106.0, 40, BLACK, ITALIC, align="middle")
    art.text(
        f"photographed on the way to {TITLE}",
        0,
        95.0,
        12,
        BLACK,
        REGULAR,
        align="middle",
        track=0.04,
    )
    art.text(CATALOGUE, 0, 86.0, 9, BLACK, STRONG, align="middle", track=0.1)
    art.save()


def label_b() -> Image.Image:
    """Side B as its designer saved it: a CMYK picture at 300 ppi, to the bleed."""
    art = RasterArt(106.0, 300.0, NIGHT)
    art.disc(0, 0, 40.0, PLUM)
    art.disc(0, 0, 18.5, SAND)
    for base, swell, length, seed, ink in (
        (-14.0, 1.8, 66.0, 3, DUNE), (-20.0, 1.8, 80.0, 8, CLAY), (-26.0, 1.6, 60.0, 5, NIGHT),
    ):  # fmt: skip
        crest = dune_line(-50, 50, base, swell, length, seed)
        art.shape([(-50, -60), *crest, (50, -60)], ink, 40.3 if ink is NIGHT else 40.0)
    art.circle_text(FIRM.upper(), 42.0, 7.5, SAND, STRONG, track=0.16)
    art.circle_text(
        "All rights of the maker reserved. Copying, lending and broadcasting by leave only.",
        43.6, 7.0, SAND, middle=270.0, track=0.02, inward=True,
    )  # fmt: skip
    art.text(TITLE.upper(), 0, 26.6, 18, SAND, STRONG, align="middle", track=0.05)
    art.text(ARTIST, 0, 21.4, 10, SAND, ITALIC, align="middle")
    art.text("Side B", -35.0, 1.0, 8, SAND, STRONG)
    art.text("33⅓ rpm", -35.0, -2.8, 7, SAND)
    art.text(CATALOGUE, 35.0, 1.0, 8, SAND, STRONG, align="right")
    art.text("Stereo", 35.0, -2.8, 7, SAND, align="right")
    for row, (name, time) in enumerate(SIDE_B):
        line = f"{row + 1}  {name}  {time}"
        art.text(line, 0, -23.2 - 3.5 * row, 7, SAND, STRONG, align="middle")
    return art.image()
