"""Pages drawn by reportlab, in mm from the piece's centre, as what the checks look at.

A page may be flattened: PDFium paints it, and the picture is all that a second page holds.
"""

from __future__ import annotations

import io
import itertools
import random
import tempfile
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont as Outlines
from PIL import Image
from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from prepcheck.art.open import open_art
from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Affine, Box
from prepcheck.measure.trim import locate_trim
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import plates_or_screen, printed_view
from prepcheck.press.view import View
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.model import Spec
from tests.checks.exams import findings, label_spec, sleeve_spec
from tests.truth._delivered import Delivered

MM = 72 / 25.4
FONT = Path(__file__).parents[2] / "sample_art" / "fonts" / "Jost-Regular.ttf"
HOLE, RIM = 3.62, 50.0
FOLDS = (-1.5, 1.5)
SLEEVE = Box(-61.5, -30.0, 61.5, 30.0)
BLEED = 3.0
PAPER, BLACK = CMYKColor(0, 0, 0, 0), CMYKColor(0, 0, 0, 1)

Draw = Callable[[Canvas], None]


def drawn(draw: Draw, sleeve: bool = False, margin: float = BLEED) -> bytes:
    """Return a PDF of a 100 mm label, or of a sleeve of two faces of 60 mm and a spine of 3 mm."""
    wide, high = (SLEEVE.width, SLEEVE.height) if sleeve else (2 * RIM, 2 * RIM)
    out = io.BytesIO()
    size = (wide + 2 * margin) * MM, (high + 2 * margin) * MM
    canvas = Canvas(out, pagesize=size, pageCompression=1)
    edge = margin * MM
    canvas.setTrimBox((edge, edge, size[0] - edge, size[1] - edge))
    canvas.translate(size[0] / 2, size[1] / 2)
    canvas.scale(MM, MM)
    draw(canvas)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def flattened(page: bytes, ppi: float = 300.0, quality: int | None = None) -> Image.Image:
    """Return a page as a CMYK picture without black; a quality has it saved as JPEG before."""
    document = pypdfium2.PdfDocument(page)
    picture = document[0].render(scale=ppi / 72).to_pil().convert("RGB")
    document.close()
    if quality is not None:
        held = io.BytesIO()
        picture.save(held, "JPEG", quality=quality, subsampling=0)
        picture = Image.open(held).convert("RGB")
    return _cmy(picture)


def _cmy(picture: Image.Image) -> Image.Image:
    rgb = np.asarray(picture)
    bare = np.zeros((*rgb.shape[:2], 1), np.uint8)
    return Image.fromarray(np.concatenate((255 - rgb, bare), axis=2), "CMYK")


def as_picture(picture: Image.Image, sleeve: bool = False, margin: float = BLEED) -> bytes:
    """Return a page that holds nothing but a picture that covers it."""
    wide, high = (SLEEVE.width, SLEEVE.height) if sleeve else (2 * RIM, 2 * RIM)
    w, h = wide + 2 * margin, high + 2 * margin

    def draw(canvas: Canvas) -> None:
        canvas.drawImage(ImageReader(picture), -w / 2, -h / 2, w, h)

    return drawn(draw, sleeve, margin)


def exam_of(page: bytes | Delivered, sleeve: bool = False, ppi: float | None = None) -> Exam:
    """Return a page as what is examined, painted at 600 ppi (a label) or 300 (a sleeve)."""
    file = page if isinstance(page, Delivered) else Delivered(page)
    with tempfile.TemporaryDirectory() as folder:
        art = open_art(file.as_file(Path(folder)))
        spec = _spec(sleeve)
        outline = spec.outline_of()
        place = locate_trim(art.pages[0], outline, 3.0, 0.5, True, art.document.layers)
        box = outline.bounds.grown(6)
        fine = ppi or (300.0 if sleeve else 600.0)
        plates, separation = plates_or_screen(art.pages[0], place.to_piece, box, fine)
        content = art.pages[0].content(place.to_piece)
        view = printed_view(plates)

    def closer(to_frame: Affine, area: Box, close_ppi: float) -> Plates:
        assert separation is not None
        return separation.plates(to_frame, [area], close_ppi)[0]

    def render(sheet: Sheet) -> View:
        return view

    sheet = Sheet(
        1, art.pages[0], outline, place, render, lambda sheet: plates, closer, walked=content
    )
    return Exam(spec, art, (sheet,))


