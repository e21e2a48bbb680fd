"""Type, lines and pictures that are covered, masked away or painted in the ground's own colour are
no fault; what is seen of them is.

Truth by construction: what covers a thing is painted after it and holds all of it, or leaves a
known part of it free.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import partial

from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import (
    BLACK,
    FOLDS,
    HOLE,
    PAPER,
    RIM,
    drawn,
    exam_of,
    ground,
    photo,
    tone,
    type_at,
    worst_of,
)
from tests.truth.case import Case

CLASS = "room: covered, masked, own colour"
SEEDS = 45
FAST = 2
THINGS = ("type", "line", "shape", "picture")
SOUND = ("white", "ground", "picture", "clipped", "own colour", "invisible", "flat picture")
HALF = ("none", "half covered", "half clipped", "see-through")
CHECKS = ("trim.clearance", "hole.clearance", "fold.clearance")


def cases(seed: int) -> Iterator[Case]:
    thing, sleeve = THINGS[seed % 4], seed % 3 == 2
    half, sound = HALF[(seed // 4) % 4], SOUND[seed % len(SOUND)]
    where = "sleeve" if sleeve else "label"
    yield Case(f"{where}, {thing}, {half}", True, (seed, sleeve, thing, half))
    yield Case(f"{where}, {thing}, {sound}", False, (seed, sleeve, thing, sound))


def judge(case: Case) -> Severity | None:
    page, sleeve = page_of(case)
    return worst_of(exam_of(page, sleeve), CHECKS)


def page_of(case: Case) -> tuple[bytes, bool]:
    """Return a case's page, and whether it is a sleeve."""
    seed, sleeve, thing, cover = case.held
    return drawn(partial(_draw, seed, sleeve, thing, cover), sleeve), sleeve


def checks_of(case: Case) -> tuple[str, ...]:
    return CHECKS


def _draw(seed: int, sleeve: bool, thing: str, cover: str, canvas: Canvas) -> None:
    rng = random.Random(f"seen{seed}")
    own = tone(rng)
    ground(canvas, own)
    canvas.saveState()
    if sleeve:
        canvas.translate(FOLDS[1], rng.uniform(-10, 10))
    else:
        canvas.rotate(rng.uniform(0, 360))
        canvas.translate(rng.choice((HOLE, RIM - 7.5)), 0)
    # The thing lies from 1 to 6 mm to the right, 3 mm high.
    if cover == "clipped":
        path = canvas.beginPath()
        path.rect(-80, 20, 60, 5)
        canvas.clipPath(path, stroke=0)
    elif cover == "half clipped":
        path = canvas.beginPath()
        path.rect(0, -3, 8, 3)
        canvas.clipPath(path, stroke=0)
    colour = own if cover in ("own colour", "flat picture") else BLACK
    canvas.setFillColor(colour)
    canvas.setStrokeColor(colour)
    if cover == "flat picture" or (thing == "picture" and cover == "own colour"):
        _flat(canvas, own)
    elif thing == "type":
        if cover == "invisible":
            text = canvas.beginText(1, -1)
            text.setFont("Helvetica", 3)
            text.setTextRenderMode(3)
            text.textOut("Side")
            canvas.drawText(text)
        else:
            type_at(canvas, "HH", 4, 1, -1.5, 0, colour)
    elif cover == "invisible":
        canvas.setFillAlpha(0.0)
        canvas.rect(1, -1.5, 5, 3, stroke=0, fill=1)
    elif thing == "line":
        canvas.setLineWidth(0.5)
        canvas.line(1, -1.5, 6, 1.5)
        canvas.line(1, 1.5, 6, -1.5)
    elif thing == "shape":
        canvas.rect(1, -1.5, 5, 3, stroke=0, fill=1)
    else:
        canvas.drawImage(ImageReader(photo(rng, 80)), 1, -1.5, 5, 3)
    if cover == "half covered":
        canvas.setFillColor(own)
        canvas.rect(0, 0, 8, 5, stroke=0, fill=1)
    elif cover == "see-through":
        canvas.setFillColor(own)
        canvas.setFillAlpha(0.4)
        canvas.rect(0, -4, 8, 8, stroke=0, fill=1)
    canvas.restoreState()
    if cover == "picture":
        canvas.drawImage(ImageReader(photo(rng, 424)), -80, -80, 160, 160)
    elif cover in ("white", "ground"):
        ground(canvas, PAPER if cover == "white" else own)


def _flat(canvas: Canvas, colour: CMYKColor) -> None:
    """Place a picture that is one colour, the ground's own."""
    from PIL import Image

    amounts = tuple(round(255 * v) for v in (colour.cyan, colour.magenta, colour.yellow, 0))
    canvas.drawImage(ImageReader(Image.new("CMYK", (50, 30), amounts)), 1, -1.5, 5, 3)
