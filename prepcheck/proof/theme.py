"""The look of the proof: palette, line styles, type styles, papers and the grid. All in points.

Every baseline stands on a grid of 3 pt counted from the top of the page; running text is set
on every fourth line of it (12 pt).
"""

from __future__ import annotations

from dataclasses import replace
from enum import Enum

from prepcheck.findings import Severity, Verdict
from prepcheck.frozen import dataclass
from prepcheck.units import pt_from_mm

GRID = 3.0


class Palette(Enum):
    """The palette, as sRGB."""

    TEXT = "#1e2226"
    SOFT = "#666b70"
    RULE = "#c9cac7"
    HAIR = "#e4e3de"
    TINT = "#f5f4f0"
    PAPER = "#ffffff"
    STOP = "#a3262a"
    QUERY = "#a66300"
    NOTE = "#4a6076"
    CLEAR = "#2c6a4d"
    CUT = "#12294a"
    ZONE = "#0d7377"
    FOLD = "#6b3f86"
    VINYL = "#17181a"
    GROOVE = "#2c2e31"


SEVERITY_INK = {
    Severity.STOP: Palette.STOP,
    Severity.QUERY: Palette.QUERY,
    Severity.NOTE: Palette.NOTE,
}
VERDICT_INK = {
    Verdict.STOP: Palette.STOP,
    Verdict.QUERY: Palette.QUERY,
    Verdict.CLEAR: Palette.CLEAR,
}


@dataclass(frozen=True, slots=True)
class LineStyle:
    """A line style: colour, weight and dashes; styles differ in more than colour."""

    ink: Palette
    weight: float
    dash: tuple[float, ...] = ()


TRIM = LineStyle(Palette.CUT, 0.9)
HOLE = LineStyle(Palette.CUT, 1.5)
BLEED = LineStyle(Palette.ZONE, 0.8, (7.0, 3.0))
SAFE = LineStyle(Palette.ZONE, 0.8, (1.2, 2.2))
HOLE_RING = LineStyle(Palette.ZONE, 1.1, (1.1, 3.3))
FOLD = LineStyle(Palette.FOLD, 0.9, (8.0, 2.4, 1.4, 2.4))


class FontFile(Enum):
    """The faces of the type, by file."""

    TEXT = "SourceSansPro-Regular"
    STRONG = "SourceSansPro-Semibold"
    TITLE = "SourceSerifPro-Regular"


@dataclass(frozen=True, slots=True)
class TextStyle:
    """How text is set."""

    face: FontFile
    size: float
    leading: float
    ink: Palette = Palette.TEXT
    tracking: float = 0.0
    """Extra room after each character, in points."""

    def in_ink(self, ink: Palette) -> TextStyle:
        """Return the style in another colour."""
        return replace(self, ink=ink)


BODY = TextStyle(FontFile.TEXT, 9.0, 12.0)
BODY_SOFT = BODY.in_ink(Palette.SOFT)
STRONG = TextStyle(FontFile.STRONG, 9.0, 12.0)
LEAD = TextStyle(FontFile.STRONG, 10.0, 12.0)
INTRO = TextStyle(FontFile.TEXT, 11.0, 15.0)
SMALL = TextStyle(FontFile.TEXT, 7.0, 9.0, Palette.SOFT)
LABEL = TextStyle(FontFile.STRONG, 6.6, 9.0, Palette.SOFT, 0.55)
FIGURE = TextStyle(FontFile.TITLE, 15.0, 18.0)
TITLE = TextStyle(FontFile.TITLE, 30.0, 33.0)
HEADING = TextStyle(FontFile.TITLE, 18.0, 21.0)
SUBHEAD = TextStyle(FontFile.TITLE, 12.0, 15.0)
NUMBER = TextStyle(FontFile.STRONG, 7.6, 9.0)


@dataclass(frozen=True, slots=True)
class PageSize:
    """A page size with its margins, in points. Heights are measured down from the top edge."""

    width: float
    height: float

    @property
    def left(self) -> float:
        return 51.0

    @property
    def right(self) -> float:
        return self.width - self.left

    @property
    def measure(self) -> float:
        """Width between the margins."""
        return self.right - self.left

    @property
    def top(self) -> float:
        """Where content begins, down from the top edge."""
        return 63.0

    @property
    def bottom(self) -> float:
        """Where content ends, down from the top edge."""
        return 783.0


A4_UPRIGHT = PageSize(pt_from_mm(210), pt_from_mm(297))
A3_ACROSS = PageSize(pt_from_mm(420), pt_from_mm(297))
