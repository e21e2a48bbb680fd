"""Textures are no edges: dots, stars, stripes, hatching, lattices, photographs and gradients that
run on across hole, rim and folds; a lone motif there is one, and so is a ring of them.

Truth by construction: the texture covers the page, or the same motif stands alone at a known place.
Drawn as objects, as a tiling pattern, and flattened.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterator
from functools import partial

from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import (
    FOLDS,
    HOLE,
    RIM,
    as_picture,
    drawn,
    exam_of,
    flattened,
    ground,
    photo,
    tone,
    worst_of,
)
from tests.truth._tiles import Tile, with_tiles
from tests.truth.case import Case

CLASS = "textures at hole, rim and folds"
SEEDS = 60
FAST = 2
CHECKS = ("trim.clearance", "hole.clearance", "fold.clearance")
KINDS = ("dots", "stripes", "hatching", "lattice", "stars", "scattered", "checks", "waves",
         "photo", "gradient")  # fmt: skip
MADE = ("objects", "tiling", "flat", "JPEG")
LONE = ("beside the hole", "cut by the rim", "inside the rim", "beside a fold", "ring of them")


def cases(seed: int) -> Iterator[Case]:
    kind, made = KINDS[seed % len(KINDS)], MADE[(seed + seed // len(KINDS)) % len(MADE)]
    if made == "tiling" and kind in ("scattered", "photo", "gradient"):
        made = "objects"
    sleeve = (seed // 4) % 4 == 3
    where = "sleeve" if sleeve else "label"
    yield Case(f"{where}, {kind}, {made}", False, (seed, sleeve, kind, made, ""))
    lone = "beside a fold" if sleeve else ("beside the hole", "cut by the rim", "inside the rim",
                                           "ring of them")[(seed // 3) % 4]  # fmt: skip
    motif = ("dots", "stars", "checks")[seed % 3]
    made = "objects" if made == "tiling" else made
    yield Case(f"{where}, one of {motif} {lone}, {made}", True, (seed, sleeve, motif, made, lone))


def judge(case: Case) -> Severity | None:
    seed, sleeve, kind, made, lone = case.held
    if made == "tiling":
        page = _tiled(seed, sleeve, kind)
    else:
        page = drawn(partial(_draw, seed, kind, lone), sleeve)
    if made in ("flat", "JPEG"):
        page = as_picture(flattened(page, 300, 88 if made == "JPEG" else None), sleeve)
    return worst_of(exam_of(page, sleeve), CHECKS)


def _colours(rng: random.Random) -> tuple[CMYKColor, CMYKColor]:
    own = rng.choice(
        (CMYKColor(0, 0, 0, 1), CMYKColor(0, 0.9, 0.7, 0), CMYKColor(0.9, 0.5, 0, 0.1),
         CMYKColor(0, 0, 0, 0.5), CMYKColor(0.6, 0, 0.9, 0))
    )  # fmt: skip
    return own, tone(rng, 0.25)


def _draw(seed: int, kind: str, lone: str, canvas: Canvas) -> None:
    rng = random.Random(f"texture{seed}{kind}{lone}")
    own, beneath = _colours(rng)
    if kind == "photo":
        side = rng.choice((200, 424, 900))
        canvas.drawImage(ImageReader(photo(rng, side)), -80, -80, 160, 160)
        return
    if kind == "gradient":
        turn = rng.uniform(0, math.pi)
        x, y = 80 * math.cos(turn), 80 * math.sin(turn)
        if rng.random() < 0.5:
            canvas.linearGradient(-x, -y, x, y, (own, beneath))
        else:
            canvas.radialGradient(rng.uniform(-20, 20), rng.uniform(-20, 20), 90, (own, beneath))
        return
    ground(canvas, beneath)
    canvas.setFillColor(own)
    canvas.setStrokeColor(own)
    if lone:
        _alone(canvas, rng, kind, lone)
        return
    pitch = rng.uniform(1.5, 8.0)
    canvas.rotate(rng.uniform(0, 90) if kind != "stripes" or rng.random() < 0.8 else 0)
    if kind in ("dots", "stars", "checks"):
        size = pitch * rng.uniform(0.2, 0.42)
        for n in range(-int(90 / pitch), int(90 / pitch) + 1):
            for m in range(-int(90 / pitch), int(90 / pitch) + 1):
                x, y = (m + (n % 2) / 2) * pitch, n * pitch
                if abs(x) < 85 and abs(y) < 85:
                    _motif(canvas, kind, x, y, size, 0.0)
    elif kind == "scattered":
        size = pitch * 0.3
        steps = range(-int(80 / pitch), int(80 / pitch) + 1)
        for n, m in itertools.product(steps, steps):
            grown = size * rng.uniform(0.7, 1.4)
            x, y = ((at + rng.uniform(-0.45, 0.45)) * pitch for at in (n, m))
            turn = rng.uniform(0, 360)
            _motif(canvas, "stars", x, y, grown, turn)
    else:
        _lines(canvas, rng, kind, pitch)


def _lines(canvas: Canvas, rng: random.Random, kind: str, pitch: float) -> None:
    if kind == "hatching":
        pitch, wide = pitch / 2, rng.uniform(0.2, 0.4)
    else:
        wide = pitch * (rng.uniform(0.2, 0.6) if kind == "stripes" else rng.uniform(0.1, 0.3))
    canvas.setLineWidth(wide)
    for n in range(-int(95 / pitch), int(95 / pitch) + 1):
        if kind == "waves":
            path = canvas.beginPath()
            path.moveTo(-95, n * pitch)
            for m in range(-95, 95, 10):
                up = pitch * (0.6 if (m // 10) % 2 else -0.6)
                path.curveTo(m + 3, n * pitch + up, m + 7, n * pitch + up, m + 10, n * pitch)
            canvas.drawPath(path)
        elif kind == "stripes" and wide > 1:
            canvas.rect(-95, n * pitch, 190, wide, stroke=0, fill=1)
        else:
            canvas.line(-95, n * pitch, 95, n * pitch)
            if kind == "lattice":
                canvas.line(n * pitch, -95, n * pitch, 95)


def _motif(canvas: Canvas, kind: str, x: float, y: float, size: float, turn: float) -> None:
    """Draw a motif that reaches `size` from its middle."""
    if kind == "dots":
        canvas.circle(x, y, size, stroke=0, fill=1)
        return
    path = canvas.beginPath()
    corners = 10 if kind == "stars" else 4
    for n in range(corners):
        far = size if kind == "checks" or n % 2 == 0 else size * 0.45
        angle = math.radians(turn + 45 + 360 * n / corners)
        place = x + far * math.cos(angle), y + far * math.sin(angle)
        (path.moveTo if n == 0 else path.lineTo)(*place)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)


def _alone(canvas: Canvas, rng: random.Random, kind: str, lone: str) -> None:
    size, room = rng.uniform(0.8, 4.0), rng.uniform(0.5, 2.5)
    if lone == "beside a fold":
        side = rng.choice((-1, 1))
        x = FOLDS[(side + 1) // 2] + side * (room + size)
        _motif(canvas, "dots", x, rng.uniform(-15, 15), size, 0)
        return
    canvas.rotate(rng.uniform(0, 360))
    if lone == "beside the hole":
        _motif(canvas, "dots" if kind == "checks" else kind, HOLE + room + size, 0, size, 225)
    elif lone == "cut by the rim":
        size = max(size, 1.5)
        _motif(canvas, kind, RIM - size + rng.uniform(0.4, 1.4), 0, size, 225)
    elif lone == "inside the rim":
        _motif(canvas, "dots", RIM - room - size, 0, size, 0)
    else:
        count = rng.randrange(10, 40)
        small = min(size, 1.5)
        far = rng.choice((RIM - room - small, HOLE + room + small))
        count = min(count, int(2 * math.pi * far / (2.4 * small)))
        for n in range(count):
            angle = 2 * math.pi * n / count
            _motif(canvas, "dots", far * math.cos(angle), far * math.sin(angle), small, 0)


def _tiled(seed: int, sleeve: bool, kind: str) -> bytes:
    """Return a page painted with a tiling pattern that holds one motif a cell."""
    rng = random.Random(f"tiled{seed}{kind}")
    own, beneath = _colours(rng)
    pitch, turn = rng.uniform(1.5, 8.0), rng.uniform(0, 1.5)
    size = pitch * rng.uniform(0.2, 0.42)
    page = drawn(lambda canvas: ground(canvas, beneath), sleeve)
    if kind in ("dots", "stars", "checks"):
        cell = f"{pitch / 2 - size} {pitch / 2 - size} {2 * size} {2 * size} re f"
    elif kind == "lattice":
        middle = pitch / 2
        cell = f"{size / 2} w 0 {middle} m {pitch} {middle} l {middle} 0 m {middle} {pitch} l S"
    else:
        cell = f"0 0 {pitch} {size} re f"
    amounts = " ".join(str(v) for v in (own.cyan, own.magenta, own.yellow, own.black))
    tile = Tile(f"{amounts} k {amounts} K {cell}", pitch, turn)
    return with_tiles(page, tile, "/Pattern cs /Tile scn -500 -500 2000 2000 re f")
