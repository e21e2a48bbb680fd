"""Small or stretched type, thin lines and black type that others cover, or of their ground's own
colour, are no fault; on top, or half covered, they are.

Truth by construction: the same thing and the same cover, painted in one order or the other, or
with a cover that ends at a known place.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from prepcheck.spec.model import Spec
from tests.truth._page import BLACK, PAPER, drawn, exam_of, ground, photo, type_at, worst_of
from tests.truth.case import Case

CLASS = "fine type and lines under others"
SEEDS = 42
FAST = 5
THINGS = ("small", "light", "line", "black", "several", "stretched", "strip")
CHECKS = {
    "small": ("text.small",), "light": ("text.small",), "line": ("line.thin",),
    "strip": ("line.thin",),
    "black": ("ink.black-type",), "several": ("ink.small-type",),
    "stretched": ("text.stretched",),
}  # fmt: skip
COVERS = ("photo", "flat", "white", "pale photo")
MM_PT = 25.4 / 72
JACKET_PPI = 155.0
"""How finely a jacket of two faces of 315 mm is looked at."""


def cases(seed: int) -> Iterator[Case]:
    thing, sleeve = THINGS[seed % len(THINGS)], seed % 3 == 2
    cover = COVERS[(seed // 2) % len(COVERS)]
    where = "sleeve" if sleeve else "label"
    for how, faulty in (("on top", True), ("half covered", True), ("covered", False)):
        name = f"{where}, {thing}, {how}, {cover}"
        yield Case(name, faulty, (seed, sleeve, thing, cover, how))
    if thing in ("small", "several", "stretched"):
        yield Case(f"{where}, {thing}, own colour", False, (seed, sleeve, thing, cover, "own"))


def judge(case: Case) -> Severity | None:
    seed, sleeve, thing, cover, how = case.held
    page = drawn(partial(_draw, seed, sleeve, thing, cover, how), sleeve)
    exam = exam_of(page, sleeve, JACKET_PPI if sleeve and seed % 2 else None)
    asked = replace(exam, spec=_with_limits(exam.spec))
    return worst_of(asked, CHECKS[thing])


def _with_limits(spec: Spec) -> Spec:
    """Return a spec that asks for few inks in small type, and for black type that overprints."""
    text = spec.text.replaced(wanted_several_pt=9.0, overprint_black_pt=12.0)
    ink = spec.ink.replaced(most_fine_inks=1)
    return spec.replaced(text=text, ink=ink)


def _draw(seed: int, sleeve: bool, thing: str, cover: str, how: str, canvas: Canvas) -> None:
    rng = random.Random(f"covered{seed}")
    dark = thing in ("light", "black")
    beneath = CMYKColor(0.9, 0.8, 0.2, 0) if thing == "several" else BLACK
    paper = beneath if how == "own" else PAPER
    ground(canvas, CMYKColor(0.8, 0.5, 0.1, 0.1) if thing == "light" else paper)
    canvas.translate(30 if sleeve else 0, rng.uniform(12, 20) * rng.choice((-1, 1)))
    if how == "on top" and not dark:
        _cover(canvas, random.Random(f"cover{seed}"), cover, -20)
    if thing == "black":
        canvas.setFillColor(CMYKColor(0.3, 0.4, 0.5, 0))
        canvas.rect(-20, -6, 40, 12, stroke=0, fill=1)
    _thing(canvas, rng, thing)
    if how not in ("on top", "own"):
        _cover(canvas, random.Random(f"cover{seed}"), cover, 0 if how == "half covered" else -20)


def _thing(canvas: Canvas, rng: random.Random, thing: str) -> None:
    turn = rng.choice((0.0, rng.uniform(-8, 8)))
    if thing == "line":
        canvas.setStrokeColor(BLACK)
        canvas.setLineWidth(rng.uniform(0.05, 0.12))
        canvas.line(-16, rng.uniform(-4, 4), 16, rng.uniform(-4, 4))
        return
    if thing == "strip":
        canvas.setFillColor(BLACK)
        canvas.rotate(turn)
        canvas.rect(-16, rng.uniform(-4, 4), 32, rng.uniform(0.05, 0.1), stroke=0, fill=1)
        return
    if thing == "stretched":
        canvas.scale(rng.uniform(1.2, 1.6), 1)
        canvas.translate(5, 0)
    colour, points = {
        "small": (BLACK, rng.uniform(3.0, 4.6)), "light": (PAPER, rng.uniform(4.0, 6.5)),
        "black": (BLACK, rng.uniform(6.0, 11.0)),
        "stretched": (BLACK, rng.uniform(7.0, 9.0)),
        "several": (CMYKColor(0.9, 0.8, 0.2, 0), rng.uniform(7.2, 8.6)),
    }[thing]  # fmt: skip
    type_at(canvas, "a line of type here", points * MM_PT, -points * 1.4, 0, turn, colour)


def _cover(canvas: Canvas, rng: random.Random, cover: str, left: float) -> None:
    if cover == "photo":
        canvas.drawImage(ImageReader(photo(rng, 240)), left, -9, 20 - left, 18)
    elif cover == "pale photo":
        canvas.drawImage(ImageReader(photo(rng, 240)), left, -9, 20 - left, 18)
        canvas.saveState()
        canvas.setFillColor(PAPER)
        canvas.setFillAlpha(0.7)
        canvas.rect(left, -9, 20 - left, 18, stroke=0, fill=1)
        canvas.restoreState()
    else:
        canvas.setFillColor(PAPER if cover == "white" else CMYKColor(0.1, 0.25, 0.4, 0))
        canvas.rect(left, -9, 20 - left, 18, stroke=0, fill=1)
