import numpy as np
import pytest
import skimage
from PIL import Image, ImageDraw, ImageFilter

from prepcheck.measure.detail import LEAST_SAMPLES, Method, true_share
from tests.measure.detail_table import (
    FILTERS,
    compressed,
    factor_of,
    false_alarms,
    photo,
    resized,
)


@pytest.mark.parametrize("name", ["astronaut", "chelsea"])
@pytest.mark.parametrize("factor", [1.5, 1.7, 2.0, 2.7, 4.0])
@pytest.mark.parametrize("resample", FILTERS)
def test_enlargements_are_found_with_their_factor(name, factor, resample) -> None:
    """Enlarged by Pillow; the true resolution must come out within 10 %."""
    found = factor_of(resized(photo(name), factor, resample))
    assert factor / found == pytest.approx(1, rel=0.1)


@pytest.mark.parametrize("factor", [1.5, 2.7, 4.0])
@pytest.mark.parametrize("resample", FILTERS[1:])
@pytest.mark.parametrize("quality", [95, 85])
def test_also_after_jpeg(factor, resample, quality) -> None:
    found = factor_of(compressed(resized(photo("coffee"), factor, resample), quality))
    assert factor / found == pytest.approx(1, rel=0.1)


def test_no_photograph_as_taken_soft_noisy_reduced_or_compressed_is_suspected() -> None:
    looked, wrong = false_alarms(("astronaut", "gravel"))
    assert looked > 50
    assert wrong == []


def test_a_photograph_shipped_with_doubled_samples_is_found_out() -> None:
    """skimage's moon: every second row and column repeats the one before."""
    moon = skimage.data.moon()
    assert (moon[:, 0::2] == moon[:, 1::2]).mean() > 0.9 or (
        moon[:, 1:-1:2] == moon[:, 2::2]
    ).mean() > 0.9
    estimate = true_share(moon)
    assert estimate.factor == pytest.approx(2, rel=0.05)


def gradient(direction):
    x, y = np.meshgrid(np.linspace(0, 1, 700), np.linspace(0, 1, 700))
    return (255 * (x * direction[0] + y * direction[1]) / sum(direction)).astype(np.uint8)


def drawing():
    image = Image.new("L", (900, 900), 255)
    pen = ImageDraw.Draw(image)
    for step in range(40):
        pen.ellipse((step * 11, step * 7, step * 19 + 60, step * 15 + 90), outline=0, width=3)
        pen.rectangle((step * 21, 880 - step * 9, step * 21 + 9, 890), fill=step * 6)
    return np.asarray(image)


@pytest.mark.parametrize(
    "picture",
    [
        gradient((1, 0)),
        gradient((0, 1)),
        gradient((1, 1)),
        gradient((3, 1)),
        np.full((600, 600), 128, np.uint8),
        drawing(),
        np.asarray(Image.fromarray(drawing()).point(lambda v: 255 * (v > 128))),
        np.kron(np.indices((75, 75)).sum(axis=0) % 2 * 255, np.ones((8, 8))).astype(np.uint8),
        np.random.default_rng(2).integers(0, 256, (600, 600)).astype(np.uint8),
    ],
    ids=["across", "down", "diagonal", "slant", "flat", "drawing", "1-bit", "chequers", "noise"],
)
def test_gradients_graphics_and_noise_are_not_suspected(picture) -> None:
    assert true_share(picture).share == 1


def test_a_very_small_picture_is_not_judged_and_says_why() -> None:
    small = np.asarray(photo("coffee"))[: LEAST_SAMPLES - 1]
    assert not true_share(small).judged
    assert "128" in true_share(small).why
    assert true_share(np.asarray(photo("coffee"))[:LEAST_SAMPLES]).judged


def test_what_is_soft_without_a_trace_is_not_judged() -> None:
    """A lens may have made it soft, or an enlargement of which nothing is left."""
    blurred = photo("coffee").filter(ImageFilter.GaussianBlur(3))
    estimate = true_share(np.asarray(blurred))
    assert (estimate.judged, estimate.share) == (False, 1)


def test_smooth_pictures_that_compression_hardened_are_not_called_clear() -> None:
    """Where little stands but steps of a level or two, the whole looks hard and its edges do not;
    the photograph as published is judged."""
    retina = Image.fromarray(skimage.data.retina()).convert("L").crop((500, 500, 700, 700))
    small = resized(retina, 1 / 1.3, "LANCZOS")
    blown = compressed(resized(small, 4.0, "LANCZOS"), 88)
    estimate = true_share(np.asarray(blown))
    assert not estimate.judged or estimate.share < 1
    sound = true_share(np.asarray(small))
    assert (sound.judged, sound.share) == (True, 1)


def word(factor: int) -> Image.Image:
    """Return a large word by Pillow, drawn with smooth edges and enlarged, then blurred so that no
    trace of resampling is left."""
    small = Image.new("L", (1600 // factor, 1600 // factor), 255)
    pen = ImageDraw.Draw(small)
    pen.ellipse([v // factor for v in (200, 300, 1400, 900)], fill=40)
    pen.rectangle([v // factor for v in (700, 200, 860, 1400)], fill=120)
    large = small.resize((1600, 1600), Image.Resampling.BICUBIC)
    return large.rotate(7, Image.Resampling.BICUBIC, fillcolor=255)


def test_edges_of_flat_art_tell_a_range() -> None:
    estimate = true_share(np.asarray(word(5)))
    assert estimate.share < 1
    if estimate.method is Method.SPREAD:
        assert estimate.factor <= 5 <= estimate.widest
    assert true_share(np.asarray(word(1))).share == 1


def test_the_method_is_told() -> None:
    image = photo("chelsea")
    assert true_share(np.asarray(resized(image, 2, "NEAREST"))).method is Method.REPEATED
    assert true_share(np.asarray(resized(image, 2, "BICUBIC"))).method is Method.INTERPOLATED
    assert true_share(np.asarray(image)).method is Method.NONE
