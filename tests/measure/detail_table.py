"""How often enlargements are found, and how often pictures that were not enlarged are suspected.

Run `python -m tests.measure.detail_table` for the table. The photographs ship with scikit-image
(skimage/data/README.txt has their licences); Pillow, an independent program, enlarges them.
`moon` is left out: as shipped it is a picture of half the size with every sample doubled.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator

import numpy as np
import skimage
from PIL import Image, ImageFilter

from prepcheck.measure.detail import true_share

PHOTOS = ("astronaut", "coffee", "chelsea", "camera", "rocket", "brick", "grass", "gravel")
FILTERS = ("NEAREST", "BILINEAR", "BICUBIC", "LANCZOS")
FACTORS = (1.5, 1.7, 2.0, 2.7, 10 / 3, 4.0, 4.6)
QUALITIES = (None, 95, 85, 75, 60)
CLOSE = 0.1
"""Share by which the factor may be off."""


def photo(name: str) -> Image.Image:
    return Image.fromarray(getattr(skimage.data, name)()).convert("L")


def compressed(image: Image.Image, quality: int | None) -> Image.Image:
    """Return the picture saved as JPEG and read again."""
    if quality is None:
        return image
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=quality)
    return Image.open(buffer).convert("L")


def resized(image: Image.Image, factor: float, resample: str) -> Image.Image:
    size = (round(image.width * factor), round(image.height * factor))
    return image.resize(size, Image.Resampling[resample])


def noisy(image: Image.Image, spread: float) -> Image.Image:
    values = np.asarray(image) + np.random.default_rng(1).normal(0, spread, image.size[::-1])
    return Image.fromarray(np.clip(values, 0, 255).astype(np.uint8))


def soft(image: Image.Image, radius: float) -> Image.Image:
    return image.filter(ImageFilter.GaussianBlur(radius))


def originals(image: Image.Image) -> Iterator[tuple[str, Image.Image]]:
    """Yield pictures that hold what they seem to hold, by name."""
    yield "as it is", image
    for quality in (95, 85, 75, 60):
        yield f"JPEG {quality}", compressed(image, quality)
    for radius in (0.7, 1.0, 1.5, 2.5, 4.0):
        yield f"soft {radius}", soft(image, radius)
        for quality in (90, 60):
            yield f"soft {radius}, JPEG {quality}", compressed(soft(image, radius), quality)
    for spread in (3, 8, 20):
        yield f"noise {spread}", noisy(image, spread)
    for factor in (0.9, 0.75):
        for resample in FILTERS[1:]:
            yield f"reduced {factor} {resample}", resized(image, factor, resample)
    yield "sharpened", image.filter(ImageFilter.UnsharpMask(2, 150, 0))


def factor_of(image: Image.Image) -> float:
    return true_share(np.asarray(image)).factor


def false_alarms(names: tuple[str, ...]) -> tuple[int, list[str]]:
    """Return how many originals were looked at, and those suspected."""
    looked, wrong = 0, []
    for name in names:
        for kind, image in originals(photo(name)):
            looked += 1
            if (factor := factor_of(image)) > 1:
                wrong.append(f"{name}, {kind}: {factor:.2f}")
    return looked, wrong


def main() -> None:
    looked, wrong = false_alarms(PHOTOS)
    write = sys.stdout.write
    write(f"not enlarged: {looked} pictures, {len(wrong)} suspected {wrong}\n")
    write("enlarged: found with the right factor / found with a wrong one / of\n")
    pictures = [photo(name) for name in PHOTOS]
    for resample in FILTERS:
        cells = []
        for quality in QUALITIES:
            right = off = 0
            for image in pictures:
                for factor in FACTORS:
                    found = factor_of(compressed(resized(image, factor, resample), quality))
                    close = abs(factor / found - 1) <= CLOSE
                    right += close
                    off += found > 1 and not close
            total = len(pictures) * len(FACTORS)
            cells.append(f"{'lossless' if quality is None else quality}: {right}/{off}/{total}")
        write(f"{resample:9s} {'   '.join(cells)}\n")


if __name__ == "__main__":
    main()
