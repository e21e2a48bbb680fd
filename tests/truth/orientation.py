"""Pictures that are stored turned or mirrored and say so, or are turned and say nothing, from the
command to what it finds.

Truth by construction: Pillow stores the samples and writes the tag (TIFF 6.0 and Exif, 274). A
piece comes out otherwise where it is not the same when turned or mirrored so: a strip round a
jacket always, a disc only when mirrored.
"""

from __future__ import annotations

import json
import random
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from click.testing import CliRunner
from PIL import Image

from prepcheck.cli import cli
from prepcheck.findings import Severity
from tests.truth.case import Case

CLASS = "pictures stored turned"
SEEDS = 20
FAST = 1
PIECES = {"sticker-round-50mm": (56.0, 56.0), "obi-12in": (99.0, 321.0)}
"""Sizes with bleed, in mm."""
TURNED, MIRRORED = (3, 6, 8), (2, 4, 5, 7)
SIDEWAYS = (5, 6, 7, 8)


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(f"orientation{seed}")
    kind = ("jpg", "tif")[seed % 2]
    fault = seed % 4
    if fault == 0:
        piece, tag, how = "obi-12in", 1, "turned without saying so"
    elif fault == 1:
        piece, tag = "sticker-round-50mm", rng.choice(MIRRORED)
        how = f"orientation {tag}"
    else:
        piece, tag = "obi-12in", rng.choice((*TURNED, *MIRRORED))
        how = f"orientation {tag}"
    yield Case(f"{kind}, {piece}, {how}", True, (seed, kind, piece, tag, fault == 0))
    piece, tag = rng.choice((("obi-12in", 1), ("sticker-round-50mm", rng.choice((1, *TURNED)))))
    yield Case(f"{kind}, {piece}, orientation {tag}", False, (seed, kind, piece, tag, False))


def judge(case: Case) -> Severity | None:
    seed, kind, piece, tag, turned = case.held
    wide, high = (round(side / 25.4 * 100) for side in PIECES[piece])
    if (tag in SIDEWAYS) != turned:
        wide, high = high, wide
    numbers = np.random.default_rng(seed)
    picture = Image.fromarray(numbers.integers(60, 200, (high, wide, 3), np.uint8), "RGB")
    exif = Image.Exif()
    exif[274] = tag
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"art.{kind}"
        options = {} if tag == 1 and seed % 3 == 0 else {"exif": exif}
        picture.save(path, dpi=(100, 100), **options)
        out = ["--out", folder, "--json", "-", "--jobs", "1"]
        said = CliRunner().invoke(cli, ["check", str(path), "--spec", piece, *out])
        (part,) = json.loads(said.stdout)["parts"]
    levels = [f["severity"] for f in part["findings"] if f["check"] == "size.rotated"]
    return Severity(levels[0]) if levels else None
