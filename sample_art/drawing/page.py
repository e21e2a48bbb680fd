"""A page of art in mm round the piece's centre, on top of reportlab."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, chdir, contextmanager, nullcontext
from functools import cache
from itertools import pairwise
from pathlib import Path

from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont as FontFile
from PIL import Image
from reportlab import rl_config
from reportlab.lib.colors import CMYKColor, CMYKColorSep, Color
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from drawing.brand import BLACK, Ink

PT = 72 / 25.4
"""Points in a mm."""
FONTS = Path(__file__).parents[1] / "fonts"
REGULAR, STRONG, ITALIC = "Jost-Regular", "Jost-SemiBold", "Fraunces-Italic"
CAPITALS = 0.7
"""Height of the capitals of the two sans fonts, in ems."""

Xy = tuple[float, float]
_SHARE = {"left": 0.0, "start": 0.0, "middle": 0.5, "right": 1.0, "end": 1.0}
"""How much of a line lies left of the point it is aligned to."""


def register_fonts() -> None:
    """Make the sample's fonts known; their subsets are embedded in every file."""
    rl_config.useA85 = 0
    for name in (REGULAR, STRONG, ITALIC):
        pdfmetrics.registerFont(TTFont(name, str(FONTS / f"{name}.ttf")))


def spot(name: str, likeness: Ink, tint: float = 1.0) -> CMYKColorSep:
    """Return a named ink; `likeness` is its alternate in the process inks."""
    c, m, y, k = likeness
    return CMYKColorSep(c, m, y, k, spotName=name, density=tint)


def _colour(paint: Ink | Color) -> Color:
    return paint if isinstance(paint, Color) else CMYKColor(*paint)


