"""Pictures enlarged before an export cut them into strips or tiles, which it judges together.

Truth by construction: the art of `enlarged.py`, cut by Pillow into parts that meet on their samples
and are placed side by side. Sound twins are art of its own size, cut the same way.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np

from prepcheck.art.model import Content, ImageItem, Samples
from prepcheck.geometry import Box, Point, Quad
from tests.checks.exams import make_exam
from tests.checks.pictures import RGB
from tests.checks.pictures import picture as placed
from tests.truth.case import Case, Judged
from tests.truth.enlarged import Held, enlarged, saved, sound, told

CLASS = "pictures enlarged, in strips"
SEEDS = 30
FAST = 1
PPI = 300
LARGE = (400, 700)
"""Sides in pixels of what is cut, one of them each time."""
CUTS = ("strips", "columns", "tiles")
ONES = ("photograph", "page", "screen")


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(f"strips{seed}")
    kind, cut = ONES[seed % len(ONES)], CUTS[(seed // 2) % len(CUTS)]
    held, name = enlarged(rng, kind, LARGE)
    yield Case(f"{cut}, {name}", True, (held, cut, seed))
    held, name = sound(rng, kind, LARGE)
    yield Case(f"{cut}, {name}", False, (held, cut, seed))


def judge(case: Case) -> Judged:
    held, cut, seed = case.held
    rng = random.Random(seed)
    parts = list(_parts(rng, held, cut))
    items = [item._replace(key=n + 1) for n, (item, _) in enumerate(parts)]
    pictures = {n + 1: samples for n, (_, samples) in enumerate(parts)}
    exam = make_exam(content=Content(images=tuple(items)), pictures=pictures)
    return told(exam, case.faulty, held.factor)


def _parts(rng: random.Random, held: Held, cut: str) -> Iterator[tuple[ImageItem, Samples]]:
    """Yield a picture's parts as placed, turned by quarters, and their samples."""
    whole = held.picture
    step = rng.choice((8, 16, 24, 50, 100))
    high = whole.height if cut == "columns" else step
    wide = whole.width if cut == "strips" else rng.choice((64, 100))
    quality = rng.choice((None, None, 95))
    mm, turned = 25.4 / PPI, rng.random() < 0.3
    for top in range(0, whole.height, high):
        for left in range(0, whole.width, wide):
            right, bottom = min(left + wide, whole.width), min(top + high, whole.height)
            part = whole.crop((left, top, right, bottom))
            if quality is not None:
                part = saved(part, quality)
            x0, x1 = ((at - whole.width / 2) * mm for at in (left, right))
            y1, y0 = ((whole.height / 2 - at) * mm for at in (top, bottom))
            corners = [Point(x, y) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
            if turned:
                corners = [Point(-y, x) for x, y in corners]
            quad = Quad(*corners)
            item = placed(PPI, Box(x0, y0, x1, y1), space=RGB)
            yield item._replace(quad=quad, visible=quad.box), Samples(np.asarray(part), RGB)
