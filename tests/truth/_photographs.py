"""Real photographs as art, whole and with a fault added.

The photographs are those that the wheel of scikit-image carries, each free of copyright by its own
page there (CC0 or in the public domain). Truth by construction: a photograph that covers the page
and runs out past the bleed is no fault, whatever stands in it; what is added (a word, a line, a cut
edge, an enlargement, a hard compression) is one, at a known place or by a known figure.
"""

from __future__ import annotations

import io
import math
import random
import re
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2
import skimage
from PIL import Image, ImageDraw, ImageFilter, ImageFont
from PIL.Image import Resampling
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Box
from prepcheck.said import NotApplicable, Said
from tests.checks.exams import examine
from tests.outlined import FACES
from tests.truth._page import BLEED, HOLE, RIM, SLEEVE, as_picture, drawn, exam_of
from tests.truth.case import UNTOLD, Case, Judged
from tests.truth.enlarged import CLOSE

FILES = Path(skimage.__file__).parent / "data"
TUNED_ON = ("astronaut.png", "brick.png", "camera.png", "chelsea.png", "coins.png",
            "hubble_deep_field.jpg", "moon.png", "motorcycle_left.png", "rocket.jpg")  # fmt: skip
KEPT_BACK = ("clock_motion.png", "coffee.png", "grass.png", "gravel.png", "ihc.png",
             "retina.jpg")  # fmt: skip
"""What is told of edges was not tuned on these."""

ROOM = ("trim.clearance", "hole.clearance", "fold.clearance", "guide.printing", "bleed.short",
        "bleed.missing", "bleed.other-colour")  # fmt: skip
PIXELS = ("image.enlarged", "image.compression")
FAULTS = ("word at the rim", "word at the hole", "line", "no bleed", "enlarged", "saved low")
FOUND_BY = {
    "word at the rim": ("trim.clearance",),
    "word at the hole": ("hole.clearance",),
    "line": ("guide.printing",),
    "no bleed": ("bleed.short", "bleed.missing"),
    "enlarged": ("image.enlarged",),
    "saved low": ("image.compression",),
}
FLAT_PPI = 300.0
LARGEST = 1600
"""Samples along the longer side of a photograph; larger ones are reduced before anything else."""
STANDS_OUT = 70
"""Levels of 255 by which what is added differs from most of what lies beneath it."""


@cache
def published(name: str) -> Image.Image:
    """Return a photograph as it is published; of the round one, what lies within its circle."""
    whole = Image.open(FILES / name).convert("RGB")
    if max(whole.size) > LARGEST:
        whole.thumbnail((LARGEST, LARGEST), Resampling.LANCZOS)
    if name == "moon.png":
        # Every row and column is there twice: published enlarged, as prepcheck says of it.
        whole = whole.resize((256, 256), Resampling.NEAREST)
    if name == "retina.jpg":
        side = round(min(whole.size) * 0.62)
        x, y = (whole.width - side) // 2, (whole.height - side) // 2
        return whole.crop((x, y, x + side, y + side))
    return whole


def cases(seed: int, names: Sequence[str]) -> Iterator[Case]:
    name, turn = names[seed % len(names)], seed // len(names)
    fault = FAULTS[(seed + turn) % len(FAULTS)]
    where = "sleeve" if _is_sleeve(seed) else "label"
    made = "flattened" if (seed + turn) % 2 else "placed"
    yield Case(f"{name}, {where}, {made}", False, (seed, name, "", made))
    yield Case(f"{name}, {fault}", True, (seed, name, fault, ""))


def _is_sleeve(seed: int) -> bool:
    return seed % 5 == 4


def judge(case: Case) -> Judged:
    every = told(case)
    found = [said.severity for said in every if isinstance(said, Finding)]
    if not found and any(isinstance(said, NotApplicable) and said.untold for said in every):
        return UNTOLD
    return min(found, key=list(Severity).index, default=None)


def told(case: Case) -> Sequence[Said]:
    """Return what is found, or said not to be told; a wrong factor is nothing found."""
    seed, name, fault, made = case.held
    rng = random.Random(f"{seed}{name}{fault}")
    picture = _taken(rng, name)
    if fault in ("enlarged", "saved low"):
        return _of_pixels(rng, picture, fault)
    sleeve, place = _is_sleeve(seed) and not fault, None
    page = drawn(lambda canvas: _place(canvas, rng, picture, sleeve), sleeve)
    if made == "placed":
        checks = (*ROOM, *PIXELS)
    else:
        flat = _flat(page)
        if fault:
            flat, place = _with_fault(rng, flat, fault)
        elif rng.random() < 0.4:
            # In the middle of a face, or of the art between hole and rim.
            turn = rng.choice((0.0, 180.0)) if sleeve else rng.uniform(0, 360)
            flat, _ = _with_word(rng, flat, 31.5 if sleeve else 25.0, turn)
        if rng.random() < 0.5:
            flat = _saved(flat, rng.choice((85, 90, 95)))
        page = as_picture(_inks(flat), sleeve)
        checks = FOUND_BY.get(fault, ROOM)
    found = _found(page, sleeve, checks)
    if place is None:
        return found
    return [one for one in found if isinstance(one, Finding) and _shows(one, place)]


