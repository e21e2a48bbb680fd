"""The cover: what was ordered, what was checked, and what became of each part."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

from prepcheck.findings import Finding, OrderFacts, Result, Severity
from prepcheck.proof.badge import draw_verdict, verdict_width
from prepcheck.proof.entries import RuledHeading, list_blocks
from prepcheck.proof.figures import (
    CAUTION,
    counted,
    day,
    found_in,
    grouped,
    millimetres,
    size_words,
    tally,
    verdict_meaning,
)
from prepcheck.proof.gallery import gallery_rows
from prepcheck.proof.leaf import (
    Block,
    Leaf,
    Placed,
    column_width,
    columns,
    draw_placed,
    flow_evenly,
    on_grid,
)
from prepcheck.proof.model import ProofFor, ProofPart
from prepcheck.proof.pen import Align, Pen, Rect
from prepcheck.proof.theme import (
    A4_UPRIGHT,
    BODY,
    BODY_SOFT,
    INTRO,
    LABEL,
    LEAD,
    SMALL,
    STRONG,
    SUBHEAD,
    TITLE,
    VERDICT_INK,
    Palette,
)
from prepcheck.proof.todo_list import todo_blocks
from prepcheck.proof.typeset import balanced, clipped, shortened
from prepcheck.words import capital


class TitleBlock(Block):
    """The order's title, and who ordered it."""

    def __init__(self, order: OrderFacts | None, only_part: str | None, width: float) -> None:
        title = (order.title if order else None) or only_part
        self.label = "ARTWORK PROOF" if title else ""
        title = title or "Artwork proof"
        lines = clipped(title, TITLE, width, 4)
        self.lines = balanced(title, TITLE, width) if len(lines) < 4 else lines
        self.by = " · ".join(
            fact for fact in ((order.client, order.catalogue) if order else ()) if fact
        )
        self.width = width
        self.height = on_grid(18 + len(self.lines) * TITLE.leading + (24 if self.by else 6))

    def draw(self, pen: Pen, x: float, y: float) -> None:
        pen.text(x, y + 9, self.label, LABEL)
        end = pen.lines(x, y + 48, self.lines, TITLE)
        if self.by:
            pen.text(x, end - 9, shortened(self.by, INTRO, self.width), INTRO.in_ink(Palette.SOFT))


class VerdictBlock(Block):
    """The verdict of the whole, in a sentence; `looked` says what was looked at, if not all."""

    height = 81.0

    def __init__(self, result: Result, width: float, looked: str = "") -> None:
        self.result, self.width = result, width
        awaited = len(result.awaited)
        self.looked = looked or f"{counted(len(result.parts) - awaited, 'part')} checked"
        if awaited:
            self.looked += f", {awaited} not received"

    def draw(self, pen: Pen, x: float, y: float) -> None:
        ink = VERDICT_INK[self.result.verdict]
        pen.rect(Rect(x, y + 12, self.width, 51), fill=Palette.TINT)
        pen.rect(Rect(x, y + 12, 3, 51), fill=ink)
        draw_verdict(pen, x + 18, y + 33, self.result.verdict)
        pen.text(x + 84, y + 33, verdict_meaning(self.result), SUBHEAD)
        words = f"{self.looked}: {tally(self.result.every)}"
        if self.result.crashed:
            words += "; some checks failed and did not judge, so this is incomplete"
        pen.text(x + 84, y + 48, words, BODY_SOFT)


class FactsBlock(Block):
    """Facts in four columns, each under its name."""

    def __init__(self, facts: Sequence[tuple[str, str]], width: float) -> None:
        self.step = (width + 18) / 4
        self.cells = [(name, clipped(value, BODY, self.step - 18, 3)) for name, value in facts]
        self.rows = [self.cells[i : i + 4] for i in range(0, len(self.cells), 4)]
        self.height = on_grid(sum(self._row_height(row) for row in self.rows) + 15)

    @staticmethod
    def _row_height(row: Sequence[tuple[str, tuple[str, ...]]]) -> float:
        return 18 + 12 * max(len(lines) for _, lines in row)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        for row in self.rows:
            for i, (name, lines) in enumerate(row):
                pen.text(x + i * self.step, y + 9, name.upper(), LABEL)
                pen.lines(x + i * self.step, y + 21, lines, BODY)
            y += self._row_height(row)


