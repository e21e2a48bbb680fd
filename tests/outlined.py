"""Labels and sleeves whose type is outlines or a picture: glyphs by fontTools and Pillow, placed
here, with no code shared with what reads them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import uharfbuzz as hb
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

from tests.factories import Pdf, disc_path

ROOT = Path(__file__).parent.parent
_ALL = [
    path
    for folder in ("prepcheck/proof/fonts", "sample_art/fonts")
    for path in sorted((ROOT / folder).glob("*.ttf"))
]
FACES = {path.stem: path for path in _ALL if not path.stem.startswith(("NotoSans", "WenQuan"))}
PT = 25.4 / 72


@dataclass(frozen=True)
class Set:
    """A line of type: its words, size in pt, face, and where it stands in mm on the page.

    `turn` in degrees, anticlockwise. With a `radius` it runs about (x, y), its middle at the
    angle `turn`: clockwise along the top, or `inward=False` to be read from below.
    """

    words: str
    x: float
    y: float
    pt: float = 8.0
    face: str = "Jost-Regular"
    turn: float = 0.0
    radius: float = 0.0
    inward: bool = True
    apart: bool = False
    """Each letter a path of its own."""


SCRIPTS = {
    "DejaVuSans": "جميع الحقوق محفوظة",
    "NotoSansDevanagari-Regular": "सर्वाधिकार सुरक्षित",
    "NotoSansBengali-Regular": "সর্বস্বত্ব সংরক্ষিত",
    "NotoSansTamil-Regular": "அனைத்து உரிமைகளும்",
    "NotoSansThai-Regular": "สงวนลิขสิทธิ์ทั้งหมด",
    "WenQuanYiMicroHei-CJK": "東京録音株式会社",
}
"""Words in scripts that need shaping, or signs of many strokes, by the face that has them."""


@dataclass(frozen=True)
class Shaped(Set):
    """A line whose glyphs HarfBuzz chooses and places, about the same place and way."""


@cache
def _shaping(face: str) -> hb.Font:
    path = next((ROOT / "prepcheck/proof/fonts").glob(f"{face}.ttf"))
    return hb.Font(hb.Face(hb.Blob.from_file_path(str(path))))


@cache
def _font(face: str) -> TTFont:
    return TTFont(next(path for path in _ALL if path.stem == face))


def outlines(line: Set) -> str:
    """Return a line as filled paths in mm, glyph by glyph."""
    font = _font(line.face)
    cmap, widths = font.getBestCmap(), font["hmtx"].metrics
    names = [cmap[ord(c)] for c in line.words]
    return _placed(line, [(name, 0, 0, widths[name][0]) for name in names])


def shaped(line: Shaped) -> str:
    """Return a line as filled paths in mm, in the order of its glyphs from left to right."""
    buffer = hb.Buffer()
    buffer.add_str(line.words)
    buffer.guess_segment_properties()
    hb.shape(_shaping(line.face), buffer)
    names = _font(line.face).getGlyphOrder()
    return _placed(
        line,
        [
            (names[info.codepoint], at.x_offset, at.y_offset, at.x_advance)
            for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True)
        ],
    )


def _placed(line: Set, run: Sequence[tuple[str, float, float, float]]) -> str:
    """Return glyphs as filled paths: their names, how far off they stand and how far they lead."""
    font = _font(line.face)
    glyphs = font.getGlyphSet()
    scale = line.pt * PT / font["head"].unitsPerEm
    out, at = [], -sum(wide for *_, wide in run) * scale / 2
    for name, x_off, y_off, wide in run:
        width = wide * scale
        middle, at = at + x_off * scale + width / 2, at + width
        if line.radius:
            way = 1 if line.inward else -1
            angle = math.radians(line.turn) - way * middle / line.radius
            tilt = angle - way * math.pi / 2
            foot = (line.x + line.radius * math.cos(angle), line.y + line.radius * math.sin(angle))
        else:
            tilt = math.radians(line.turn)
            foot = (line.x + middle * math.cos(tilt), line.y + middle * math.sin(tilt))
        c, s = scale * math.cos(tilt), scale * math.sin(tilt)
        x = foot[0] - wide / 2 * c - y_off * s
        y = foot[1] - wide / 2 * s + y_off * c
        pen = DecomposingRecordingPen(glyphs)
        glyphs[name].draw(TransformPen(pen, (c, s, -s, c, x, y)))
        out.append(_operators(pen))
    return ("f\n" if line.apart else "").join(out) + "f\n"


def _operators(pen: DecomposingRecordingPen) -> str:
    out: list[str] = []
    here = (0.0, 0.0)

    def put(operator: str, *points: tuple[float, float]) -> None:
        out.append(" ".join(f"{v:.4f}" for point in points for v in point) + f" {operator}\n")

    for verb, points in pen.value:
        if verb == "moveTo":
            put("m", points[0])
        elif verb == "lineTo":
            put("l", points[0])
        elif verb == "curveTo":
            put("c", *points)
        elif verb == "qCurveTo":
            *controls, last = points
            for i, q in enumerate(controls):
                end = last if i + 1 == len(controls) else _mid(q, controls[i + 1])
                put("c", _toward(here, q), _toward(end, q), end)
                here = end
        else:
            out.append("h\n")
        here = points[-1] if points else here
    return "".join(out)


def _mid(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _toward(end: tuple[float, float], control: tuple[float, float]) -> tuple[float, float]:
    return tuple(e + (c - e) * 2 / 3 for e, c in zip(end, control, strict=True))  # type: ignore[return-value]


def label(path: Path, lines: Sequence[Set], *, extra: str = "") -> Path:
    """Write a 12-inch label (100 mm and 3 mm of bleed); places count from its centre."""
    pdf = Pdf()
    drawn = "".join(outlines(line) for line in lines)
    pdf.page(
        f"0.05 0.1 0.25 0 k {disc_path(53, 53, 53)} f\nq 1 0 0 1 53 53 cm 0 0 0 1 k\n{drawn}Q\n"
        + extra,
        (106, 106),
        trim_mm=(3, 3, 103, 103),
        bleed_mm=(0, 0, 106, 106),
    )
    path.write_bytes(pdf.bytes())
    return path
