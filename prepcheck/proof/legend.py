"""The legend of a page of art: its lines and the signs of its findings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from prepcheck.findings import Severity
from prepcheck.proof.drawing import Feature
from prepcheck.proof.figures import SEVERITY_MEANING
from prepcheck.proof.pen import Pen, Rect
from prepcheck.proof.theme import SEVERITY_INK, SMALL, LineStyle, Palette
from prepcheck.proof.typeset import width_of

_STYLE = SMALL.in_ink(Palette.TEXT)
_SAMPLE = 24.0
_SIGN = 9.0
_GAP = 15.0
_ROW = 12.0


class _Item(NamedTuple):
    words: str
    sign: LineStyle | Severity | None
    """A line's style, a severity, or None for the thin ring of a lesser place."""

    @property
    def sample(self) -> float:
        return _SAMPLE if isinstance(self.sign, LineStyle) else _SIGN

    @property
    def width(self) -> float:
        return self.sample + 5 + width_of(self.words, _STYLE)


class Legend:
    """What the lines and signs on a page of art mean."""

    def __init__(
        self,
        drawn: Sequence[Feature],
        severities: Sequence[Severity] = tuple(Severity),
        lesser: bool = True,
    ) -> None:
        self.lines = [_Item(feature.name, feature.line) for feature in reversed(drawn)]
        self.signs = [
            _Item(f"{severity.value.capitalize()}: {SEVERITY_MEANING[severity]}", severity)
            for severity in severities
        ]
        if lesser:
            self.signs.append(_Item("Further place of a finding", None))

    def height(self, width: float) -> float:
        """Return the height it needs at a given width."""
        return _ROW * len(self._rows(width))

    def draw(self, pen: Pen, place: Rect) -> None:
        """Draw the rows, each centred under the piece."""
        y = place.y
        for row in self._rows(place.width):
            x = place.centre[0] - (sum(item.width for item in row) + _GAP * (len(row) - 1)) / 2
            for item in row:
                _draw_sign(pen, x, y + 9, item)
                pen.text(x + item.sample + 5, y + 9, item.words, _STYLE)
                x += item.width + _GAP
            y += _ROW

    def _rows(self, width: float) -> list[list[_Item]]:
        rows: list[list[_Item]] = []
        for items in (self.lines, self.signs):
            row: list[_Item] = []
            used = 0.0
            for item in items:
                if row and used + item.width > width:
                    rows.append(row)
                    row, used = [], 0.0
                row.append(item)
                used += item.width + _GAP
            if row:
                rows.append(row)
        return rows


def _draw_sign(pen: Pen, x: float, baseline: float, item: _Item) -> None:
    centre = (x + _SIGN / 2, baseline - 2.4)
    match item.sign:
        case LineStyle():
            pen.polyline(((x, centre[1]), (x + _SAMPLE, centre[1])), item.sign)
        case Severity.STOP:
            pen.circle(centre, 3.4, fill=SEVERITY_INK[Severity.STOP])
        case Severity.QUERY:
            pen.circle(centre, 2.8, LineStyle(SEVERITY_INK[Severity.QUERY], 1.3))
        case Severity.NOTE:
            side = Rect(centre[0] - 2.8, centre[1] - 2.8, 5.6, 5.6)
            pen.rect(side, LineStyle(SEVERITY_INK[Severity.NOTE], 0.7))
        case None:
            pen.circle(centre, 2.8, LineStyle(Palette.TEXT, 0.6))
