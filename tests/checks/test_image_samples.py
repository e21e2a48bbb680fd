import io

import numpy as np
import pytest
import skimage
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from prepcheck.art.model import Content, Samples
from prepcheck.checks.image_samples import lightness_of, shows
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.art.test_raster import psd
from tests.checks.exams import CMYK, examine, findings, make_exam
from tests.checks.pictures import GREY, LAB, RGB, picture
from tests.truth._run import said

ENLARGED = "image.enlarged"
COMPRESSION = "image.compression"


def photo(factor=1.0, resample=Image.Resampling.BICUBIC):
    image = Image.fromarray(skimage.data.coffee())
    size = (round(image.width * factor), round(image.height * factor))
    return image if factor == 1 else image.resize(size, resample)


def exam(samples, item):
    return make_exam(content=Content(images=(item,)), pictures={1: samples})


def spoken(identifier, part):
    return [s for s in examine(identifier, part) if getattr(s, "check", None) == identifier]


@pytest.mark.parametrize("factor", [1.5, 2.0, 3.0])
def test_an_enlarged_photograph_is_a_query_with_its_true_resolution(factor) -> None:
    samples = Samples(np.asarray(photo(factor)), RGB)
    (finding,) = findings(ENLARGED, exam(samples, picture(300, space=RGB)))
    assert finding.severity == "query"
    assert finding.measured == pytest.approx(300 / factor, rel=0.1)
    assert finding.required == 300
    assert finding.where[0].box == Box(-5, -5, 5, 5)


@pytest.mark.parametrize("kind", ["tif", "jpg", "png", "psd", "pdf"])
def test_an_enlarged_photograph_is_told_in_whatever_file_it_comes(kind, tmp_path) -> None:
    """A sticker of 50 mm with its bleed at 300 ppi by count, enlarged 661 / 264 times by Pillow."""
    art = photo().crop((150, 60, 414, 324)).resize((661, 661), Image.Resampling.BICUBIC)
    path = tmp_path / f"art.{kind}"
    if kind == "psd":
        path.write_bytes(psd(np.asarray(art), 3))
    elif kind == "pdf":
        side = 56 / 25.4 * 72
        canvas = Canvas(str(path), pagesize=(side, side))
        canvas.drawImage(ImageReader(art), 0, 0, side, side)
        canvas.save()
    else:
        art.save(path, dpi=(300, 300), **({"quality": 95} if kind == "jpg" else {}))
    (finding,) = said(path, ENLARGED, "sticker-square-50mm")
    assert finding.measured == pytest.approx(300 * 264 / 661, rel=0.15)


def test_a_photograph_as_taken_is_clear() -> None:
    samples = Samples(np.asarray(photo()), RGB)
    (said,) = spoken(ENLARGED, exam(samples, picture(300, space=RGB)))
    assert isinstance(said, Clear)


def test_enlarged_with_detail_to_spare_is_clear() -> None:
    samples = Samples(np.asarray(photo(2.0)), RGB)
    assert findings(ENLARGED, exam(samples, picture(610, space=RGB))) == []


def test_one_bit_and_small_pictures_are_not_judged() -> None:
    flat = Samples(np.zeros((600, 600, 1), np.uint8), GREY)
    for item in (picture(300, bits=1, space=GREY), picture(300, space=GREY)):
        (said,) = spoken(ENLARGED, exam(flat, item))
        assert isinstance(said, NotApplicable)


def test_a_picture_that_does_not_decode_is_not_judged() -> None:
    part = make_exam(content=Content(images=(picture(),)))
    assert all(isinstance(said, NotApplicable) for said in examine(ENLARGED, part))


@pytest.mark.parametrize(
    ("space", "pixel", "light"),
    [
        (GREY, [200], 200),
        (RGB, [255, 255, 255], 255),
        (RGB, [0, 0, 0], 0),
        (LAB, [120, 128, 128], 120),
        (CMYK, [0, 0, 0, 0], 255),
        (CMYK, [0, 0, 0, 255], 0),
        (CMYK, [255, 255, 255, 255], 0),
    ],
)
def test_lightness_of_samples(space, pixel, light) -> None:
    data = np.array(pixel, np.uint8).reshape(1, 1, -1)
    assert lightness_of(Samples(data, space))[0, 0] == light


def jpeg(quality):
    """Return a photograph compressed by libjpeg with its tables, as an independent source."""
    buffer = io.BytesIO()
    photo().save(buffer, "JPEG", quality=quality)
    image = Image.open(buffer)
    tables = tuple(tuple(table) for table in image.quantization.values())
    return Samples(np.asarray(image), RGB, tables)


@pytest.mark.parametrize(
    ("quality", "ppi", "found"),
    [
        (30, 300, True),
        (59, 300, True),
        (60, 300, False),
        (61, 300, False),
        (92, 300, False),
        (40, 300, True),
        (40, 450, True),
        (40, 480, False),
        (59, 150, True),
        (60, 150, False),
    ],
)
def test_compression_by_quality_and_resolution(quality, ppi, found) -> None:
    """Quality 40 scales the tables by 125 %, quality 60 by 80 %: alike at 469 ppi."""
    part = exam(jpeg(quality), picture(ppi, space=RGB))
    assert bool(findings(COMPRESSION, part)) == found
    assert found or any(isinstance(s, Clear) for s in spoken(COMPRESSION, part))
    assert all(f.measured == quality for f in findings(COMPRESSION, part))


def test_the_threshold_is_inclusive() -> None:
    assert not shows(60, 300, 300)
    assert shows(59, 300, 300)


def test_a_picture_packed_without_loss_has_no_compression_to_judge() -> None:
    samples = Samples(np.asarray(photo()), RGB)
    (said,) = spoken(COMPRESSION, exam(samples, picture(300, space=RGB)))
    assert isinstance(said, NotApplicable)


def test_of_a_picture_that_cannot_be_read_nothing_is_said_to_be_clear() -> None:
    """Damaged beyond use, of an unknown filter, too large: the page has no samples of it."""
    good = picture(300, Box(-5, -5, 5, 5), space=RGB)
    lost = picture(300, Box(8, 8, 18, 18), space=RGB, key=2)
    known = {1: Samples(np.asarray(photo()), RGB)}
    for items, whose in (((lost,), "a picture"), ((good, lost), "1 of 2 pictures")):
        part = make_exam(content=Content(images=items), pictures=known)
        for identifier in (ENLARGED, COMPRESSION):
            (said_so,) = spoken(identifier, part)
            assert isinstance(said_so, NotApplicable)
            assert said_so.untold
            assert f"of {whose}: its samples cannot be read" in said_so.why
