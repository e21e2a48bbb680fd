"""The cover's list of what the client must do, file by file."""

from __future__ import annotations

from collections.abc import Sequence

from prepcheck.findings import Result, Severity
from prepcheck.numbering import spelled
from prepcheck.proof.entries import RuledHeading
from prepcheck.proof.figures import counted
from prepcheck.proof.leaf import Block, on_grid
from prepcheck.proof.pen import Pen
from prepcheck.proof.theme import (
    BODY,
    BODY_SOFT,
    SEVERITY_INK,
    STRONG,
    LineStyle,
    Palette,
    TextStyle,
)
from prepcheck.proof.typeset import shortened, width_of, wrap
from prepcheck.todo import FileRequests, Request, asked, requests_of

_INDENT = 24.0
_MOST_LINES = 24
"""Lines of what was found that are kept; the pages of the part say it all."""


class RequestsHeading(Block):
    """The file that requests are about."""

    before = 6.0

    def __init__(self, group: FileRequests, whole: str, width: float) -> None:
        self.group, self.width = group, width
        self.keep = bool(group.requests)
        self.height = 18.0
        self.aside = group.name if group.file else ""
        if not group.requests:
            self.aside = " · ".join(filter(None, (self.aside, _see_also(group.see, whole))))

    def draw(self, pen: Pen, x: float, y: float) -> None:
        name = self.group.file or self.group.name
        aside = shortened(self.aside, BODY_SOFT, self.width / 2)
        room = self.width - width_of(aside, BODY_SOFT) - 9
        shown = pen.text(x, y + 9, shortened(name, STRONG, room), STRONG)
        pen.text(x + shown + 9, y + 9, aside, BODY_SOFT)


class RequestBlock(Block):
    """One thing to do, and under it what was found."""

    def __init__(self, request: Request, width: float) -> None:
        self.severity = request.severity
        room = width - _INDENT
        self.lines: list[tuple[str, TextStyle]] = [
            (line, BODY) for line in wrap(request.fix, BODY, room)
        ]
        found = [
            line
            for one in request.found
            for line in wrap(f"{spelled(one.numbers)}: {one.words}", BODY_SOFT, room)
        ]
        if len(found) > _MOST_LINES:
            found = [*found[: _MOST_LINES - 1], "and more, listed with the part"]
        self.lines += [(line, BODY_SOFT) for line in found]
        self.height = on_grid(12.0 * len(self.lines) + 6)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        ink = SEVERITY_INK[self.severity]
        centre = (x + 12.0, y + 6.2)
        if self.severity is Severity.STOP:
            pen.circle(centre, 3.2, fill=ink)
        else:
            pen.circle(centre, 2.6, LineStyle(ink, 1.3), fill=Palette.PAPER)
        for index, (line, style) in enumerate(self.lines):
            pen.text(x + _INDENT, y + 9 + 12 * index, line, style)


class SeeBlock(Block):
    """That something told of the order as a whole concerns this file too."""

    def __init__(self, numbers: Sequence[int], whole: str, width: float) -> None:
        self.lines = wrap(_see_also(numbers, whole), BODY_SOFT, width - _INDENT)
        self.height = on_grid(12.0 * len(self.lines) + 6)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        pen.lines(x + _INDENT, y + 9, self.lines, BODY_SOFT)


def _see_also(numbers: Sequence[int], whole: str) -> str:
    return f"See also {spelled(numbers)}, under {whole}."


def todo_blocks(result: Result, width: float) -> list[Block]:
    """Return the list; none where nothing is asked."""
    groups = requests_of(result)
    if not groups:
        return []
    blocks: list[Block] = [RuledHeading("What to do", _tally(result, groups), width)]
    for group in groups:
        blocks.append(RequestsHeading(group, result.whole, width))
        blocks += [RequestBlock(request, width) for request in group.requests]
        if group.see and group.requests:
            blocks.append(SeeBlock(group.see, result.whole, width))
    return blocks


def _tally(result: Result, groups: Sequence[FileRequests]) -> str:
    stops, queries, awaited = asked(result)
    words = [f"{stops} to correct"] if stops else []
    if queries:
        words.append(f"{queries} to decide")
    if awaited:
        words.append(f"{awaited} to come")
    files = sum(1 for group in groups if group.file)
    where = f" in {counted(files, 'file')}" if files else ""
    return ", ".join(words) + where
