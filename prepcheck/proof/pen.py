"""Draws on a page of the proof. Points; x from the left edge, y down from the top edge."""

from __future__ import annotations

import hashlib
import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import field
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.rl_accel import fp_str
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import FILL_EVEN_ODD, Canvas
from reportlab.pdfgen.textobject import PDFTextObject

from prepcheck.frozen import dataclass
from prepcheck.geometry import Circle
from prepcheck.proof.script import has_right_to_left, unmarked
from prepcheck.proof.theme import LineStyle, PageSize, Palette, TextStyle
from prepcheck.proof.typeset import TypesetRun, clean, runs

if TYPE_CHECKING:
    from prepcheck.proof.model import Picture

XY = tuple[float, float]
Loop = Sequence[XY] | Circle
"""A closed line."""
_ROUND = 4 / 3 * (math.sqrt(2) - 1)
"""Of a quarter circle drawn as one curve, how far its inner points lie from its ends, in radii."""


class Align(Enum):
    """Where a line of text stands against its x."""

    LEFT = 0.0
    CENTRE = 0.5
    RIGHT = 1.0


class Rect(NamedTuple):
    """A rectangle on the page: upper left corner, width and height."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height

    @property
    def centre(self) -> XY:
        return self.x + self.width / 2, self.y + self.height / 2

    @property
    def corners(self) -> tuple[XY, XY, XY, XY]:
        """Corners from the upper left, clockwise."""
        return (
            (self.x, self.y),
            (self.right, self.y),
            (self.right, self.bottom),
            (self.x, self.bottom),
        )

    def grown(self, by: float) -> Rect:
        """Return the rectangle with each side moved outwards by `by`."""
        return Rect(self.x - by, self.y - by, self.width + 2 * by, self.height + 2 * by)


@dataclass
class StoredPictures:
    """Decoded pictures of one document, so that each is stored once however often it is shown."""

    _readers: dict[int, tuple[Picture, Any]] = field(default_factory=dict)

    def reader(self, picture: Picture) -> Any:
        """Return the picture as the PDF library wants it."""
        if id(picture) not in self._readers:
            self._readers[id(picture)] = picture, _Stored(picture.data)
        return self._readers[id(picture)][1]


class _Stored(ImageReader):  # type: ignore[misc]
    """A picture that is known by its bytes: a JPEG goes into the document without being decoded."""

    def __init__(self, data: bytes) -> None:
        super().__init__(io.BytesIO(data))
        self._known_by = hashlib.sha256(data).digest()

    def getRGBData(self) -> bytes:  # noqa: N802
        """Return what the picture is told apart by; its samples where those are to be stored."""
        if self.jpeg_fh() is None:
            return bytes(super().getRGBData())
        self._dataA = None
        return self._known_by


def set_run(text: PDFTextObject, run: TypesetRun, tracking: float) -> None:
    """Set a run behind what stands in a text object, whose characters are `tracking` apart."""
    text.setFont(run.font, run.size)
    parted = tracking and run.glyphs
    if parted:
        text.setCharSpace(0)
    text.textOut(run.text)
    if parted:
        text.setCharSpace(tracking)


@dataclass(frozen=True)
class Pen:
    """The canvas of one page."""

    canvas: Canvas
    paper: PageSize
    pictures: StoredPictures

    def text(
        self, x: float, y: float, line: str, style: TextStyle, align: Align = Align.LEFT
    ) -> float:
        """Set one line with its baseline at y; return its width."""
        line = clean(line)
        parts = runs(line, style)
        width = sum(part.width for part in parts)
        if not parts:
            return 0.0
        start = x - align.value * (width - style.tracking)
        text = self.canvas.beginText(start, self.paper.height - y)
        text.setFillColor(HexColor(style.ink.value))
        text.setCharSpace(style.tracking)
        for part in parts:
            set_run(text, part, style.tracking)
        text.setCharSpace(0)
        with self._read_as(line, "".join(part.text for part in parts)):
            self.canvas.drawText(text)
        return width

    @contextmanager
    def _read_as(self, line: str, drawn: str) -> Iterator[None]:
        """Have readers take a line whose letters are drawn otherwise as it is written.

        ActualText on a marked-content sequence (ISO 32000-2, 14.9.4). Readers turn text that
        runs right to left by themselves, and would turn this once too often.
        """
        plain = unmarked(line)
        if has_right_to_left(plain) or drawn == plain:
            yield
            return
        words = plain.encode("utf-16-be", "replace").hex().upper()
        self.canvas.addLiteral(f"/Span <</ActualText <FEFF{words}>>> BDC")
        yield
        self.canvas.addLiteral("EMC")

    def lines(self, x: float, y: float, lines: Sequence[str], style: TextStyle) -> float:
        """Set lines under each other, the first with its baseline at y; return the next one's."""
        for line in lines:
            self.text(x, y, line, style)
            y += style.leading
        return y

    def rule(
        self, x0: float, y: float, x1: float, ink: Palette = Palette.HAIR, weight: float = 0.5
    ) -> None:
        """Draw a level rule."""
        self.polyline(((x0, y), (x1, y)), LineStyle(ink, weight))

    def polyline(
        self, points: Sequence[XY], line: LineStyle, *, closed: bool = False, halo: float = 0.0
    ) -> None:
        """Draw a line through points, over a paper-white line `halo` wider on each side."""
        path = self.canvas.beginPath()
        path.moveTo(points[0][0], self.paper.height - points[0][1])
        for x, y in points[1:]:
            path.lineTo(x, self.paper.height - y)
        if closed:
            path.close()
        self._stroke(path.getCode(), line, halo)

    def outline(self, loop: Loop, line: LineStyle, *, halo: float = 0.0) -> None:
        """Draw a closed line."""
        path = self.canvas.beginPath()
        self._trace(path, loop)
        self._stroke(path.getCode(), line, halo)

    def circle(
        self,
        centre: XY,
        radius: float,
        line: LineStyle | None = None,
        *,
        fill: Palette | None = None,
        halo: float = 0.0,
    ) -> None:
        """Draw a circle."""
        drawn = _ring(centre[0], self.paper.height - centre[1], radius)
        if fill is not None:
            self.canvas.setFillColor(HexColor(fill.value))
            self.canvas.addLiteral(f"{drawn} f")
        if line is not None:
            self._stroke(drawn, line, halo)

    def rect(
        self,
        rect: Rect,
        line: LineStyle | None = None,
        *,
        fill: Palette | None = None,
        halo: float = 0.0,
    ) -> None:
        """Draw a rectangle."""
        path = self.canvas.beginPath()
        path.rect(rect.x, self.paper.height - rect.bottom, rect.width, rect.height)
        if fill is not None:
            self.canvas.setFillColor(HexColor(fill.value))
            self.canvas.drawPath(path, stroke=0, fill=1)
        if line is not None:
            self._stroke(path.getCode(), line, halo)

    def patch(self, rect: Rect, colour: str) -> None:
        """Fill a rectangle with a colour of the art, '#rrggbb', not of the palette."""
        path = self.canvas.beginPath()
        path.rect(rect.x, self.paper.height - rect.bottom, rect.width, rect.height)
        self.canvas.setFillColor(HexColor(colour))
        self.canvas.drawPath(path, stroke=0, fill=1)

    def veil(self, outer: Rect, inner: Sequence[Loop], opacity: float) -> None:
        """Lay paper white over `outer`, but not inside the closed lines `inner`."""
        path = self.canvas.beginPath()
        path.rect(outer.x, self.paper.height - outer.bottom, outer.width, outer.height)
        for points in inner:
            self._trace(path, points)
        with self.kept():
            self.canvas.setFillColor(Color(1, 1, 1, alpha=opacity))
            self.canvas.drawPath(path, stroke=0, fill=1, fillMode=FILL_EVEN_ODD)

    @contextmanager
    def kept(self) -> Iterator[None]:
        """Leave the graphics state as it was."""
        self.canvas.saveState()
        try:
            yield
        finally:
            self.canvas.restoreState()

    @contextmanager
    def clipped(self, loops: Sequence[Loop]) -> Iterator[None]:
        """Draw only inside the closed lines, by the even-odd rule."""
        with self.kept():
            path = self.canvas.beginPath()
            for points in loops:
                self._trace(path, points)
            self.canvas.clipPath(path, stroke=0, fill=0, fillMode=FILL_EVEN_ODD)
            yield

    @contextmanager
    def turned(self, centre: XY, degrees: float) -> Iterator[None]:
        """Draw turned anticlockwise about a point."""
        with self.kept():
            x, y = centre[0], self.paper.height - centre[1]
            self.canvas.translate(x, y)
            self.canvas.rotate(degrees)
            self.canvas.translate(-x, -y)
            yield

    def picture(self, picture: Picture, place: Rect) -> None:
        """Show a picture over the whole of a rectangle."""
        self.canvas.drawImage(
            self.pictures.reader(picture),
            place.x,
            self.paper.height - place.bottom,
            place.width,
            place.height,
        )

    def _trace(self, path: Any, points: Loop) -> None:
        if isinstance(points, Circle):
            path.circle(points.x, self.paper.height - points.y, points.radius)
            return
        path.moveTo(points[0][0], self.paper.height - points[0][1])
        for x, y in points[1:]:
            path.lineTo(x, self.paper.height - y)
        path.close()

    def _stroke(self, drawn: str, line: LineStyle, halo: float) -> None:
        """Stroke a path, which is given in the words of a content stream."""
        before, between = _ways_of(line, halo)
        over = f"{before}\n{drawn} S\n" if halo else ""
        self.canvas.addLiteral(f"q 1 j\n{over}{between}\n{drawn} S\nQ")