class Art:
    """One PDF of art.

    `trim` is the trimmed size, `page` the page's (trim and 3 mm of bleed all round unless given),
    `shift` moves the art off the page's centre, `scale` draws it larger or smaller than life.
    """

    def __init__(
        self,
        path: Path,
        trim: Xy,
        *,
        page: Xy | None = None,
        bleed: float = 3.0,
        trim_box: bool = True,
        shift: Xy = (0.0, 0.0),
        scale: float = 1.0,
        turned: bool = False,
        encrypt: object = None,
    ) -> None:
        self.trim, self.bleed, self.trim_box = trim, bleed, trim_box
        self.shift, self.scale, self.turned = shift, scale, turned
        self.page = page or (trim[0] + 6.0, trim[1] + 6.0)
        size = [side * scale * PT for side in self.page]
        self.canvas = Canvas(
            str(path),
            pagesize=size,
            invariant=1,
            pageCompression=1,
            encrypt=encrypt,
            initialFontName=REGULAR,
        )
        self.canvas.setTitle("Salt Roads")
        self.canvas.setAuthor("Lanternfold Recordings")
        self._begin()

    def _begin(self) -> None:
        c = self.canvas
        cx = self.page[0] / 2 + self.shift[0]
        cy = self.page[1] / 2 + self.shift[1]
        unit = PT * self.scale
        if self.trim_box:
            c.setTrimBox(self._box(cx, cy, 0.0, unit))
            c.setBleedBox(self._box(cx, cy, self.bleed, unit))
        if self.turned:
            c.setPageRotation(90)
        c.saveState()
        c.scale(unit, unit)
        c.translate(cx, cy)

    def _box(self, cx: float, cy: float, margin: float, unit: float) -> tuple[float, ...]:
        w, h = self.trim[0] / 2 + margin, self.trim[1] / 2 + margin
        return tuple(v * unit for v in (cx - w, cy - h, cx + w, cy + h))

    def next_page(self) -> None:
        """Finish this page and begin another of the same kind."""
        self.canvas.restoreState()
        self.canvas.showPage()
        self._begin()

    def save(self) -> None:
        """Finish the file."""
        self.canvas.restoreState()
        self.canvas.showPage()
        self.canvas.save()

    # -- shapes -----------------------------------------------------------------------------

    def rect(self, x0: float, y0: float, x1: float, y1: float, paint: Ink | Color) -> None:
        self.canvas.setFillColor(_colour(paint))
        self.canvas.rect(x0, y0, x1 - x0, y1 - y0, stroke=0, fill=1)

    def flood(self, paint: Ink | Color, bleed: float = 3.0) -> None:
        """Cover the trimmed piece and `bleed` mm beyond."""
        w, h = self.trim[0] / 2 + bleed, self.trim[1] / 2 + bleed
        self.rect(-w, -h, w, h, paint)

    def disc(self, x: float, y: float, radius: float, paint: Ink | Color) -> None:
        self.canvas.setFillColor(_colour(paint))
        self.canvas.circle(x, y, radius, stroke=0, fill=1)

    def ring(self, radius: float, width: float, paint: Ink | Color, at: Xy = (0.0, 0.0)) -> None:
        self.canvas.setStrokeColor(_colour(paint))
        self.canvas.setLineWidth(width)
        self.canvas.circle(at[0], at[1], radius, stroke=1, fill=0)

    def line(self, points: Sequence[Xy], width: float, paint: Ink | Color) -> None:
        self.canvas.setStrokeColor(_colour(paint))
        self.canvas.setLineWidth(width)
        path = self.canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        self.canvas.drawPath(path, stroke=1, fill=0)

    def shape(self, points: Iterable[Xy], paint: Ink | Color) -> None:
        """Fill a closed line of corners."""
        corners = list(points)
        self.canvas.setFillColor(_colour(paint))
        path = self.canvas.beginPath()
        path.moveTo(*corners[0])
        for corner in corners[1:]:
            path.lineTo(*corner)
        path.close()
        self.canvas.drawPath(path, stroke=0, fill=1)

    def fade(self, x0: float, y0: float, x1: float, y1: float, start: Ink, end: Ink) -> None:
        """Fill a rectangle with a fade from left to right."""
        self.canvas.saveState()
        path = self.canvas.beginPath()
        path.rect(x0, y0, x1 - x0, y1 - y0)
        self.canvas.clipPath(path, stroke=0, fill=0)
        self.canvas.linearGradient(x0, y0, x1, y0, (_colour(start), _colour(end)), extend=False)
        self.canvas.restoreState()

    def picture(self, image: Image.Image | Path, x: float, y: float, w: float, h: float) -> None:
        """Place a picture with its lower left corner at (x, y)."""
        if isinstance(image, Image.Image):
            self.canvas.drawImage(ImageReader(image), x, y, w, h)
            return
        with chdir(image.parent):  # reportlab names pictures after the path it is given
            self.canvas.drawImage(image.name, x, y, w, h)

    @contextmanager
    def overprinting(self) -> Iterator[None]:
        """Let what is filled in the meantime overprint (mode 1)."""
        self.canvas.saveState()
        self.canvas.setFillOverprint(True)
        self.canvas.setOverprintMask(1)
        yield
        self.canvas.restoreState()

    # -- type -------------------------------------------------------------------------------

    def _typing(self, paint: Ink | Color) -> AbstractContextManager[None]:
        """Small black type overprints; a colour object instead of figures leaves it cut out."""
        return self.overprinting() if paint == BLACK else nullcontext()

    def text(
        self,
        words: str,
        x: float,
        y: float,
        pt: float,
        paint: Ink | Color,
        font: str = REGULAR,
        *,
        align: str = "left",
        track: float = 0.0,
        wide: float = 1.0,
    ) -> None:
        """Set one line; `track` adds that share of the size after each letter, `wide` scales its
        width alone."""
        size = pt / PT
        width = text_width(words, pt, font, track) * wide
        left = x - _SHARE[align] * width
        with self._typing(paint):
            self.canvas.setFillColor(_colour(paint))
            self.canvas.setFont(font, size)
            if wide == 1.0:
                self.canvas.drawString(left, y, words, charSpace=track * size)
                return
            line = self.canvas.beginText(left, y)
            line.setCharSpace(track * size)
            line.setHorizScale(100 * wide)
            line.textOut(words)
            line.setHorizScale(100)
            self.canvas.drawText(line)

    def circle_text(
        self,
        words: str,
        radius: float,
        pt: float,
        paint: Ink | Color,
        font: str = REGULAR,
        *,
        middle: float = 90.0,
        track: float = 0.0,
        inward: bool = False,
    ) -> None:
        """Set type on a circle round the centre, glyph by glyph, as drawing programs do.

        `radius` is the baseline's, `middle` the angle of the middle of the line. `inward` sets
        the feet of the letters outwards, to be read at the bottom of a label.
        """
        size = pt / PT
        advances = [pdfmetrics.stringWidth(letter, font, size) + track * size for letter in words]
        angle = math.radians(middle)
        turn = -1.0 if not inward else 1.0
        at = angle - turn * (sum(advances) - track * size) / radius / 2
        with self._typing(paint):
            self.canvas.setFillColor(_colour(paint))
            for letter, advance in zip(words, advances, strict=True):
                half = (advance - track * size) / 2 / radius
                centre = at + turn * half
                if letter != " ":
                    self.canvas.saveState()
                    self.canvas.translate(radius * math.cos(centre), radius * math.sin(centre))
                    self.canvas.rotate(math.degrees(centre) + (90.0 if inward else -90.0))
                    self.canvas.setFont(font, size)
                    self.canvas.drawString(-half * radius, 0, letter)
                    self.canvas.restoreState()
                at += turn * advance / radius

    def outlined(
        self,
        words: str,
        x: float,
        y: float,
        pt: float,
        paint: Ink | Color,
        font: str = STRONG,
        *,
        align: str = "middle",
        track: float = 0.0,
    ) -> None:
        """Set one line as outlines: type that is no longer type."""
        size = pt / PT
        width = text_width(words, pt, font, track)
        pen_x = x - _SHARE[align] * width
        self.canvas.setFillColor(_colour(paint))
        path = self.canvas.beginPath()
        for letter in words:
            advance, strokes = _glyph(font, letter)
            for verb, points in strokes:
                to = [(pen_x + px * size, y + py * size) for px, py in points]
                if verb == "moveTo":
                    path.moveTo(*to[0])
                elif verb == "lineTo":
                    path.lineTo(*to[0])
                elif verb == "curveTo":
                    path.curveTo(*to[0], *to[1], *to[2])
                else:
                    path.close()
            pen_x += (advance + track) * size
        self.canvas.drawPath(path, stroke=0, fill=1, fillMode=1)


