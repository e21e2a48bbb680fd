"""Bleed of dots that grow smaller or fainter towards the trim: as samples, as a JPEG, as objects.

Truth by construction: dots shrink, or fade, until nothing is left of them, inside the trim or past
it, or run out past the bleed with a part of their size; faulty twins have a third and more of their
ink left where they are cut off, at a known distance from the trim, all round or along an arc.
Stray specks lie about on every third page.
"""

from __future__ import annotations

import io
import math
import random
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from PIL import Image
from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import drawn, exam_of, worst_of
from tests.truth.case import Case

CLASS = "bleed of dots that grow less"
SEEDS = 45
FAST = 1
PPI = 400
HALF_MM = 53.5
MARGIN = 3.5
CHECKS = ("bleed.missing", "bleed.short")
CLEAR = ("trim.clearance", "hole.clearance")
"""What ends by itself needs no room either."""
FORMS = ("samples", "JPEG", "objects")
LATTICES = ("square", "honeycomb", "scattered", "rings")


class Dots(NamedTuple):
    """Centres (n, 2), widths and amounts of ink (n,) of dots; the radius and arc of a cut."""

    centres: np.ndarray
    widths: np.ndarray
    amounts: np.ndarray
    cut: tuple[float, float, float] | None


def _lattice(rng: random.Random, kind: str, pitch: float) -> np.ndarray:
    """Return places (n, 2) up to 54.5 mm from the centre."""
    if kind == "rings":
        places = []
        radius = pitch * rng.uniform(0.3, 1.0)
        while radius < 54.5:
            count, first = round(2 * math.pi * radius / pitch), rng.uniform(0, 2 * math.pi)
            turns = first + 2 * math.pi * np.arange(count) / max(count, 1)
            places.append(radius * np.stack((np.cos(turns), np.sin(turns)), axis=1))
            radius += 0.9 * pitch
        return np.concatenate(places)
    number = int(80 / pitch)
    x, y = np.meshgrid(*(np.arange(-number, number + 1) * pitch,) * 2)
    if kind == "honeycomb":
        x, y = x + (np.arange(len(x)) % 2)[:, None] * pitch / 2, y * math.sqrt(0.75)
    if kind == "scattered":
        off = np.random.default_rng(rng.randrange(1 << 30)).uniform(-0.3, 0.3, (2, *x.shape))
        x, y = x + off[0] * pitch, y + off[1] * pitch
    turn = rng.uniform(0, math.pi)
    cosine, sine = math.cos(turn), math.sin(turn)
    places = np.stack((x * cosine - y * sine, x * sine + y * cosine), axis=-1).reshape(-1, 2)
    return places[np.hypot(*places.T) < 54.5]


def dots(seed: int, faulty: bool) -> Dots:
    rng = random.Random(f"vignette{seed}")
    # A cut along rings might run between two of them, and would cut nothing.
    kind = rng.choice(LATTICES[:3] if faulty else LATTICES)
    pitch, how = rng.uniform(0.6, 2.0), rng.choice(("shrink", "fade"))
    full = pitch * rng.uniform(0.6, 1.1)
    centres = _lattice(rng, kind, pitch)
    away = rng.uniform(0, 2 * math.pi)
    is_round = rng.random() < 0.5
    along = np.hypot(*centres.T) if is_round else centres @ (math.cos(away), math.sin(away))
    left = rng.uniform(0.35, 0.8) ** (0.5 if how == "shrink" else 1.0)
    width, beyond = rng.uniform(3, 30), rng.choice((0.0, 0.4, 0.8, 1.2))
    middle, span = rng.uniform(-180, 180), rng.choice((180.0, rng.uniform(25, 60)))
    if not faulty and rng.random() < 0.75:
        end = rng.uniform(46.5, 54) if is_round else rng.uniform(-20, 50)
        share = np.clip((end - along) / width, 0, 1)
    elif is_round:
        share = left + (1 - left) * np.clip((50 + beyond - along) / width, 0, 1)
    else:
        share = np.clip(left + (1 - left) * (50 - along) / 100, 0, 1)
    whole = np.ones_like(share)
    widths, amounts = full * (share if how == "shrink" else whole), whole
    if how == "fade":
        amounts = share
    shown = (widths > 0.02) & (amounts > 0.005)
    cut = (50 + beyond, middle, span) if faulty else None
    return Dots(centres[shown], widths[shown], amounts[shown], cut)


