"""What is changed, and which mutant a number is."""

from __future__ import annotations

import io
import random
import tomllib
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import Image

from tests.art.test_raster import psd
from tests.mutate.changes import changes_of

ART = Path(__file__).parents[2] / "sample_art"
MOST_BYTES = 60_000
PIXELS = 120
"""Sides of the sample's photographs as they are changed: small ones are read as fast as can be."""


class Source(NamedTuple):
    """A sound file and the spec it is for."""

    name: str
    data: bytes
    spec: str


class Mutant(NamedTuple):
    """A changed file, and how it came about."""

    name: str
    data: bytes
    spec: str


@cache
def sources() -> tuple[Source, ...]:
    """Return the sample PDFs that are small, and its pictures made small."""
    manifest = tomllib.loads((ART / "manifest.toml").read_text(encoding="utf-8"))
    specs = {one["file"]: one["spec"] for one in manifest["fault"] if "spec" in one}
    found = []
    for path in sorted(ART.glob("*/*.pdf")):
        data = path.read_bytes()
        if data[:4] == b"%PDF" and len(data) <= MOST_BYTES:
            name = path.relative_to(ART).as_posix()
            found.append(Source(name, data, specs.get(name, "label-12in")))
    return (*found, *pictures())


def pictures() -> list[Source]:
    """Return the sample's photograph in every format that is read, in inks and in RGB."""
    photo = Image.open(ART / "faulty" / "label-b.jpg").convert("RGB").resize((PIXELS, PIXELS))
    inks = photo.convert("CMYK")
    dpi = (PIXELS * 25.4 / 106,) * 2
    made: dict[str, bytes] = {}
    for name, kind, picture, more in (
        ("rgb.jpg", "JPEG", photo, {}), ("cmyk.jpg", "JPEG", inks, {}),
        ("steps.jpg", "JPEG", photo, {"progressive": True}), ("rgb.png", "PNG", photo, {}),
        ("alpha.png", "PNG", photo.convert("RGBA"), {}),
        ("palette.png", "PNG", photo.quantize(32), {}),
        ("plain.tif", "TIFF", inks, {}), ("lzw.tif", "TIFF", inks, {"compression": "tiff_lzw"}),
        ("deflate.tif", "TIFF", inks, {"compression": "tiff_adobe_deflate"}),
        ("packbits.tif", "TIFF", photo, {"compression": "packbits"}),
        ("jpeg.tif", "TIFF", photo, {"compression": "jpeg"}),
        ("fax.tif", "TIFF", photo.convert("1"), {"compression": "group4"}),
    ):  # fmt: skip
        out = io.BytesIO()
        picture.save(out, kind, dpi=dpi, **more)  # type: ignore[arg-type]
        made[name] = out.getvalue()
    for packed in (False, True):
        made[f"packed-{packed}.psd"] = psd(np.asarray(inks), 4, packed=packed)
    return [Source(name, data, "label-12in") for name, data in made.items()]


def mutant(seed: int, number: int) -> Mutant:
    """Return a mutant: one file, changed once or a few times."""
    chance = random.Random(f"{seed} {number}")
    every = sources()
    rasters = [one for one in every if not one.name.endswith(".pdf")]
    source = chance.choice(rasters if chance.random() < 0.35 else every)
    data, names = source.data, []
    ways = changes_of(data)
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        name = chance.choice(list(ways))
        names.append(name)
        data = ways[name](data, chance) or b"\0"
    return Mutant(f"{source.name} {'+'.join(names)}", data, source.spec)
