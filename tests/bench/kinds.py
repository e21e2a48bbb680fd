"""Heavy art of many kinds, each generated in seconds: what a sleeve may be drawn of."""

from __future__ import annotations

import io
import math
import struct
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import Image
from reportlab.lib.colors import CMYKColor
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from tests.bench.heavy import BLEED, TRIM, photograph
from tests.bench.streamed import streamed
from tests.bench.table import ART
from tests.factories import Pdf, Raw, Ref, Stream, disc_path

WIDTH, HEIGHT = (side + 2 * BLEED for side in TRIM)
GROUND = f"0.05 0.08 0.2 0 k 0 0 {WIDTH} {HEIGHT} re f\n"
SPOTS = ("Gold", "Silver", "Varnish", "Orange", "Violet", "Green")
PT = 72 / 25.4


class Kind(NamedTuple):
    """A kind of heavy art: what it is called, what writes it, and the spec it is made to."""

    title: str
    write: Callable[[Path], None]
    suffix: str = ".pdf"
    spec: str = "jacket-12in"


def _spread(count: int, seed: int = 7) -> np.ndarray:
    """Return places (count, 2) all over the sleeve in mm."""
    rng = np.random.default_rng(seed)
    return rng.random((count, 2)) * (WIDTH - 20, HEIGHT - 20) + 10


def _jacket(path: Path, content: str, pdf: Pdf | None = None, **resources: object) -> None:
    pdf = pdf or Pdf()
    pdf.page(
        GROUND + content,
        (WIDTH, HEIGHT),
        trim_mm=(BLEED, BLEED, WIDTH - BLEED, HEIGHT - BLEED),
        bleed_mm=(0, 0, WIDTH, HEIGHT),
        resources=resources,
    )
    path.write_bytes(pdf.bytes())


def curves(path: Path) -> None:
    """60,000 discs of four curves each."""
    parts = [
        f"{i % 7 / 10} {i % 5 / 8} 0.4 0 k "
        f"{disc_path(round(x, 2), round(y, 2), 0.3 + i % 9 / 10)} f"
        for i, (x, y) in enumerate(_spread(60_000))
    ]
    _jacket(path, "\n".join(parts))


def strokes(path: Path) -> None:
    """30,000 lines, every other one dashed, a third of them bent."""
    parts = []
    for i, (x, y) in enumerate(_spread(30_000)):
        dash = "[1 .5] 0 d" if i % 2 else "[] 0 d"
        bend = f"{x + 3:.2f} {y:.2f} {x + 3:.2f} {y + 4:.2f} {x + 6:.2f} {y + 4:.2f} c"
        line = bend if i % 3 == 0 else f"{x + 6:.2f} {y + 4:.2f} l"
        parts.append(f"{dash} {0.1 + i % 4 / 10:.1f} w 0 {i % 9 / 9:.2f} 0.2 0 K "
                     f"{x:.2f} {y:.2f} m {line} S")  # fmt: skip
    _jacket(path, "\n".join(parts))


def glyphs(path: Path) -> None:
    """20,000 letters set one by one along curves."""
    pdfmetrics.registerFont(TTFont("bench", str(ART / "fonts" / "Jost-Regular.ttf")))
    canvas = Canvas(str(path), pagesize=(WIDTH * PT, HEIGHT * PT), invariant=1)
    canvas.setTrimBox([n * PT for n in (BLEED, BLEED, WIDTH - BLEED, HEIGHT - BLEED)])
    canvas.setFillColor(CMYKColor(0.05, 0.08, 0.2, 0))
    canvas.rect(0, 0, WIDTH * PT, HEIGHT * PT, stroke=0, fill=1)
    canvas.setFillColor(CMYKColor(0, 0, 0, 1))
    canvas.setFont("bench", 9)
    words = "harbour lights over the quiet water "
    for i in range(20_000):
        ring, step = divmod(i, 500)
        angle = step * 2 * math.pi / 500
        radius = (60 + 2.4 * ring) * PT
        text = canvas.beginText()
        x, y = WIDTH * PT / 2 + radius * math.cos(angle), HEIGHT * PT / 2 + radius * math.sin(angle)
        text.setTextTransform(math.cos(angle), math.sin(angle), -math.sin(angle),
                              math.cos(angle), x, y)  # fmt: skip
        text.textOut(words[i % len(words)])
        canvas.drawText(text)
    canvas.save()


def pictures(path: Path) -> None:
    """400 CMYK photographs of a square inch at 300 ppi, 20 different ones."""
    pdf = Pdf()
    made = [_photo(pdf, 300, seed) for seed in range(20)]
    parts = [
        f"q 25.4 0 0 25.4 {x:.2f} {y:.2f} cm /P{i % 20} Do Q"
        for i, (x, y) in enumerate(_spread(400) * 0.94)
    ]
    _jacket(path, "\n".join(parts), pdf, XObject={f"P{i}": ref for i, ref in enumerate(made)})


