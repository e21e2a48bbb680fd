"""Vignettes of marks: dots, squares, stars, dashes and rings on even and random places that grow
smaller, fainter or fewer, as objects, as a tiling pattern in ever paler tints, and as pictures.

Drawn in other ways than `bleed_vignettes`. Truth by construction: a vignette that ends by itself
needs no room and no bleed. Faulty twins are cut off with much of their ink left, just outside the
trim or inside it, or carry a lone star that the trim cuts where few marks are left.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator
from functools import partial
from typing import NamedTuple

import numpy as np
from reportlab.lib.colors import CMYKColor
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import MM, RIM, as_picture, drawn, exam_of, flattened, worst_of
from tests.truth._tiles import Tile, with_tiles
from tests.truth.case import Case

CLASS = "vignettes of marks"
SEEDS = 40
FAST = 1
MARGIN = 3.5
MADE = ("objects", "tiling", "flat", "JPEG")
MARKS = ("dots", "squares", "stars", "dashes", "rings")
PLACES = ("square", "triangles", "random", "spiral")
CLEAR, BLEED = ("trim.clearance", "hole.clearance"), ("bleed.missing", "bleed.short")
TINTS = 30


class Look(NamedTuple):
    """How a vignette looks: its marks, their places, what becomes less, and inks."""

    mark: str
    places: str
    less: str
    pitch: float
    inks: tuple[float, float, float, float]
    share: Callable[[np.ndarray, np.ndarray], np.ndarray]
    """How much of the ink is left at places (n,), 0 to 1."""


def cases(seed: int) -> Iterator[Case]:
    made = MADE[seed % len(MADE)]
    yield Case(f"{made}, whole", False, (seed, made, "whole"))
    for fault in ("cut outside", "cut inside", "lone star"):
        yield Case(f"{made}, {fault}", True, (seed, made, fault))


def judge(case: Case) -> Severity | None:
    fault = case.held[2]
    checks = {"whole": (*CLEAR, *BLEED), "cut outside": BLEED}.get(fault, CLEAR[:1])
    return worst_of(exam_of(page_of(case)), checks)


def look(seed: int, made: str, fault: str) -> Look:
    rng = random.Random(f"vignette of marks {seed}")
    mark, places = rng.choice(MARKS), rng.choice(PLACES)
    less = "fainter" if made == "tiling" else rng.choice(("smaller", "fainter", "fewer"))
    if less == "fewer":
        places = "random"
    pitch = rng.uniform(0.5, 1.0) if less == "fewer" else rng.uniform(0.7, 1.8)
    inks = rng.choice(((0.9, 0.3, 0, 0), (0, 0.9, 0.6, 0.1), (0, 0, 0, 0.9), (0.6, 0, 0.9, 0.1)))
    if fault in ("cut outside", "cut inside"):
        return Look(mark, places, less, pitch, inks, _much_left(rng))
    return Look(mark, places, less, pitch, inks, _nothing_left(rng, pitch, fault == "lone star"))


def _much_left(rng: random.Random) -> Callable[[np.ndarray, np.ndarray], np.ndarray]:
    left = rng.uniform(0.5, 0.9)
    return lambda x, y: left + (1 - left) * np.clip(1 - np.hypot(x, y) / RIM, 0, 1)


def _nothing_left(
    rng: random.Random, pitch: float, starred: bool
) -> Callable[[np.ndarray, np.ndarray], np.ndarray]:
    wide, curve = rng.uniform(8 * pitch, 35), rng.choice((1.0, 1.5, 0.8))
    how = rng.choice(("outwards", "along", "from the rim")[: 2 if starred else 3])
    away, at = rng.uniform(0, 2 * math.pi), rng.uniform(-25, 40)
    end = rng.uniform(45, 48 if starred else 53)

    def share(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        if how == "outwards":
            depth = (end - np.hypot(x, y)) / wide
        elif how == "along":
            depth = (at - x * math.cos(away) - y * math.sin(away)) / wide
        else:
            depth = (np.hypot(x, y) - (54 - wide)) / wide
        return np.clip(depth, 0, 1) ** curve

    return share


def _places(rng: random.Random, look: Look) -> np.ndarray:
    """Return places (n, 2) up to 54 mm from the centre."""
    pitch, grain = look.pitch, np.random.default_rng(rng.randrange(1 << 30))
    if look.places == "spiral":
        n = np.arange(int((54 / pitch) ** 2 * 3.0))
        angle = n * math.pi * (3 - math.sqrt(5))
        return 0.58 * pitch * np.sqrt(n)[:, None] * np.column_stack((np.cos(angle), np.sin(angle)))
    if look.places == "random":
        # Thrown at random, one in a cell at the most of those that touch.
        thrown = grain.uniform(-54, 54, (int((108 / pitch) ** 2 * 2.5), 2))
        cell = np.floor(thrown / pitch).astype(int)
        thrown = thrown[np.unique(cell, axis=0, return_index=True)[1]]
    else:
        count = int(80 / pitch)
        x, y = np.meshgrid(*(np.arange(-count, count + 1) * pitch,) * 2)
        if look.places == "triangles":
            x, y = x + (np.arange(len(x)) % 2)[:, None] * pitch / 2, y * math.sqrt(0.75)
        thrown = np.stack((x, y), axis=-1).reshape(-1, 2)
        angle = rng.uniform(0, math.pi)
        turn = np.array(((math.cos(angle), -math.sin(angle)), (math.sin(angle), math.cos(angle))))
        thrown = thrown @ turn
    return thrown[np.hypot(*thrown.T) < 54]


def page_of(case: Case) -> bytes:
    seed, made, fault = case.held
    own = look(seed, made, fault)
    if made == "tiling":
        page = _tiled(seed, own, fault)
    else:
        page = drawn(partial(_draw, seed, own, fault), margin=MARGIN)
    if made in ("flat", "JPEG"):
        page = as_picture(flattened(page, 400, 90 if made == "JPEG" else None), margin=MARGIN)
    return page


def _radius(seed: int, fault: str) -> float:
    """Return where a vignette is cut off, in mm from the centre."""
    rng = random.Random(f"cut off {seed}")
    return RIM + (rng.uniform(0.2, 1.2) if fault == "cut outside" else rng.uniform(-2.0, -0.7))


def _draw(seed: int, look: Look, fault: str, canvas: Canvas) -> None:
    rng = random.Random(f"drawn {seed}{fault}")
    canvas.saveState()
    if fault.startswith("cut"):
        path = canvas.beginPath()
        path.circle(0, 0, _radius(seed, fault))
        canvas.clipPath(path, stroke=0, fill=0)
    places = _places(rng, look)
    shares = look.share(*places.T)
    size = look.pitch * rng.uniform(0.25, 0.42)
    even = rng.uniform(0, 90)
    for (x, y), share in zip(places, shares, strict=True):
        if share < 0.004 or (look.less == "fewer" and rng.random() > share):
            continue
        far = size * (math.sqrt(share) if look.less == "smaller" else 1.0)
        amount = share if look.less == "fainter" else 1.0
        canvas.setFillColor(CMYKColor(*(amount * one for one in look.inks)))
        canvas.setStrokeColor(CMYKColor(*(amount * one for one in look.inks)))
        _mark(canvas, look.mark, x, y, far, even)
    canvas.restoreState()
    if fault == "lone star":
        _star(canvas, seed, look)


def _star(canvas: Canvas, seed: int, look: Look) -> None:
    rng = random.Random(f"star {seed}")
    size = rng.uniform(2.0, 4.0)
    far = RIM - size + rng.uniform(0.6, 1.4)
    canvas.setFillColor(CMYKColor(0, 0, 0, 1))
    angles = np.radians(np.arange(360))
    x, y = far * np.cos(angles), far * np.sin(angles)
    share = look.share(x, y)
    at = rng.choice(np.flatnonzero(share <= max(0.2, share.min())).tolist())
    _mark(canvas, "stars", float(x[at]), float(y[at]), size, float(at))


def _mark(canvas: Canvas, mark: str, x: float, y: float, far: float, turn: float) -> None:
    """Draw a mark that reaches `far` from its middle, and leaves a third of its ring or less."""
    if mark == "dots":
        canvas.circle(x, y, far, stroke=0, fill=1)
    elif mark == "rings":
        canvas.setLineWidth(0.5 * far)
        canvas.circle(x, y, 0.75 * far, stroke=1, fill=0)
    elif mark == "dashes":
        canvas.setLineWidth(0.6 * far)
        c, s = far * math.cos(math.radians(turn)), far * math.sin(math.radians(turn))
        canvas.line(x - c, y - s, x + c, y + s)
    else:
        path, corners = canvas.beginPath(), 10 if mark == "stars" else 4
        for n in range(corners):
            reach = far * (0.45 if mark == "stars" and n % 2 else 1.0)
            angle = math.radians(turn + 360 * n / corners)
            place = x + reach * math.cos(angle), y + reach * math.sin(angle)
            (path.moveTo if n == 0 else path.lineTo)(*place)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)


def _nothing(canvas: Canvas) -> None:
    canvas.setLineWidth(1)


def _tiled(seed: int, look: Look, fault: str) -> bytes:
    """Return a page of squares of a tiling pattern, each in the tint that is left there."""
    rng = random.Random(f"tiles {seed}{fault}")
    page = drawn(
        lambda canvas: (
            _star(canvas, seed, look) if fault == "lone star" else canvas.setLineWidth(1)
        ),
        margin=MARGIN,
    )
    pitch, half = look.pitch, look.pitch * rng.uniform(0.25, 0.4)
    low, middle = pitch / 2 - half, pitch / 2
    cell = {
        "squares": f"{low} {low} {2 * half} {2 * half} re f",
        "dashes": f"{0.8 * half} w {low} {middle} m {middle + half} {middle} l S",
        "stars": f"{low} {low} m {middle} {middle + half} l {middle + half} {low} l f",
    }.get(look.mark, f"1 J {2 * half} w {middle} {middle} m {middle} {middle} l S")
    tile = Tile(cell, pitch, rng.uniform(0, 1.5), coloured=False)
    return with_tiles(page, tile, _tints(seed, look, fault), beneath=True)


def _tints(seed: int, look: Look, fault: str) -> str:
    """Return a page's content: strips as wide as the change of the tint allows, each its tint."""
    centre = (RIM + MARGIN) * MM
    said = ["q /Tint cs"]
    if fault.startswith("cut"):
        angles = np.linspace(0, 2 * math.pi, 400, endpoint=False)
        round_ = _radius(seed, fault) * np.column_stack((np.cos(angles), np.sin(angles)))
        corners = [f"{x * MM + centre:.3f} {y * MM + centre:.3f}" for x, y in round_]
        said.append(f"{corners[0]} m " + " ".join(f"{one} l" for one in corners[1:]) + " h W n")
    at = np.arange(-54.0, 54.0, 0.5)
    x, y = np.meshgrid(at + 0.25, at + 0.25)
    shares = np.round(look.share(x.ravel(), y.ravel()) * TINTS) / TINTS
    for share in np.unique(shares[shares > 0]):
        said.append(" ".join(f"{share * one:.4f}" for one in look.inks) + " /Tile scn")
        for place in np.flatnonzero(shares == share):
            left, low = x.flat[place] - 0.25, y.flat[place] - 0.25
            said.append(
                f"{left * MM + centre:.3f} {low * MM + centre:.3f} {0.5 * MM} {0.5 * MM} re"
            )
        said.append("f")
    return "\n".join([*said, "Q\n"])
