"""Guides of a template left in: solid, dashed, dashes turned into shapes, of another template, a
square on a disc, folds of a sleeve, in any colour, drawn and flattened.

Truth by construction: the lines lie on the piece's own edges, or at a stated distance from its
trim. Sound twins are rings, frames, stripes and concentric ornament that belong to the art.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from functools import partial

from reportlab.lib.colors import CMYKColor, Color
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import (
    BLEED,
    FOLDS,
    HOLE,
    RIM,
    SLEEVE,
    as_picture,
    drawn,
    exam_of,
    flattened,
    ground,
    photo,
    tone,
    worst_of,
)
from tests.truth.case import Case

CLASS = "guides of a template left in"
SEEDS = 80
FAST = 2
CHECKS = ("guide.printing",)
ON_LABEL = ("trim", "bleed", "safe", "hole", "near", "square", "bleed square", "near")
ON_SLEEVE = ("folds", "one fold", "trim", "bleed", "safe", "folds across")
HOW = ("solid", "dashed", "shapes", "flat", "flat dashed", "JPEG")
SOUND = ("ring", "rings", "frame", "ground", "stripes", "thick ring", "dots", "nothing", "arcs")
COLOURS = (
    CMYKColor(0, 0, 0, 1), CMYKColor(1, 0, 0, 0), CMYKColor(0, 1, 0, 0), CMYKColor(0, 0, 1, 0),
    CMYKColor(0, 1, 1, 0), CMYKColor(0.8, 0, 1, 0), Color(0.9, 0.1, 0.1), CMYKColor(0, 0, 0, 0.5),
)  # fmt: skip


def cases(seed: int) -> Iterator[Case]:
    sleeve = seed % 3 == 2
    places = ON_SLEEVE if sleeve else ON_LABEL
    place, how = places[(seed // 3) % len(places)], HOW[(seed + seed // 6) % len(HOW)]
    where = "sleeve" if sleeve else "label"
    yield Case(f"{where}, {place}, {how}", True, (seed, sleeve, place, how))
    sound, how = SOUND[seed % len(SOUND)], HOW[(seed + seed // 9) % len(HOW)]
    if how == "shapes":
        how = "solid"
    yield Case(f"{where}, {sound}, {how}", False, (seed, sleeve, sound, how))


def judge(case: Case) -> Severity | None:
    seed, sleeve = case.held[:2]
    ppi = 160.0 if sleeve and seed % 2 else None
    return worst_of(exam_of(page_of(case)[0], sleeve, ppi), CHECKS)


def page_of(case: Case) -> tuple[bytes, bool]:
    """Return a case's page, and whether it is a sleeve."""
    seed, sleeve, what, how = case.held
    page = drawn(partial(_draw, seed, sleeve, what, how, case.faulty), sleeve, 6 if sleeve else 3)
    if how in ("flat", "flat dashed", "JPEG"):
        picture = flattened(page, 300, 88 if how == "JPEG" else None)
        page = as_picture(picture, sleeve, 6 if sleeve else 3)
    return page, sleeve


def _draw(seed: int, sleeve: bool, what: str, how: str, faulty: bool, canvas: Canvas) -> None:
    rng = random.Random(f"guides{seed}{faulty}")
    _art(canvas, rng, sleeve)
    colour = _seen_on(rng)
    canvas.setStrokeColor(colour)
    canvas.setFillColor(colour)
    canvas.setLineWidth(rng.choice((0.15, 0.2, 0.25, 0.35)))
    dash = rng.choice(((2, 1), (1, 1), (3, 1.5), (4, 1, 1, 1)))
    if how in ("dashed", "flat dashed"):
        canvas.setDash(list(dash))
    if not faulty:
        _sound(canvas, rng, sleeve, what)
    elif sleeve:
        _on_sleeve(canvas, rng, what, how)
    else:
        _on_label(canvas, rng, what, how)