def _photo(pdf: Pdf, side: int, seed: int) -> Ref:
    entries = {
        "Type": "XObject", "Subtype": "Image", "Width": side, "Height": side,
        "ColorSpace": "DeviceCMYK", "BitsPerComponent": 8, "Filter": "DCTDecode",
        "Decode": Raw("[1 0 1 0 1 0 1 0]"),
    }  # fmt: skip
    return pdf.add(Stream(photograph(side, seed), entries))


def masks(path: Path) -> None:
    """40 shapes seen through soft masks of their own, by turns in five blend modes."""
    pdf = Pdf()
    modes = ("Normal", "Multiply", "Screen", "Overlay", "Darken")
    states, parts = {}, []
    for i, (x, y) in enumerate(_spread(40) * 0.8):
        fade = {
            "ShadingType": 3, "ColorSpace": "DeviceGray", "Extend": Raw("[true true]"),
            "Coords": [x + 50, y + 25, 0, x + 50, y + 25, 45],
            "Function": {"FunctionType": 2, "Domain": [0, 1], "C0": [1], "C1": [0], "N": 1},
        }  # fmt: skip
        group = {
            "Type": "XObject", "Subtype": "Form", "BBox": [0, 0, WIDTH, HEIGHT],
            "Group": {"S": "Transparency", "CS": "DeviceGray"},
            "Resources": {"Shading": {"F": fade}},
        }  # fmt: skip
        mask = {"S": "Luminosity", "G": pdf.add(Stream(b"/F sh", group))}
        states[f"M{i}"] = {"SMask": mask, "BM": modes[i % 5], "ca": 0.9}
        parts.append(f"q /M{i} gs {i % 4 / 4} {i % 3 / 3:.2f} 0.3 0 k {x} {y} 100 50 re f Q")
    _jacket(path, "\n".join(parts), pdf, ExtGState=states)


def meshes(path: Path) -> None:
    """12 meshes of 2,000 triangles each (ShadingType 4)."""
    rng = np.random.default_rng(5)
    pdf = Pdf()
    made, parts = {}, []
    for i, (x, y) in enumerate(_spread(12) * 0.8):
        corners = rng.random((6_000, 2))
        inks = rng.integers(0, 200, (6_000, 4))
        data = b"".join(
            struct.pack(">BHH4B", 0, int(u * 65535), int(v * 65535), *ink)
            for (u, v), ink in zip(corners.tolist(), inks.tolist(), strict=True)
        )
        entries = {
            "ShadingType": 4, "ColorSpace": "DeviceCMYK", "BitsPerCoordinate": 16,
            "BitsPerComponent": 8, "BitsPerFlag": 8,
            "Decode": [x, x + 90, y, y + 50, 0, 1, 0, 1, 0, 1, 0, 1],
        }  # fmt: skip
        made[f"S{i}"] = pdf.add(Stream(data, entries))
        parts.append(f"q {x} {y} 90 50 re W n /S{i} sh Q")
    _jacket(path, "\n".join(parts), pdf, Shading=made)


def spots(path: Path) -> None:
    """6 spots, 6,000 shapes in them, every other one overprinting."""
    spaces = {
        f"C{i}": ["Separation", name, "DeviceCMYK", {
            "FunctionType": 2, "Domain": [0, 1], "C0": [0, 0, 0, 0],
            "C1": [i / 6, 1 - i / 6, 0.5, 0], "N": 1,
        }]
        for i, name in enumerate(SPOTS)
    }  # fmt: skip
    states = {"On": {"op": True, "OP": True, "OPM": 1}, "Off": {"op": False, "OP": False}}
    parts = [
        f"/{'On' if i % 2 else 'Off'} gs /C{i % 6} cs {0.3 + i % 7 / 10:.1f} scn "
        f"{disc_path(round(x, 2), round(y, 2), 1 + i % 5)} f"
        for i, (x, y) in enumerate(_spread(6_000))
    ]
    _jacket(path, "\n".join(parts), ColorSpace=spaces, ExtGState=states)


def gatefold_tiff(path: Path) -> None:
    """The outside of a gatefold in CMYK at 300 ppi, 29 megapixels, packed by LZW."""
    width, height = (round(side / 25.4 * 300) for side in (642.0, 321.0))
    part = Image.open(io.BytesIO(photograph(2048)))
    whole = Image.new("CMYK", (width, height))
    for x in range(0, width, 2048):
        for y in range(0, height, 2048):
            whole.paste(part, (x, y))
    whole.save(path, "TIFF", compression="tiff_lzw", dpi=(300, 300))


def object_streams(path: Path) -> None:
    """80 MB of PDF 2.0: 20 pictures that do not compress, 20,000 objects in object streams."""
    path.write_bytes(streamed((WIDTH, HEIGHT), BLEED, pictures=20, forms=4_000))


KINDS = (
    Kind("60,000 curved fills", curves),
    Kind("30,000 strokes, half of them dashed", strokes),
    Kind("20,000 glyphs on curves", glyphs),
    Kind("400 pictures", pictures),
    Kind("40 soft masks and blends", masks),
    Kind("12 meshes", meshes),
    Kind("6 spots with overprint", spots),
    Kind("a gatefold in a TIFF", gatefold_tiff, ".tif", "gatefold-12in"),
    Kind("object streams, 80 MB", object_streams),
)
