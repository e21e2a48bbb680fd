"""The last pages: what the client confirms and decides, with name, date and signature."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

from prepcheck.findings import PartResult, Result
from prepcheck.proof.badge import RADIUS, draw_badge, draw_verdict
from prepcheck.proof.cover import draw_caution
from prepcheck.proof.entries import Paragraph, RuledHeading, draw_box
from prepcheck.proof.figures import counted, day, found_in, grouped, tally
from prepcheck.proof.leaf import (
    Block,
    Leaf,
    Placed,
    column_width,
    columns,
    draw_placed,
    flow,
    on_grid,
)
from prepcheck.proof.model import ProofPart, Signed
from prepcheck.proof.page_findings import numbered_of
from prepcheck.proof.pen import Pen, Rect
from prepcheck.proof.theme import (
    A4_UPRIGHT,
    BODY,
    BODY_SOFT,
    HEADING,
    LABEL,
    LEAD,
    SMALL,
    STRONG,
    LineStyle,
    Palette,
)
from prepcheck.proof.typeset import shortened, wrap

_CHOICES = (
    ("Approved", "Make plates from the files as they are."),
    ("Approved with changes", "Make plates after the changes written below."),
    ("Corrected file follows", "Do not make plates; a new file will be sent."),
)
_INCOMPLETE = (
    "Some checks failed, through no fault of the files, and did not judge: please do not sign "
    "before these have been looked at by hand."
)
_REMARKS = 5
"""Lines for remarks."""
_TITLE_ROOM = 48.0
_FOOT = 42.0


class _PartRow(Block):
    """A part with its file, its verdict and what was found in it, and the file's digest."""

    height = 27.0

    def __init__(self, part: PartResult, width: float) -> None:
        self.part, self.width = part, width

    def draw(self, pen: Pen, x: float, y: float) -> None:
        part, y = self.part, y + 12
        pen.text(x, y, shortened(part.name, STRONG, 150), STRONG)
        file = part.file if part.received else f"{part.file} not received".strip()
        pen.text(x + 162, y, shortened(file, BODY, 168), BODY)
        draw_verdict(pen, x + 345, y, part.verdict)
        pen.text(x + 402, y, shortened(found_in(part), SMALL, 91), SMALL)
        if part.received:
            pen.text(x + 162, y + 10, f"SHA-256  {grouped(part.sha256)}", SMALL)
        pen.rule(x, y + 15, x + self.width)


class _ConfirmRow(Block):
    """A text to look for, with the number of its finding and an open box."""

    def __init__(self, number: int, part: PartResult, text: str, width: float) -> None:
        self.number, self.part, self.width = number, part, width
        self.lines = wrap(f"“{text}”", STRONG, width - 210) or ("“”",)
        self.finding = next(f for f in part.of_order + part.findings if text in f.to_confirm)
        self.height = on_grid(12.0 * len(self.lines) + 6)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        draw_box(pen, x, y + 9)
        draw_badge(pen, (x + 24 + RADIUS, y + 6), self.number, self.finding.severity)
        pen.lines(x + 48, y + 9, self.lines, STRONG)
        pen.text(x + self.width - 150, y + 9, shortened(self.part.name, BODY, 150), BODY)


class _Decision(Block):
    """The choices, room for remarks, and the signature."""

    before = 18.0

    def __init__(self, width: float, signed: Signed | None) -> None:
        self.width, self.signed = width, signed
        words = (
            "Signing covers the files named here, each known by its SHA-256: a file that has been "
            "saved again is another file and needs another proof."
        )
        self.words = wrap(words, BODY_SOFT, width * 0.75)
        self.height = on_grid(12 + 27 * 3 + 6 + 24 * _REMARKS + 48 + 45 + 12 * len(self.words))

    def draw(self, pen: Pen, x: float, y: float) -> None:
        signed, right = self.signed, x + self.width
        y += 12
        for index, (title, meaning) in enumerate(_CHOICES):
            pen.rect(Rect(x, y - 9, 12, 12), LineStyle(Palette.TEXT, 0.8))
            if signed is not None and signed.choice == index:
                pen.text(x + 2.5, y, "X", STRONG)
            pen.text(x + 24, y, title, LEAD)
            pen.text(x + 162, y, meaning, BODY)
            y += 27
        y += 6
        pen.text(x, y, "CHANGES AND REMARKS", LABEL)
        remarks = [] if signed is None else wrap(signed.remarks, BODY, self.width)[:_REMARKS]
        for line in (*remarks, *[""] * (_REMARKS - len(remarks))):
            y += 24
            pen.text(x, y - 4, line, BODY)
            pen.rule(x, y, right, Palette.RULE)
        y += 48
        step = (self.width + 24) / 3
        filled = ("", "", "") if signed is None else (signed.name, day(signed.on), signed.how)
        for i, name in enumerate(("Name", "Date", "Signature")):
            at = x + i * step
            pen.text(at, y - 5, shortened(filled[i], BODY, step - 24), BODY)
            pen.rule(at, y, at + step - 24, Palette.TEXT, 0.6)
            pen.text(at, y + 12, name.upper(), LABEL)
        pen.lines(x, y + 39, self.words, BODY_SOFT)


def signoff_leaves(
    result: Result, parts: Sequence[ProofPart], made_on: date, signed: Signed | None = None
) -> list[Leaf]:
    """Return the sign-off, filled in where somebody has signed: every part, every text that is to
    be confirmed, and the decision."""
    width = column_width(A4_UPRIGHT)
    blocks: list[Block] = [_PartRow(part, width) for part in result.parts]
    if len(result.parts) > 1:
        words = f"In all: {tally(result.every)}"
        if any(len(finding.parts) > 1 for finding in result.findings):
            words += "; what several parts share counts once"
        blocks.append(Paragraph(f"{words}.", BODY_SOFT, width))
    if result.crashed:
        blocks.append(Paragraph(_INCOMPLETE, BODY, width))
    confirms = [
        _ConfirmRow(number, part.result, text, width)
        for part in parts
        for number, finding in numbered_of(part)
        for text in finding.to_confirm
    ]
    if confirms:
        aside = f"{counted(len(confirms), 'text')} that no program could read"
        blocks += [RuledHeading("To be confirmed", aside, width), *confirms]
    blocks.append(_Decision(width, signed))
    rooms = [
        column._replace(bottom=column.bottom - _FOOT)
        for column in columns(A4_UPRIGHT, A4_UPRIGHT.top + _TITLE_ROOM)
    ]
    pages = flow(blocks, rooms, rooms)
    return [
        Leaf(A4_UPRIGHT, "", _page(placed, result, made_on), ("Sign-off", 0) if not i else None)
        for i, placed in enumerate(pages)
    ]


def _page(placed: Sequence[Placed], result: Result, made_on: date) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        left, y = pen.paper.left, pen.paper.top
        pen.text(left, y + 15, "Sign-off", HEADING)
        order = result.order
        facts = (
            [order.title, order.client, f"order {order.number}" if order.number else None]
            if order
            else []
        )
        about = " · ".join(fact for fact in (*facts, f"proof of {day(made_on)}") if fact)
        pen.text(left, y + 30, shortened(about, BODY_SOFT, pen.paper.measure), BODY_SOFT)
        draw_placed(pen, placed)
        draw_caution(pen, pen.paper.bottom - 30)

    return draw
