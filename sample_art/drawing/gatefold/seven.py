"""A single from the same record: two labels for different holes, a barcode no till reads."""

from __future__ import annotations

from pathlib import Path

from reportlab.graphics.barcode.code128 import Code128

from drawing.brand import BLACK, FIRM, PAPER, gtin13
from drawing.gatefold.brand import ARTIST, FERN, FERN_SPOT, MIST, SIDES
from drawing.gatefold.labels import tint
from drawing.gatefold.motifs import frond, moon, ridge
from drawing.gatefold.orders import Value, order_text
from drawing.gatefold.sleeve import spine
from drawing.manifest import Fault
from drawing.motifs import byline
from drawing.page import PT, STRONG, Art

FOLDER = "seven-faulty"
ALL, JACKET = f"{FOLDER}/order.toml", f"{FOLDER}/jacket.pdf"
LABEL = (92.0, 92.0)
SLEEVE = (371.0, 184.0)
CATALOGUE = "LFR 023"
SONGS = {"A": SIDES["A"][1][0][0], "B": SIDES["D"][1][2][0]}
TITLE = SONGS["A"]
BARCODE = gtin13("952201400023")
SLIP = "First Bus Dwon"
"""The other side's title as the back of the jacket spells it."""
BARS_X, BARS_Y = -60.0, -72.0

FAULTS = (
    Fault(ALL, "order.speed-hole", "stop", "side A for a large hole, side B for a small one", "",
          None, measured="7.24 mm and 38.2 mm", required="one hole size"),
    Fault(ALL, "order.agreement", "query", "the other side's title misspelt on the back", "", None,
          measured=f"'{SONGS['B']}' and '{SLIP}'", required="one spelling"),
    Fault(JACKET, "barcode.unreadable", "stop", "a stock-keeper's Code 128 in place of an EAN",
          "jacket-7in", measured="unread", required=BARCODE, x=BARS_X + 15.0, y=BARS_Y + 10.0),
)  # fmt: skip

HEAD: dict[str, Value] = {
    "number": "FH-2240-1", "client": FIRM, "title": f"{ARTIST}: {TITLE}", "catalogue": CATALOGUE,
    "format": "7-inch", "discs": 1, "speed": "45", "barcode": BARCODE, "quantity": 300,
}  # fmt: skip
PARTS: tuple[dict[str, Value], ...] = (
    {"name": "Label A", "file": "label-a.pdf", "side": "A", "spec": "label-7in-large-hole",
     "inks": ("Black", FERN_SPOT), "expect": (SONGS["A"], "45 rpm")},
    {"name": "Label B", "file": "label-b.pdf", "side": "B", "spec": "label-7in",
     "inks": ("Black", FERN_SPOT), "expect": (SONGS["B"], "45 rpm")},
    {"name": "Jacket", "file": "jacket.pdf", "spec": "jacket-7in",
     "inks": ("Cyan", "Magenta", "Yellow", "Black"), "expect": (ARTIST, TITLE)},
)  # fmt: skip


def make(folder: Path) -> None:
    """Write the order and its files."""
    label(folder / "label-a.pdf", "A", 0.36)
    label(folder / "label-b.pdf", "B", 0.72)
    jacket(folder / "jacket.pdf")
    (folder / "order.toml").write_text(order_text(HEAD, PARTS))


def label(path: Path, side: str, share: float) -> None:
    """A label with room for either hole."""
    art = Art(path, LABEL)
    art.canvas.setTitle(f"{TITLE}, side {side}")
    art.flood(tint(share))
    ridge(art, -26.8, 0.9, 60.0, ord(side) % 5, tint(share + 0.25))
    art.circle_text(FIRM.upper(), 39.0, 7.0, BLACK, STRONG, track=0.14)
    art.text(SONGS[side], 0, 30.0, 12, BLACK, STRONG, align="middle")
    byline(art, ARTIST, 0, 25.4, 10, BLACK)
    art.text(f"Side {side}  ·  45 rpm", 0, -29.0, 9, BLACK, STRONG, align="middle")
    art.text(f"{CATALOGUE}  ·  from {TITLE}", 0, -33.4, 7, BLACK, align="middle")
    art.save()


def jacket(path: Path) -> None:
    """The jacket of the single, a warehouse's bars on its back."""
    art = Art(path, SLEEVE)
    art.canvas.setTitle(f"{TITLE}, jacket")
    art.flood(MIST)
    moon(art, 93.5, 22.0, 46.0, 0.62, PAPER)
    ridge(art, -48.0, 5.0, 180.0, 3, FERN)
    frond(art, (56.0, -60.0), 96.0, 6.0, FERN)
    art.text(TITLE, 93.5, -70.0, 26, BLACK, STRONG, align="middle")
    byline(art, ARTIST, 93.5, -80.0, 18, BLACK)
    art.text(TITLE, -170.0, 62.0, 24, BLACK, STRONG)
    art.text(f"{ARTIST}  ·  {CATALOGUE}", -170.0, 52.0, 12, BLACK)
    art.text(f"{SONGS['A']}  ·  {SLIP}", -170.0, 44.0, 9, BLACK)
    spine(art, pt=5.0, ink=BLACK, words=f"{ARTIST}   ·   {TITLE}   ·   {CATALOGUE}", at=(0.0, 10.0))
    stock_bars(art, CATALOGUE.replace(" ", ""))
    art.save()


def stock_bars(art: Art, words: str, module: float = 0.33, height: float = 20.0) -> None:
    """Draw a Code 128 on white."""
    code = Code128(words, barWidth=module, quiet=0)
    code.validate()
    code.encode()
    code.decompose()
    x = BARS_X
    width = sum("0abcd".index(step.lower()) for step in code.decomposed) * module
    art.rect(x - 5.0, BARS_Y - 6.0, x + width + 5.0, BARS_Y + height + 3.0, PAPER)
    for step in code.decomposed:
        wide = "0abcd".index(step.lower()) * module
        if step.isupper():  # bars are upper case, spaces lower case
            art.rect(x, BARS_Y, x + wide, BARS_Y + height, BLACK)
        x += wide
    art.text(words, BARS_X + width / 2, BARS_Y - 4.0, 3.0 * PT, BLACK, align="middle")
