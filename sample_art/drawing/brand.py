"""The invented record behind the sample art: names, words, inks."""

from __future__ import annotations

Ink = tuple[float, float, float, float]
"""Cyan, magenta, yellow, black, 0 to 1."""

FIRM = "Lanternfold Recordings"
ARTIST = "Halden Orrery"
TITLE = "Salt Roads"
CATALOGUE = "LFR 014"
ORDER = "SR-2207"
RUST_SPOT = "LFR Rust"

SIDE_A = (
    ("Low Water Bearing", "5:12"),
    ("The Brine Ledger", "4:38"),
    ("Salt Roads", "6:51"),
    ("Marram", "3:27"),
)
SIDE_B = (
    ("Evaporation Hours", "7:04"),
    ("Wren at the Sluice", "4:15"),
    ("Half a Horizon", "5:40"),
    ("Carrying Lanterns Home", "4:02"),
)

PAPER: Ink = (0.00, 0.00, 0.00, 0.00)
SAND: Ink = (0.03, 0.08, 0.22, 0.00)
DUNE: Ink = (0.06, 0.26, 0.48, 0.02)
CLAY: Ink = (0.10, 0.58, 0.72, 0.04)
RUST: Ink = (0.14, 0.78, 0.88, 0.08)
PLUM: Ink = (0.50, 0.76, 0.48, 0.28)
NIGHT: Ink = (0.88, 0.72, 0.38, 0.36)
TEAL: Ink = (0.68, 0.28, 0.34, 0.10)
BLACK: Ink = (0.00, 0.00, 0.00, 1.00)


def gtin13(body: str) -> str:
    """Return twelve digits with their check digit (GS1 General Specifications, 7.9)."""
    weighted = sum(int(digit) * (3 if i % 2 else 1) for i, digit in enumerate(body))
    return body + str(-weighted % 10)


BARCODE = gtin13("952201400017")
"""Prefix 952 is kept by GS1 for demonstrations and examples."""
