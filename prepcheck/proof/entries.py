"""The list of findings: numbered like the callouts, measured against required, and the fix."""

from __future__ import annotations

from collections.abc import Sequence

from prepcheck.findings import Finding, PartResult, Severity, Status
from prepcheck.proof.badge import RADIUS, draw_badge
from prepcheck.proof.figures import as_worded, counted
from prepcheck.proof.leaf import Block, on_grid
from prepcheck.proof.pen import Pen, Rect
from prepcheck.proof.theme import (
    BODY,
    BODY_SOFT,
    FIGURE,
    LABEL,
    LEAD,
    SEVERITY_INK,
    SMALL,
    STRONG,
    SUBHEAD,
    LineStyle,
    Palette,
    TextStyle,
)
from prepcheck.proof.typeset import clipped, shortened, width_of, wrap

GUTTER = 24.0
_MOST_LINES = 30
"""Lines of a finding's text that are kept together; a longer one runs on in further blocks."""

_BOX = 9.0

_Line = tuple[str, TextStyle]


class RuledHeading(Block):
    """A heading over what follows it, with a rule."""

    keep = True
    before = 15.0

    def __init__(self, text: str, aside: str, width: float) -> None:
        self.text, self.aside, self.width = text, aside, width
        self.height = 30.0

    def draw(self, pen: Pen, x: float, y: float) -> None:
        room = self.width - width_of(self.aside, BODY_SOFT) - 9
        shown = pen.text(x, y + 15, shortened(self.text, SUBHEAD, room), SUBHEAD)
        pen.text(x + shown + 9, y + 15, self.aside, BODY_SOFT)
        pen.rule(x, y + 21, x + self.width, Palette.RULE)


class Paragraph(Block):
    """Plain text."""

    def __init__(self, text: str, style: TextStyle, width: float, after: float = 6.0) -> None:
        self.lines, self.style = wrap(text, style, width), style
        self.height = on_grid(len(self.lines) * style.leading + after)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        pen.lines(x, y + 9, self.lines, self.style)


class Entry(Block):
    """One finding, or the first lines of it."""

    def __init__(
        self, number: int, finding: Finding, lines: Sequence[_Line], width: float, *, ends: bool
    ) -> None:
        self.number, self.finding, self.width, self.ends = number, finding, width, ends
        self.lines = lines
        self.figures = _figures(finding, _figure_width(width))
        text = 12 + sum(style.leading for _, style in lines)
        figures = 15 + sum(style.leading for _, style in self.figures)
        self.height = on_grid(max(text, figures) + (9 if ends else 0))

    def draw(self, pen: Pen, x: float, y: float) -> None:
        ink = SEVERITY_INK[self.finding.severity]
        draw_badge(pen, (x + RADIUS, y + 9.6), self.number, self.finding.severity)
        word = self.finding.severity.value.upper()
        shown = pen.text(x + GUTTER, y + 9, word, LABEL.in_ink(ink))
        pen.text(x + GUTTER + shown + 6, y + 9, _places(self.finding), SMALL)
        _set(pen, x + GUTTER, y + 12, self.lines)
        aside = x + self.width - _figure_width(self.width)
        if self.figures:
            pen.text(aside, y + 9, "MEASURED" if self.finding.measured is not None else "", LABEL)
        _set_figures(pen, aside, y + 12, self.figures)
        if self.ends:
            pen.rule(x + GUTTER, y + self.height - 3, x + self.width)


class Rest(Block):
    """Further lines of a long finding."""

    def __init__(self, lines: Sequence[_Line], width: float, *, ends: bool) -> None:
        self.lines, self.width, self.ends = lines, width, ends
        self.height = on_grid(sum(style.leading for _, style in lines) + (9 if ends else 0))

    def draw(self, pen: Pen, x: float, y: float) -> None:
        _set(pen, x + GUTTER, y, self.lines)
        if self.ends:
            pen.rule(x + GUTTER, y + self.height - 3, x + self.width)


class Reference(Block):
    """A finding's number with what it says in brief; another page has all of it."""

    def __init__(self, at: int, finding: Finding, width: float) -> None:
        self.at, self.finding = at, finding
        self.lines = clipped(finding.message, BODY, width - GUTTER, 2)
        self.height = on_grid(12.0 * len(self.lines) + 6)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        draw_badge(pen, (x + RADIUS, y + 6), self.at, self.finding.severity)
        pen.lines(x + GUTTER, y + 9, self.lines, BODY)