def _ring(x: float, y: float, radius: float) -> str:
    """Return a circle as four curves; y up."""
    by = radius * _ROUND
    left, right, low, high = x - radius, x + radius, y - radius, y + radius
    return (
        f"n {right:.3f} {y:.3f} m"
        f" {right:.3f} {y + by:.3f} {x + by:.3f} {high:.3f} {x:.3f} {high:.3f} c"
        f" {x - by:.3f} {high:.3f} {left:.3f} {y + by:.3f} {left:.3f} {y:.3f} c"
        f" {left:.3f} {y - by:.3f} {x - by:.3f} {low:.3f} {x:.3f} {low:.3f} c"
        f" {x + by:.3f} {low:.3f} {right:.3f} {y - by:.3f} {right:.3f} {y:.3f} c"
    )


@lru_cache(maxsize=256)
def _ways_of(line: LineStyle, halo: float) -> tuple[str, str]:
    """Return how a line is stroked, first the halo under it, in the words of a content stream
    (ISO 32000-2, 8.4.4). Of 400 marks the library's own way takes a tenth of the proof's time."""
    paper, ink = (fp_str(HexColor(colour.value).rgb()) for colour in (Palette.PAPER, line.ink))
    dash = " ".join(map(fp_str, line.dash))
    return (
        f"{paper} RG {fp_str(line.weight + 2 * halo)} w",
        f"{ink} RG {fp_str(line.weight)} w [{dash}] 0 d",
    )
