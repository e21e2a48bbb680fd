"""The size of a page or picture that is neither the trim nor the trim with the wanted bleed.

Truth by construction: the page's sides are the trim and an even margin of known width.
"""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from PIL import Image

from prepcheck.findings import Severity
from tests.art.test_raster import psd
from tests.factories import Pdf
from tests.truth._run import worst
from tests.truth.case import Case

CLASS = "size: two readings"
SEEDS = 30
FAST = 2
TRIM, BLEED = 100.0, 3.0
KINDS = ("pdf", "tif", "jpg", "png", "psd")


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(seed)
    kind = KINDS[seed % len(KINDS)]
    odd = rng.choice((1.0, 1.5, 2.0, 4.0, 4.5, 5.0, 6.0, 9.0, 14.0))
    yield Case(f"{kind}, margin {odd}", True, (kind, TRIM + 2 * odd))
    margin = rng.choice((0.0, BLEED))
    yield Case(f"{kind}, margin {margin}", False, (kind, TRIM + 2 * margin))


def judge(case: Case) -> Severity | None:
    kind, side = case.held
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"art.{kind}"
        if kind == "pdf":
            pdf = Pdf()
            pdf.page(f"0.2 0.4 0.1 0 k 0 0 {side} {side} re f", (side, side))
            path.write_bytes(pdf.bytes())
        elif kind == "psd":
            pixels = round(side / 25.4 * 300)
            path.write_bytes(psd(np.full((pixels, pixels, 3), 90, np.uint8), 3))
        else:
            pixels = round(side / 25.4 * 300)
            picture = Image.new("RGB", (pixels, pixels), (40, 90, 30))
            (picture if kind == "png" else picture.convert("CMYK")).save(path, dpi=(300, 300))
        return worst(path, "size.trim")