_GROUND = CMYKColor(0.12, 0.05, 0.08, 0)


def _seen_on(rng: random.Random) -> object:
    return rng.choice(COLOURS)


def _art(canvas: Canvas, rng: random.Random, sleeve: bool) -> None:
    """Paint a pale ground, or a pale photograph, and some art far from edges."""
    kind = rng.randrange(4)
    if kind == 0:
        ground(canvas, CMYKColor(0, 0, 0, 0))
    elif kind == 1:
        ground(canvas, tone(rng, 0.15))
    elif kind == 2:
        ground(canvas, CMYKColor(0.18, 0.1, 0, 0))
    else:
        canvas.drawImage(ImageReader(photo(rng, 120)), -80, -80, 160, 160)
        canvas.saveState()
        canvas.setFillColor(CMYKColor(0, 0, 0, 0))
        canvas.setFillAlpha(0.8)
        canvas.rect(-80, -80, 160, 160, stroke=0, fill=1)
        canvas.restoreState()
    canvas.setFillColor(CMYKColor(0.6, 0.5, 0.1, 0.3))
    for _ in range(4):
        x, y = (rng.uniform(10, 40), rng.uniform(-18, 10)) if sleeve else (
            rng.uniform(-25, 10), rng.choice((-25, 14)))  # fmt: skip
        canvas.rect(x, y, rng.uniform(4, 12), rng.uniform(1, 6), stroke=0, fill=1)


def _on_label(canvas: Canvas, rng: random.Random, what: str, how: str) -> None:
    off = rng.uniform(-0.1, 0.1)
    near = rng.choice((-1.7, -1.0, -0.5, 0.5, 0.8, 1.0, 1.6, 2.4))
    radius = {
        "trim": RIM + off, "bleed": RIM + BLEED - 0.2, "safe": RIM - 3 + off,
        "hole": HOLE + 4.4 + off, "near": RIM + near,
    }.get(what)  # fmt: skip
    if what == "bleed":
        radius = RIM + 2.0 + off
    if radius is not None:
        if how == "shapes":
            _ring_of_shapes(canvas, radius, rng)
        else:
            canvas.circle(0, 0, radius, stroke=1, fill=0)
        return
    half = RIM if what == "square" else RIM + BLEED - 0.3
    if what == "bleed square":
        half = RIM + BLEED - 0.15
    _frame(canvas, -half, -half, half, half, how, rng)


def _on_sleeve(canvas: Canvas, rng: random.Random, what: str, how: str) -> None:
    off = rng.uniform(-0.1, 0.1)
    x0, y0, x1, y1 = SLEEVE
    if what in ("folds", "one fold", "folds across"):
        over = 0 if what == "folds" else 5
        for x in FOLDS[: 1 if what == "one fold" else 2]:
            if how == "shapes":
                _dashes(canvas, (x + off, y0 - over), (x + off, y1 + over), rng)
            else:
                canvas.line(x + off, y0 - over, x + off, y1 + over)
        return
    if what == "safe":
        _frame(canvas, x0 + 3, y0 + 3, FOLDS[0] - 3, y1 - 3, how, rng)
        _frame(canvas, FOLDS[1] + 3, y0 + 3, x1 - 3, y1 - 3, how, rng)
        return
    by = off if what == "trim" else BLEED + off
    _frame(canvas, x0 - by, y0 - by, x1 + by, y1 + by, how, rng)


def _frame(
    canvas: Canvas, x0: float, y0: float, x1: float, y1: float, how: str, rng: random.Random
) -> None:
    if how != "shapes":
        canvas.rect(x0, y0, x1 - x0, y1 - y0, stroke=1, fill=0)
        return
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
        _dashes(canvas, start, end, rng)


