"""The heavy jacket: 60,000 paths and a 14-megapixel CMYK photograph, written in a second or two."""

from __future__ import annotations

import io
import math
from pathlib import Path

import numpy as np
from PIL import Image

from tests.factories import Pdf, Raw, Stream

TRIM = (633.0, 315.0)
BLEED = 3.0
PATHS = 60_000
SIDE_PX = 3745
"""3745 by 3745 samples at 300 ppi cover 317.1 mm: one face with its bleed, 14 megapixels."""


def write_heavy_jacket(path: Path) -> None:
    """Write the jacket, the photograph on its front, the paths all over it."""
    pdf = Pdf()
    photo = pdf.add(
        Stream(
            photograph(SIDE_PX),
            {
                "Type": "XObject", "Subtype": "Image", "Width": SIDE_PX, "Height": SIDE_PX,
                "ColorSpace": "DeviceCMYK", "BitsPerComponent": 8, "Filter": "DCTDecode",
                "Decode": Raw("[1 0 1 0 1 0 1 0]"),
            },
        )
    )  # fmt: skip
    width, height = (side + 2 * BLEED for side in TRIM)
    side = SIDE_PX * 25.4 / 300
    ground = f"0.05 0.08 0.2 0 k 0 0 {width} {height} re f\n"
    picture = f"q {side} 0 0 {side} {width - side} {height - side} cm /Photo Do Q\n"
    pdf.page(
        ground + picture + paths(width, height),
        (width, height),
        trim_mm=(BLEED, BLEED, width - BLEED, height - BLEED),
        bleed_mm=(0, 0, width, height),
        resources={"XObject": {"Photo": photo}},
    )
    path.write_bytes(pdf.bytes())


def photograph(side: int, seed: int = 3) -> bytes:
    """Return a CMYK JPEG of noise that falls with frequency, as in photographs."""
    rng = np.random.default_rng(seed)
    planes = []
    for most in (0.7, 0.6, 0.7, 0.3):
        plane = np.zeros((side, side), np.float32)
        for octave in range(7):
            cells = 4 * 2**octave
            coarse = Image.fromarray(rng.random((cells, cells), np.float32))
            fine = coarse.resize((side, side), Image.Resampling.BICUBIC)
            plane += np.asarray(fine) / 1.7**octave
        plane += 0.05 * rng.standard_normal((side, side), np.float32)
        plane = (plane - plane.min()) / np.ptp(plane) * most
        planes.append((plane * 255).astype(np.uint8))
    out = io.BytesIO()
    Image.merge("CMYK", [Image.fromarray(plane) for plane in planes]).save(
        out, "JPEG", quality=90, dpi=(300, 300)
    )
    return out.getvalue()


def paths(width: float, height: float, count: int = PATHS) -> str:
    """Return so many small curved shapes, six operators each, in a sunflower's order."""
    parts = []
    golden = math.pi * (3 - math.sqrt(5))
    for index in range(count):
        share = (index + 0.5) / count
        x = width * (0.5 + 0.46 * math.sqrt(share) * math.cos(index * golden))
        y = height * (0.5 + 0.46 * math.sqrt(share) * math.sin(index * golden))
        r = 0.4 + 0.6 * ((index * 37) % 100) / 100
        c, m = (index % 7) / 10, (index % 5) / 8
        parts.append(
            f"{c:.1f} {m:.3f} 0.5 0.1 k {x - r:.3f} {y:.3f} m {x:.3f} {y + r:.3f} l "
            f"{x + r:.3f} {y:.3f} {x + r:.3f} {y - r:.3f} {x:.3f} {y - r:.3f} c h f"
        )
    return "\n".join(parts)
