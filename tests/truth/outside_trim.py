"""Print just outside the trim, within the error of the cut: some labels will show it.

Truth by construction: a word, a mark or a swatch lies at a known distance outside the trim; sound
twins lie beyond the error, belong to a texture, or run on across the trim.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from functools import partial

from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Finding, Severity
from prepcheck.sheets.exam import Exam
from tests.checks.exams import findings
from tests.truth._page import (
    BLACK,
    RIM,
    SLEEVE,
    as_picture,
    drawn,
    exam_of,
    flattened,
    photo,
    tone,
    type_at,
)
from tests.truth.case import Case

CLASS = "print just outside the trim"
SEEDS = 40
FAST = 2
THINGS = ("word", "dot", "swatch", "cross")
SOUND = ("far", "texture", "photo", "crossing", "bare", "crop marks", "plain")
ERROR_MM = 1.5
MARGIN = 8.0


def cases(seed: int) -> Iterator[Case]:
    sleeve, flat = seed % 4 == 3, seed % 5 == 4
    where = ("sleeve" if sleeve else "label") + (", flat" if flat else "")
    thing, sound = THINGS[seed % len(THINGS)], SOUND[seed % len(SOUND)]
    yield Case(f"{where}, {thing}", True, (seed, sleeve, flat, thing))
    yield Case(f"{where}, {sound}", False, (seed, sleeve, flat, sound))


def judge(case: Case) -> Severity | None:
    return said_of(exam_of(*page_of(case)))


def page_of(case: Case) -> tuple[bytes, bool]:
    """Return a case's page, and whether it is a sleeve."""
    seed, sleeve, flat, what = case.held
    page = drawn(partial(_draw, seed, sleeve, what, case.faulty), sleeve, MARGIN)
    if flat:
        page = as_picture(flattened(page, 300, (None, 90)[seed % 2]), sleeve, MARGIN)
    return page, sleeve


def said_of(exam: Exam) -> Severity | None:
    """Return what is said of print outside the trim."""
    found: list[Finding] = [
        one for one in findings("trim.clearance", exam) if one.code == "outside"
    ]
    return found[0].severity if found else None


def _draw(seed: int, sleeve: bool, what: str, faulty: bool, canvas: Canvas) -> None:
    rng = random.Random(f"outside{seed}{what}")
    bare = what == "bare" or (faulty and rng.random() < 0.4)
    half = (SLEEVE.x1 + 3, SLEEVE.y1 + 3) if sleeve else (RIM + 3, RIM + 3)
    pale = tone(rng, 0.3)
    if not bare:
        canvas.setFillColor(pale)
        if sleeve or rng.random() < 0.5:
            canvas.rect(-half[0], -half[1], 2 * half[0], 2 * half[1], stroke=0, fill=1)
        else:
            canvas.circle(0, 0, RIM + 3, stroke=0, fill=1)
    if what in ("texture", "photo"):
        _all_over(canvas, rng, what)
        return
    if what == "crop marks":
        canvas.setLineWidth(0.1)
        off = rng.uniform(2.0, 3.0)
        for x in (-half[0] + 3, half[0] - 3):
            for way in (-1, 1):
                end = half[1] - 3 + off
                canvas.line(x, way * end, x, way * (end + 4))
        return
    if what == "plain":
        return
    canvas.setFillColor(rng.choice((BLACK, CMYKColor(0, 1, 1, 0), CMYKColor(1, 0.6, 0, 0))))
    canvas.setStrokeColor(BLACK)
    off = rng.uniform(0.1, ERROR_MM - 0.2)
    if what in ("far", "bare"):
        off, what = rng.uniform(ERROR_MM + 0.2, 3.0), rng.choice(THINGS)
    if sleeve:
        canvas.translate(rng.uniform(-45, 45), SLEEVE.y1)
    else:
        canvas.rotate(rng.uniform(0, 360))
        canvas.translate(0, RIM)
    if what == "crossing":
        canvas.rect(-3, -6, rng.uniform(2, 6), 9, stroke=0, fill=1)
        return
    _thing(canvas, rng, what, off, sleeve)


def _thing(canvas: Canvas, rng: random.Random, what: str, off: float, sleeve: bool) -> None:
    """Draw a thing whose nearest place lies `off` outside the trim, at the origin's height."""
    if what == "word":
        type_at(canvas, "HET", rng.uniform(2, 5), -2, off, 0, BLACK)
    elif what == "dot":
        radius = rng.uniform(0.4, 2)
        canvas.circle(0, off + radius, radius, stroke=0, fill=1)
    elif what == "swatch":
        canvas.rect(-2, off, 4, rng.uniform(1, 4), stroke=0, fill=1)
    else:
        canvas.setLineWidth(0.2)
        size = rng.uniform(1, 2)
        canvas.line(0, off, 0, off + 2 * size)
        canvas.line(-size, off + size, size, off + size)


def _all_over(canvas: Canvas, rng: random.Random, what: str) -> None:
    if what == "photo":
        canvas.drawImage(ImageReader(photo(rng, 424)), -80, -80, 160, 160)
        return
    canvas.setFillColor(BLACK)
    pitch = rng.uniform(1.5, 6)
    canvas.rotate(math.degrees(rng.uniform(0, 1)))
    for n in range(-int(95 / pitch), int(95 / pitch) + 1):
        for m in range(-int(95 / pitch), int(95 / pitch) + 1):
            canvas.circle(n * pitch, m * pitch, pitch * 0.3, stroke=0, fill=1)
