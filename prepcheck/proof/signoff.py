"""The last page: what the client decides, with name, date and signature."""

from __future__ import annotations

from datetime import date

from prepcheck.findings import Result
from prepcheck.proof.badge import draw_verdict
from prepcheck.proof.cover import draw_caution
from prepcheck.proof.figures import counted, day, tally
from prepcheck.proof.leaf import Leaf
from prepcheck.proof.model import Signed
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
    Ink,
    Line,
)
from prepcheck.proof.typeset import shortened, wrap

_CHOICES = (
    ("Approved", "Make plates from the files as they are."),
    ("Approved with changes", "Make plates after the changes written below."),
    ("Corrected file follows", "Do not make plates; a new file will be sent."),
)
_MOST_PARTS = 14


def signoff_leaves(result: Result, made_on: date, signed: Signed | None = None) -> list[Leaf]:
    """Return the sign-off page, filled in where somebody has signed."""

    def draw(pen: Pen) -> None:
        _draw(pen, result, made_on, signed)

    return [Leaf(A4_UPRIGHT, "", draw, ("Sign-off", 0))]


def _draw(pen: Pen, result: Result, made_on: date, signed: Signed | None) -> None:
    left, right, y = pen.paper.left, pen.paper.right, pen.paper.top
    pen.text(left, y + 15, "Sign-off", HEADING)
    order = result.order
    facts = (
        [order.title, order.client, f"order {order.number}" if order.number else None]
        if order
        else []
    )
    about = " · ".join(fact for fact in (*facts, f"proof of {day(made_on)}") if fact)
    pen.text(left, y + 30, shortened(about, BODY_SOFT, pen.paper.measure), BODY_SOFT)
    y += 66
    for part in result.parts[:_MOST_PARTS]:
        pen.text(left, y, shortened(part.name, STRONG, 150), STRONG)
        pen.text(left + 162, y, shortened(part.file, BODY, 168), BODY)
        draw_verdict(pen, left + 345, y, part.verdict)
        pen.text(left + 402, y, shortened(tally(part.every), SMALL, 91), SMALL)
        pen.rule(left, y + 6, right)
        y += 18
    if len(result.parts) > _MOST_PARTS:
        more = counted(len(result.parts) - _MOST_PARTS, "further part")
        pen.text(left, y, f"and {more}, listed on the cover", BODY_SOFT)
        y += 18
    y += 24
    for index, (title, meaning) in enumerate(_CHOICES):
        pen.rect(Rect(left, y - 9, 12, 12), Line(Ink.TEXT, 0.8))
        if signed is not None and signed.choice == index:
            pen.text(left + 2.5, y, "X", STRONG)
        pen.text(left + 24, y, title, LEAD)
        pen.text(left + 162, y, meaning, BODY)
        y += 27
    y += 6
    pen.text(left, y, "CHANGES AND REMARKS", LABEL)
    remarks = [] if signed is None else wrap(signed.remarks, BODY, pen.paper.measure)[:6]
    for line in (*remarks, *[""] * (6 - len(remarks))):
        y += 24
        pen.text(left, y - 4, line, BODY)
        pen.rule(left, y, right, Ink.RULE)
    y += 48
    step = (pen.paper.measure + 24) / 3
    filled = ("", "", "") if signed is None else (signed.name, day(signed.on), signed.how)
    for i, name in enumerate(("Name", "Date", "Signature")):
        x = left + i * step
        pen.text(x, y - 5, shortened(filled[i], BODY, step - 24), BODY)
        pen.rule(x, y, x + step - 24, Ink.TEXT, 0.6)
        pen.text(x, y + 12, name.upper(), LABEL)
    words = (
        "Signing covers the files named here, each known by the SHA-256 on the cover: a file "
        "that has been saved again is another file and needs another proof."
    )
    pen.lines(left, y + 45, wrap(words, BODY_SOFT, pen.paper.measure * 0.75), BODY_SOFT)
    draw_caution(pen, pen.paper.bottom - 30)
