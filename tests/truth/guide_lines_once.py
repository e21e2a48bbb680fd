"""A template's line is told of once, as that: it is no edge too near the trim, no ink without
bleed, no thin line (but where it may be a line of the art as well). Where a ground ends under such
a line, its bleed is missing all the same.

Truth by construction: the lines of `guide_lines`; faulty are grounds that end at the trim, on
which the same lines lie.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import partial

from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth import guide_lines
from tests.truth._page import RIM, SLEEVE, as_picture, drawn, exam_of, flattened, tone, worst_of
from tests.truth.case import Case

CLASS = "guides of a template are told of once"
SEEDS = 48
FAST = 4
BLEED = ("bleed.missing", "bleed.short")
CHECKS = (
    *BLEED, "bleed.other-colour", "trim.clearance", "hole.clearance", "fold.clearance",
    "line.thin", "hole.drawn",
)  # fmt: skip
ON_LABEL, ON_SLEEVE = ("trim", "near", "hole", "trim", "safe"), ("trim", "folds", "safe")


def cases(seed: int) -> Iterator[Case]:
    sleeve = seed % 3 == 2
    places = ON_SLEEVE if sleeve else ON_LABEL
    place = places[(seed - seed // 3) % len(places)]
    how = guide_lines.HOW[(seed + seed // 6) % len(guide_lines.HOW)]
    where = "sleeve" if sleeve else "label"
    yield Case(f"{where}, {place}, {how}", False, (seed, sleeve, place, how))
    yield Case(f"{where}, ground ends under trim, {how}", True, (seed, sleeve, "trim", how))


def judge(case: Case) -> Severity | None:
    seed, sleeve, place, how = case.held
    margin = 6 if sleeve else 3
    page = drawn(partial(_draw, seed, sleeve, place, how, case.faulty), sleeve, margin)
    if how in ("flat", "flat dashed", "JPEG"):
        picture = flattened(page, 300, 88 if how == "JPEG" else None)
        page = as_picture(picture, sleeve, margin)
    checks = [one for one in CHECKS if (one, place) != ("line.thin", "near")]
    return worst_of(exam_of(page, sleeve), BLEED if case.faulty else checks)


def _draw(seed: int, sleeve: bool, place: str, how: str, faulty: bool, canvas: Canvas) -> None:
    rng = random.Random(f"once{seed}{faulty}")
    if faulty:
        canvas.setFillColor(tone(rng, 0.6))
        if sleeve:
            canvas.rect(SLEEVE.x0, SLEEVE.y0, SLEEVE.width, SLEEVE.height, stroke=0, fill=1)
        else:
            canvas.circle(0, 0, RIM, stroke=0, fill=1)
    else:
        guide_lines._art(canvas, rng, sleeve)
    colour = rng.choice(guide_lines.COLOURS)
    canvas.setStrokeColor(colour)
    canvas.setFillColor(colour)
    canvas.setLineWidth(rng.choice((0.088, 0.15, 0.25, 0.35)))
    if how in ("dashed", "flat dashed"):
        canvas.setDash(list(rng.choice(((2, 1), (1, 1), (3, 1.5), (4, 1, 1, 1)))))
    if sleeve:
        guide_lines._on_sleeve(canvas, rng, place, how)
    else:
        guide_lines._on_label(canvas, rng, place, how)
