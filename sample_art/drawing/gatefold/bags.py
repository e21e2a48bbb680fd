"""The two inner bags and the insert, in black and one spot."""

from __future__ import annotations

import math
from pathlib import Path

from drawing.brand import BLACK, FIRM
from drawing.gatefold.brand import CATALOGUE, FERN, FERN_SPOT, HARP, SIDES, TITLE, WORDS
from drawing.gatefold.motifs import frond, moon, ridge
from drawing.motifs import songs
from drawing.page import ITALIC, STRONG, Art, spot

BAG = (310.0, 310.0)
INSERT = (279.4, 279.4)


def bag(path: Path, disc: int, name: str = FERN_SPOT) -> None:
    """A bag of two pages: the words of two songs; ferns or moons in rows."""
    art = Art(path, BAG)
    art.canvas.setTitle(f"{TITLE}, inner bag {disc}")
    deep = spot(name, FERN)
    art.flood(spot(name, FERN, 0.12))
    art.disc(84.0, 62.0, 104.0, spot(name, FERN, 0.24))
    ridge(art, -98.0, 6.0, 210.0, 2 + disc, spot(name, FERN, 0.40))
    for x, length, lean, curl in (
        (-112.0, 128.0, 4.0, 34.0), (-76.0, 84.0, -6.0, 44.0), (84.0, 96.0, 8.0, -40.0),
        (118.0, 136.0, -2.0, -30.0),
    ):  # fmt: skip
        frond(art, ((x, -x)[disc - 1], -136.0), length, (lean, -lean)[disc - 1],
              spot(name, FERN, 0.70), curl=(curl, -curl)[disc - 1])  # fmt: skip
    ridge(art, -126.0, 5.0, 250.0, 5 + disc, deep)
    art.text(("Dusk to midnight", "Small hours to first light")[disc - 1], -125.0, 112.0, 36,
             BLACK, ITALIC)  # fmt: skip
    for place, (title, lines) in enumerate(WORDS[2 * disc - 2 : 2 * disc]):
        x = (-125.0, 16.0)[place]
        art.text(title, x, 84.0, 15, BLACK, STRONG)
        for row, line in enumerate(lines):
            art.text(line, x, 73.0 - 7.4 * row, 14, BLACK, ITALIC)
    art.text(f"{FIRM}  ·  {CATALOGUE}", 0, -143.0, 10, BLACK, align="middle", track=0.05)
    art.next_page()
    art.flood(deep)
    light = spot(name, FERN, 0.22)
    for row in range(6):
        for column in range(6 - row % 2):
            x, y = (column - 2.5 + 0.5 * (row % 2)) * 46.0, (2.5 - row) * 46.0
            if disc == 1:
                frond(art, (x - 2.0, y - 17.0), 33.0, -10.0, light, leaflets=11, curl=44.0)
            else:
                moon(art, x, y, 14.0, 0.5 + 0.4 * x / 115.0, light)
    art.save()


def insert(path: Path, harp: str = HARP) -> None:
    """A dial of the night: hours round it, the four sides as its quarters."""
    art = Art(path, INSERT)
    art.canvas.setTitle(f"{TITLE}, insert")
    art.flood(spot(FERN_SPOT, FERN, 0.12))
    centre = (0.0, -6.0)
    for radius, share in ((100.0, 0.30), (76.0, 0.55), (50.0, 0.85)):
        art.disc(*centre, radius, spot(FERN_SPOT, FERN, share))
    moon(art, *centre, 30.0, 0.68, spot(FERN_SPOT, FERN, 0.12))
    for hour in range(12):
        turn = math.radians(90.0 - 30.0 * hour)
        ends = [
            (centre[0] + r * math.cos(turn), centre[1] + r * math.sin(turn))
            for r in ((94.0, 100.0) if hour % 3 else (84.0, 100.0))
        ]
        art.line(ends, 1.2, BLACK)
    art.text(f"{TITLE}, by the clock", 0, 114.0, 30, BLACK, ITALIC, align="middle")
    for (side, (hour, tracks)), x, y in zip(
        SIDES.items(), (-118.0, 62.0, -118.0, 62.0), (92.0, 92.0, -106.0, -106.0), strict=True
    ):
        art.text(f"{side}  {hour}", x, y, 13, BLACK, STRONG)
        songs(art, tracks, x, y - 6.5, 10, 5.2, BLACK, width=56.0)
    art.text(f"With {harp}, harp  ·  {FIRM}  ·  {CATALOGUE}", 0, -132.0, 10, BLACK,
             align="middle")  # fmt: skip
    art.save()
