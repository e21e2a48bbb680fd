import io

import numpy as np
import pytest
from PIL import Image

from prepcheck.measure.jpeg_quality import ANNEX_K_LUMINANCE, quality_of, scale_percent


def tables(quality, mode="RGB"):
    """Return the tables libjpeg writes, read back by Pillow."""
    buffer = io.BytesIO()
    Image.new(mode, (16, 16)).save(buffer, "JPEG", quality=quality)
    return tuple(tuple(table) for table in Image.open(buffer).quantization.values())


@pytest.mark.parametrize("quality", [*range(5, 100, 5), 1, 99, 100])
@pytest.mark.parametrize("mode", ["RGB", "L", "CMYK"])
def test_the_quality_libjpeg_was_asked_for(quality, mode) -> None:
    assert quality_of(tables(quality, mode)) == quality


def test_annex_k_is_what_libjpeg_uses_at_50() -> None:
    assert sorted(tables(50)[0]) == sorted(ANNEX_K_LUMINANCE)
    assert tables(50)[0] == ANNEX_K_LUMINANCE


def test_the_order_of_entries_does_not_matter() -> None:
    mixed = np.random.default_rng(3).permutation(tables(73)[0])
    assert quality_of([tuple(int(v) for v in mixed)]) == 73


@pytest.mark.parametrize(("quality", "percent"), [(25, 200), (50, 100), (75, 50), (100, 0)])
def test_scaling_of_the_tables(quality, percent) -> None:
    assert scale_percent(quality) == percent


def test_no_tables() -> None:
    assert quality_of(()) is None
    assert quality_of([(1, 2, 3)]) is None