class PartBlock(Block):
    """One part: what it is, its file, and its verdict."""

    def __init__(self, part: ProofPart, width: float) -> None:
        self.part, self.width = part, width
        self.aside = (width + 18) / 2
        self.file = clipped(part.result.file, BODY, self.aside - 18, 3)
        self.facts = [
            line
            for fact in _part_facts(part)
            for line in clipped(fact, BODY_SOFT, width - self.aside, 2)
        ]
        self.height = on_grid(12 * (1 + max(len(self.file), len(self.facts))) + 27)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        result = self.part.result
        right = x + self.width
        draw_verdict(pen, right - verdict_width(result.verdict), y + 12, result.verdict)
        pen.text(x, y + 12, shortened(result.name, LEAD, self.aside - 18), LEAD)
        pen.lines(x, y + 24, self.file, BODY)
        pen.text(x + self.aside, y + 12, found_in(result), STRONG)
        pen.lines(x + self.aside, y + 24, self.facts, BODY_SOFT)
        base = y + self.height - 15
        known = f"SHA-256  {grouped(result.sha256)}" if result.received else "not received"
        pen.text(x, base, known, SMALL)
        size = size_words(result.bytes) if result.received else ""
        facts = [f"spec {result.spec}" if result.spec else "", size]
        line = " · ".join(fact for fact in facts if fact)
        pen.text(right, base, line, SMALL, Align.RIGHT)
        pen.rule(x, y + self.height - 6, right)


def cover_leaves(
    result: Result, parts: Sequence[ProofPart], made_on: date, proof_for: ProofFor = "plant"
) -> list[Leaf]:
    """Return the cover and, for an order of many parts, its further pages.

    The client's leaves out what stands with the parts.
    """
    width = column_width(A4_UPRIGHT)
    blocks: list[Block] = [
        TitleBlock(result.order, parts[0].result.name if len(parts) == 1 else None, width),
        VerdictBlock(result, width),
        FactsBlock(_order_facts(result, made_on), width),
    ]
    blocks += gallery_rows(parts, result.missing, width)
    if len(parts) > 1 or result.findings:
        blocks += todo_blocks(result, width)
    at_parts = {part.result.name for part in parts if part.result.received}
    numbers = tuple(
        (finding.number, finding)
        for finding in result.findings
        if proof_for == "plant" or not (_asks(finding) or at_parts.intersection(finding.parts))
    )
    if numbers:
        blocks += list_blocks(capital(result.whole), numbers, width, "")
    if proof_for == "plant" or len(parts) == 1:
        blocks.append(RuledHeading("Parts", counted(len(parts), "part"), width))
        blocks += [PartBlock(part, width) for part in parts]
    foot = 42.0
    first = [column._replace(bottom=column.bottom - foot) for column in columns(A4_UPRIGHT)]
    pages = flow_evenly(blocks, first, columns(A4_UPRIGHT))
    return [
        Leaf(A4_UPRIGHT, "", _page(placed, i == 0), ("Cover", 0) if i == 0 else None)
        for i, placed in enumerate(pages)
    ]


def _asks(finding: Finding) -> bool:
    """Say whether a finding stands in the list of what to do, with all that the client needs."""
    return finding.severity is not Severity.NOTE and not finding.where


def _page(placed: Sequence[Placed], is_first: bool) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        draw_placed(pen, placed)
        if is_first:
            draw_caution(pen, pen.paper.bottom - 30)

    return draw


def draw_caution(pen: Pen, y: float) -> None:
    """Set the caution in a tinted band."""
    pen.rect(Rect(pen.paper.left, y, pen.paper.measure, 30), fill=Palette.TINT)
    pen.text(pen.paper.left + 12, y + 18, CAUTION, BODY)


def _order_facts(result: Result, made_on: date) -> list[tuple[str, str]]:
    order = result.order or OrderFacts()
    discs = counted(order.discs, "disc") if order.discs else ""
    speed = f"{order.speed} rpm" if order.speed else ""
    made = ", ".join(fact for fact in (order.format, discs, speed) if fact)
    facts = [
        ("Order", order.number),
        ("Client", order.client),
        ("Catalogue number", order.catalogue),
        ("Format", made),
        ("Quantity", f"{order.quantity:,}".replace(",", "\u202f") if order.quantity else None),
        ("Barcode", order.barcode),
        ("Order file", order.file),
        ("Checked", f"{day(made_on)}, prepcheck\u00a0{result.version}"),
    ]
    return [(name, value) for name, value in facts if value]


def _part_facts(part: ProofPart) -> list[str]:
    result = part.result
    piece = part.spec.title if part.spec else result.spec or "piece not known"
    pages = counted(result.pages, "page") if result.pages else ""
    side = f"side {result.side}" if result.side else ""
    facts = [", ".join(fact for fact in (piece, side, pages) if fact)]
    size = f"trim {millimetres(*result.trim_mm)}" if result.trim_mm else ""
    found = f"by {result.trim_found_by}" if size and result.trim_found_by else ""
    facts.append(", ".join(fact for fact in (size, found) if fact))
    return [fact for fact in facts if fact]
