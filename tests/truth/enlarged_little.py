"""Pictures enlarged no more than one and a half to two and a half times by interpolating, and then
sharpened or saved as JPEG, which leave least of the traces; and art of its own size.

Truth by construction: as in `enlarged.py`, whose art this is.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

from PIL import Image

from tests.truth.case import Case
from tests.truth.enlarged import FILTERS, KINDS, SIDES, Held, hardened, judge, sound

CLASS = "pictures enlarged a little, hardened"
SEEDS = 60
FAST = 2
HOW = ("sharpened", "JPEG", "sharpened, JPEG")
LEAST, MOST = 1.5, 2.5
__all__ = ["CLASS", "FAST", "SEEDS", "cases", "judge"]


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(f"little{seed}")
    for kind in KINDS:
        yield _enlarged(rng, kind)
        held, name = sound(rng, kind)
        yield Case(name, False, held)


def _enlarged(rng: random.Random, kind: str) -> Case:
    factor = rng.choice((LEAST, 2.0, MOST, round(rng.uniform(LEAST, MOST), 2)))
    resample, side, how = rng.choice(FILTERS[1:]), rng.choice(SIDES), rng.choice(HOW)
    small = KINDS[kind](rng, round(side / factor))
    size = round(small.width * factor)
    picture = small.resize((size, size), Image.Resampling[resample])
    picture, how = hardened(rng, picture, how)
    name = f"{kind} {size} px, {factor} times by {resample}, {how}"
    return Case(name, True, Held(picture, size / small.width, kind))
