"""The quality a picture was compressed at, read from its samples; Pillow compresses."""

from __future__ import annotations

import io
import random

import numpy as np
import pytest
import skimage
from PIL import Image, ImageDraw

from prepcheck.measure.jpeg_trace import Trace, traced_quality


def photo(name: str) -> Image.Image:
    return Image.fromarray(getattr(skimage.data, name)()).convert("L")


def saved(picture: Image.Image, quality: int) -> Image.Image:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=quality)
    return Image.open(out).convert("L")


def traced(picture: Image.Image) -> int | None:
    return traced_quality(np.asarray(picture), np.ascontiguousarray).quality


@pytest.mark.parametrize("name", ["camera", "brick", "coffee"])
@pytest.mark.parametrize("quality", [20, 35, 50])
@pytest.mark.parametrize("then", ["", "cropped", "saved again"])
def test_quality_is_read_back(name: str, quality: int, then: str) -> None:
    picture = saved(photo(name), quality)
    if then == "cropped":
        picture = picture.crop((3, 5, picture.width - 6, picture.height))
    elif then == "saved again":
        picture = saved(picture, 92)
    found = traced(picture)
    assert found is not None
    assert quality - 4 <= found <= quality + 2


@pytest.mark.parametrize("name", ["camera", "brick", "coffee", "grass"])
def test_nothing_is_read_where_nothing_was_done(name: str) -> None:
    whole = photo(name)
    assert traced(whole) is None
    assert traced(whole.resize((whole.width * 3 // 4, whole.height * 3 // 4))) is None
    assert traced(saved(whole, 95)) is None


@pytest.mark.parametrize("shape", [(3, 3), (16, 400), (400, 400)])
def test_flat_and_small_pictures(shape: tuple[int, int]) -> None:
    assert traced_quality(np.full(shape, 90, np.uint8), np.ascontiguousarray) == Trace(None)


def flat_art(seed: int, kind: str) -> Image.Image:
    """Return a page of a few flat shapes: edges that run straight are alike from end to end."""
    rng = random.Random(f"{seed}{kind}")
    page = Image.new("L", (rng.randint(500, 1500), rng.randint(400, 900)), rng.randint(120, 250))
    draw = ImageDraw.Draw(page)
    for _ in range(rng.randint(1, 7)):
        x, y = rng.randrange(page.width), rng.randrange(page.height)
        box = (x, y, x + rng.randint(20, 400), y + rng.randint(20, 300))
        tone = rng.randint(1, 254)
        if kind == "boxes":
            draw.rectangle(box, fill=tone)
        elif kind == "frames":
            draw.rectangle(box, outline=tone, width=rng.randint(2, 30))
        elif kind == "discs":
            draw.ellipse(box, fill=tone)
        else:
            apart = rng.randint(6, 40)
            for left in range(x, box[2], apart):
                draw.rectangle((left, y, left + apart // 3, box[3]), fill=tone)
    return page


@pytest.mark.parametrize("kind", ["boxes", "frames", "discs", "stripes"])
def test_flat_art_that_never_was_a_jpeg_shows_no_trace_of_one(kind: str) -> None:
    """Truth by construction: Pillow draws upright and round shapes of one tone each."""
    assert [seed for seed in range(30) if traced(flat_art(seed, kind)) is not None] == []
    told = [traced(saved(flat_art(seed, kind), 25)) is not None for seed in range(30)]
    assert sum(told) >= 10, "there is little to tell by, but not nothing"