@cache
def _spec(sleeve: bool) -> Spec:
    return sleeve_spec() if sleeve else label_spec()


def worst_of(exam: Exam, checks: Sequence[str]) -> Severity | None:
    """Return the worst that some checks say."""
    found: list[Finding] = [f for check in checks for f in findings(check, exam)]
    order = (Severity.STOP, Severity.QUERY, Severity.NOTE)
    return next((one for one in order if one in {f.severity for f in found}), None)


def ground(canvas: Canvas, colour: CMYKColor) -> None:
    """Paint the whole page."""
    canvas.setFillColor(colour)
    canvas.rect(-80, -80, 160, 160, stroke=0, fill=1)


def tone(rng: random.Random, most: float = 0.5) -> CMYKColor:
    """Return a pale colour."""
    return CMYKColor(*(rng.uniform(0, most) for _ in range(3)), 0)


def photo(rng: random.Random, side: int = 300) -> Image.Image:
    """Return a lively CMYK picture: blobs of all sizes, and grain."""
    grain = np.random.default_rng(rng.randrange(1 << 30))
    total = np.zeros((side, side, 3))
    for cells in (4, 9, 20, 60):
        small = grain.uniform(0, 255, (cells, cells, 3)).astype(np.uint8)
        total += np.asarray(Image.fromarray(small).resize((side, side), Image.Resampling.BICUBIC))
    rgb = np.clip(total / 4 + grain.normal(0, 6, total.shape), 0, 255).astype(np.uint8)
    return Image.fromarray(rgb).convert("CMYK")


@cache
def outline_points(letter: str, size: float) -> np.ndarray:
    """Return points on a letter's outline in mm from its origin, its own curves finely followed."""
    font = _outlines()
    glyphs = font.getGlyphSet()
    pen = DecomposingRecordingPen(glyphs)
    glyphs[font.getBestCmap()[ord(letter)]].draw(pen)
    points, last, first = [], (0.0, 0.0), (0.0, 0.0)
    t = np.linspace(0, 1, 60)[:, None]
    for name, args in pen.value:
        if name == "moveTo":
            last = first = args[0]
        elif name in ("lineTo", "closePath"):
            end = args[0] if args else first
            points.append((1 - t) * np.array(last) + t * np.array(end))
            last = end
        elif name == "qCurveTo":
            ends = [*args[:-1]]
            implied = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in itertools.pairwise(ends)]
            for control, end in zip(ends, [*implied, args[-1]], strict=True):
                a, b, c = np.array(last), np.array(control), np.array(end)
                points.append((1 - t) ** 2 * a + 2 * t * (1 - t) * b + t**2 * c)
                last = end
        elif name == "curveTo":
            a, b, c, d = (np.array(p) for p in (last, *args))
            points.append((1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c
                          + t**3 * d)  # fmt: skip
            last = args[-1]
    return np.concatenate(points) * size / font["head"].unitsPerEm


@cache
def _outlines() -> Outlines:
    return Outlines(FONT)


def type_at(
    canvas: Canvas, letter: str, size: float, x: float, y: float, turn: float, colour: CMYKColor
) -> None:
    """Set type with its origin at a place, turned by degrees."""
    pdfmetrics.registerFont(TTFont("Drawn", str(FONT)))
    canvas.saveState()
    canvas.translate(x, y)
    canvas.rotate(turn)
    canvas.setFillColor(colour)
    canvas.setFont("Drawn", size)
    canvas.drawString(0, 0, letter)
    canvas.restoreState()
