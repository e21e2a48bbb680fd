"""Pictures enlarged before they were placed, and the same art drawn at true size.

Truth by construction: Pillow, an independent program, draws photographs, pages of type and flat
colour and screens full of small type, and enlarges them by a known factor. Sound twins are such
art as it was drawn, taken soft, reduced, sharpened or saved as JPEG, never enlarged.
"""

from __future__ import annotations

import io
import random
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import skimage
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from prepcheck.art.model import Content, Samples
from prepcheck.findings import Finding
from prepcheck.said import NotApplicable
from prepcheck.sheets.exam import Exam
from tests.checks.exams import examine, make_exam
from tests.checks.pictures import RGB
from tests.checks.pictures import picture as placed
from tests.outlined import FACES
from tests.truth.case import UNTOLD, Case, Judged

CLASS = "pictures enlarged"
SEEDS = 60
FAST = 2
PHOTOS = ("astronaut", "coffee", "chelsea", "camera", "rocket", "brick", "grass", "gravel")
FILTERS = ("NEAREST", "BILINEAR", "BICUBIC", "LANCZOS")
SIDES = (128, 160, 200, 256, 400, 700)
CLOSE = 0.15
"""Share by which the factor that is told may be off."""
_WORDS = (
    "Halden Orrery", "Lamps Out at Nine", "Side A", "33 rpm", "LFR 204", "Kein Licht im Hafen",
    "Cinders & Salt", "Tide Table", "Dry Dock", "Norrsken över fältet", "(P) 2026 Lanternfold",
    "All rights of the producer reserved.", "Owl Ledger 3:42", "Stereo", "Morning Bell",
)  # fmt: skip


@cache
def _font(face: str, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(FACES[face]), size)


def _colour(rng: random.Random, low: int = 0, high: int = 255) -> tuple[int, int, int]:
    return (rng.randint(low, high), rng.randint(low, high), rng.randint(low, high))


