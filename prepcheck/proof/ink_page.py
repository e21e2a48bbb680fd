"""The ink map of a page of art: how much ink lies where, against the limit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from prepcheck.findings import Finding
from prepcheck.proof.art import draw_art, places_of
from prepcheck.proof.art_layout import TITLE_ROOM, lay_out
from prepcheck.proof.art_pages import page_title
from prepcheck.proof.close_up_plan import numbered
from prepcheck.proof.drawing import features
from prepcheck.proof.entries import Paragraph, Reference, RuledHeading
from prepcheck.proof.figures import area_words, number, scale_words
from prepcheck.proof.leaf import Block, Leaf, columns, draw_placed, flow
from prepcheck.proof.model import InkMapPicture, ProofPage, ProofPart, Swatch
from prepcheck.proof.pen import Align, Pen, Rect
from prepcheck.proof.plates_page import NOTHING_MM2
from prepcheck.proof.theme import BODY, BODY_SOFT, HEADING, SMALL, LineStyle, Palette
from prepcheck.proof.typeset import NARROW_SPACE, shortened

_BAR = 15.0
_WIDEST_STEP = 66.0


class InkScale(Block):
    """The steps of the map side by side, light to dark, the limit marked."""

    before = 9.0

    def __init__(self, ink: InkMapPicture, width: float) -> None:
        self.ink, self.width = ink, width
        self.height = 48.0

    def draw(self, pen: Pen, x: float, y: float) -> None:
        steps = self.ink.steps
        step = min(_WIDEST_STEP, self.width / len(steps))
        style = SMALL.in_ink(Palette.TEXT)
        for i, swatch in enumerate(steps):
            place = Rect(x + i * step, y + 15, step, _BAR)
            draw_step(pen, swatch, place)
            pen.text(place.centre[0], place.bottom + 9, swatch.words, style, Align.CENTRE)
        over = next(i for i, swatch in enumerate(steps) if swatch.pattern == "hatched")
        edge = x + over * step
        pen.polyline(((edge, y + 6), (edge, y + 15 + _BAR)), LineStyle(Palette.TEXT, 1.4))
        words = f"limit {number(self.ink.limit_percent)}{NARROW_SPACE}%"
        pen.text(edge - 4, y + 11, words, style, Align.RIGHT)


def draw_step(pen: Pen, swatch: Swatch, place: Rect) -> None:
    """Draw a step of the map as the map shows it."""
    pen.patch(place, swatch.colour)
    with pen.clipped([place.corners]):
        if swatch.pattern == "hatched":
            x = place.x - place.height
            while x < place.right:
                ends = ((x, place.bottom), (x + place.height, place.y))
                pen.polyline(ends, LineStyle(Palette.PAPER, 1.0))
                x += 4.5
        elif swatch.pattern == "dotted":
            for row in range(int(place.height // 4) + 1):
                for column in range(int(place.width // 4) + 1):
                    at = place.x + 2 + 4 * column, place.y + 2 + 4 * row
                    pen.circle(at, 0.8, fill=Palette.PAPER)
    pen.rect(place, LineStyle(Palette.TEXT, 0.4))


def ink_leaves(part: ProofPart, page: ProofPage) -> list[Leaf]:
    """Return the pages with the ink map of one page of art; none where there is none."""
    spec, printed = part.spec, page.printed
    if spec is None or printed is None:
        return []
    ink, outline = printed.ink_map, spec.outline_of(page.page_index)
    drawn = features(spec, outline)
    layout = lay_out(page, outline, spec.bleed.wanted_mm, drawn)
    width = layout.width
    numbers = [(at, finding) for at, finding in numbered(part.result) if at in ink.numbers]
    blocks = _blocks(ink, numbers, width)
    top = layout.paper.top + TITLE_ROOM + 9
    more = columns(layout.paper, top)
    placed = flow(blocks, layout.lists, more)
    shown = replace(page, picture=ink.picture)

    def draw(pen: Pen) -> None:
        _title(pen, part, page, scale_words(layout.denominator))
        draw_art(pen, layout, shown, outline, drawn, places_of(numbers))
        draw_placed(pen, placed[0])

    def draw_more(index: int) -> Leaf:
        def draw_rest(pen: Pen) -> None:
            _title(pen, part, page, "continued")
            draw_placed(pen, placed[index])

        return Leaf(layout.paper, part.result.name, draw_rest)

    first = Leaf(layout.paper, part.result.name, draw, ("Ink", 2))
    return [first, *(draw_more(index) for index in range(1, len(placed)))]


def _blocks(
    ink: InkMapPicture, numbers: Sequence[tuple[int, Finding]], width: float
) -> list[Block]:
    over = (
        f"{area_words(ink.over_mm2)} lie above it."
        if ink.over_mm2 >= NOTHING_MM2
        else "nothing lies above it."
    )
    unknown = (
        f" {area_words(ink.unknown_mm2)} are painted in RGB or Lab, where no ink is known: dotted."
        if ink.unknown_mm2
        else ""
    )
    if ink.converted_by:
        unknown += (
            f" What is RGB or Lab in the file counts as the inks that {ink.converted_by} turns it "
            "into."
        )
    words = (
        f"All inks added up. The greatest total is {_percent(ink.greatest_percent)}, the limit "
        f"{_percent(ink.limit_percent)}: {over} The finished face carries "
        f"{_percent(ink.mean_percent)} on average. The darker the map, the more ink; what is "
        f"above the limit is hatched and ringed in black.{unknown}"
    )
    blocks: list[Block] = [
        RuledHeading("Total ink", "in percent of one solid plate", width),
        InkScale(ink, width),
        Paragraph(words, BODY, width),
    ]
    return [*blocks, *(Reference(at, finding, width) for at, finding in numbers)]


def _percent(value: float) -> str:
    return f"{number(value, 0)}{NARROW_SPACE}%"


def _title(pen: Pen, part: ProofPart, page: ProofPage, aside: str) -> None:
    left, top = pen.paper.left, pen.paper.top
    pen.text(left, top + 15, "Ink", HEADING)
    name = shortened(page_title(part, page), BODY_SOFT, pen.paper.measure - 150)
    pen.text(left, top + 30, name, BODY_SOFT)
    pen.text(pen.paper.right, top + 30, aside, BODY_SOFT, Align.RIGHT)