def _shows(finding: Finding, place: Box) -> bool:
    """Say whether a finding marks what stands at a place."""
    return any(mark.box.overlap(place) is not None for mark in finding.where)


def _found(page: bytes, sleeve: bool, checks: Sequence[str]) -> list[Said]:
    """Return findings under some checks, and what they say that they cannot tell."""
    exam = exam_of(page, sleeve)
    every = [said for check in checks for said in examine(check, exam)]
    return [
        said for said in dict.fromkeys(every)
        if isinstance(said, Finding | NotApplicable) and said.check in checks
    ]  # fmt: skip


def _taken(rng: random.Random, name: str) -> Image.Image:
    """Return a part of a photograph, mirrored, tinted or neither."""
    whole = published(name)
    side = round(min(whole.size) * rng.uniform(0.7, 1.0))
    x, y = rng.randint(0, whole.width - side), rng.randint(0, whole.height - side)
    part = whole.crop((x, y, x + side, y + side))
    if rng.random() < 0.5:
        part = part.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    if rng.random() < 0.3:
        dark, light = (
            np.array([rng.uniform(0, 60) for _ in range(3)]),
            np.array([rng.uniform(170, 250) for _ in range(3)]),
        )
        share = np.asarray(part.convert("L"), np.float64)[:, :, None] / 255
        part = Image.fromarray(np.round(dark + share * (light - dark)).astype(np.uint8))
    # No paper shows within a photograph here: what ends at paper is another class.
    if rng.random() < 0.5:
        part = _reduced(part, rng.uniform(1.2, 1.5))
    return part.point(lambda value: min(value, 240))


def _place(canvas: Canvas, rng: random.Random, picture: Image.Image, sleeve: bool) -> None:
    """Cover the page with a picture, turned, and a little larger than it must be; in half of the
    cases with the picture and its mirror images side by side, so that it has more pixels."""
    high, wide = (SLEEVE.height, SLEEVE.width) if sleeve else (2 * RIM, 2 * RIM)
    turn = rng.choice((0.0, 90.0, 180.0, rng.uniform(0, 360)))
    c, s = abs(math.cos(math.radians(turn))), abs(math.sin(math.radians(turn)))
    across, up = wide + 2 * BLEED + 1, high + 2 * BLEED + 1
    side = max(across * c + up * s, across * s + up * c) * rng.uniform(1.0, 1.25)
    if rng.random() < 0.5:
        picture = _mirrored(picture)
    canvas.rotate(turn)
    canvas.drawImage(ImageReader(_inks(picture)), -side / 2, -side / 2, side, side)


def _mirrored(picture: Image.Image) -> Image.Image:
    own = np.asarray(picture)
    row = np.concatenate((own, own[:, ::-1]), axis=1)
    return Image.fromarray(np.concatenate((row, row[::-1])))


def _inks(picture: Image.Image) -> Image.Image:
    rgb = np.asarray(picture)
    bare = np.zeros((*rgb.shape[:2], 1), np.uint8)
    return Image.fromarray(np.concatenate((255 - rgb, bare), axis=2), "CMYK")


def _flat(page: bytes) -> Image.Image:
    """Return a page as PDFium shows it, at FLAT_PPI."""
    document = pypdfium2.PdfDocument(page)
    picture = document[0].render(scale=FLAT_PPI / 72).to_pil().convert("RGB")
    document.close()
    return picture


def _saved(picture: Image.Image, quality: int) -> Image.Image:
    held = io.BytesIO()
    picture.save(held, "JPEG", quality=quality, subsampling=0)
    return Image.open(held).convert("RGB")


def _with_fault(
    rng: random.Random, flat: Image.Image, fault: str
) -> tuple[Image.Image, Box | None]:
    """Return a picture with a fault added, and the box in mm of the word where it is one."""
    if fault == "word at the rim":
        return _with_word(rng, flat, RIM + rng.uniform(-1.5, 0.5), rng.uniform(0, 360))
    if fault == "word at the hole":
        return _with_word(rng, flat, HOLE + rng.uniform(0.5, 2.0), rng.uniform(0, 360))
    radius = np.hypot(*_places(flat))
    if fault == "line":
        ring = np.abs(radius - RIM)
        half = rng.uniform(0.08, 0.17)
        cover = np.clip((half - ring) / 0.0847 + 0.5, 0, 1)
        return _inked(flat, cover, ring < 1.0), None
    beyond = rng.choice((0.0, 0.4, 0.8, 1.2))
    bare = np.clip((radius - RIM - beyond) / 0.0847 + 0.5, 0, 1)[:, :, None]
    rgb = np.asarray(flat, np.float64)
    return Image.fromarray(np.round(rgb * (1 - bare) + 255 * bare).astype(np.uint8)), None


