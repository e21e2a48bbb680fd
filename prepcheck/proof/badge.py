"""The numbered badge of a finding and the badge of a verdict: told apart by shape and weight."""

from __future__ import annotations

from prepcheck.findings import Severity, Verdict
from prepcheck.proof.pen import XY, Align, Pen, Rect
from prepcheck.proof.theme import LABEL, NUMBER, SEVERITY_INK, VERDICT_INK, LineStyle, Palette
from prepcheck.proof.typeset import width_of

RADIUS = 6.8
_WORD = 11.0


def draw_badge(pen: Pen, centre: XY, number: int, severity: Severity) -> None:
    """Draw a finding's number: stop filled, query in a heavy ring, note in a thin square."""
    ink = SEVERITY_INK[severity]
    text = NUMBER if number < 100 else NUMBER.in_ink(Palette.TEXT)
    baseline = centre[1] + text.size * 0.33
    x, y = centre
    if severity is Severity.STOP:
        pen.circle(centre, RADIUS, LineStyle(Palette.PAPER, 1.2), fill=ink)
        style = text.in_ink(Palette.PAPER)
    elif severity is Severity.QUERY:
        pen.circle(centre, RADIUS - 0.7, LineStyle(ink, 1.5), fill=Palette.PAPER)
        style = text.in_ink(ink)
    else:
        side = 2 * RADIUS - 2
        pen.rect(
            Rect(x - side / 2, y - side / 2, side, side), LineStyle(ink, 0.7), fill=Palette.PAPER
        )
        style = text.in_ink(ink)
    pen.text(x, baseline, str(number), style, Align.CENTRE)


def verdict_width(verdict: Verdict) -> float:
    """Return the width of a verdict as `draw_verdict` sets it."""
    return _WORD + width_of(verdict.value.upper(), LABEL) - LABEL.tracking


def draw_verdict(pen: Pen, x: float, baseline: float, verdict: Verdict) -> None:
    """Set a verdict as a word with its sign: filled disc, ring, or ring with a tick."""
    ink = VERDICT_INK[verdict]
    centre = (x + 3.6, baseline - 2.3)
    if verdict is Verdict.STOP:
        pen.circle(centre, 3.6, fill=ink)
    elif verdict is Verdict.QUERY:
        pen.circle(centre, 2.9, LineStyle(ink, 1.4))
    else:
        draw_tick(pen, centre)
    pen.text(x + _WORD, baseline, verdict.value.upper(), LABEL.in_ink(ink))


def draw_tick(pen: Pen, centre: XY, size: float = 1.0) -> None:
    """Draw the sign of what is in order."""
    corners = ((-3.2, 0.2), (-0.9, 2.6), (3.4, -2.8))
    points = [(centre[0] + size * x, centre[1] + size * y) for x, y in corners]
    pen.polyline(points, LineStyle(Palette.CLEAR, 1.5 * size))