class ToConfirm(Block):
    """An open box for each text that a person must look for."""

    def __init__(self, texts: Sequence[str], width: float) -> None:
        room = width - GUTTER - _BOX - 8
        self.texts = [wrap(f"“{text}”", STRONG, room) or ("“”",) for text in texts]
        self.height = on_grid(12 + sum(12.0 * len(lines) + 3 for lines in self.texts) + 6)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        x += GUTTER
        pen.text(x, y + 9, "TICK WHAT YOU HAVE FOUND", LABEL)
        y += 12
        for lines in self.texts:
            draw_box(pen, x, y + 10)
            pen.lines(x + _BOX + 8, y + 10, lines, STRONG)
            y += 12.0 * len(lines) + 3


def draw_box(pen: Pen, x: float, baseline: float) -> None:
    """Draw an open box to tick, on a line of text."""
    pen.rect(Rect(x, baseline - _BOX + 1, _BOX, _BOX), LineStyle(Palette.TEXT, 0.8))


def finding_blocks(numbers: Sequence[tuple[int, Finding]], width: float) -> list[Block]:
    """Return numbered findings as blocks for a column of `width`."""
    blocks: list[Block] = []
    for number, finding in numbers:
        lines = _text_lines(finding, width - GUTTER - _figure_width(width) - 18)
        parts = [lines[i : i + _MOST_LINES] for i in range(0, len(lines), _MOST_LINES)] or [[]]
        blocks.append(Entry(number, finding, parts[0], width, ends=len(parts) == 1))
        blocks += [Rest(part, width, ends=part is parts[-1]) for part in parts[1:]]
        if finding.to_confirm:
            blocks[-1].keep = True
            blocks.append(ToConfirm(finding.to_confirm, width))
    return blocks


def list_blocks(
    title: str, numbers: Sequence[tuple[int, Finding]], width: float, when_none: str
) -> list[Block]:
    """Return a headed list of findings."""
    stops = sum(1 for _, f in numbers if f.severity is Severity.STOP)
    aside = counted(len(numbers), "finding") if numbers else ""
    if stops:
        aside += f", {counted(stops, 'stop')}"
    blocks: list[Block] = [RuledHeading(title, aside, width)]
    if not numbers:
        return [*blocks, Paragraph(when_none, BODY, width)] if when_none else blocks
    return blocks + finding_blocks(numbers, width)


NOT_THE_FILES = (
    "Prepcheck itself failed here, through no fault of the file. Please look at what these checks "
    "are about by hand."
)


def unjudged_blocks(result: PartResult, width: float) -> list[Block]:
    """Return what could not be judged because a check failed, and what could not be told, as
    blocks."""
    crashed = [outcome for outcome in result.outcomes if outcome.status is Status.CRASHED]
    untold = [outcome for outcome in result.outcomes if outcome.untold]
    blocks: list[Block] = []
    for name, some in (("Not judged", crashed), ("Could not be told", untold)):
        if some:
            blocks.append(RuledHeading(name, counted(len(some), "check"), width))
            if some is crashed:
                blocks.append(Paragraph(NOT_THE_FILES, BODY, width))
            blocks += [Paragraph(f"{each.check}: {each.why}", BODY, width) for each in some]
    return blocks


def _text_lines(finding: Finding, measure: float) -> list[_Line]:
    parts = (
        (finding.message, LEAD),
        (finding.fix, BODY),
        (f"Source: {finding.source}" if finding.source else "", SMALL),
    )
    return [(line, style) for text, style in parts for line in wrap(text, style, measure)]


def _figures(finding: Finding, measure: float) -> list[_Line]:
    lines: list[_Line] = []
    measured = as_worded(finding.measured, finding.unit, finding.message)
    if measured:
        brief = width_of(measured, FIGURE) <= measure
        style = FIGURE if brief else BODY
        lines += [(line, style) for line in wrap(measured, style, measure)]
    required = as_worded(finding.required, finding.unit, finding.message)
    if required:
        lines += [(line, BODY_SOFT) for line in wrap(f"required {required}", BODY_SOFT, measure)]
    return lines


def _set_figures(pen: Pen, x: float, y: float, lines: Sequence[_Line]) -> None:
    for i, (line, style) in enumerate(lines):
        y += style.leading
        if i and lines[i - 1][1] is FIGURE:
            y += 3
        pen.text(x, y - 3, line, style)


def _figure_width(width: float) -> float:
    return 108.0 if width > 400 else 72.0


def _places(finding: Finding) -> str:
    where = counted(len(finding.where), "place") if len(finding.where) > 1 else ""
    page = f"page {finding.page}" if finding.page else ""
    return " · ".join(part for part in (page, where) if part)


def _set(pen: Pen, x: float, y: float, lines: Sequence[_Line]) -> None:
    for line, style in lines:
        y += style.leading
        pen.text(x, y - (3 if style.leading <= 12 else 0), line, style)