def _dashes(
    canvas: Canvas, start: tuple[float, float], end: tuple[float, float], rng: random.Random
) -> None:
    """Draw a dashed line as filled boxes."""
    length = math.dist(start, end)
    canvas.saveState()
    canvas.translate(*start)
    canvas.rotate(math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])))
    at = 0.0
    while at < length:
        canvas.rect(at, -0.1, min(2, length - at), 0.2, stroke=0, fill=1)
        at += 3.2
    canvas.restoreState()


def _ring_of_shapes(canvas: Canvas, radius: float, rng: random.Random) -> None:
    """Draw a dashed ring as filled pieces of a ring."""
    count = round(2 * math.pi * radius / rng.choice((2.0, 3.0, 4.0)))
    for n in range(count):
        first = 2 * math.pi * n / count
        angles = [first + share * math.pi * 1.2 / count for share in (0, 0.25, 0.5, 0.75, 1)]
        path = canvas.beginPath()
        for at, (far, angle) in enumerate(
            [(radius + 0.1, a) for a in angles] + [(radius - 0.1, a) for a in angles[::-1]]
        ):
            place = far * math.cos(angle), far * math.sin(angle)
            (path.moveTo if at == 0 else path.lineTo)(*place)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)


def _sound(canvas: Canvas, rng: random.Random, sleeve: bool, what: str) -> None:
    if what == "nothing":
        return
    if what == "ground":
        canvas.setStrokeAlpha(0)
        if sleeve:
            canvas.rect(FOLDS[1], -40, 80, 80, stroke=0, fill=1)
        else:
            canvas.circle(0, 0, RIM + BLEED - rng.uniform(0, 0.5), stroke=0, fill=1)
        return
    if what == "stripes" or (sleeve and what == "rings"):
        pitch = rng.uniform(1.2, 6.0)
        start = FOLDS[rng.randrange(2)] if sleeve else rng.uniform(-1, 1)
        turn = 0 if sleeve else rng.uniform(0, 90)
        canvas.rotate(turn)
        for n in range(-int(80 / pitch), int(80 / pitch) + 1):
            canvas.line(start + n * pitch, -80, start + n * pitch, 80)
        return
    if what == "dots":
        canvas.setDash([])
        pitch = rng.uniform(1.5, 4)
        for n in range(-int(70 / pitch), int(70 / pitch) + 1):
            for m in range(-int(70 / pitch), int(70 / pitch) + 1):
                canvas.circle(n * pitch, m * pitch, pitch * 0.25, stroke=0, fill=1)
        return
    if sleeve:
        if what == "frame":
            inset = rng.uniform(5.2, 12)
            canvas.rect(FOLDS[1] + inset, -30 + inset, 60 - 2 * inset, 60 - 2 * inset)
        elif what == "thick ring":
            canvas.setDash([])
            canvas.setLineWidth(rng.uniform(1, 3))
            canvas.rect(FOLDS[1] + 6, -24, 48, 48)
        else:
            canvas.circle(31.5, 0, rng.uniform(10, 22), stroke=1, fill=0)
        return
    if what == "ring":
        canvas.circle(0, 0, rng.choice((rng.uniform(9, 44), rng.uniform(38, 44.5))))
    elif what == "rings":
        pitch = rng.uniform(1.0, 4.0)
        last = rng.choice((44.0, 53.0))
        first = RIM - 3 - int((RIM - 3 - 12) / pitch) * pitch if last > 50 else 12.0
        radius = first
        while radius < last:
            canvas.circle(0, 0, radius, stroke=1, fill=0)
            radius += pitch
    elif what == "frame":
        half = rng.uniform(20, 30)
        canvas.rect(-half, -half, 2 * half, 2 * half)
    elif what == "thick ring":
        canvas.setDash([])
        canvas.setLineWidth(rng.uniform(1, 3))
        canvas.circle(0, 0, RIM - 5 - rng.uniform(1.6, 4))
    else:
        radius = RIM - 3
        for n in range(3):
            canvas.arc(-radius, -radius, radius, radius, 120 * n + rng.uniform(0, 20), 60)