def _places(flat: Image.Image) -> tuple[np.ndarray, np.ndarray]:
    mm = 25.4 / FLAT_PPI
    x = (np.arange(flat.width) + 0.5 - flat.width / 2) * mm
    y = (flat.height / 2 - np.arange(flat.height) - 0.5) * mm
    return x[None, :], y[:, None]


def _with_word(
    rng: random.Random, flat: Image.Image, far: float, angle: float
) -> tuple[Image.Image, Box]:
    """Return a picture with a word set on it, its middle so far from the picture's middle, and the
    box of its letters in mm."""
    face = ImageFont.truetype(str(FACES[rng.choice(sorted(FACES))]),
                              round(rng.uniform(8, 16) / 72 * FLAT_PPI))  # fmt: skip
    word = rng.choice(("Halden", "Stereo", "ORRERY", "Side A", "33 rpm", "Lanternfold"))
    mask = Image.new("L", flat.size, 0)
    mm = FLAT_PPI / 25.4
    x = flat.width / 2 + far * mm * math.cos(math.radians(angle))
    y = flat.height / 2 - far * mm * math.sin(math.radians(angle))
    ImageDraw.Draw(mask).text((x, y), word, font=face, fill=255, anchor="mm")
    cover = np.asarray(mask, np.float64) / 255
    around = np.asarray(mask.filter(ImageFilter.MaxFilter(9))) > 0
    left, top, right, bottom = mask.getbbox() or (0, 0, 0, 0)
    x, y = flat.width / 2, flat.height / 2
    box = Box((left - x) / mm, (y - bottom) / mm, (right - x) / mm, (y - top) / mm)
    return _inked(flat, cover, around), box


def _inked(flat: Image.Image, cover: np.ndarray, around: np.ndarray) -> Image.Image:
    """Return a picture with a shape on it, in the ink that stands out best from what lies round
    it."""
    rgb = np.asarray(flat, np.float64)
    inks = ((0, 0, 0), (255, 255, 255), (230, 0, 126), (0, 158, 227), (255, 237, 0))
    apart = [float(np.quantile(np.abs(rgb[around] - ink).max(axis=1), 0.1)) for ink in inks]
    best = int(np.argmax(apart))
    assert apart[best] >= STANDS_OUT
    shape = cover[:, :, None]
    return Image.fromarray(np.round(rgb * (1 - shape) + shape * inks[best]).astype(np.uint8))


def _of_pixels(rng: random.Random, picture: Image.Image, fault: str) -> Sequence[Said]:
    """Return what is found of a picture's own samples, in a page."""
    # Whatever was done to it before it was published is gone once it is smaller.
    small = _reduced(picture, rng.uniform(1.2, 1.5))
    if fault == "enlarged":
        factor = rng.choice((1.5, 2.0, 3.0, 4.0, rng.uniform(1.5, 4.5)))
        side = round(small.width * factor)
        filters = (Resampling.NEAREST, Resampling.BILINEAR, Resampling.BICUBIC, Resampling.LANCZOS)
        art = small.resize((side, side), rng.choice(filters))
        if rng.random() < 0.3:
            art = art.filter(ImageFilter.UnsharpMask(1.2, 100, 2))
        if rng.random() < 0.4:
            art = _saved(art, rng.choice((85, 92)))
    else:
        factor = 1.0
        art = _saved(small, rng.randint(12, 45))
        if rng.random() < 0.5:
            art = _saved(art, 94)
    (check,) = FOUND_BY[fault]
    side_mm = 2 * RIM + 2 * BLEED
    page = drawn(lambda canvas: canvas.drawImage(
        ImageReader(art), -side_mm / 2, -side_mm / 2, side_mm, side_mm))  # fmt: skip
    found = _found(page, False, (check,))
    said = next((one for one in found if isinstance(one, Finding)), None)
    if fault != "enlarged" or said is None:
        return found
    ppi = art.width / side_mm * 25.4
    spread = re.search(r"enlarged about ([\d.]+) to ([\d.]+) times", said.message)
    low, high = (float(spread[1]), float(spread[2])) if spread else (1 - CLOSE, 1 + CLOSE)
    times = factor if spread else factor * float(said.measured) / ppi
    return found if low - 0.05 <= times <= high + 0.05 else []


def _reduced(picture: Image.Image, times: float) -> Image.Image:
    side = round(picture.width / times)
    return picture.resize((side, side), Resampling.LANCZOS)
