"""Pictures with too few samples, or worse than they say."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from drawing import photo
from drawing.amend import make_one_bit
from drawing.manifest import Fault
from drawing.singles.label import fault, label, single


def picture_label(path: Path, image: Image.Image | Path, w: float, h: float) -> None:
    """A label with one picture below the hole, its middle at (0, -24)."""
    art = label(path)
    art.picture(image, -w / 2, -24.0 - h / 2, w, h)
    art.save()


def jpeg(path: Path, image: Image.Image, quality: int) -> Path:
    """Save a picture as JPEG beside the art under a passing name and return its path."""
    passing = path.with_suffix(".passing.jpg")
    image.save(passing, quality=quality, subsampling=0)
    return passing


def pictured(path: Path, image: Image.Image, quality: int, w: float, h: float) -> None:
    passing = jpeg(path, image, quality)
    picture_label(path, passing, w, h)
    passing.unlink()


def _picture_fault(severity: str, ppi: int, limit: int, w_px: int, w: float) -> Fault:
    return fault(
        "image.resolution",
        severity,
        f"a picture at {ppi} ppi",
        measured=w_px / w * 25.4,
        required=limit,
        unit="ppi",
        x=0.0,
        y=-24.0,
    )


@single("picture-150ppi.pdf", _picture_fault("stop", 150, 200, 236, 40.0))
def picture_150(path: Path) -> None:
    pictured(path, photo.in_cmyk(photo.hills(236, 142, 21)), 92, 40.0, 40.0 * 142 / 236)


@single("picture-250ppi.pdf", _picture_fault("query", 250, 300, 394, 40.0))
def picture_250(path: Path) -> None:
    pictured(path, photo.in_cmyk(photo.hills(394, 236, 21)), 92, 40.0, 40.0 * 236 / 394)


@single(
    "line-art-400ppi.pdf",
    fault(
        "image.resolution",
        "stop",
        "1-bit line art at 400 ppi",
        measured=400.0,
        required=600.0,
        unit="ppi",
        x=0.0,
        y=-24.0,
    ),
)
def line_art_400(path: Path) -> None:
    tones = photo.hills(400, 240, 17)
    screen = 0.5 + 0.45 * np.sin(np.arange(240) * 2 * np.pi / 6)[:, None]
    engraving = photo.in_grey((tones > screen).astype(float))
    picture_label(path, engraving, 25.4, 25.4 * 240 / 400)
    make_one_bit(path)


@single(
    "picture-enlarged.pdf",
    fault(
        "image.enlarged",
        "query",
        "150 ppi of detail blown up to 300",
        measured=150.0,
        required=300.0,
        unit="ppi",
        x=0.0,
        y=-24.0,
    ),
)
def picture_enlarged(path: Path) -> None:
    small = photo.in_cmyk(photo.hills(236, 142, 21))
    large = small.resize((472, 284), Image.Resampling.BICUBIC)
    pictured(path, large, 95, 472 * 25.4 / 300, 284 * 25.4 / 300)


@single(
    "picture-jpeg-damage.pdf",
    fault("image.compression", "query", "a picture saved at JPEG quality 12", x=0.0, y=-24.0),
)
def picture_jpeg_damage(path: Path) -> None:
    large = photo.in_cmyk(photo.hills(472, 284, 21))
    pictured(path, large, 12, 472 * 25.4 / 300, 284 * 25.4 / 300)
