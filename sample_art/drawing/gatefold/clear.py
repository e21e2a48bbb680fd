"""The gatefold order that is clear: nine files."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from drawing import photo
from drawing.brand import FIRM, Ink
from drawing.gatefold.bags import bag, insert
from drawing.gatefold.brand import (
    ARTIST,
    BARCODE,
    CATALOGUE,
    FERN,
    FERN_SPOT,
    FOREST,
    HARP,
    MIST,
    MOON,
    MOSS,
    ORDER,
    SIDES,
    TITLE,
)  # fmt: skip
from drawing.gatefold.labels import label
from drawing.gatefold.orders import Value, order_text
from drawing.gatefold.sleeve import inside, outside
from drawing.manifest import Sound

PROCESS = ("Cyan", "Magenta", "Yellow", "Black")
TWO = ("Black", FERN_SPOT)
HEAD: dict[str, Value] = {
    "number": f"{ORDER}-1", "client": FIRM, "title": f"{ARTIST}: {TITLE}", "catalogue": CATALOGUE,
    "format": "12-inch", "discs": 2, "speed": "33", "barcode": BARCODE, "quantity": 700,
}  # fmt: skip
GATEFOLD: dict[str, Value] = {"spec": "gatefold-12in", "inks": PROCESS}
SLEEVE: tuple[dict[str, Value], ...] = (
    {"name": "Gatefold, outside", "file": "outside.pdf", "face": "outside", **GATEFOLD,
     "expect": (ARTIST, TITLE, CATALOGUE)},
    {"name": "Gatefold, inside", "file": "inside.pdf", "face": "inside", **GATEFOLD,
     "expect": (HARP,)},
)  # fmt: skip
INSERT: dict[str, Value] = {
    "name": "Insert", "file": "insert.pdf", "spec": "insert-12in", "inks": TWO,
    "expect": (TITLE, HARP),
}  # fmt: skip
DAWN: tuple[tuple[float, Ink], ...] = (
    (0.00, FOREST), (0.25, MOSS), (0.55, FERN), (0.80, MIST), (0.95, MOON), (1.00, (0, 0, 0.1, 0)),
)  # fmt: skip
"""Inks of the photograph along its tones, from dark to light."""


def side_part(side: str) -> dict[str, Value]:
    """Return the part of a side's label."""
    return {
        "name": f"Label {side}", "file": f"label-{side.lower()}.pdf", "side": side,
        "spec": "label-12in", "inks": TWO,
        "expect": (TITLE, CATALOGUE, f"Side {side}", SIDES[side][1][0][0]),
    }  # fmt: skip


def bag_part(disc: int) -> dict[str, Value]:
    """Return the part of a disc's inner bag."""
    return {
        "name": f"Inner bag {disc}", "file": f"inner-{disc}.pdf", "spec": "inner-12in",
        "inks": TWO, "expect": (CATALOGUE,),
    }  # fmt: skip


PARTS = (*(side_part(side) for side in SIDES), *SLEEVE, bag_part(1), bag_part(2), INSERT)
SOUND = tuple(
    Sound(f"gatefold/{part['file']}", str(part["spec"]), f"{part['name']}, clear") for part in PARTS
)


def make(folder: Path) -> None:
    """Write the order and its files."""
    for side in SIDES:
        label(folder / f"label-{side.lower()}.pdf", side)
    outside(folder / "outside.pdf")
    passing = folder / "shed.passing.jpg"
    picture(1890, 23).save(passing, quality=86)
    inside(folder / "inside.pdf", passing)
    passing.unlink()
    for disc in (1, 2):
        bag(folder / f"inner-{disc}.pdf", disc)
    insert(folder / "insert.pdf")
    (folder / "order.toml").write_text(order_text(HEAD, PARTS))


def picture(side: int, seed: int) -> Image.Image:
    """Return the photograph in CMYK, `side` samples square."""
    tones = photo.hills(side, side, seed)
    stops = [stop for stop, _ in DAWN]
    planes = [np.interp(tones, stops, [ink[i] for _, ink in DAWN]) for i in range(4)]
    samples = np.rint(np.stack(planes, -1) * 255).astype(np.uint8)
    return Image.frombytes("CMYK", (side, side), samples.tobytes())