def photo(rng: random.Random, side: int) -> Image.Image:
    """Return a photograph, or noise with the falling spectrum of one with shapes on it."""
    if rng.random() < 0.5:
        whole = Image.fromarray(getattr(skimage.data, rng.choice(PHOTOS))()).convert("RGB")
        if min(whole.size) >= side:
            x = rng.randint(0, whole.width - side)
            y = rng.randint(0, whole.height - side)
            return whole.crop((x, y, x + side, y + side))
    numbers = np.random.default_rng(rng.randrange(2**32))
    fy, fx = np.fft.fftfreq(side)[:, None], np.fft.rfftfreq(side)[None, :]
    shape = 1 / np.maximum(np.hypot(fy, fx), 1 / side) ** rng.uniform(0.9, 1.5)
    common = numbers.normal(size=(side, side))
    planes = []
    for _ in range(3):
        own = common + 0.4 * numbers.normal(size=(side, side))
        plane = np.fft.irfft2(np.fft.rfft2(own) * shape, s=(side, side))
        planes.append(128 + rng.uniform(25, 45) * plane / plane.std())
    out = Image.fromarray(np.clip(np.stack(planes, axis=2), 0, 255).astype(np.uint8))
    draw = ImageDraw.Draw(out)
    for _ in range(rng.randint(0, 6)):
        x, y, r = rng.randrange(side), rng.randrange(side), rng.randint(8, max(9, side // 6))
        draw.ellipse((x - r, y - r, x + r, y + r), fill=_colour(rng, 20, 235))
    return out


def page(rng: random.Random, side: int) -> Image.Image:
    """Return a page of type and flat colour, with smooth edges, as a design program draws it."""
    over = 4  # drawn larger and reduced by the mean, so that edges fall between samples too
    paper = _colour(rng, 180) if rng.random() < 0.6 else _colour(rng, 0, 80)
    light = sum(paper) > 380
    out = Image.new("RGB", (side * over, side * over), paper)
    draw = ImageDraw.Draw(out)
    for _ in range(rng.randint(1, 5)):
        x, y = rng.randrange(side * over), rng.randrange(side * over)
        r = rng.randint(side * over // 16, side * over // 4)
        fill = _colour(rng)
        if rng.random() < 0.5:
            draw.ellipse((x - r, y - r, x + r, y + r), fill=fill)
        else:
            draw.rectangle((x, y, x + 2 * r, y + r), fill=fill)
    ink = _colour(rng, 0, 70) if light else _colour(rng, 190)
    face = rng.choice(sorted(FACES))
    at = rng.randint(2, 12)
    while at < side - 8:
        size = rng.choice((7, 8, 9, 10, 12, 14, 18, 24, 36, 60))
        size = min(size, max(7, side // 6))
        words = " ".join(rng.sample(_WORDS, rng.randint(1, 3)))
        place = (rng.randint(2, side // 4) * over, at * over)
        draw.text(place, words, font=_font(face, size * over), fill=ink)
        at += int(size * rng.uniform(1.2, 1.6))
    turned = out.rotate(rng.uniform(0, 360), Image.Resampling.BICUBIC, fillcolor=paper)
    out = out if rng.random() < 0.75 else turned
    return out.resize((side, side), Image.Resampling.BOX)


def screen(rng: random.Random, side: int) -> Image.Image:
    """Return a screen: small type on the grid of its samples, boxes and hairlines."""
    back = rng.choice(((255, 255, 255), (245, 245, 248), (32, 34, 40), (250, 247, 240)))
    light = back[0] > 128
    out = Image.new("RGB", (side, side), back)
    draw = ImageDraw.Draw(out)
    draw.fontmode = rng.choice(("L", "L", "1"))
    draw.rectangle((0, 0, side, rng.randint(12, 28)), fill=_colour(rng, 60, 200))
    for _ in range(rng.randint(2, 6)):
        x, y = rng.randrange(side), rng.randrange(20, side)
        w, h = rng.randint(12, side // 2), rng.randint(8, 24)
        draw.rectangle((x, y, x + w, y + h), outline=_colour(rng, 90, 190), fill=_colour(rng, 150))
    face = rng.choice(sorted(FACES))
    at = 24
    while at < side - 6:
        size = rng.choice((9, 10, 11, 12, 13, 15, 20))
        ink = _colour(rng, 0, 90) if light else _colour(rng, 170)
        words = " ".join(rng.sample(_WORDS, rng.randint(1, 3)))
        draw.text((rng.randint(2, 20), at), words, font=_font(face, size), fill=ink)
        at += int(size * 1.4)
        if rng.random() < 0.2:
            draw.line((4, at, side - 4, at), fill=_colour(rng, 120, 200))
            at += 4
    return out


def logo(rng: random.Random, side: int) -> Image.Image:
    """Return one word or sign on plain paper."""
    over = 4
    paper, ink = (_colour(rng, 200), _colour(rng, 0, 90))
    if rng.random() < 0.4:
        paper, ink = ink, paper
    out = Image.new("RGB", (side * over, side * over), paper)
    draw = ImageDraw.Draw(out)
    r = side * over // rng.randint(3, 5)
    middle = side * over // 2
    draw.ellipse((middle - r, middle - r, middle + r, middle + r), outline=ink, width=r // 4)
    font = _font(rng.choice(sorted(FACES)), side * over // 4)
    draw.text((side * over // 10, middle), rng.choice(_WORDS)[:6], font=font, fill=ink)
    return out.resize((side, side), Image.Resampling.BOX)


def pattern(rng: random.Random, side: int) -> Image.Image:
    """Return stripes, chequers, a halftone, a dithered or a smooth gradient, at the true size."""
    y, x = np.mgrid[:side, :side].astype(np.float64)
    kind = rng.choice(("stripes", "chequers", "halftone", "dithered", "gradient"))
    turn, pitch = rng.choice((0.0, 0.0, rng.uniform(0, 3.1))), rng.uniform(4.5, 14.0)
    u, v = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    ramp = (x + y) / (2 * side)
    if kind == "stripes":
        out = np.clip(pitch * (np.abs(u / pitch % 1 - 0.5) - 0.25) + 0.5, 0, 1)
    elif kind == "chequers":
        out = np.clip(pitch * np.sin(np.pi * u / pitch) * np.sin(np.pi * v / pitch) + 0.5, 0, 1)
    elif kind == "halftone":
        wave = np.cos(2 * np.pi * u / pitch) + np.cos(2 * np.pi * v / pitch)
        out = np.clip(pitch / 4 * (wave / 2 + 2 * ramp - 1) + 0.5, 0, 1)
    elif kind == "dithered":
        numbers = np.random.default_rng(rng.randrange(2**32))
        out = (ramp > numbers.random((side, side))).astype(np.float64)
    else:
        out = ramp
    low, high = np.array(_colour(rng, 0, 90)), np.array(_colour(rng, 160))
    shown = low + out[:, :, None] * (high - low)
    return Image.fromarray(np.round(shown).astype(np.uint8))


KINDS = {"photograph": photo, "page": page, "screen": screen, "logo": logo}


def saved(picture: Image.Image, quality: int) -> Image.Image:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=quality)
    return Image.open(out).convert(picture.mode)


def finished(rng: random.Random, picture: Image.Image) -> tuple[Image.Image, str]:
    """Return a picture as it is, sharpened, or saved as JPEG, and in words how."""
    return hardened(rng, picture, rng.choice(("", "", "sharpened", "JPEG", "sharpened, JPEG")))


def hardened(rng: random.Random, picture: Image.Image, how: str) -> tuple[Image.Image, str]:
    """Return a picture sharpened and saved as words tell, and those words with the quality."""
    if "sharpened" in how:
        radius, percent = rng.uniform(0.8, 2.0), rng.randint(60, 150)
        picture = picture.filter(ImageFilter.UnsharpMask(radius, percent, 2))
    if "JPEG" in how:
        quality = rng.choice((75, 82, 88, 92, 95))
        picture, how = saved(picture, quality), f"{how} {quality}"
    return picture, how


@dataclass(frozen=True)
class Held:
    """A picture, and by how much it was enlarged."""

    picture: Image.Image
    factor: float
    kind: str


def enlarged(rng: random.Random, kind: str, sides: Sequence[int] = SIDES) -> tuple[Held, str]:
    factor = rng.choice((1.5, 2.0, 2.0, 3.0, 4.0, round(rng.uniform(1.5, 5.0), 2)))
    resample = rng.choice(FILTERS)
    side = rng.choice(sides)
    small = KINDS[kind](rng, max(round(side / factor), 48))
    size = round(small.width * factor)
    picture = small.resize((size, size), Image.Resampling[resample])
    picture, how = finished(rng, picture)
    name = f"{kind} {size} px, {factor} times by {resample}{', ' * bool(how)}{how}"
    return Held(picture, size / small.width, kind), name


def sound(rng: random.Random, kind: str, sides: Sequence[int] = SIDES) -> tuple[Held, str]:
    side = rng.choice(sides)
    how = rng.choice(("", "", "reduced", "soft"))
    if how == "reduced":
        large = KINDS[kind](rng, round(side * rng.uniform(1.3, 2.5)))
        picture = large.resize((side, side), Image.Resampling[rng.choice(FILTERS[1:])])
    elif how == "soft" and kind == "photograph":
        picture = KINDS[kind](rng, side).filter(ImageFilter.GaussianBlur(rng.uniform(0.7, 2.5)))
    else:
        picture = KINDS[kind](rng, side)
    picture, after = finished(rng, picture)
    return Held(picture, 1.0, kind), f"{kind} {side} px {how} {after}"


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(seed)
    for kind in KINDS:
        held, name = enlarged(rng, kind)
        yield Case(name, True, held)
        held, name = sound(rng, kind)
        yield Case(name, False, held)
    side = rng.choice((128, 200, 400))
    yield Case(f"pattern {side} px", False, Held(pattern(rng, side), 1.0, "pattern"))


def judge(case: Case) -> Judged:
    samples = Samples(np.asarray(case.held.picture), RGB)
    item = placed(300, space=RGB)
    exam = make_exam(content=Content(images=(item,)), pictures={1: samples})
    return told(exam, case.faulty, case.held.factor)


def told(exam: Exam, faulty: bool, true: float) -> Judged:
    """Return what is said of a picture placed at 300 ppi; a wrong factor, or a range without the
    true one, is nothing said."""
    every = examine("image.enlarged", exam)
    found = [one for one in every if isinstance(one, Finding) and one.check == "image.enlarged"]
    if not found:
        idle = [one for one in every if isinstance(one, NotApplicable)]
        untold = any(one.untold for one in idle if one.check == "image.enlarged")
        return UNTOLD if untold else None
    if not faulty:
        return found[0].severity
    (finding,) = found
    spread = re.search(r"enlarged about ([\d.]+) to ([\d.]+) times", finding.message)
    low, high = (float(spread[1]), float(spread[2])) if spread else (1 - CLOSE, 1 + CLOSE)
    factor = true if spread else true * float(finding.measured) / 300
    return finding.severity if low - 0.05 <= factor <= high + 0.05 else None