def _painted(drawing: Dots, specks: int) -> np.ndarray:
    """Return the amount of ink (side, side), 0 to 1."""
    pixel, side = 25.4 / PPI, round(2 * HALF_MM / 25.4 * PPI)
    at = (np.arange(side) + 0.5) * pixel - side * pixel / 2
    ink = np.zeros((side, side), np.float32)
    for (x, y), wide, amount in zip(*drawing[:3], strict=True):
        columns, rows = (
            slice(max(0, int((side * pixel / 2 + middle - wide / 2) / pixel) - 1),
                  int((side * pixel / 2 + middle + wide / 2) / pixel) + 2)
            for middle in (x, -y)
        )  # fmt: skip
        off = np.hypot(at[None, columns] - x, -at[rows, None] - y)
        covered = np.clip((wide / 2 - off) / pixel + 0.5, 0, 1) * min(1.0, (wide / pixel) ** 2)
        np.maximum(ink[rows, columns], covered * amount, out=ink[rows, columns])
    if drawing.cut is not None:
        radius, middle, span = drawing.cut
        x, y = at[None, :], -at[:, None]
        aside = np.abs((np.degrees(np.arctan2(y, x)) - middle + 180) % 360 - 180)
        ink[(np.hypot(x, y) > radius) & (aside <= span)] = 0
    places = np.random.default_rng(specks).integers(2, side - 4, (specks, 2))
    for row, column in places:
        ink[row : row + 2, column : column + 2] = 0.8
    return ink


def cases(seed: int) -> Iterator[Case]:
    form = FORMS[seed % len(FORMS)]
    yield Case(f"{form}, cut", True, (seed, form, True))
    yield Case(f"{form}, whole", False, (seed, form, False))


def judge(case: Case) -> Severity | None:
    return worst_of(exam_of(page_of(case)), CHECKS if case.faulty else (*CHECKS, *CLEAR))


def page_of(case: Case) -> bytes:
    seed, form, faulty = case.held
    rng, drawing = random.Random(f"look{seed}"), dots(seed, faulty)
    inks = rng.uniform(0.3, 0.9), rng.uniform(0.1, 0.6), rng.uniform(0, 0.5)
    if form != "objects":
        ink = _painted(drawing, 80 if seed // 3 % 3 == 0 else 0)
        rgb = np.stack([255 - 255 * ink * one for one in inks], axis=2).astype(np.uint8)
        quality = rng.choice((60, 80, 92)) if form == "JPEG" else None
        return drawn(lambda canvas: _place(canvas, rgb, quality), margin=MARGIN)
    return drawn(lambda canvas: _draw(canvas, drawing, inks), margin=MARGIN)


def _place(canvas: Canvas, rgb: np.ndarray, quality: int | None) -> None:
    if quality is not None:
        held = io.BytesIO()
        Image.fromarray(rgb).save(held, "JPEG", quality=quality)
        rgb = np.asarray(Image.open(held).convert("RGB"))
    bare = np.zeros((*rgb.shape[:2], 1), np.uint8)
    cmyk = Image.fromarray(np.concatenate((255 - rgb, bare), axis=2), "CMYK")
    canvas.drawImage(ImageReader(cmyk), -HALF_MM, -HALF_MM, 2 * HALF_MM, 2 * HALF_MM)


def _draw(canvas: Canvas, drawing: Dots, inks: tuple[float, ...]) -> None:
    if drawing.cut is not None:
        radius, middle, span = drawing.cut
        path = canvas.beginPath()
        rest = 360 - 2 * span
        inside, outside = (
            [(r * math.cos(math.radians(t)), r * math.sin(math.radians(t))) for t in turns]
            for r, turns in (
                (radius, np.linspace(middle - span, middle + span, 400)),
                (80.0, np.linspace(middle + span, middle + span + rest, 100)),
            )
        )
        corners = inside if rest < 1 else [*inside, *outside]
        path.moveTo(*corners[0])
        for corner in corners[1:]:
            path.lineTo(*corner)
        path.close()
        canvas.clipPath(path, stroke=0, fill=0)
    for (x, y), wide, amount in zip(*drawing[:3], strict=True):
        canvas.setFillColor(CMYKColor(*(one * amount for one in inks), 0))
        canvas.circle(x, y, wide / 2, stroke=0, fill=1)
