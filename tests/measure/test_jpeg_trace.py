"""The quality a picture was compressed at, read from its samples; Pillow compresses."""

from __future__ import annotations

import io

import numpy as np
import pytest
import skimage
from PIL import Image

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
