"""The second invented record of the firm: names, words, inks."""

from __future__ import annotations

from drawing.brand import Ink, gtin13

ARTIST = "Tamsin Ferrow"
TITLE = "The Fern Hours"
CATALOGUE = "LFR 022"
ORDER = "FH-2231"
FERN_SPOT = "LFR Fern"
HARP = "Ines Holloway"
BARCODE = gtin13("952201400022")
"""Prefix 952 is kept by GS1 for demonstrations and examples."""

SIDES: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "A": ("Dusk", (
        ("Lamps Out at Nine", "4:44"), ("The Fern Hours", "6:12"), ("Understorey", "3:58"),
    )),
    "B": ("Midnight", (
        ("Owl Ledger", "5:06"), ("Moss Telegraph", "7:21"), ("Half Past Nobody", "3:33"),
    )),
    "C": ("Small hours", (
        ("Small Hours, Tall Trees", "8:02"), ("The Night Nurseryman", "4:19"),
        ("Dew Point", "3:47"),
    )),
    "D": ("First light", (
        ("A Rumour of Birds", "5:55"), ("Grey, Then Gold", "9:10"), ("First Bus Down", "2:41"),
    )),
}  # fmt: skip
"""The hour of each side, and its songs."""

WORDS = (
    ("Lamps Out at Nine", ("The landing light, the kitchen light,", "the light the stove keeps in,",
     "and one by one the things outside", "come closer and begin.")),
    ("Moss Telegraph", ("Whatever the hill has heard all day", "it lets the wall know now.",
     "The wall will tell the gate tonight,", "the gate will tell the cow.")),
    ("Dew Point", ("It did not rain. The air let go.", "On every blade a bead,",
     "in every bead a house, a lamp,", "and somebody to read.")),
    ("Grey, Then Gold", ("First the roof and then the stack,", "then the road and then the pine:",
     "what the dark had kept for you", "is handed back in line.")),
)  # fmt: skip

CREDITS = (
    "Tamsin Ferrow: voice, guitar, pump organ",
    f"{HARP}: harp",
    "Recorded in one potting shed between dusk and the first bus.",
    "Made for Lanternfold Recordings.",
    "Nobody here is real, and neither is the record.",
)

PALE: Ink = (0.06, 0.00, 0.14, 0.00)
MIST: Ink = (0.24, 0.03, 0.30, 0.00)
FERN: Ink = (0.58, 0.10, 0.72, 0.02)
MOSS: Ink = (0.72, 0.28, 0.74, 0.16)
FOREST: Ink = (0.84, 0.44, 0.62, 0.40)
NIGHT: Ink = (0.92, 0.62, 0.46, 0.50)
HALO: Ink = (0.86, 0.46, 0.48, 0.30)
GLOW: Ink = (0.74, 0.30, 0.44, 0.12)
MOON: Ink = (0.02, 0.05, 0.32, 0.00)
CORAL: Ink = (0.02, 0.52, 0.60, 0.00)
