"""Bleed that is missing or goes on in another colour, however the same look is delivered: in
another space, in a form, turned, or as a picture in any format.

Truth by construction: that of the classes whose cases are drawn here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from PIL import Image

from prepcheck.findings import Finding, Severity
from tests.checks.exams import examine
from tests.truth import bleed_colour, bleed_texture
from tests.truth._delivered import PICTURES, SPACES, TURNED, Delivered, delivered, saved
from tests.truth._page import BLEED, RIM, as_picture, exam_of
from tests.truth.case import Case

CLASS = "bleed, delivered otherwise"
WAYS = (*TURNED, *SPACES, *PICTURES)
SEEDS = 2 * len(WAYS)
FAST = 1
PPI = bleed_texture.PPI


def cases(seed: int) -> Iterator[Case]:
    way, colour = WAYS[seed % len(WAYS)], (seed + seed // len(WAYS)) % 2
    for case in (bleed_colour if colour else bleed_texture).cases(seed):
        name = f"{'colour' if colour else 'texture'}: {case.name}, {way}"
        yield replace(case, name=name, held=(colour, case.held, way, seed))


def judge(case: Case) -> Severity | None:
    colour, own, way, seed = case.held
    inks = np.asarray((bleed_colour if colour else bleed_texture).art(*own))
    off = (inks.shape[0] - round(2 * (RIM + BLEED) / 25.4 * PPI)) // 2
    inks = inks[off : inks.shape[0] - off, off : inks.shape[1] - off]
    if way in PICTURES:
        rest = 255 - inks.astype(np.uint16)
        rgb = (rest[:, :, :3] * rest[:, :, 3:] // 255).astype(np.uint8)
        suffix = way.split()[0].replace("jpeg", "jpg").replace("tiff", "tif")
        file = Delivered(saved(rgb, way, PPI), suffix)
    else:
        file = delivered(as_picture(Image.fromarray(inks, "CMYK")), way, seed)
    check = "bleed.other-colour" if colour else "bleed.short"
    found = [one for one in examine(check, exam_of(file)) if isinstance(one, Finding)]
    return min((f.severity for f in found), key=list(Severity).index, default=None)
