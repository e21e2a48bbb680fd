"""Pictures decoded in another thread: the same samples, as often as they are put to use."""

from __future__ import annotations

import io
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from PIL import Image

from prepcheck.art.decoded_ahead import USES, DecodedAhead
from prepcheck.art.jpeg import read_jpeg
from prepcheck.art.limits import Limits
from prepcheck.errors import UnreadableError


def jpeg(side: int = 40) -> bytes:
    out = io.BytesIO()
    samples = np.random.default_rng(5).integers(0, 256, (side, side, 4), np.uint8)
    Image.frombytes("CMYK", (side, side), samples.tobytes()).save(out, "JPEG")
    return out.getvalue()


def test_it_is_what_reading_it_gives_and_goes_after_its_last_use() -> None:
    ahead, data = DecodedAhead(), jpeg()
    with ThreadPoolExecutor(1) as pool:
        ahead.begin(pool, data, Limits())
        for _ in range(USES):
            picture = ahead.picture(data, None)
            assert picture is not None
            assert np.array_equal(picture.data, read_jpeg(data, Limits()).data)
            assert not picture.data.flags.writeable
    assert ahead.picture(data, None) is None


def test_one_that_stands_on_two_pages_is_decoded_once_for_the_uses_of_both() -> None:
    ahead, data = DecodedAhead(), jpeg()
    with ThreadPoolExecutor(1) as pool:
        ahead.begin(pool, data, Limits())
        ahead.begin(pool, data, Limits())
        pictures = [ahead.picture(data, None) for _ in range(2 * USES)]
    assert pictures[0] is not None
    assert all(picture is pictures[0] for picture in pictures)
    assert ahead.picture(data, None) is None


def test_others_are_not_there_and_none_once_let_go() -> None:
    ahead, data = DecodedAhead(), jpeg()
    with ThreadPoolExecutor(1) as pool:
        ahead.begin(pool, data, Limits())
        assert ahead.picture(jpeg(41), None) is None
        assert ahead.picture(data, 1) is None
        ahead.let_go()
        assert ahead.picture(data, None) is None


def test_damage_is_told_where_the_picture_is_asked_for() -> None:
    ahead = DecodedAhead()
    with ThreadPoolExecutor(1) as pool:
        ahead.begin(pool, b"\xff\xd8 no picture", Limits())
        with pytest.raises(UnreadableError):
            ahead.picture(b"\xff\xd8 no picture", None)