def text_width(words: str, pt: float, font: str, track: float = 0.0) -> float:
    """Return a line's width in mm, without the space after its last letter."""
    size = pt / PT
    return pdfmetrics.stringWidth(words, font, size) + track * size * max(0, len(words) - 1)


@cache
def _font_file(font: str) -> FontFile:
    return FontFile(FONTS / f"{font}.ttf")


@cache
def _glyph(font: str, letter: str) -> tuple[float, list[tuple[str, list[Xy]]]]:
    """Return a letter's advance and outline in cubic curves, in ems."""
    file = _font_file(font)
    name = file.getBestCmap()[ord(letter)]
    glyphs = file.getGlyphSet()
    pen = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(pen)
    em = file["head"].unitsPerEm
    strokes: list[tuple[str, list[Xy]]] = []
    here: Xy = (0.0, 0.0)
    for verb, raw in pen.value:
        points = [(px / em, py / em) for px, py in raw]
        if verb == "qCurveTo":
            for control, end in _quadratics(points):
                strokes.append(("curveTo", [_toward(here, control), _toward(end, control), end]))
                here = end
        else:
            strokes.append((verb, points))
            here = points[-1] if points else here
    return glyphs[name].width / em, strokes


def _quadratics(points: list[Xy]) -> list[tuple[Xy, Xy]]:
    """Split a run of off-curve points into single quadratic curves (TrueType's implied ends)."""
    *controls, last = points
    ends = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairwise(controls)]
    return list(zip(controls, [*ends, last], strict=True))


def _toward(end: Xy, control: Xy) -> Xy:
    return (end[0] + (control[0] - end[0]) * 2 / 3, end[1] + (control[1] - end[1]) * 2 / 3)
