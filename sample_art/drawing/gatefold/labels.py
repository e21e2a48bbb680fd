"""The four centre labels: one hour of the night each, in black and one spot."""

from __future__ import annotations

from pathlib import Path

from drawing.brand import BLACK, FIRM
from drawing.gatefold.brand import ARTIST, CATALOGUE, FERN, FERN_SPOT, SIDES, TITLE
from drawing.gatefold.motifs import frond, moon, ridge
from drawing.motifs import byline, lantern, songs
from drawing.page import STRONG, Art, spot

LABEL = (100.0, 100.0)
LOOKS = {
    # ground, moon, first and second ridge (tints of the spot), phase of the moon
    "A": (0.42, 0.16, 0.62, 0.86, 0.16),
    "B": (0.86, 0.14, 0.62, 1.00, 0.50),
    "C": (0.62, 0.14, 0.80, 0.96, 0.66),
    "D": (0.16, 0.48, 0.36, 0.58, 0.88),
}


def tint(share: float) -> object:
    """Return a tint of the record's spot."""
    return spot(FERN_SPOT, FERN, share)


def label(path: Path, side: str, *, speed: str = "33⅓ rpm", catalogue: str = CATALOGUE) -> None:
    """Draw the label of a side."""
    art = Art(path, LABEL)
    art.canvas.setTitle(f"{TITLE}, side {side}")
    ground(art, side)
    hour, tracks = SIDES[side]
    art.circle_text(FIRM.upper(), 42.6, 7.5, BLACK, STRONG, track=0.16)
    lantern(art, 0, 34.6, 8.6, BLACK)
    art.text(TITLE.upper(), 0, 20.4, 16, BLACK, STRONG, align="middle", track=0.06)
    byline(art, ARTIST, 0, 14.4, 11, BLACK)
    art.text(f"Side {side}", -38.5, 1.0, 9, BLACK, STRONG)
    art.text(speed, -38.5, -3.0, 7, BLACK)
    art.text(catalogue, 38.5, 1.0, 9, BLACK, STRONG, align="right")
    art.text(hour, 38.5, -3.0, 7, BLACK, align="right")
    songs(art, tracks, 0, -19.0, 7.5, 4.2, BLACK)
    art.circle_text(
        "All rights of the maker reserved. Copying, lending and broadcasting by leave only.",
        44.6, 5.5, BLACK, middle=270.0, track=0.05, inward=True,
    )  # fmt: skip
    art.save()


def ground(art: Art, side: str) -> None:
    """Paint the sky of the hour, its moon, the ridges and the ferns, in tints of the spot."""
    sky, light, far, near, phase = LOOKS[side]
    art.flood(tint(sky))
    moon(art, 0, 0, 27.0, phase, tint(light))
    turn = ord(side)
    ridge(art, -12.5, 1.6, 80.0, turn % 7 + 1, tint(far))
    for x, length, lean, curl in (
        (-34.0, 23.0, 4.0, -30.0), (-27.0, 17.0, 2.0, 40.0), (27.0, 17.0, -2.0, -40.0),
        (34.0, 23.0, -4.0, 30.0),
    ):  # fmt: skip
        frond(art, (x, -31.0), length, lean, tint(near), curl=curl, leaflets=13)
    ridge(art, -27.5, 1.8, 64.0, turn % 5 + 2, tint(near))
